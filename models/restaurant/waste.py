"""Drains and vents of the restaurant and of the flat above it."""

from .bodies import Point
from .design import QUARTER_INCH, Design
from .equipment import Equipment, trap_height
from .piping import GREASE, INDIRECT, SANITARY, VENT, Part, Piping, Service

WEST_WALL, EAST_WALL = 7.0, 24.0  # x (ft) of the walls the vents rise in
SANITARY_X, GREASE_X = 8.5, 25.5  # x (ft) of the two drains that run south
HEAD_Y, GREASE_HEAD_Y = 37.5, 39.5
SEWER_Y, JOIN_Y = -20.0, -10.0
HEADER_Z, FLAT_HEADER_Z = 8.5, 16.2
VENT_RISE = QUARTER_INCH / 2


def sanitary_z(y: float) -> float:
    """Height (ft) of the building drain."""
    return -2.2 - (HEAD_Y - y) * QUARTER_INCH


class Waste:
    """Draws everything that drains, from each trap to the street."""

    def __init__(self, piping: Piping, equipment: Equipment, design: Design) -> None:
        self._piping = piping
        self._equipment = equipment
        self._design = design

    def grease_z(self, y: float) -> float:
        """Height (ft) of the grease waste drain, which ends 4 ft outside the south wall."""
        design = self._design
        inlet = sanitary_z(JOIN_Y) + (GREASE_X - SANITARY_X) * QUARTER_INCH + 0.1
        return inlet + (y + 4) * design.grease_main_fall

    def draw(self) -> None:
        self._mains()
        self._sanitary_fixtures()
        self._grease_fixtures()
        self._flat()
        self._vents()

    # mains

    def _mains(self) -> None:
        design, line = self._design, self._piping.line
        head = (SANITARY_X, HEAD_Y, sanitary_z(HEAD_Y))
        end = (SANITARY_X, SEWER_Y, sanitary_z(SEWER_Y))
        line("BD", SANITARY, 4, head, end)
        self._piping.part(
            Part("IFCPIPEFITTING", "EXIT", "Sewer Connection", end, 0.3, "SEWER", SANITARY)
        )
        if design.head_cleanout:
            self._cleanout("CO-1", SANITARY, 4, head, (SANITARY_X, HEAD_Y, 0.0))
        low = (SANITARY_X, -3.0, sanitary_z(-3.0))
        self._cleanout("CO-2", SANITARY, 4, low, (SANITARY_X, -3.0, -0.4))
        grease = (GREASE_X, GREASE_HEAD_Y, self.grease_z(GREASE_HEAD_Y))
        inlet = (GREASE_X, -4.0, self.grease_z(-4.0))
        line("GW", GREASE, 4, grease, inlet)
        self._cleanout("CO-3", GREASE, 4, grease, (GREASE_X, GREASE_HEAD_Y, 0.0))
        before = (GREASE_X, -2.0, self.grease_z(-2.0))
        self._cleanout("CO-4", GREASE, 4, before, (GREASE_X, -2.0, -0.4))
        joint = (SANITARY_X, JOIN_Y, sanitary_z(JOIN_Y))
        if design.interceptor:
            self._equipment.boxed(
                *("IFCINTERCEPTOR", "GREASE", "Grease Interceptor - 1000 Gal", "GI-1"),
                (GREASE_X, -8.0, -5.5),
                (((-2.0, -4.0, 0.0), (2.0, 4.0, 4.5)),),
                services=(GREASE,),
            )
            outlet_z = joint[2] + (23.5 - SANITARY_X) * QUARTER_INCH
            line("GX", SANITARY, 4, (23.5, JOIN_Y, outlet_z), joint)
            tee = (22.0, JOIN_Y, joint[2] + (22.0 - SANITARY_X) * QUARTER_INCH)
            self._cleanout("CO-5", SANITARY, 4, tee, (22.0, JOIN_Y, -0.4))
        else:
            corner = (GREASE_X, JOIN_Y, joint[2] + (GREASE_X - SANITARY_X) * QUARTER_INCH)
            line("GX", GREASE, 4, inlet, corner, joint)

    def _cleanout(self, mark: str, service: Service, size_in: float, *points: Point) -> None:
        self._piping.line(f"{mark} pipe", service, size_in, *points)
        self._piping.part(
            Part("IFCPIPEFITTING", "OBSTRUCTION", "Cleanout", points[-1], 0.15, mark, service)
        )

    # one trap and its way down

    def _fixture_drop(
        self,
        mark: str,
        service: Service,
        at: tuple[float, float],
        outlet_z: float,
        trap_z: float,
        sizes: tuple[float, float, float],
        wall_x: float,
        end: Point,
        vent_z: float | None,
        wall_cleanout: bool = True,
        arm_fall: float = QUARTER_INCH,
    ) -> None:
        """Tailpiece, trap, arm, then down in the wall and across to `end`.

        `sizes` are of trap, drop and vent (in); the drop lands high enough to fall to `end`.
        """
        trap_in, drop_in, vent_in = sizes
        side = 1 if wall_x > at[0] else -1
        line = self._piping.line
        line(
            *(f"{mark} tail", service, trap_in),
            *((*at, outlet_z), (*at, trap_z + trap_height(trap_in))),
        )
        outlet = self._equipment.trap(f"{mark} trap", at, trap_z, trap_in, side)
        tee = (wall_x, at[1], trap_z - abs(wall_x - outlet[0]) * arm_fall)
        line(f"{mark} arm", service, trap_in, outlet, tee)
        across = abs(end[0] - wall_x) + abs(end[1] - at[1])
        foot = (wall_x, at[1], end[2] + across * QUARTER_INCH)
        if wall_cleanout:
            opening = (wall_x, at[1], trap_z - 0.6)
            line(f"{mark} drop", service, drop_in, tee, foot)
            self._cleanout(
                f"{mark} CO", service, drop_in, opening, (wall_x - side * 0.45, at[1], opening[2])
            )
        else:
            line(f"{mark} drop", service, drop_in, tee, foot)
        if across:
            line(f"{mark} branch", service, drop_in, foot, end)
        if vent_z:
            line(f"{mark} vent", VENT, vent_in, tee, (wall_x, at[1], vent_z))

    def _floor_drop(
        self,
        mark: str,
        service: Service,
        at: tuple[float, float],
        sizes: tuple[float, float],
        wall_x: float,
        end: Point,
        vent_z: float,
        fall: float = QUARTER_INCH,
    ) -> None:
        """Trap under the floor, arm to the vent in the wall, then down to the main."""
        trap_in, vent_in = sizes
        self._fixture_drop(
            *(mark, service, at, -0.3, -0.95, (trap_in, trap_in, vent_in), wall_x, end, vent_z),
            wall_cleanout=False,
            arm_fall=fall,
        )

    # the restaurant

    def _sanitary_fixtures(self) -> None:
        design, made = self._design, self._equipment
        line = self._piping.line
        made.boxed(
            *("IFCSANITARYTERMINAL", "TOILETPAN", "Water Closet - Tank, ADA", "WC-1"),
            (5.8, 20.0, 0.0),
            (((-0.7, -0.6, 0.0), (0.6, 0.6, 1.4)), ((0.3, -0.8, 1.4), (0.8, 0.8, 2.5))),
        )
        end = (SANITARY_X, 20.0, sanitary_z(20.0))
        turn = (5.8, 20.0, end[2] + (SANITARY_X - 5.8) * QUARTER_INCH)
        line("WC-1", SANITARY, 3, (5.8, 20.0, 0.0), turn, end)
        tee = (WEST_WALL, 20.0, end[2] + 1.5 * QUARTER_INCH)
        line("WC-1 vent", VENT, design.closet_vent_in, tee, (WEST_WALL, 20.0, HEADER_Z))
        made.boxed(
            *("IFCSANITARYTERMINAL", "WASHHANDBASIN", "Lavatory - Wall Hung", "L-1"),
            (6.0, 23.0, 2.2),
            (((-0.7, -0.8, 0.0), (0.5, 0.8, 0.6)),),
        )
        self._fixture_drop(
            *("L-1", SANITARY, (6.0, 23.0), 2.2, 1.6, (1.5, 2, 1.5), WEST_WALL),
            (SANITARY_X, 23.0, sanitary_z(23.0)),
            header(23.0),
        )
        made.boxed(
            *("IFCSANITARYTERMINAL", "WASHHANDBASIN", "Hand Sink - Kitchen", "HS-1"),
            (8.2, 21.5, 2.2),
            (((-0.7, -0.7, 0.0), (0.7, 0.7, 0.6)),),
        )
        self._fixture_drop(
            *("HS-1", SANITARY, (8.2, 21.5), 2.2, 1.6, (1.5, 2, 1.5), WEST_WALL),
            (SANITARY_X, 21.5, sanitary_z(21.5)),
            header(21.5) if design.hand_sink_vent else None,
        )
        mop_x = WEST_WALL - 0.8 - design.mop_arm
        made.boxed(
            *("IFCSANITARYTERMINAL", "SINK", "Mop Service Basin", "MS-1"),
            (mop_x, 26.0, 0.0),
            (((-1.0, -1.0, -0.3), (1.0, 1.0, 0.8)),),
        )
        self._floor_drop(
            *("MS-1", SANITARY, (mop_x, 26.0), (3, 2), WEST_WALL),
            (SANITARY_X, 26.0, sanitary_z(26.0)),
            header(26.0),
        )
        rod = ((WEST_WALL, 26.0, 1.3), (WEST_WALL - 0.45, 26.0, 1.3))
        self._cleanout("MS-1 CO", SANITARY, 3, *rod)
        made.round(
            *("IFCWASTETERMINAL", "FLOORWASTE", 'Floor Drain - 2"', "FD-1"),
            *((3.5, 28.5, -0.3), 0.25, 0.3),
        )
        self._floor_drop(
            *("FD-1", SANITARY, (3.5, 28.5), (2, 1.5), WEST_WALL),
            (SANITARY_X, 28.5, sanitary_z(28.5)),
            header(28.5),
            design.heater_drain_fall,
        )

    def _grease_fixtures(self) -> None:
        design, made = self._design, self._equipment
        made.round(
            *("IFCWASTETERMINAL", "FLOORWASTE", 'Floor Drain - 2"', "FD-2"),
            *((22.0, 38.0, -0.3), 0.25, 0.3),
        )
        self._floor_drop(
            *("FD-2", GREASE, (22.0, 38.0), (2, 1.5), EAST_WALL),
            (GREASE_X, 38.0, self.grease_z(38.0)),
            header(38.0, 28.0),
        )
        made.boxed(
            *("IFCSANITARYTERMINAL", "SINK", "Three Compartment Sink", "K-1"),
            (22.2, 33.5, 1.9),
            (((-1.0, -2.5, 0.0), (1.0, 2.5, 1.2)),),
        )
        low = design.pot_sink_vent_turn < HEADER_Z
        self._fixture_drop(
            *("K-1", GREASE, (22.2, 33.5), 1.9, 1.2, (2, 2, 1.5), EAST_WALL),
            (GREASE_X, 33.5, self.grease_z(33.5)),
            None if low else header(33.5, 28.0),
        )
        if low:
            z = design.pot_sink_vent_turn
            self._piping.line(
                *("K-1 vent", VENT, 1.5, (EAST_WALL, 33.5, 1.2 - (1.8 - 6.4 / 12) * QUARTER_INCH)),
                *((EAST_WALL, 33.5, z), (EAST_WALL, 30.5, z + 3 * VENT_RISE)),
                (EAST_WALL, 30.5, header(30.5, 28.0)),
            )
        made.boxed(
            *("IFCWASTETERMINAL", "FLOORWASTE", 'Floor Sink - 12" x 12"', "FS-1"),
            *((22.3, 28.0, -0.5), (((-0.5, -0.5, 0.0), (0.5, 0.5, 0.5)),)),
        )
        self._floor_drop(
            *("FS-1", GREASE, (22.3, 28.0), (3, 2), EAST_WALL),
            (GREASE_X, 28.0, self.grease_z(28.0)),
            HEADER_Z,
        )
        self._indirect()

    def _indirect(self) -> None:
        design, made, line = self._design, self._equipment, self._piping.line
        made.boxed(
            *("IFCSANITARYTERMINAL", "SINK", "Prep Sink - One Compartment", "K-2"),
            (22.2, 25.0, 2.0),
            (((-1.0, -1.0, 0.0), (1.0, 1.0, 1.0)),),
        )
        if design.prep_sink_indirect:
            tail = ((22.2, 25.0, 2.0), (22.2, 25.0, 1.4 + trap_height(1.5)))
            line("K-2 tail", INDIRECT, 1.5, *tail)
            outlet = self._equipment.trap("K-2 trap", (22.2, 25.0), 1.4, 1.5, 1)
            over = (outlet[0], 27.8, 1.4 - 2.8 * QUARTER_INCH)
            line("K-2 waste", INDIRECT, 1.5, outlet, over)
            line("K-2 end", INDIRECT, 1.5, over, (outlet[0], 27.8, 0.3))
        else:
            self._fixture_drop(
                *("K-2", GREASE, (22.2, 25.0), 2.0, 1.3, (1.5, 2, 1.5), EAST_WALL),
                (GREASE_X, 25.0, self.grease_z(25.0)),
                HEADER_Z + 0.04,
            )
            line(
                *("K-2 vent across", VENT, 1.5, (EAST_WALL, 25.0, HEADER_Z + 0.04)),
                (EAST_WALL, 28.0, HEADER_Z),
            )
        made.boxed(
            *("IFCELECTRICAPPLIANCE", "DISHWASHER", "Dishwasher - Undercounter", "DW-1"),
            (22.2, 30.0, 0.4),
            (((-1.0, -0.9, 0.0), (1.0, 0.9, 2.4)),),
        )
        line("DW-1 waste", INDIRECT, 1, (22.3, 29.1, 0.8), (22.3, 28.3, 0.75), (22.3, 28.3, 0.25))

    # the flat

    def _flat(self) -> None:
        design, made, line = self._design, self._equipment, self._piping.line
        base = (WEST_WALL, 31.5, sanitary_z(31.5) + 1.5 * QUARTER_INCH)
        line("SS", SANITARY, 4, (WEST_WALL, 31.5, 11.7), base, (SANITARY_X, 31.5, sanitary_z(31.5)))
        self._cleanout("CO-6", SANITARY, 4, (WEST_WALL, 31.5, 1.5), (6.3, 31.5, 1.5))
        made.boxed(
            *("IFCSANITARYTERMINAL", "TOILETPAN", "Water Closet - Tank", "WC-2"),
            (5.4, 31.5, 12.0),
            (((-0.7, -0.6, 0.0), (0.6, 0.6, 1.3)), ((0.3, -0.8, 1.3), (0.8, 0.8, 2.4))),
        )
        line(
            "WC-2",
            SANITARY,
            3,
            (5.4, 31.5, 12.0),
            (5.4, 31.5, 11.7 + 1.6 * QUARTER_INCH),
            (WEST_WALL, 31.5, 11.7),
        )
        branch = self.branch_z
        size = design.flat_branch_in
        line("FB", SANITARY, size, (WEST_WALL, 38.5, branch(38.5)), (WEST_WALL, 31.5, branch(31.5)))
        made.boxed(
            *("IFCSANITARYTERMINAL", "WASHHANDBASIN", "Lavatory - Vanity", "L-2"),
            (6.0, design.flat_lavatory_y, 14.2),
            (((-0.9, -0.9, 0.0), (0.5, 0.9, 0.6)),),
        )
        self._flat_drop("L-2", (6.0, design.flat_lavatory_y), 14.2, 13.6, 1.5, 1.5)
        sink_x = design.flat_sink_x
        made.boxed(
            *("IFCSANITARYTERMINAL", "SINK", "Kitchen Sink - Double Bowl", "K-3"),
            (sink_x, 34.7, 14.3),
            (((-1.0, -0.8, 0.0), (1.0, 0.8, 0.7)),),
        )
        self._flat_drop("K-3", (sink_x, 34.7), 14.3, 13.5, 1.5)
        made.boxed(
            *("IFCSANITARYTERMINAL", "BATH", "Tub - Rectangular", "B-1"),
            (4.9, 36.2, 12.0),
            (((-4.6, -1.3, 0.0), (0.5, 1.3, 1.5)),),
        )
        self._flat_drop("B-1", (4.9, 36.2), 12.0, 11.5, design.tub_trap_in)
        made.boxed(
            *("IFCELECTRICAPPLIANCE", "WASHINGMACHINE", "Clothes Washer - Front Load", "CW-1"),
            (9.9, 38.4, 12.0),
            (((-1.2, -1.2, 0.0), (1.2, 1.2, 3.2)),),
        )
        self._flat_drop("SP-1", (7.95, 38.5), design.standpipe_top, 12.9, 2)

    @staticmethod
    def branch_z(y: float) -> float:
        """Height (ft) of the flat's branch drain in the west wall."""
        return 10.7 + (y - 31.5) * QUARTER_INCH

    def _flat_drop(
        self,
        mark: str,
        at: tuple[float, float],
        outlet_z: float,
        trap_z: float,
        trap_in: float,
        drop_in: float = 2,
    ) -> None:
        self._fixture_drop(
            *(mark, SANITARY, at, outlet_z, trap_z, (trap_in, drop_in, 1.5), WEST_WALL),
            (WEST_WALL, at[1], self.branch_z(at[1])),
            flat_header(at[1]),
            wall_cleanout=False,
        )

    # vents

    def _vents(self) -> None:
        line = self._piping.line
        line("VH-1", VENT, 2, (WEST_WALL, 28.5, header(28.5)), (WEST_WALL, 20.0, HEADER_Z))
        line(
            *("VR-1", VENT, 2, (WEST_WALL, 20.0, HEADER_Z), (WEST_WALL, 20.0, flat_header(20.0))),
            (WEST_WALL, 31.5, FLAT_HEADER_Z),
        )
        line(
            "VH-2", VENT, 2, (WEST_WALL, 38.5, flat_header(38.5)), (WEST_WALL, 31.5, FLAT_HEADER_Z)
        )
        line("SV", VENT, 4, (WEST_WALL, 31.5, 11.7), (WEST_WALL, 31.5, 23.7))
        line("VH-3", VENT, 2, (EAST_WALL, 38.0, header(38.0, 28.0)), (EAST_WALL, 28.0, HEADER_Z))
        top = self._design.east_vent_top
        line("VR-3", VENT, 2, (EAST_WALL, 28.0, HEADER_Z), (EAST_WALL, 28.0, top))
        for mark, at in (("VTR-1", (WEST_WALL, 31.5, 23.7)), ("VTR-2", (EAST_WALL, 28.0, top))):
            self._piping.part(
                Part("IFCSTACKTERMINAL", "COWL", "Vent Thru Roof", at, 0.1, mark, VENT)
            )


def header(y: float, low_y: float = 20.0) -> float:
    """Height (ft) of the vents gathered over the restaurant, which fall to `low_y`."""
    return HEADER_Z + abs(y - low_y) * VENT_RISE


def flat_header(y: float) -> float:
    """Height (ft) of the vents gathered over the flat, which fall to the stack vent."""
    return FLAT_HEADER_Z + abs(y - 31.5) * VENT_RISE
