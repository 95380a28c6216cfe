"""Gas: meter, range, fryer and water heater; and the heater's flue."""

from .bodies import local_axes, swept
from .design import Design
from .equipment import Equipment
from .piping import GAS, Part, Piping
from .step import Typed
from .water import HEATER

MAIN_Z, MAIN_Y = 9.0, 39.3
METER_X = -1.0


class Gas:
    """Draws the gas from its meter at the west wall."""

    def __init__(self, piping: Piping, equipment: Equipment, design: Design) -> None:
        self._piping = piping
        self._equipment = equipment
        self._design = design

    def draw(self) -> None:
        design, line = self._design, self._piping.line
        line(
            "G", GAS, 1.25, (METER_X, MAIN_Y, 1.0), (METER_X, MAIN_Y, MAIN_Z), (2.4, MAIN_Y, MAIN_Z)
        )
        line("G east", GAS, 1.25, (2.4, MAIN_Y, MAIN_Z), (12.0, MAIN_Y, MAIN_Z))
        line("G range", GAS, design.range_gas_in, (12.0, MAIN_Y, MAIN_Z), (16.0, MAIN_Y, MAIN_Z))
        self._piping.part(
            Part(
                *("IFCFLOWMETER", "GASMETER", "Gas Meter", (METER_X, MAIN_Y, 3.0)),
                *(0.4, "GM", GAS),
            )
        )
        self._cooking("R-1", "Range - Six Burner", 16.0, 180000, design.range_gas_in, True)
        self._cooking("FR-1", "Fryer - 50 lb", 12.0, 120000, 1.0, design.fryer_shutoff)
        x, y = HEATER
        line(
            *("WH-1 gas", GAS, 0.75, (2.4, MAIN_Y, MAIN_Z), (2.4, y + 1.6, MAIN_Z)),
            *((2.4, y + 1.6, 1.0), (x, y + 1.6, 1.0), (x, y + 0.9, 1.0)),
        )
        self._stop("GV-WH-1", (2.4, y + 1.6, 4.0))
        if design.heater_sediment_trap:
            self._drip("WH-1", 0.75, (2.4, y + 1.6, 1.0))
        self._flue()

    def _stop(self, mark: str, at: tuple[float, float, float]) -> None:
        self._piping.part(Part("IFCVALVE", "GASCOCK", "Gas Cock", at, 0.15, mark, GAS))

    def _drip(self, mark: str, size_in: float, at: tuple[float, float, float]) -> None:
        low = (at[0], at[1], at[2] - 0.5)
        self._piping.line(f"{mark} drip", GAS, size_in, at, low)
        self._piping.part(
            Part("IFCPIPEFITTING", "OBSTRUCTION", "Cap", low, 0.08, f"{mark} cap", GAS)
        )

    def _cooking(
        self, mark: str, family: str, x: float, input_btuh: int, size_in: float, shutoff: bool
    ) -> None:
        self._equipment.boxed(
            *("IFCBURNER", "USERDEFINED", family, mark, (x, 37.2, 0.0)),
            (((-1.4, -1.3, 0.0), (1.4, 1.3, 3.0)),),
            {"Gas Input": Typed("IFCLABEL", f"{input_btuh} Btu/h")},
        )
        self._piping.line(
            *(f"{mark} gas", GAS, size_in, (x, MAIN_Y, MAIN_Z), (x, MAIN_Y, 1.5), (x, 38.5, 1.5)),
        )
        if shutoff:
            self._stop(f"GV-{mark}", (x, MAIN_Y, 3.0))
        self._drip(mark, size_in, (x, MAIN_Y, 1.5))

    def _flue(self) -> None:
        """A 4 in Type B vent straight up through the roof."""
        project = self._piping.project
        length = 20.0
        disk = swept(project.step, [(0, 0, 0), (0, 0, length)], 1 / 6)
        flue = self._piping.add(
            *("IFCDUCTSEGMENT", "RIGIDSEGMENT", "Type B Gas Vent", None, "FLUE"),
            (*HEATER, 5.0),
            project.shape("AdvancedSweptSolid", (disk,)),
            local_axes((0.0, 0.0, 1.0)),
        )
        project.properties(flue, "Dimensions", {"Size": Typed("IFCLABEL", '4"')})
