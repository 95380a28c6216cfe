"""The field sheet: what the crew tests, walks and buys before the inspector comes.

From one review and the plumbing that was reviewed: sections to plug and fill with the tests of the
adopted code, the walk list with what the review found, and the takeoff of corrections.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.errors import RAISED
from ifclint.fieldsheet.pressure import pressure_sections
from ifclint.fieldsheet.procedures import TABLE, head_m, procedures
from ifclint.fieldsheet.sections import Joined, joined, left_out, sections
from ifclint.fieldsheet.sheet import FieldSheet, PipingSection
from ifclint.fieldsheet.stages import Levels, levels
from ifclint.fieldsheet.storm import storm_systems
from ifclint.fieldsheet.takeoff import takeoff
from ifclint.fieldsheet.walking import WalkPlaces, walk
from ifclint.findings import Failure, Review
from ifclint.gc_pause import collector_paused
from ifclint.ifc.elements import Role, System
from ifclint.packs import explain
from ifclint.plumbing.context import Context
from ifclint.report.arrange import counting, numbered

__all__ = ["FieldSheet", "crew_section", "field_sheet"]

UNTESTED = frozenset({System.STORM, System.CONDENSATE, System.RELIEF})  # but what has a section
CAUTIONS = (
    "A test can kill: a plug under pressure is shot out, and air in a pipe bursts. Nobody stands "
    "in front of a plug; let pressure off before anything is loosened; have a drain open for the "
    "water.",
    "Volumes are those of the pipe as drawn; fittings, traps and what is not drawn hold more.",
    "Pressure, time and clause are those of the adopted code as built in; where a value is from "
    "memory, read the code book. The authority having jurisdiction may ask for more.",
)


def field_sheet(review: Review, context: Context) -> FieldSheet:
    """What stands on the sheet for a review and what was reviewed."""
    plumbing = context.plumbing
    at = levels(plumbing.network.model)
    systems = [*joined(plumbing), *storm_systems(plumbing, context.code)]
    made = [
        *sections(systems, at, head_m(context.code)),
        *pressure_sections(plumbing.network.elements, at),
    ]
    return FieldSheet(
        job=str(review.job.get("name", "")),
        address=str(review.job.get("address", "")),
        models=tuple(model.name for model in review.models),
        code=review.adopted_code.title,
        storeys=tuple(name for name, _ in at.storeys),
        sections=tuple(made),
        procedures=tuple(procedures(made, context.code, context.job)),
        looks=tuple(walk(counting(numbered(review)), WalkPlaces(plumbing, at))),
        takeoff=tuple(takeoff(review.corrections, plumbing.network)),
        notes=tuple(_notes(review, context, at, systems, made)),
        cautions=CAUTIONS,
    )


def crew_section(review: Review, context: Context) -> tuple[Review, str]:
    """What stands on the sheet as a part of the report's page, and the review with the failure
    where that could not be made."""
    from ifclint.fieldsheet.writing import as_section  # jinja2 takes a while to start

    try:
        with collector_paused():
            sheet = field_sheet(review, context)
            is_empty = not (sheet.sections or sheet.procedures or sheet.looks or sheet.takeoff)
            return review, "" if is_empty else as_section(sheet)
    except RAISED as error:
        failure = Failure("fieldsheet", "", explain(error))
        return replace(review, failures=(*review.failures, failure)), ""


def _notes(
    review: Review,
    context: Context,
    at: Levels,
    systems: Sequence[Joined],
    made: Sequence[PipingSection],
) -> list[str]:
    """What was taken, and what the model does not show."""
    said = [f"The review says: {review.reason}"]
    if review.failures:
        said.append(f"It is incomplete: {len(review.failures)} rules or packs failed.")
    if at.floor:
        how = "underside of its slab" if at.by_slab else "its elevation; no slab is drawn there"
        how = "the earth of its crawl space" if at.over_crawl_space else how
        height = feet_text(at.underground_m / M_PER_FT, 1.0)
        said.append(
            f"Underground is what lies below {at.floor} ({how}, {height} in the model's heights). "
            "Pipe hung in a crawl space is rough-in."
        )
    else:
        said.append("No floor with fixtures is told by the model: nothing is taken as underground.")
    left = left_out(context.plumbing, systems)
    if left:
        named = ", ".join(dict.fromkeys(e.label for e in left[:3]))
        said.append(
            f"In no section: {len(left)} of the pipes of drains and vents, as they are joined to "
            f"no building drain or have no place ({named}{', ...' if len(left) > 3 else ''}). Join "
            "them in the model, or test them by themselves."
        )
    tested = {p.element.key for system in systems for p in system.pipes}
    others = Counter(
        str(e.system.value if e.system else "no known service")
        for e in context.plumbing.network.elements
        if e.role is Role.PIPE
        and (e.system is None or e.system in UNTESTED)
        and e.key not in tested
    )
    if others:
        named = ", ".join(f"{count} of {service}" for service, count in sorted(others.items()))
        said.append(f"No test stands here for these pipes: {named}.")
    unknown = sum(s.without_size for s in made)
    if unknown:
        said.append(f"Pipes without size or length, which count as empty: {unknown}.")
    by_size = sum(s.by_trade_size for s in made)
    if by_size:
        said.append(f"Pipes of no listed inside diameter, taken by their trade size: {by_size}.")
    if TABLE not in context.code.tables:
        said.append("The adopted code brings no table of tests: pressures and times are not given.")
    return said
