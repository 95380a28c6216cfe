"""Storm drainage to plug and fill: leaders and storm drains that are joined, as drains are."""

from collections.abc import Sequence

from ifclint.codes import AdoptedCode
from ifclint.fieldsheet.filling import filled
from ifclint.fieldsheet.procedures import STORM, rows
from ifclint.fieldsheet.sections import Joined, components
from ifclint.ifc.elements import Element, Role
from ifclint.plumbing import Plumbing


def storm_systems(plumbing: Plumbing, code: AdoptedCode) -> list[Joined]:
    """The storm drainage of the building that is joined; none where the code names no test."""
    storm = plumbing.storm
    if storm is None or not rows(code, "storm-water"):
        return []
    elements = plumbing.network.elements
    made = (_joined(elements, group) for group in components(plumbing, storm.members))
    return [system for system in made if system is not None]


def _joined(elements: Sequence[Element], group: Sequence[int]) -> Joined | None:
    """One system: it is all wet, up to its highest opening, and its lowest pipe is its outlet."""
    found = (filled(elements[i]) for i in group if elements[i].role is Role.PIPE)
    pipes = tuple(pipe for pipe in found if pipe is not None)
    if not pipes:
        return None
    chambers = [elements[i] for i in group if elements[i].role is Role.CHAMBER]
    outlets = chambers or [min(pipes, key=lambda p: p.low_m).element]
    return Joined(
        name=f"{STORM}{outlets[0].label}",
        members=tuple(elements[i] for i in group),
        pipes=pipes,
        fixtures=(),
        outlets=tuple(outlets),
        rim_m=max(p.high_m for p in pipes),
        is_building_drain=True,
    )
