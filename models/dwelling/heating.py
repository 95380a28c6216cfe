"""The heaters' relief lines, pans and common vent; pans under appliances."""

from __future__ import annotations

from .design import Design
from .parts import IN, OUT, End, Part, Plan, Point
from .takeoff import Crew, device, place, uphill

FALL = -1 / 48
OUTLET_Z = 0.25  # 3 in above the floor drain: an air gap, and not more than 6 in above the floor


def heating(plan: Plan, design: Design) -> None:
    """What hangs on the water heaters, and the washer pan."""
    relief, flue = Crew(plan, "relief", "copper"), Crew(plan, "flue", "flue")
    relief_line(relief, 1, design.relief1_rises, 0.75, ((31.45, 26.35),))
    relief_line(relief, 2, False, design.relief2_in, ((39.0, 26.05), (31.15, 26.05)))
    heater_pan(relief, 1, (35.4, 27.0, 1.6), (-1.0, 0.0, 0.0), ((31.3, 27.0), (31.3, 26.35)))
    heater_pan(relief, 2, (40.0, 28.6, 1.6), (0.0, 1.0, 0.0),
               ((40.0, 29.1), (31.15, 29.1), (31.15, 26.35)))  # fmt: skip
    washer_pan(Crew(plan, "relief", "pvc-pan"), design.washer_pan_drained)
    common_vent(flue)


def falling_line(
    crew: Crew,
    start: Part | End,
    tag: str,
    label: str,
    size_in: float,
    turns: tuple[tuple[float, float], ...],
    outlet_z: float,
) -> None:
    """A line that falls 1/4 in per ft through the turns, then drops to its open outlet."""
    node, at = start, place(start)
    for number, (x, y) in enumerate(turns, 1):
        at = uphill(at, x, y, FALL)
        turn = crew.fitting("Elbow", f"{tag}/turn-{number}", at, label)
        crew.pipe(node, turn, size_in, label)
        node = turn
    end_at = (at[0], at[1], outlet_z)
    outlet = device(
        crew.plan, "Open outlet", f"{tag}/outlet", f"open outlet, {label}", crew.service,
        {"inlet": (end_at, (0.0, 0.0, 1.0), size_in, IN, crew.service)}, material=crew.material,
    )  # fmt: skip
    crew.pipe(node, outlet.end("inlet"), size_in, f"{label}, drop to outlet")


def relief_line(
    relief: Crew, number: int, rises: bool, size_in: float, turns: tuple[tuple[float, float], ...]
) -> None:
    """The temperature and pressure relief valve of a heater and its discharge over FD-1."""
    outlet = relief.plan.parts[f"wh{number}"].end("relief")
    x, y, z = outlet.at
    at = (x - 0.25, y, z)
    valve = relief.fitting(
        "Temperature and pressure relief valve", f"wh{number}/relief", at,
        f"T&P relief valve, WH-{number}",
    )  # fmt: skip
    valve.properties["Pset_ValveTypePressureRelief"] = {
        "ReliefPressure": ("IfcPressureMeasure", 1034213.6)  # 150 psi
    }
    relief.close(outlet, valve, 0.75)
    label = f"relief discharge, WH-{number}"
    level = z + 1.0 if rises else z - 0.3 - 0.3 * number
    first = relief.fitting("Elbow", f"wh{number}/relief/turn-0", (at[0], y, level), label)
    relief.pipe(valve, first, size_in, label)
    falling_line(relief, first, f"wh{number}/relief", label, size_in, turns, OUTLET_Z)


def heater_pan(
    crew: Crew, number: int, outlet: Point, faces: Point, turns: tuple[tuple[float, float], ...]
) -> None:
    """The pan under a heater, drained over FD-1."""
    x, y, _ = crew.plan.parts[f"wh{number}"].box[0]  # type: ignore[index]
    pan = device(
        crew.plan, "Water heater pan", f"wh{number}/pan", f"Water heater pan, WH-{number}",
        "relief", {"outlet": (outlet, faces, 1.0, OUT, "relief")},
        box=((x - 0.3, y - 0.3, 1.5), (2.2, 2.2, 0.2)), space="Mechanical room",
    )  # fmt: skip
    label = f"pan drain, WH-{number}"
    falling_line(crew, pan.end("outlet"), f"wh{number}/pan", label, 1.0, turns, OUTLET_Z)


def washer_pan(crew: Crew, drained: bool) -> None:
    """The pan under the clothes washer, drained in sight outdoors on the north wall."""
    outlet: Point = (32.3, 25.8, 10.0)
    pan = device(
        crew.plan, "Washer pan", "cw1/pan", "Washer pan, CW-1", "relief",
        {"outlet": (outlet, (0.0, 0.0, -1.0), 1.0, OUT, "relief")},
        box=((32.1, 23.4, 10.0), (2.5, 2.6, 0.2)), space="Laundry",
    )  # fmt: skip
    if not drained:
        return
    turn = crew.fitting("Elbow", "cw1/pan/turn-0", (32.3, 25.8, 9.4), "pan drain, CW-1")
    crew.pipe(pan.end("outlet"), turn, 1.0, "pan drain, CW-1")
    falling_line(
        crew, turn, "cw1/pan", "pan drain, CW-1, to outdoors", 1.0,
        ((32.3, 30.6),), 0.5,
    )  # fmt: skip


def common_vent(flue: Crew) -> None:
    """Both draft hoods into one 5 in Type B vent through the roof."""
    z = 7.5  # 1-1/4 ft of rise from the draft hoods to where they meet
    tee = flue.fitting("Tee", "flue/tee", (38.25, 27.9, z + 1.75 / 48), "common gas vent")
    for number in (1, 2):
        hood = flue.plan.parts[f"wh{number}"].end("flue")
        elbow = flue.fitting("Elbow", f"wh{number}/flue", (hood.at[0], 27.9, z), "vent connector")
        flue.pipe(hood, elbow, 4.0, f"gas vent connector, WH-{number}")
        flue.pipe(elbow, tee, 4.0, f"gas vent connector, WH-{number}")
    cap = device(
        flue.plan, "Gas vent cap", "flue/cap", "Gas vent cap, WH-1 and WH-2", "flue",
        {"base": ((38.25, 27.9, 24.0), (0.0, 0.0, -1.0), 5.0, IN, "flue")}, material="flue",
    )  # fmt: skip
    flue.pipe(tee, cap.end("base"), 5.0, "common gas vent, WH-1 and WH-2")
