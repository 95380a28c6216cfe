"""Whether the fill valve of a tank keeps its own water back."""

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer, Change
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.words import denies_text, says

FILL_VALVE = ("ballcock", "ball cock", "fill valve", "float valve")
ANTI_SIPHON = ("anti siphon*", "antisiphon*", "anti syphon*", "air gap", "airgap", "asse 1002")
KEEPS_BACK = Fact(
    "whether the fill valve of {} keeps its water back is not known.",
    "Name the fill valve with its standard (ASSE 1002, anti-siphon).",
)


@rule(
    title="Fill valve of a tank anti-siphon",
    clauses={"upc": "603.5", "ipc": "425.3.1", "irc": "P2721.1"},
    applies=lambda fixture: says(fixture.element, FILL_VALVE),
)
def fill_valve_anti_siphon(fixture: WaterFixture, context: Context) -> Answer:
    """A ballcock below the water of its tank sucks that water back into the house.

    Fixtures that are named with their fill valve or ballcock: it is called anti-siphon, or of ASSE
    1002. One that is said to be without an air gap is wrong, one of which nothing is said is asked
    about. The sections are from memory.
    """
    element = fixture.element
    if says(element, ANTI_SIPHON):
        return PASS
    if not denies_text(element.called, ANTI_SIPHON):
        return not_known(KEEPS_BACK, fixture)
    text = "Fit an anti-siphon fill valve (ASSE 1002), its critical level above the overflow."
    return violation(
        message=f"The fill valve of {fixture.label} is said to be no anti-siphon one.",
        remedy=Change("part", fixture.element_ids, "anti-siphon fill valve", text),
    )
