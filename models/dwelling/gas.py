"""Fuel gas: from the service at the east wall to five appliances."""

from __future__ import annotations

from itertools import pairwise

from .design import Design
from .parts import IN, Part, Plan, Point
from .takeoff import Crew, device

BTU_H_W = 0.29307107
TRUNK_Z = 8.3


def gas(plan: Plan, design: Design) -> None:
    """All gas piping; the heaters must be set already."""
    crew = Crew(plan, "gas", "steel")
    trunk_in = design.gas_trunk_in
    corner = service(crew, trunk_in)
    furnace_tee = crew.fitting("Tee", "gas/furnace-tee", (42.5, 21.6, TRUNK_Z), "gas trunk at F-1")
    turn = crew.fitting("Elbow", "gas/turn", (42.5, 24.2, TRUNK_Z), "gas trunk")
    crew.pipe(corner, furnace_tee, trunk_in, "gas trunk, meter to F-1")
    crew.pipe(furnace_tee, turn, trunk_in, "gas trunk, F-1 to WH-2")
    furnace(crew, furnace_tee, design.furnace_sediment_trap)
    node = turn
    for number, x in ((2, 40.0), (1, 36.5)):
        tee = crew.fitting("Tee", f"gas/wh{number}-tee", (x, 24.2, TRUNK_Z), f"at WH-{number}")
        crew.pipe(node, tee, trunk_in, f"gas trunk to WH-{number}")
        heater = plan.parts[f"wh{number}"]
        drop(crew, tee, heater, 0.5, True, f"WH-{number}")
        node = tee
    dryer_tee = crew.fitting("Tee", "gas/dryer-tee", (35.2, 24.2, TRUNK_Z), "at DR-1")
    crew.pipe(node, dryer_tee, 1.0, "gas trunk to DR-1")
    dryer(crew, dryer_tee)
    gas_range(crew, dryer_tee)


def service(crew: Crew, size_in: float) -> Part:
    """Service shutoff, regulator and meter outdoors; ends where the trunk turns north."""
    places = (
        ("Gas shutoff", "gas/shutoff", (44.8, 13.0, 2.5), "Gas service shutoff"),
        ("Gas service regulator", "gas/regulator", (44.8, 14.2, 2.5), "Gas service regulator"),
        ("Gas meter", "gas/meter", (44.8, 15.4, 2.5), "Gas meter GM-1"),
        ("Elbow", "gas/riser", (44.8, 17.0, 2.5), "gas trunk"),
        ("Elbow", "gas/wall", (44.8, 17.0, TRUNK_Z), "gas trunk"),
        ("Elbow", "gas/corner", (42.5, 17.0, TRUNK_Z), "gas trunk"),
    )
    nodes = [crew.fitting(trade, tag, at, name) for trade, tag, at, name in places]
    crew.end_towards(nodes[0], (44.8, 10.0, 2.5), size_in, IN)
    for upstream, downstream in pairwise(nodes):
        crew.pipe(upstream, downstream, size_in, "gas trunk at the meter")
    return nodes[-1]


def appliance(
    plan: Plan, trade: str, tag: str, name: str, inlet: tuple[Point, Point], size_in: float,
    input_btu_h: float, box: tuple[Point, Point], space: str,
) -> Part:  # fmt: skip
    part = device(
        plan, trade, tag, name, "gas", {"gas": (*inlet, size_in, IN, "gas")}, box=box, space=space
    )
    rating = ("IfcPowerMeasure", round(input_btu_h * BTU_H_W, 1))
    part.properties["Gas appliance"] = {"InputRating": rating}
    return part


