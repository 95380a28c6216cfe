"""Which of the drains that meet goes straight on, and where none does."""

from __future__ import annotations

from ifclint.engineering.arithmetic import largest
from ifclint.engineering.directions import angle_deg, direction
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage

STRAIGHT_DEG = 30.0  # a run that bends less goes straight through a fitting. Ours, no source


def last_branches(network: Network, drainage: Drainage, wet: list[bool]) -> set[int]:
    """The fittings in which drains come in at the side alone, while the run goes on straight, no
    smaller, to a cleanout; and the pipes that begin so where no fitting is drawn."""
    toward_cleanout = drainage.passed_by(
        i for i in drainage.members if network.elements[i].role is Role.CLEANOUT
    )
    found = set()
    for index in drainage.members:
        into = drainage.beyond[index]
        is_joint = network.elements[index].role in (Role.FITTING, Role.PIPE)
        if not wet[index] or len(into) < 2 or not is_joint:
            continue
        dry = [i for i in into if not wet[i] and toward_cleanout[i]]
        drains = [i for i in into if wet[i]]
        if not dry or not drains or any(goes_straight(drainage, i, index) for i in drains):
            continue
        sizes = (network.elements[i].size_in for i in drains)
        of_drains = largest(size for size in sizes if size is not None)
        for i in dry:
            size = network.elements[i].size_in
            if goes_straight(drainage, i, index) and (
                size is None or at_least(size, of_drains, "in")
            ):
                found.add(index)
    return found


def goes_straight(drainage: Drainage, above: int, index: int) -> bool:
    """Whether what comes from above leaves a fitting, or runs on in a pipe, in the direction in
    which it came in."""
    place, leaving = drainage.exit_place[above], drainage.exit_place[index]
    if place == NONE or leaving == NONE:
        return False
    points = (drainage.places[place], drainage.middles[index], drainage.places[leaving])
    entered, middle, left = points
    if entered is None or middle is None or left is None:
        return False
    came, went = direction(entered, middle), direction(middle, left)
    if all(drainage.elements[i].role is Role.PIPE for i in (above, index)):
        came = direction(drainage.middles[above] or entered, entered)
    if came is None or went is None:
        return False
    return at_most(angle_deg(came, went), STRAIGHT_DEG, "deg")
