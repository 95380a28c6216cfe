"""Rules about relief valves: that there is one, set low enough, with a line to discharge by."""

from __future__ import annotations

from ifclint.checks import PASS, check, missing, unverified
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater, ReliefLine
from ifclint.rules.heaters.parts import RELIEF_LINES, RELIEF_VALVES

DISCHARGE = {"upc": "608.5", "ipc": "504.6", "irc": "P2804.6.1"}


@rule(
    title="Relief valve on every water heater",
    subject=Heater,
    clauses={"upc": "504.6 and 608.3", "ipc": "504.4", "irc": "P2804.1"},
    severity=Severity.HIGH,
)
def heater_relief_valve(heater: Heater, context: Context) -> Answer:
    """A heater whose control fails and that cannot relieve bursts like a bomb.

    A relief valve on the heater, joined to it directly or by relief piping; at a tankless heater,
    one close to it in its water piping serves too. At a tank, whether a valve in the cold or hot
    water piping senses the tank's temperature is not stated, and that is unverified. Where the
    heater is of the tankless kind, or shows no connection at all, one that is missing is
    unverified: its listing may not ask for one, or it may not have been drawn.
    """
    if any(r.is_direct or heater.is_tankless for r in heater.relief):
        return PASS
    if heater.relief:
        return _in_the_piping(heater)
    if heater.is_tankless or not heater.element.ends:
        return unverified(f"No relief valve is drawn at {heater.label}.", RELIEF_VALVES.remedy)
    return missing(
        RELIEF_VALVES,
        message=f"{heater.label} has no relief valve.",
        remedy="Fit a temperature and pressure relief valve in the heater's tapping for it.",
    )


def _in_the_piping(heater: Heater) -> Answer:
    valve = heater.relief[0].valve
    return unverified(
        f'"{valve.label}" stands in the water piping of {heater.label}; whether it senses the '
        "tank's temperature is not told.",
        "Join the temperature and pressure relief valve to the heater's own tapping for it.",
        (valve.guid, *heater.element_ids),
    )


@rule(
    title="Relief valve set low enough",
    subject=ReliefLine,
    clauses={"upc": "608.3", "ipc": "504.5", "irc": "P2804.4"},
    severity=Severity.HIGH,
    needs=("set_pressure_pa",),
)
def relief_setting(relief: ReliefLine, context: Context) -> Answer:
    """A valve that opens above what the tank is made for opens too late.

    The set pressure that the model gives the valve against the highest the code allows. The
    working pressure of the tank may ask for less.
    """
    assert relief.set_pressure_pa is not None
    limit, psi = context.code.limit("relief_set_max_psi"), relief.set_pressure_pa / PA_PER_PSI
    return check(
        psi,
        at_most=limit,
        message=f'"{relief.valve.label}" opens at {number_text(psi)} psi; '
        f"{limit.value:g} psi is the most.",
        remedy=f"Fit a valve set at {limit.value:g} psi or less, and not above the tank's "
        "working pressure.",
        limit_step="Highest setting",
        elements=(relief.valve.guid,),
    )


@rule(
    title="Relief valve discharges through a line",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
)
def relief_line_present(relief: ReliefLine, context: Context) -> Answer:
    """A relief valve that opens into the room scalds whoever stands there.

    Pipe joined to the valve's outlet.
    """
    if relief.is_drawn:
        return PASS
    return missing(
        RELIEF_LINES,
        message=f'"{relief.valve.label}" has no discharge line.',
        remedy="Run a full-size line from the valve to where the code lets it end.",
        elements=(relief.valve.guid, *relief.heater.element_ids),
    )


RULES = (heater_relief_valve, relief_setting, relief_line_present)
