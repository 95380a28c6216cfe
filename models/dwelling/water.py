"""Cold and hot water: the service, the heaters, and the mains that start above them.

The mains run in the floor cavity: west along y = 20.8 (cold) and 21.4 (hot) to wall W1, then
south inside it.
"""

from __future__ import annotations

from .design import Design
from .parts import IN, OUT, End, Part, Plan, Point
from .takeoff import Crew, device
from .water_branches import BRANCH_IN, Main, bibb_drop, connections, hose_bibb, run_south, run_west


def water(plan: Plan, design: Design) -> None:
    """All water piping except the heaters' relief lines."""
    cold, hot = Crew(plan, "cold", "copper"), Crew(plan, "hot", "copper")
    entry = service(cold, design)
    heaters = [water_heater(plan, 1, 36.5), water_heater(plan, 2, 40.0)]
    cold_to_heaters(cold, entry, heaters)
    cold_corner = cold.fitting("Elbow", "cold/corner", (36.15, 20.8, 8.75), "cold main")
    cold.pipe(entry, cold_corner, 1.25, "cold main, riser")
    hot_corner = hot_from_heaters(hot, heaters)
    mains = [Main(cold, 8.75, 20.8, cold_corner), Main(hot, 9.65, 21.4, hot_corner)]
    ends = connections(plan, design)
    size_in = {"cold": design.upper_cold_main_in, "hot": 0.75}
    for main in mains:
        west = run_west(main, design)
        run_south(main, west, ends, size_in[main.crew.service])


def service(cold: Crew, design: Design) -> Part:
    """Meter, main shutoff and pressure reducing valve; ends at the tee above them."""
    at: Point = (36.15, -38.0, -2.0)
    meter = cold.fitting("Water meter", "cold/meter", at, "Water meter WM-1")
    cold.end_towards(meter, (36.15, -45.0, -2.0), 1.0, IN)
    reducer = cold.fitting("Reducer", "cold/meter-reducer", (36.15, -37.0, -2.0), "after meter")
    elbow = cold.fitting("Elbow", "cold/entry", (36.15, 20.8, -2.0), "water service entry")
    shutoff = cold.fitting(
        "Isolating valve", "cold/shutoff", (36.15, 20.8, 1.5), "Main shutoff valve"
    )
    entry = cold.fitting("Tee", "cold/heater-tee", (36.15, 20.8, 7.4), "cold main at heaters")
    cold.pipe(meter, reducer, 1.0, "water service, meter outlet")
    cold.pipe(reducer, elbow, 1.25, "water service, meter to house")
    cold.pipe(elbow, shutoff, 1.25, "water service, riser")
    if not design.pressure_reducing_valve:
        cold.pipe(shutoff, entry, 1.25, "cold main, above shutoff")
        return entry
    reducing = cold.fitting(
        "Pressure reducing valve", "cold/prv", (36.15, 20.8, 3.0), "Pressure reducing valve PRV-1"
    )
    reducing.properties["Pset_ValveTypePressureReducing"] = {
        "DownstreamPressure": ("IfcPressureMeasure", 413685.4)  # 60 psi
    }
    cold.pipe(shutoff, reducing, 1.25, "cold main, shutoff to PRV-1")
    cold.pipe(reducing, entry, 1.25, "cold main, above PRV-1")
    return entry


def water_heater(plan: Plan, number: int, x: float) -> Part:
    """A 50 gal gas storage heater with draft hood, on a stand 18 in above the floor."""
    up: Point = (0.0, 0.0, 1.0)
    heater = device(
        plan, "Gas storage water heater", f"wh{number}", f"Gas storage water heater WH-{number}",
        "hot",
        {
            "cold": ((x - 0.35, 27.1, 6.0), up, 0.75, IN, "cold"),
            "hot": ((x + 0.35, 27.1, 6.0), up, 0.75, OUT, "hot"),
            "relief": ((x - 0.8, 27.5, 5.6), (-1.0, 0.0, 0.0), 0.75, OUT, "relief"),
            "gas": ((x, 26.7, 2.7), (0.0, -1.0, 0.0), 0.5, IN, "gas"),
            "flue": ((x, 27.9, 6.3), up, 4.0, OUT, "flue"),
        },
        box=((x - 0.8, 26.7, 1.5), (1.6, 1.6, 4.5)), space="Mechanical room",
    )  # fmt: skip
    heater.properties["Pset_BoilerTypeCommon"] = {
        "NominalEnergyConsumption": ("IfcPowerMeasure", 11722.8),  # 40,000 Btu/h
        "WaterStorageCapacity": ("IfcVolumeMeasure", 0.18927),  # 50 gal
        "IsWaterStorageHeater": True,
        "EnergySource": ["GAS"],
    }
    return heater


