"""Protection: of the water from what could flow back into it, of people from scalds."""

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl, rules_in
from ifclint.plumbing.drainage.clear_water import JoinedLine, joined_lines
from ifclint.rules.protection.exchangers import WaterExchanger, water_exchangers
from ifclint.rules.protection.fills import Discharger, dischargers
from ifclint.rules.protection.hazards import Hazard, hazards
from ifclint.rules.protection.open_ends import IndirectEnd, indirect_ends
from ifclint.rules.protection.vacuum_pumps import VacuumDischarge, vacuum_discharges


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Discharger: dischargers, Hazard: hazards, IndirectEnd: indirect_ends,
        JoinedLine: joined_lines, VacuumDischarge: vacuum_discharges,
        WaterExchanger: water_exchangers,
    }  # fmt: skip


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "hoses", "backflow", "not_potable", "carbonated", "clear_water", "exchangers",
        "fills", "heights", "indirect", "open_ends", "own_valves", "placing", "receptors",
        "scalding", "emergency", "hot_on_left", "vacuum_pumps",
    )  # fmt: skip
