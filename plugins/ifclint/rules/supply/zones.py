"""The rule about loops of the supply, and the pressure zones that they join."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from ifclint.checks import PASS, Fact, advise, not_known
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing.flow.distribution import Loop
from ifclint.plumbing.supply.segments import WaterSegment, begins_anew
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.beginnings import sets_pressure
from ifclint.rules.supply.circulation import checks
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.solved_supply import psi

LOOP = Fact(
    'a loop of supply piping closes at "{}": it was calculated as if cut there.',
    "Undo the joint that does not belong; or have a loop that is meant designed as one.",
)


@rule(
    title="No loop in the supply that divides its flow unknown",
    clauses=ANY_CODE,
    severity=Severity.LOW,
)
def supply_loop(service: WaterService, context: Context) -> Iterator[Answer]:
    """In a loop water comes from both sides, and how much from each the method does not tell.

    A loop is solved so that both its paths lose the same to where they meet. One that cannot be
    (fed from two sources, a pump, regulator or heater in it, a size or material not known) is cut
    there, and what is fed through it is calculated over the shorter path alone, so that its
    pressures are lower bounds. Paths that only lead to one point (heaters in parallel) share what
    passes and are excused, as are two with a heater in each that feed something between;
    circulation is left out. Where the two paths come from pressures of their own (a pump, a tank,
    a regulator on one alone) and these differ, the higher drives its water back along the lower,
    unless a check valve stands there. A pipe that leads around a regulator or pump has a valve.
    """
    yield PASS
    solved, supply = solution(context).looped, service.supply
    for loop in supply.distribution.loops:
        if loop.shared and service.holds(loop.meets):
            yield from _passed_by(loop, supply)
    loops = [loop for loop in supply.distribution.loops if not loop.shared]
    loops = [loop for loop in loops if not _is_of_heaters(loop, supply)]
    open_ones = {x.meets: x for x in loops if not _is_solved(x, solved, supply)}
    for index in filter(service.holds, open_ones):
        element = supply.elements[index]
        joined = _zones_joined(open_ones[index], element, context)
        yield joined or not_known(LOOP, element, about=element.guid)


def _is_solved(loop: Loop, solved: Collection[int], supply: Supply) -> bool:
    on_it = [supply.segment_of[i].number for i in (*loop.one_path, *loop.other_path)]
    return bool(on_it) and all(number in solved for number in on_it)


def _is_of_heaters(loop: Loop, supply: Supply) -> bool:
    """Whether a heater stands in each path: two of them give to one hot main."""
    paths = (loop.one_path, loop.other_path)
    return all(any(supply.elements[i].role is Role.HEATER for i in path) for path in paths)


def _passed_by(loop: Loop, supply: Supply) -> Iterator[Answer]:
    """What is said of a regulator or pump with a pipe around it in which nothing closes."""
    for path, around in ((loop.one_path, loop.other_path), (loop.other_path, loop.one_path)):
        acts = [e for i in path if sets_anew(e := supply.elements[i])]
        other = [supply.elements[i] for i in around]
        closes = any(e.role is Role.VALVE or sets_anew(e) for e in other)
        if not acts or not other or closes:
            continue
        undone = "runs back around it" if acts[0].role is Role.PUMP else "stands behind it too"
        yield advise(
            f"{other[0].label} leads around {acts[0].label}, and nothing in it closes: the "
            f"pressure {undone}.",
            "Set a valve in the pipe around it: a check valve around a pump, one that is kept "
            "closed around a regulator.",
            elements=(other[0].guid, acts[0].guid),
            about=acts[0].guid,
            severity=Severity.MEDIUM,
        )


def sets_anew(element: Element) -> bool:
    """A pump, tank or regulator: behind it the pressure is its own."""
    return begins_anew(element) or sets_pressure(element)


@dataclass(frozen=True)
class Zone:
    """One path of a loop, what gives the pressure at its end, and that standing there, psi."""

    path: Sequence[int]
    set_by: Element
    standing_psi: float


def _zones_joined(loop: Loop, meets: Element, context: Context) -> Answer | None:
    """What is said where the two paths of a loop come from pressures that differ; None where they
    come from one, either is not known, or a check valve keeps the higher out of the lower."""
    paths = [path for path in (loop.one_path, loop.other_path) if path]
    zones = [zone for path in paths if (zone := _zone(path, loop.meets, context)) is not None]
    if len(zones) < 2 or zones[0].set_by is zones[1].set_by:
        return None
    low, high = sorted(zones, key=lambda zone: zone.standing_psi)
    elements = context.plumbing.supply.elements
    if at_least(low.standing_psi, high.standing_psi, "psi"):
        return None
    if any(checks(elements[i]) for i in low.path):
        return None
    lower, higher = number_text(low.standing_psi, 3), number_text(high.standing_psi, 3)
    return advise(
        f"{meets.label} joins the {higher} psi of {high.set_by.label} to the {lower} psi of "
        f"{low.set_by.label}, which it drives back.",
        "Undo the joint between the pressure zones; or set a check valve where the lower comes to "
        "it, or a regulator where the higher does.",
        elements=(meets.guid, high.set_by.guid, low.set_by.guid),
        about=meets.guid,
        severity=Severity.MEDIUM,
        steps=(
            Step(f"Standing at {meets.label} from {high.set_by.label}", high.standing_psi, "psi"),
            Step(f"Standing there from {low.set_by.label}", low.standing_psi, "psi"),
        ),
    )


def _zone(path: Sequence[int], meets: int, context: Context) -> Zone | None:
    """The zone of a path, with what stands where it meets the other; None where that is not
    known."""
    supply, solved = context.plumbing.supply, solution(context)
    line = supply.segment_of[path[-1]]
    head = solved.heads[line.number]
    point = line.middle(meets)
    if head.static_pa is None or head.static_missing is not None or point is None:
        return None
    standing = psi(head.static_pa - pressure_of_head_pa(point[2]))
    return Zone(path, _set_by(line), standing)


def _set_by(line: WaterSegment) -> Element:
    """The pump, tank or regulator that gives the pressure of a line, else where its water begins:
    the meter or the pipe of the street."""
    for above in reversed(line.to_source):
        last = above.elements[-1]
        if sets_anew(last):
            return last
    return line.distribution.elements[line.source]
