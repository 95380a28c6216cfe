"""The rule about condensate, relief and pan drains that are joined to a drain or a vent."""

from ifclint.checks import PASS, due, violation
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import System
from ifclint.packs import Context, rule
from ifclint.plumbing.drainage.clear_water import BACKFLOW, ClearWater, JoinedLine
from ifclint.plumbing.drainage.through_air import row_named

APPLIANCES = {
    ClearWater.CONDENSATE: "condensate",
    ClearWater.RELIEF: "relief",
    ClearWater.PAN: "drain-pan",
}
GAP = "End the line through an air gap over a receptor"
ELSEWHERE = {
    ClearWater.CONDENSATE: f"{GAP}, or in a fixture's tailpiece above its trap.",
    ClearWater.RELIEF: f"{GAP}, or outdoors.",
    ClearWater.PAN: f"{GAP}, or outdoors.",
}


@rule(
    title="Condensate, relief and pan drains joined to no drain or vent",
    clauses={"upc": "801.7", "ipc": "802.1", "irc": "P2909.2"},
    severity=Severity.HIGH,
    applies=lambda line: line.element.kind != BACKFLOW,
)
def clear_water_joined(line: JoinedLine, context: Context) -> Answer:
    """What drips runs dry, and then the pipe breathes sewer gas into the room or the ducts.

    Every line of condensate, from a relief valve or from a pan, and what such equipment drains by
    otherwise, that is drawn into a drain or a vent: by one joint, one answer. Condensate may enter
    before the trap of a fixture, into its tailpiece; what else is joined wants an air gap. The
    relief ports of backflow preventers are judged with these, other equipment as indirect waste.
    """
    if line.may_be_joined:
        return PASS
    is_vent = line.into.system is System.VENT
    into = f"a vent at {line.into.label}" if is_vent else line.into.label
    row = due(row_named(APPLIANCES[line.brings], context))
    return violation(
        message=f"The {line.brings} of {line.label} is joined to {into} without an air gap.",
        remedy=Change("part", line.element_ids, "air gap", ELSEWHERE[line.brings]),
        elements=(line.into.guid, *line.element_ids),
        clause=row.clause,
    )
