"""Hose connections: who may screw a hose on, and the vacuum breaker there."""

from ifclint.checks import PASS, Fact, missing, not_known
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.words import says
from ifclint.rules.protection.devices import device_of

HOSE_ENDS = ("hose end", "hose thread*", "threaded hose", "hose outlet", "hose connection")
BASINS = frozenset({"mop-sink", "laundry-sink", "sink"})  # whose faucet may take a hose
MAY_TAKE_HOSE = Fact(
    "whether the faucet of {} takes a hose, and has its vacuum breaker, is not known.",
    "Name the faucet of mop and laboratory sinks, or its type, as a plain spout or with its vacuum "
    "breaker (ASSE 1001 or 1011).",
)


def _takes_hose(fixture: WaterFixture) -> bool:
    is_basin = fixture.kind in BASINS and says(fixture.element, HOSE_ENDS)
    return fixture.kind == "hose-bibb" or is_basin


def hoses_told(context: Context) -> bool:
    return any(_takes_hose(f) and _is_told(f, context) for f in context.plumbing.supply.fixtures)


def _is_told(fixture: WaterFixture, context: Context) -> bool:
    """Whether a device is told in its branch, by its name, or on its outlet."""
    branches, network = fixture.branches, context.plumbing.network
    in_branch = branches and all(any(map(device_of, b.elements)) for b in branches)
    joined = (network.elements[i] for i in network.neighbours(fixture.index))
    return bool(device_of(fixture.element) or in_branch) or any(map(device_of, joined))


HOSES = PartKind(
    "vacuum breakers at hose connections",
    drawn=hoses_told,
    remedy="Use a hose bibb with a vacuum breaker built in (name its type so), or model the "
    "vacuum breaker.",
)


@rule(
    title="Hose connections protected against backflow",
    clauses={"upc": "603.5.7", "ipc": "608.16.4.2", "irc": "P2902.4.3"},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.joined and (_takes_hose(fixture) or fixture.kind == "mop-sink"),
)
def hose_protected(fixture: WaterFixture, context: Context) -> Answer:
    """A hose left in a bucket of weed killer siphons it back into the kitchen.

    A vacuum breaker or backflow preventer in the branch, on the outlet, or stated by the name of
    the fixture or of its type: a hose bibb may have one built in. A device at the meter protects
    the street, and not the kitchen. So it is with a sink whose faucet is said to have a hose end;
    of a mop sink it is asked.
    """
    if _is_told(fixture, context):
        return PASS
    if not _takes_hose(fixture):
        return not_known(MAY_TAKE_HOSE, fixture)
    change = Change("part", fixture.element_ids, "vacuum breaker", HOSES.remedy)
    return missing(
        HOSES,
        message=f"The model tells of no backflow protection at {fixture.label}.",
        remedy=change,
        elements=fixture.element_ids,
    )
