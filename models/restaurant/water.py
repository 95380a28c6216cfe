"""Cold and hot water, the water heater and its relief."""

from .bodies import Point
from .design import Design
from .equipment import Equipment
from .piping import COLD, HOT, RELIEF, Part, Piping, Service
from .step import Typed

COLD_Z, HOT_Z, FLAT_Z = 9.6, 9.2, 10.1
COLD_X, HOT_X, FLAT_X = 3.0, 3.6, 2.2
WEST_DROP, HAND_SINK_DROP, EAST_COLD, EAST_HOT = 6.65, 9.1, 23.65, 23.4
HEATER = (1.5, 32.0)


class Water:
    """Draws the water from the meter at the street to every fixture."""

    def __init__(self, piping: Piping, equipment: Equipment, design: Design) -> None:
        self._piping = piping
        self._equipment = equipment
        self._design = design

    def draw(self) -> None:
        self._service()
        self._heater()
        self._restaurant()
        self._flat()

    def _valve(self, mark: str, at: Point, service: Service, family: str, kind: str) -> None:
        self._piping.part(Part("IFCVALVE", kind, family, at, 0.15, mark, service))

    def _service(self) -> None:
        line = self._piping.line
        line(
            *("CW", COLD, 1.5, (1.0, -6.0, -2.5), (1.0, 1.0, -2.5), (1.0, 1.0, COLD_Z)),
            *((COLD_X, 1.0, COLD_Z), (COLD_X, 32.0, COLD_Z)),
        )
        self._piping.part(
            Part(
                "IFCFLOWMETER", "WATERMETER", 'Water Meter - 1"', (1.0, -4.0, -2.5), 0.4, "WM", COLD
            )
        )
        self._valve("V-1", (1.0, 1.0, 2.0), COLD, "Ball Valve", "ISOLATING")
        self._valve("BF-1", (1.0, 1.0, 3.5), COLD, "Double Check Backflow Preventer", "CHECK")

    def _heater(self) -> None:
        design, made, line = self._design, self._equipment, self._piping.line
        x, y = HEATER
        made.round(
            *("IFCBOILER", "WATER", "Water Heater - Gas, 75 Gal", "WH-1", (x, y, 0.0), 0.9, 5.0),
            {
                "Gas Input": Typed("IFCLABEL", "76000 Btu/h"),
                "Storage": Typed("IFCLABEL", "75 gal"),
                "Energy": Typed("IFCLABEL", "Natural Gas"),
            },
        )
        line("WH-1 cold", COLD, 1.25, (COLD_X, y, COLD_Z), (1.2, y, COLD_Z), (1.2, y, 5.0))
        if design.heater_cold_valve:
            self._valve("V-2", (1.2, y, 7.5), COLD, "Ball Valve", "ISOLATING")
        if design.expansion_tank:
            line("ET-1 line", COLD, 0.75, (1.2, y, 6.5), (1.2, 33.5, 6.5), (1.2, 33.5, 6.2))
            made.round(
                *("IFCTANK", "EXPANSION", "Expansion Tank - Potable", "ET-1"),
                *((1.2, 33.5, 5.0), 0.4, 1.2),
            )
        line(
            "HW",
            HOT,
            1.25,
            (1.8, y, 5.0),
            (1.8, y, HOT_Z),
            (HOT_X, y, HOT_Z),
            (HOT_X, 21.25, HOT_Z),
        )
        self._valve("V-3", (1.8, y, 7.5), HOT, "Ball Valve", "ISOLATING")
        made.boxed(
            *("IFCVALVE", "PRESSURERELIEF", "T&P Relief Valve", "RV-1", (x, 31.1, 4.6)),
            (((-0.1, -0.3, -0.12), (0.1, 0.0, 0.12)),),
        )
        if design.relief_line:
            line(
                *("RV-1 line", RELIEF, 0.75, (x, 30.8, 4.6), (x, 28.5, 4.57)),
                *((3.5, 28.5, 4.53), (3.5, 28.5, 0.2)),
            )

    def _feed(
        self, mark: str, service: Service, size_in: float, *points: Point, stop: bool = True
    ) -> None:
        """A branch whose last piece enters the fixture, with a stop before it."""
        self._piping.line(mark, service, size_in, *points)
        if stop:
            before, drop = points[-2], points[-3]
            at = (before[0], before[1], before[2] + (0.5 if drop[2] > before[2] else -0.5))
            self._valve(f"{mark} stop", at, service, "Angle Stop", "STOPCOCK")

    def _restaurant(self) -> None:
        west = self._west
        west("WC-1 cold", COLD, 0.5, 19.75, 0.8, 6.45)
        west("L-1 cold", COLD, 0.5, 23.25, 2.4, 6.45)
        west("L-1 hot", HOT, 0.5, 22.75, 2.4, 6.45)
        west("MS-1 cold", COLD, 0.75, 26.25, 3.0, None)
        west("MS-1 hot", HOT, 0.75, 25.75, 3.0, None)
        self._equipment.boxed(
            *(
                "IFCVALVE",
                "FAUCET",
                "Service Faucet - Vacuum Breaker",
                "MF-1",
                (WEST_DROP, 26.0, 3.0),
            ),
            (((-0.6, -0.35, -0.1), (0.1, 0.35, 0.1)),),
        )
        self._feed(
            *("HS-1 cold", COLD, 0.5, (COLD_X, 21.75, COLD_Z), (HAND_SINK_DROP, 21.75, COLD_Z)),
            *((HAND_SINK_DROP, 21.75, 2.4), (8.85, 21.75, 2.4)),
        )
        self._feed(
            *("HS-1 hot", HOT, 0.5, (HOT_X, 21.25, HOT_Z), (HAND_SINK_DROP, 21.25, HOT_Z)),
            *((HAND_SINK_DROP, 21.25, 2.4), (8.85, 21.25, 2.4)),
        )
        line = self._piping.line
        line(
            "KC",
            COLD,
            1,
            (COLD_X, 27.0, COLD_Z),
            (EAST_COLD, 27.0, COLD_Z),
            (EAST_COLD, 34.2, COLD_Z),
        )
        line("KH", HOT, 1, (HOT_X, 27.3, HOT_Z), (EAST_HOT, 27.3, HOT_Z), (EAST_HOT, 33.0, HOT_Z))
        line("KC south", COLD, 0.75, (EAST_COLD, 27.0, COLD_Z), (EAST_COLD, 25.4, COLD_Z))
        line("KH south", HOT, 0.75, (EAST_HOT, 27.3, HOT_Z), (EAST_HOT, 24.6, HOT_Z))
        for mark, cold_y, hot_y, size_in, z in (
            ("K-1", 34.2, 33.0, 0.75, 2.9),
            ("K-2", 25.4, 24.6, 0.5, 2.8),
            ("DW-1", None, 30.3, 0.75, 2.0),
        ):
            if cold_y:
                self._feed(
                    *(f"{mark} cold", COLD, size_in, (EAST_COLD, cold_y, COLD_Z)),
                    *((EAST_COLD, cold_y, z), (23.15, cold_y, z)),
                )
            self._feed(
                *(f"{mark} hot", HOT, size_in, (EAST_HOT, hot_y, HOT_Z)),
                *((EAST_HOT, hot_y, z), (23.15, hot_y, z)),
            )

    def _west(
        self, mark: str, service: Service, size_in: float, y: float, z: float, into: float | None
    ) -> None:
        x, top = (COLD_X, COLD_Z) if service is COLD else (HOT_X, HOT_Z)
        points = [(x, y, top), (WEST_DROP, y, top), (WEST_DROP, y, z)]
        if into is not None:
            points.append((into, y, z))
        self._feed(mark, service, size_in, *points)

    def _flat(self) -> None:
        design, line = self._design, self._piping.line
        size = design.flat_cold_in
        line(
            *("FC", COLD, size, (FLAT_X, 1.0, COLD_Z), (FLAT_X, 1.0, FLAT_Z)),
            (FLAT_X, 38.7, FLAT_Z),
        )
        self._valve("V-4", (FLAT_X, 5.0, FLAT_Z), COLD, "Ball Valve", "ISOLATING")
        line("FH", HOT, 0.75, (HOT_X, 32.0, HOT_Z), (HOT_X, 38.3, HOT_Z))
        self._valve("V-5", (HOT_X, 32.6, HOT_Z), HOT, "Ball Valve", "ISOLATING")
        crossed = design.flat_lavatory_crossed
        y = design.flat_lavatory_y
        cold_y, hot_y = (y - 0.25, y + 0.25) if crossed else (y + 0.25, y - 0.25)
        sink_x = design.flat_sink_x
        for mark, service, y, x, z, into in (
            ("WC-2", COLD, 31.2, WEST_DROP, 12.7, 6.1),
            ("L-2", COLD, cold_y, WEST_DROP, 14.4, 6.45),
            ("L-2", HOT, hot_y, WEST_DROP, 14.4, 6.45),
            ("B-1", COLD, 36.5, WEST_DROP, 13.4, 5.35),
            ("B-1", HOT, 35.8, WEST_DROP, 13.2, 5.35),
            ("K-3", COLD, 35.0, sink_x + 1.2, 14.6, sink_x + 0.95),
            ("K-3", HOT, 34.4, sink_x + 1.2, 14.6, sink_x + 0.95),
            ("CW-1", COLD, 38.7, 8.4, 14.8, 8.75),
            ("CW-1", HOT, 38.3, 8.4, 14.8, 8.75),
        ):
            start_x, start_z = (FLAT_X, FLAT_Z) if service is COLD else (HOT_X, HOT_Z)
            name = "cold" if service is COLD else "hot"
            self._feed(
                *(f"{mark} {name}", service, 0.5, (start_x, y, start_z), (x, y, start_z)),
                *((x, y, z), (into, y, z)),
                stop=mark != "B-1",
            )
        self._equipment.boxed(
            *("IFCVALVE", "MIXING", "Tub Filler - Pressure Balance", "TV-1", (5.2, 36.15, 13.3)),
            (((-0.2, -0.5, -0.2), (0.2, 0.5, 0.2)),),
        )