def cold_to_heaters(cold: Crew, entry: Part, heaters: list[Part]) -> None:
    """The heaters' cold header with expansion tank, rear hose bibb and trap primer on it."""
    x, z = 36.15, 7.4
    nodes = [
        cold.fitting("Tee", f"cold/{tag}", (x, y, z), f"cold header at {what}")
        for tag, y, what in (
            ("tank-tee", 22.3, "expansion tank"), ("bibb-tee", 23.2, "rear hose bibb"),
            ("primer-tee", 24.1, "trap primer"), ("second-tee", 25.0, "WH-2"),
        )
    ]  # fmt: skip
    for upstream, downstream in zip([entry, *nodes], nodes, strict=False):
        cold.pipe(upstream, downstream, 1.0, "cold header to heaters")
    tank = device(
        cold.plan, "Expansion tank", "cold/tank", "Thermal expansion tank ET-1", "cold",
        {"inlet": ((x, 22.3, 7.0), (0.0, 0.0, 1.0), 0.75, IN, "cold")},
        box=((x - 0.4, 21.9, 6.0), (0.8, 0.8, 1.0)), space="Mechanical room",
    )  # fmt: skip
    tank.properties["Pset_TankTypeCommon"] = {
        "EffectiveCapacity": ("IfcVolumeMeasure", 0.0322)  # 8.5 gal
    }
    cold.pipe(nodes[0], tank.end("inlet"), 0.75, "to expansion tank ET-1")
    rear_bibb(cold, nodes[1])
    trap_primer(cold, nodes[2])
    for heater, node in zip(heaters, (nodes[3], nodes[3]), strict=True):
        to_heater(cold, heater, node)


def to_heater(cold: Crew, heater: Part, node: Part) -> None:
    """Over the heater and down through its shutoff; WH-2 turns off the header first."""
    inlet = heater.end("cold")
    x, y, _ = inlet.at
    z = node.centre[2]
    tag, number = heater.tag, heater.tag[-1]
    label = f"cold water to WH-{number}"
    if x != node.centre[0]:
        turn = cold.fitting("Elbow", f"{tag}/cold-turn", (x, node.centre[1], z), label)
        cold.pipe(node, turn, 0.75, label)
        node = turn
    over = cold.fitting("Elbow", f"{tag}/cold-over", (x, y, z), label)
    valve = cold.fitting(
        "Isolating valve", f"{tag}/cold-valve", (x, y, 6.7), f"Cold shutoff, WH-{number}"
    )
    cold.pipe(node, over, 0.75, label)
    cold.pipe(over, valve, 0.75, label)
    cold.pipe(valve, inlet, 0.75, label)


def rear_bibb(cold: Crew, tee: Part) -> None:
    y = tee.centre[1]
    top = cold.fitting("Elbow", "hb2/top", (43.75, y, 7.4), "to HB-2")
    bottom = cold.fitting("Elbow", "hb2/bottom", (43.75, y, 1.5), "to HB-2")
    bibb = hose_bibb(cold.plan, 2, (44.2, y, 1.5), (-1.0, 0.0, 0.0), "rear")
    cold.pipe(tee, top, BRANCH_IN, "cold branch to HB-2")
    bibb_drop(cold, top, bottom, 2)
    cold.pipe(bottom, bibb.end("inlet"), BRANCH_IN, "cold branch to HB-2, through wall")


def trap_primer(cold: Crew, tee: Part) -> None:
    """A primer keeps the trap of floor drain FD-1 full."""
    x, y = 30.6, 26.2
    drain = cold.plan.parts["fd1"]
    tapping = End(drain, "primer", (31.05, y, -0.2), (-1.0, 0.0, 0.0), BRANCH_IN, IN, "cold")
    drain.ends.append(tapping)
    places = (
        ("Elbow", "turn", (x, tee.centre[1], 7.4)), ("Elbow", "over", (x, y, 7.4)),
        ("Trap primer", "valve", (x, y, 4.0)), ("Elbow", "under", (x, y, -0.2)),
    )  # fmt: skip
    node = tee
    for trade, tag, at in places:
        name = "Trap primer TP-1, FD-1" if tag == "valve" else "trap primer line"
        nxt = cold.fitting(trade, f"primer/{tag}", at, name)
        cold.pipe(node, nxt, BRANCH_IN, "trap primer line, FD-1")
        node = nxt
    cold.pipe(node, tapping, BRANCH_IN, "trap primer line, FD-1")


def hot_from_heaters(hot: Crew, heaters: list[Part]) -> Part:
    """The two heaters in parallel into the hot main; ends at its corner in the floor cavity."""
    z = 7.8
    join = hot.fitting("Tee", "hot/join", (36.85, 26.0, z), "hot main at WH-1 and WH-2")
    for number, heater in enumerate(heaters, 1):
        outlet = heater.end("hot")
        x, y, _ = outlet.at
        label = f"hot water from WH-{number}"
        over = hot.fitting("Elbow", f"wh{number}/hot-over", (x, y, z), label)
        hot.pipe(outlet, over, 0.75, label)
        if x != join.centre[0]:
            turn = hot.fitting("Elbow", f"wh{number}/hot-turn", (x, 26.0, z), label)
            hot.pipe(over, turn, 0.75, label)
            over = turn
        hot.pipe(over, join, 0.75, label)
    riser = hot.fitting("Elbow", "hot/riser", (36.85, 21.4, z), "hot main")
    corner = hot.fitting("Elbow", "hot/corner", (36.85, 21.4, 9.65), "hot main")
    hot.pipe(join, riser, 1.0, "hot main, mechanical room")
    hot.pipe(riser, corner, 1.0, "hot main, riser")
    return corner


# Fixture connections, and the branches to them
