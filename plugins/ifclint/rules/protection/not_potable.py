"""Water that is not potable, where people drink and wash."""

from ifclint.checks import NOT_APPLICABLE, PASS, violation
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.words import says
from ifclint.rules.protection.hazard_names import NON_POTABLE

FOR_PEOPLE = frozenset({
    "lavatory", "kitchen-sink", "bar-sink", "sink", "bathtub", "shower", "bidet",
    "drinking-fountain", "ice-maker", "dishwasher", "wash-fountain", "dental-unit",
    "emergency-fixture",
})  # fmt: skip


@rule(
    title="No non-potable water where people drink and wash",
    clauses={"upc": "601.2", "ipc": "602.2", "irc": "P2901.1"},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.kind in FOR_PEOPLE,
)
def potable_fed(fixture: WaterFixture, context: Context) -> Answer:
    """Nobody sees at the tap that its water came from the roof.

    What the piping from the source to a fixture for drinking, washing or food is called, itself or
    its system: reclaimed, rain, grey or other non-potable water may feed closets and irrigation
    alone.
    """
    other = _beside_not_potable(context).get(fixture.element.guid)
    if other is not None:
        return _fed_by(fixture, other)
    if fixture.feed is None:
        return NOT_APPLICABLE
    for branch in fixture.branches:
        element = _not_potable(context)[branch.number]
        if element is not None:
            return _fed_by(fixture, element)
    return PASS


def _fed_by(fixture: WaterFixture, element: Element) -> Answer:
    return violation(
        message=f"{fixture.label} is fed by {element.label}, which is non-potable water.",
        remedy="Feed this from the potable water.",
        elements=(fixture.element.guid, element.guid),
    )


@derived
def _beside_not_potable(context: Context) -> dict[str, Element]:
    """What piping of non-potable water is joined to, with that piping."""
    network = context.plumbing.network
    return {
        network.elements[n].guid: element
        for i, element in enumerate(network.elements)
        if element.system is System.NON_POTABLE and element.role in (Role.PIPE, Role.FITTING)
        for n in network.neighbours(i)
    }


@derived
def _not_potable(context: Context) -> list[Element | None]:
    """Of each line by its number, the last on the path to it that is called non-potable."""
    found: list[Element | None] = []
    for line in context.plumbing.supply.segments:  # each comes after the one that feeds it
        own = (e for e in line.elements if says(e, NON_POTABLE) or says_system(e))
        found.append(next(own, found[line.above.number] if line.above is not None else None))
    return found


def says_system(element: Element) -> bool:
    """Whether the system of an element is named as non-potable."""
    return says(Element(element.guid, name=element.system_name), NON_POTABLE)
