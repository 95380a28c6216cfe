"""Fixtures, traps and cleanouts, as they are set in this dwelling."""

from __future__ import annotations

from .catalogue import SWEEP
from .parts import IN, OUT, End, Part, Plan, Point, plus
from .shell import SLAB
from .takeoff import Crew, at_height, device, uphill

DOWN: Point = (0.0, 0.0, -1.0)
UP: Point = (0.0, 0.0, 1.0)
TRAP_REACH_FT = 0.35  # trap inlet to outlet, in plan
INLET_ABOVE_WEIR_FT = 0.15
TRAP_DIP_FT = 0.3
FLANGE_FT = 0.12


def fixture(
    plan: Plan,
    trade: str,
    tag: str,
    name: str,
    outlet: Point,
    outlet_in: float,
    box: tuple[Point, Point],
    space: str,
    **properties: object,
) -> Part:
    """A fixture with its outlet looking down; `box` is its low corner and size."""
    ends = {"outlet": (outlet, DOWN, outlet_in, OUT, "sanitary")}
    part = device(plan, trade, tag, name, "sanitary", ends, box=box, space=space)
    if properties:
        part.properties["Plumbing fixture"] = properties
    return part


def trap(
    soil: Crew, outlet: End, tag: str, name: str, size_in: float, vent_fitting: Part, space: str
) -> Part:
    """A P-trap under an outlet, with its tailpiece and its trap arm to the vent fitting.

    The weir stands as high above the vent fitting as the arm falls at 1/4 in per ft.
    """
    x, y, _ = outlet.at
    to_x, to_y, _ = vent_fitting.centre
    reach = TRAP_REACH_FT / ((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5
    run = (reach * (to_x - x), reach * (to_y - y))
    weir = uphill(vent_fitting.centre, x + run[0], y + run[1])
    inlet = (x, y, weir[2] + INLET_ABOVE_WEIR_FT)
    dip = weir[2] - TRAP_DIP_FT
    direction = (run[0] / TRAP_REACH_FT, run[1] / TRAP_REACH_FT, 0.0)
    inside = (x + run[0] * 0.7, y + run[1] * 0.7)
    part = device(
        soil.plan, "P-trap", tag, name, "sanitary",
        {
            "inlet": (inlet, UP, size_in, IN, "sanitary"),
            "outlet": (weir, direction, size_in, OUT, "sanitary"),
        },
        path=(inlet, (x, y, dip), (*inside, dip), (*inside, weir[2]), weir),
        material=soil.material, space=space,
    )  # fmt: skip
    soil.pipe(outlet, part.end("inlet"), outlet.size_in or size_in, f"tailpiece, {name}")
    soil.pipe(part.end("outlet"), vent_fitting, size_in, f"trap arm, {name}")
    return part


def water_closet(soil: Crew, tag: str, name: str, at: Point, bend: Part, space: str) -> Part:
    """A closet on its flange at floor level, piped down to its closet bend."""
    x, y, z = at
    box = ((x - 0.75, y - 0.75, z), (1.5, 1.5, 1.4))
    closet = fixture(
        soil.plan, "Water closet", tag, name, at, 3.0, box, space,
        FlushVolume=("IfcVolumeMeasure", 1.28 * 0.003785411784), FlushType="Gravity tank",
    )  # fmt: skip
    flange = device(
        soil.plan, "Closet flange", f"{tag}/flange", f"Closet flange, {name}", "sanitary",
        {
            "inlet": (at, UP, 3.0, IN, "sanitary"),
            "outlet": ((x, y, z - FLANGE_FT), DOWN, 3.0, OUT, "sanitary"),
        },
        material=soil.material,
    )  # fmt: skip
    soil.plan.join(closet.end("outlet"), flange.end("inlet"))
    soil.pipe(flange.end("outlet"), bend, 3.0, f"closet drop, {name}")
    return closet


def lavatory(
    soil: Crew,
    tag: str,
    name: str,
    at: Point,
    trap_in: float,
    tee: Part,
    space: str,
    width: float = 1.6,
) -> Part:
    """A lavatory whose trap arm enters a sanitary tee in the wall; `at` is on its floor."""
    x, y, z = at
    part = fixture(
        soil.plan, "Lavatory", tag, name, (x, y, z + 2.15), 1.25,
        ((x - 0.8, y - width / 2, z + 2.2), (1.6, width, 0.55)), space,
    )  # fmt: skip
    trap(soil, part.end("outlet"), f"{tag}/trap", name.split()[1], trap_in, tee, space)
    return part


def cleanout(
    soil: Crew, tag: str, name: str, at: Point, inward: Point, size_in: float, space: str = ""
) -> Part:
    """A cleanout plug; `inward` points from the plug into the pipe it opens."""
    ends = {"neck": (at, inward, size_in, OUT, soil.service)}
    return device(
        soil.plan, "Cleanout", tag, name, soil.service, ends, material=soil.material, space=space
    )


def floor_cleanout(
    soil: Crew,
    below: Part,
    tag: str,
    name: str,
    turn: Point,
    pipe_in: float,
    plug_in: float,
    space: str,
) -> None:
    """The upper end of a drain under the slab: a sweep up to a plug in the floor."""
    sweep = soil.fitting(SWEEP, f"{tag}/sweep", turn, f"to {name}")
    soil.pipe(sweep, below, pipe_in, f"drain, {name}")
    plug = cleanout(soil, f"{tag}/plug", name, at_height(turn, SLAB), (0, 0, -1), plug_in, space)
    soil.pipe(plug.end("neck"), sweep, plug_in, f"cleanout riser, {name}")


def stack_cleanout(
    soil: Crew,
    tag: str,
    name: str,
    tee: Part,
    size_in: float,
    space: str,
    inward: Point = (-1.0, 0.0, 0.0),
) -> Part:
    """A plug half a foot out from a cleanout tee: at the east face of its wall by default."""
    at = plus(tee.centre, inward, -0.5)
    plug = cleanout(soil, tag, name, at, inward, size_in, space)
    soil.close(plug.end("neck"), tee, size_in)
    return plug


def vent_terminal(vent: Crew, tag: str, name: str, below: Part, z: float, size_in: float) -> Part:
    """A vent through the roof, straight above its pipe."""
    x, y, _ = below.centre
    ends = {"base": ((x, y, z), DOWN, size_in, "SOURCEANDSINK", vent.service)}
    terminal = device(
        vent.plan, "Vent through roof", tag, name, vent.service, ends, material=vent.material
    )
    vent.pipe(terminal.end("base"), below, size_in, f"{name}, through the roof")
    return terminal
