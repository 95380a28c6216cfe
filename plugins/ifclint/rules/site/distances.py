"""The rule about distances on the site: of sewer and sewage disposal from wells and the rest."""

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.checks import PASS, Fact, check, due, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, tape_text
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.site.outside import approved_inside
from ifclint.rules.site.section import Setback, SiteSection

SEWER, SEPTIC = "building-sewer", "septic-tank"
MATERIAL = Fact(
    "whether the {} is pipe that may lie in a building, and so may come within {}, is not known.",
    "Give the sewer a material that tells: PVC schedule 40 or DWV, PVC SDR 35, cast iron.",
)


@dataclass(eq=False)
class Distance(OfElement):
    """A distance that the job file tells, and the element it is told of."""

    element: Element
    stated: Setback
    number: int

    @property
    def key(self) -> str:
        return f"{self.element.key} {self.stated.of} {self.stated.to} {self.number}"

    @property
    def label(self) -> str:
        return f"{self.stated.of} beside the {self.stated.to}".replace("-", " ")


@derived
def distances(context: Context) -> list[Distance]:
    """Every distance of the job file, at the element it names, else at the sewer or tank drawn."""
    network = context.plumbing.network
    sewers = [drain.element for drain in context.plumbing.building_drains]
    tanks = [network.elements[i] for i in network.of_kinds(SEPTIC)]
    found = []
    for number, stated in enumerate(context.job.section(SiteSection).distances):
        drawn = tanks if stated.of == SEPTIC and tanks else sewers
        numbers = network.of_guid.get(stated.element or "", ())[-1:]
        stated_at = [network.elements[i] for i in numbers]
        named = next(iter(stated_at if stated.element else drawn), None)
        if named is not None:
            found.append(Distance(named, stated, number))
    return found


@rule(
    title="Sewer and private sewage disposal far enough from wells, buildings and the rest",
    clauses={"upc": "Table 721.1", "ipc": "Table 608.17.1", "irc": ""},
    severity=Severity.HIGH,
)
def site_distance(distance: Distance, context: Context) -> Iterator[Answer]:
    """What leaks from a sewer or seeps from a field is drunk from the well beside it.

    The distances that the job file tells (site.distances) against the code's table. Under the UPC
    a sewer of pipe that may lie in a building may come nearer to a well; where its material does
    not tell, that is asked. What the table does not list is not judged.
    """
    stated, table = distance.stated, context.code.table("site_distances")
    row = due(table.one(of=stated.of, to=stated.to))
    measured = stated.distance / M_PER_FT
    nearer = row.number_or_none("approved_ft")
    material = approved_inside(distance.element) if nearer is not None else False
    column = "approved_ft" if material is not False else "least_ft"
    answer = check(
        measured,
        at_least=row.limit(column, "ft"),
        message=f"The {distance.label} is {feet_text(measured)} from it; "
        f"{feet_text(row.number(column))} are asked for.",
        remedy=_apart(stated, row.number(column) - measured),
        limit_step="Distance, at least",
    )
    within = nearer is not None and not at_least(measured, row.number("least_ft"), "ft")
    if material is None and within and answer is PASS:
        answer = not_known(MATERIAL, distance, feet_text(row.number("least_ft")))
    yield answer


def _apart(stated: Setback, more_ft: float) -> str:
    of, to = stated.of.replace("-", " "), stated.to.replace("-", " ")
    return f"Move the {of} {tape_text(more_ft)} farther from the {to}."
