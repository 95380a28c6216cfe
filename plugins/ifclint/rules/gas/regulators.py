"""The rule about the valve before a line regulator."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, given, missing, not_known
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import PA_PER_PSI
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasRegulator
from ifclint.plumbing.facts import fact
from ifclint.plumbing.gas.gas_piping import SHUTOFFS, is_regulator
from ifclint.rules.gas.around import carrying
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.piping import members
from ifclint.rules.gas.sizing import zone_pressure_pa

VALVES = PartKind(
    "gas shutoff valves",
    drawn=lambda context: any(e.kind in SHUTOFFS for e in members(context)),
    remedy="Model the valve before each line regulator (IfcValve, GASCOCK or ISOLATING).",
)
SHUTS_OFF = Fact("whether the valve before {} shuts off its gas", fact("valve_kind").remedy)


@gas_rule(
    title="Shutoff before every line regulator",
    subject=GasRegulator,
    clauses={"upc": "1210.11", "ipc": "IFGC 409.4", "irc": "G2420.4"},
    severity=Severity.MEDIUM,
)
def gas_regulator_shutoff(regulator: GasRegulator, context: Context) -> Answer:
    """A regulator that fails is shut off at its own valve, and the rest of the house keeps its gas.

    A shutoff on the pipe that leads to the regulator and to nothing else, back to the last branch
    or the regulator before. Where the gas comes at no more than what appliances take, the regulator
    is that of an appliance, and its shutoff does. The sections are from memory.
    """
    pressure = zone_pressure_pa(regulator.zone, context)
    most = context.code.limit("gas_appliance_max_psi")
    if pressure is not None and at_most(pressure / PA_PER_PSI, most.value, most.unit):
        return NOT_APPLICABLE
    own = list(_own(regulator, context))
    if any(e.kind in SHUTOFFS for e in own):
        return PASS
    doubtful = [e.guid for e in own if e.role is Role.VALVE and not e.kind]
    if doubtful:
        return not_known(SHUTS_OFF, regulator, elements=doubtful)
    text = "Set a listed gas shutoff just before the regulator."
    return missing(
        VALVES,
        message=f"{regulator.label} has no shutoff before it.",
        remedy=Change("part", regulator.element_ids, "gas shutoff", text),
    )


def _own(regulator: GasRegulator, context: Context) -> Iterator[Element]:
    """The elements before a regulator that lead to it alone, the nearest first."""
    piping = given(context.plumbing.gas)
    made, leads = piping.distribution, carrying(context)
    down, elements = made.down(), context.plumbing.network.elements
    for index in made.path(regulator.index)[-2::-1]:
        if sum(i in leads for i in down[index]) > 1 or is_regulator(elements[index]):
            return
        yield elements[index]


RULES = (gas_regulator_shutoff,)
