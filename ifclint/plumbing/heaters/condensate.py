"""What gives condensate, and the line that leads it away."""

import re
from dataclasses import dataclass

from ifclint.engineering.units import W_PER_TON
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.heaters.fuel_vents import burns_fuel
from ifclint.plumbing.supply.water_fixtures import TREATMENT
from ifclint.plumbing.words import CONDENSES, says

HEAT_PUMP = ("heat pump*", "hybrid electric", "hpwh", "warmepumpe*", "wärmepumpe*",
    "pompe a chaleur", "pompe à chaleur", "thermodynamique", "bomba de calor",
    "warmtepomp*")  # fmt: skip  # it cools air, and water falls out of it
_TONS = re.compile(r"(?<![\w./-])(\d+(?:\.\d+)?)[ -]?tons?\b", re.I)
MAKE_UP_AIR = ("make up air", "makeup air", "mau")  # where a burner heats it, it cools nothing
COOLS = ("cooling", "cooled", "dx", "tons", "ton", "heat pump", "dehumidif*")
NEUTRALIZERS = frozenset(
    {"condensate-neutralizer", "neutralizer"}
)  # kinds, of fitting or interceptor


@dataclass(eq=False)
class CondensateSource(OfElement):
    """Something whose condensate must be led away, and the line that does it: the first, where
    it has several drains."""

    service = System.CONDENSATE

    element: Element
    line: DischargeLine
    drains: int = 0  # joined to it

    @property
    def burns_fuel(self) -> bool | None:
        """Whether its condensate is that of flue gas, and acid; None where nothing tells."""
        return burns_fuel(self.element)

    @property
    def is_acid(self) -> bool | None:
        """The same; what only cools air, and nothing says that it burns fuel, gives water."""
        burns = self.burns_fuel
        return False if burns is None and self.element.kind == "air-conditioner" else burns

    @property
    def cooling_tons(self) -> float | None:
        """How much its coil cools, by its properties or its name; None where neither tells."""
        said = self.element.properties
        whole = said.positive("total_cooling_w")
        shares = (said.positive("sensible_cooling_w"), said.positive("latent_cooling_w"))
        if (watts := whole or sum(share or 0.0 for share in shares)) > 0:
            return watts / W_PER_TON
        named = _TONS.search(self.element.called)
        return None if named is None else float(named[1])


def condenses(network: Network, index: int, element: Element) -> bool:
    """Whether an appliance makes condensate: by its kind, its name, or the drain joined to it,
    whose system may be called so for all indirect waste: what treats water has none."""
    if element.role not in (Role.APPLIANCE, Role.HEATER) or element.kind in TREATMENT:
        return False
    if says(element, CONDENSES) or (element.kind == "air-conditioner" and not _only_heats(element)):
        return True
    if element.role is Role.HEATER and element.kind != "boiler" and says(element, HEAT_PUMP):
        return True
    return any(network.elements[i].system is System.CONDENSATE for i in network.neighbours(index))


def _only_heats(element: Element) -> bool:
    """Whether it is a unit that heats the air it brings in by a flame, and names no cooling."""
    cools = says(element, COOLS) or any("cooling" in name for name in element.properties)
    return says(element, MAKE_UP_AIR) and bool(burns_fuel(element)) and not cools


def condensate_of(network: Network, index: int) -> CondensateSource:
    """Its condensate line, or what else of the drainage is joined to it."""
    near = neighbours(network, index)
    drains = [n for n in near if network.elements[n[0]].system is System.CONDENSATE]
    drains = drains or [n for n in near if _is_drain(network.elements[n[0]])]
    return CondensateSource(network.elements[index], follow(network, index, drains), len(drains))


def _is_drain(element: Element) -> bool:
    drains = element.role in (Role.PIPE, Role.FITTING, Role.TRAP) and element.kind != "cap"
    return drains and element.system is System.SANITARY