def drop(
    crew: Crew, tee: Part, owner: Part, size_in: float, sediment_trap: bool, label: str
) -> None:
    """Down from the trunk through a shutoff to the level of the inlet, with its sediment trap."""
    x, y, z = tee.centre
    inlet = owner.end("gas")
    level = inlet.at[2]
    shutoff = crew.fitting(
        "Gas shutoff", f"{owner.tag}/gas-shutoff", (x, y, (z + level) / 2), f"Gas shutoff, {label}"
    )
    turn = crew.fitting(
        "Tee" if sediment_trap else "Elbow", f"{owner.tag}/gas-turn", (x, y, level),
        f"sediment trap, {label}" if sediment_trap else label,
    )  # fmt: skip
    crew.pipe(tee, shutoff, size_in, f"gas drop, {label}")
    crew.pipe(shutoff, turn, size_in, f"gas drop, {label}")
    crew.pipe(turn, inlet, size_in, f"gas connection, {label}")
    if sediment_trap:
        cap = crew.fitting(
            "Cap", f"{owner.tag}/gas-cap", (x, y, level - 0.6), f"sediment trap, {label}"
        )
        crew.pipe(turn, cap, size_in, f"sediment trap nipple, {label}")


def furnace(crew: Crew, tee: Part, sediment_trap: bool) -> None:
    unit = appliance(
        crew.plan, "Gas furnace", "f1", "Gas furnace F-1, direct vent",
        ((42.0, 21.6, 1.9), (1.0, 0.0, 0.0)), 0.75, 80000, ((40.2, 20.7, 0.0), (1.8, 1.8, 5.0)),
        "Mechanical room",
    )  # fmt: skip
    drop(crew, tee, unit, 0.75, sediment_trap, "F-1")


def dryer(crew: Crew, tee: Part) -> None:
    """Up through the floor to the laundry; listed appliances of this kind need no sediment trap."""
    unit = appliance(
        crew.plan, "Gas clothes dryer", "dr1", "Gas clothes dryer DR-1",
        ((35.2, 23.5, 10.4), (0.0, -1.0, 0.0)), 0.5, 22000, ((34.6, 23.5, 10.0), (2.3, 2.5, 3.6)),
        "Laundry",
    )  # fmt: skip
    places = (
        ("Elbow", "gas-up", (35.2, 24.2, 9.3)), ("Elbow", "gas-south", (35.2, 22.5, 9.3)),
        ("Elbow", "gas-floor", (35.2, 22.5, 10.4)),
        ("Gas shutoff", "gas-shutoff", (35.2, 23.0, 10.4)),
    )  # fmt: skip
    node = tee
    for trade, tag, at in places:
        name = "Gas shutoff, DR-1" if trade == "Gas shutoff" else "DR-1"
        nxt = crew.fitting(trade, f"dr1/{tag}", at, name)
        crew.pipe(node, nxt, 0.5, "gas branch, DR-1")
        node = nxt
    crew.pipe(node, unit.end("gas"), 0.5, "gas connection, DR-1")


def gas_range(crew: Crew, tee: Part) -> None:
    """The end of the trunk: over the mechanical room and down wall W2 to the kitchen."""
    unit = appliance(
        crew.plan, "Gas range", "rg1", "Gas range RG-1", ((29.3, 28.2, 0.6), (1.0, 0.0, 0.0)),
        0.75, 65000, ((26.9, 27.0, 0.0), (2.4, 2.4, 3.0)), "Kitchen",
    )  # fmt: skip
    places = (
        ("Elbow", "gas-west", (31.0, 24.2, TRUNK_Z)), ("Elbow", "gas-north", (31.0, 28.2, TRUNK_Z)),
        ("Elbow", "gas-wall", (30.0, 28.2, TRUNK_Z)), ("Elbow", "gas-down", (30.0, 28.2, 0.6)),
        ("Gas shutoff", "gas-shutoff", (29.62, 28.2, 0.6)),
    )  # fmt: skip
    node = tee
    for trade, tag, at in places:
        name = "Gas shutoff, RG-1" if trade == "Gas shutoff" else "RG-1"
        nxt = crew.fitting(trade, f"rg1/{tag}", at, name)
        crew.pipe(node, nxt, 0.75, "gas branch, RG-1")
        node = nxt
    crew.close(node, unit.end("gas"), 0.75)


def refrigerator(plan: Plan, design: Design) -> None:
    """The refrigerator, against W1; it has no piped end of its own in the model."""
    y = design.refrigerator_y
    plan.add(
        Part("Refrigerator", "rf1", "Refrigerator RF-1", "cold", (20.6, y, 0.0),
             box=((20.6, y - 1.4, 0.0), (2.4, 2.8, 5.8)), space="Kitchen")
    )  # fmt: skip
