"""The water mains to wall W1 and down it, and the 1/2 in branches to every fixture."""

from __future__ import annotations

from dataclasses import dataclass

from .design import Design
from .parts import IN, End, Part, Plan, Point
from .takeoff import Crew, device

MAIN_X = {"cold": 20.42, "hot": 20.28}  # inside wall W1
STOP_WEST_X, STOP_EAST_X = 19.55, 20.85
BRANCH_IN = 0.5


@dataclass
class Main:
    """A main in the floor cavity: its crew, its level, and the parts at its corners."""

    crew: Crew
    z: float
    y: float  # of the part that runs west
    start: Part  # above the mechanical room


@dataclass(frozen=True)
class Branch:
    """A connection off the main inside W1: where along it, and how high above the floor."""

    end: End
    service: str
    y: float
    valve: bool


def supply(part: Part, name: str, at: Point, direction: Point, size_in: float = BRANCH_IN) -> End:
    """Give a fixture or appliance a water connection; `name` is "cold" or "hot"."""
    end = End(part, name, at, direction, size_in, IN, name)
    part.ends.append(end)
    return end


def hose_bibb(plan: Plan, number: int, at: Point, inward: Point, where: str) -> Part:
    name = f"Hose bibb HB-{number} ({where}), with vacuum breaker"
    ends = {"inlet": (at, inward, BRANCH_IN, IN, "cold")}
    return device(plan, "Hose bibb", f"hb{number}", name, "cold", ends)


def connections(plan: Plan, design: Design) -> list[Branch]:
    """Every connection in wall W1, north to south, hot on the left as one faces the wall; the other
    appliances are added on the way."""
    parts = plan.parts
    west, east = (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)
    crossed = design.lavatory4_crossed
    rows = (
        ("b1", "hot", 19.6, 11.8, 19.2, west), ("b1", "cold", 18.8, 11.8, 19.2, west),
        ("l3", "hot", 17.3, 11.9, 19.3, west), ("l3", "cold", 16.7, 11.9, 19.3, west),
        ("l2", "hot", 14.8, 11.9, 19.3, west), ("l2", "cold", 14.2, 11.9, 19.3, west),
        ("wc2", "cold", 12.6, 10.6, 18.75, west), ("wc3", "cold", 11.4, 10.6, 21.25, east),
        ("l4", "cold", 9.7, 11.9, 21.1, east), ("l4", "hot", 9.1, 11.9, 21.1, east),
        ("sh1", "cold", 8.2, 13.8, 21.9, east), ("sh1", "hot", 7.6, 13.8, 21.9, east),
        ("l1", "hot", 6.8, 1.9, 19.3, west), ("l1", "cold", 6.2, 1.9, 19.3, west),
        ("wc1", "cold", 4.6, 0.6, 19.05, west),
    )  # fmt: skip
    swap = {"cold": "hot", "hot": "cold"}
    found = []
    for tag, service_name, y, z, x, faces in rows:
        named = swap[service_name] if crossed and tag == "l4" else service_name
        end = supply(parts[tag], named, (x, y, z), faces)
        found.append(Branch(end, service_name, y, tag not in ("b1", "sh1")))
    return found


def run_south(main: Main, corner: Part, branches: list[Branch], size_in: float) -> None:
    """The main inside W1 and its branches; the cold one ends at the front hose bibb."""
    crew, z = main.crew, main.z
    node = corner
    mine = [branch for branch in branches if branch.service == crew.service]
    for number, branch in enumerate(mine):
        last_hot = crew.service == "hot" and branch is mine[-1]
        trade = "Elbow" if last_hot else "Tee"
        owner = branch.end.part
        tee = crew.fitting(
            trade,
            f"{owner.tag}/{crew.service}-tee",
            (MAIN_X[crew.service], branch.y, z),
            f"at {owner.name}",
        )
        size = size_in if number < 3 else min(size_in, 0.75)
        crew.pipe(node, tee, size, f"{crew.service} main in wall W1")
        branch_to(crew, tee, branch)
        node = tee
    if crew.service == "cold":
        front_bibb(crew, node, z)


def branch_to(crew: Crew, tee: Part, branch: Branch) -> None:
    """A 1/2 in riser or drop, an elbow, a stop valve where the fixture has one."""
    owner, (x, y, z) = branch.end.part, branch.end.at
    main_x = MAIN_X[crew.service]
    label = f"{crew.service} branch, {owner.name}"
    tag = f"{owner.tag}/{crew.service}"
    elbow = crew.fitting("Elbow", f"{tag}-elbow", (main_x, y, z), label)
    crew.pipe(tee, elbow, BRANCH_IN, label)
    if not branch.valve:
        crew.pipe(elbow, branch.end, BRANCH_IN, label)
        return
    stop_x = STOP_WEST_X if x < main_x else STOP_EAST_X
    stop = crew.fitting(
        "Stop valve",
        f"{tag}-stop",
        (stop_x, y, z),
        f"{crew.service.capitalize()} stop, {owner.name}",
    )
    crew.pipe(elbow, stop, BRANCH_IN, label)
    crew.close(stop, branch.end, BRANCH_IN)


def bibb_drop(cold: Crew, top: Part, bottom: Part, number: int) -> None:
    """Down to a hose bibb through its shutoff, which is reached without going outdoors."""
    x, y, _ = top.centre
    label = f"cold drop to HB-{number}"
    valve = cold.fitting(
        "Isolating valve", f"hb{number}/valve", (x, y, 4.5), f"Cold shutoff, HB-{number}"
    )
    cold.pipe(top, valve, BRANCH_IN, label)
    cold.pipe(valve, bottom, BRANCH_IN, label)


def front_bibb(cold: Crew, node: Part, z: float) -> None:
    x = MAIN_X["cold"]
    top = cold.fitting("Elbow", "hb1/top", (x, 1.2, z), "to HB-1")
    bottom = cold.fitting("Elbow", "hb1/bottom", (x, 1.2, 1.5), "to HB-1")
    bibb = hose_bibb(cold.plan, 1, (x, -0.2, 1.5), (0.0, 1.0, 0.0), "front")
    cold.pipe(node, top, BRANCH_IN, "cold branch to HB-1")
    bibb_drop(cold, top, bottom, 1)
    cold.pipe(bottom, bibb.end("inlet"), BRANCH_IN, "cold branch to HB-1, through wall")


def run_west(main: Main, design: Design) -> Part:
    """The main from the mechanical room to W1, with the laundry and kitchen off it."""
    crew, hot = main.crew, main.crew.service == "hot"
    sink_x = design.laundry_sink_x + (1.4 if hot else 0.5)
    taps = {"sink": sink_x, "washer": 33.6 if hot else 33.0, "kitchen": 30.0}
    node = main.start
    for key, x in sorted(taps.items(), key=lambda item: -item[1]):
        tee = crew.fitting(
            "Tee", f"{crew.service}/{key}-tee", (x, main.y, main.z), f"{crew.service} main at {key}"
        )
        crew.pipe(node, tee, 1.0, f"{crew.service} main, floor of level 2")
        {"sink": to_laundry_sink, "washer": to_washer, "kitchen": to_kitchen}[key](crew, tee)
        node = tee
    corner = crew.fitting(
        "Elbow" if hot else "Tee", f"{crew.service}/west", (MAIN_X[crew.service], main.y, main.z),
        f"{crew.service} main at W1",
    )  # fmt: skip
    crew.pipe(node, corner, 1.0, f"{crew.service} main, floor of level 2")
    if not hot:
        ice_maker(crew, corner)
    return corner


def to_laundry_sink(crew: Crew, tee: Part) -> None:
    hot = crew.service == "hot"
    x, y, _ = tee.centre
    part = crew.plan.parts["ls1"]
    elbow = crew.fitting("Elbow", f"ls1/{crew.service}-elbow", (x, y, 11.9), "LS-1")
    crew.pipe(tee, elbow, BRANCH_IN, f"{crew.service} branch, LS-1")
    stop_at = (x - 0.35, y, 11.9) if hot else (x, y + 0.35, 11.9)
    end_at = (x - 0.6, y, 11.9) if hot else (x, y + 0.6, 11.9)
    faces = (1.0, 0.0, 0.0) if hot else (0.0, -1.0, 0.0)
    stop = crew.fitting(
        "Stop valve", f"ls1/{crew.service}-stop", stop_at, f"{crew.service.capitalize()} stop, LS-1"
    )
    crew.pipe(elbow, stop, BRANCH_IN, f"{crew.service} branch, LS-1")
    crew.close(stop, supply(part, crew.service, end_at, faces), BRANCH_IN)


def to_washer(crew: Crew, tee: Part) -> None:
    x, y, _ = tee.centre
    part = crew.plan.parts.get("cw1") or crew.plan.add(
        Part("Clothes washer", "cw1", "Clothes washer CW-1", crew.service, (33.3, 24.7, 10.2),
             box=((32.2, 23.5, 10.2), (2.3, 2.4, 3.6)), space="Laundry")
    )  # fmt: skip
    elbow = crew.fitting("Elbow", f"cw1/{crew.service}-elbow", (x, y, 13.4), "CW-1")
    stop = crew.fitting(
        "Stop valve", f"cw1/{crew.service}-stop", (x, 22.9, 13.4),
        f"{crew.service.capitalize()} stop, CW-1",
    )  # fmt: skip
    label = f"{crew.service} branch, CW-1"
    crew.pipe(tee, elbow, BRANCH_IN, label)
    crew.pipe(elbow, stop, BRANCH_IN, label)
    crew.close(stop, supply(part, crew.service, (x, 23.5, 13.4), (0.0, -1.0, 0.0)), BRANCH_IN)


def to_kitchen(crew: Crew, tee: Part) -> None:
    """Down wall W2 and under the slab to the island; the dishwasher is on the hot one."""
    hot = crew.service == "hot"
    x, y, _ = tee.centre
    label = f"{crew.service} branch, K-1"
    island_x = 25.6 if hot else 26.4
    down = crew.fitting("Elbow", f"k1/{crew.service}-down", (x, y, -0.8), label)
    up = crew.fitting("Elbow", f"k1/{crew.service}-up", (island_x, y, -0.8), label)
    stop = crew.fitting(
        "Stop valve", f"k1/{crew.service}-stop", (island_x, y, 1.2),
        f"{crew.service.capitalize()} stop, K-1",
    )  # fmt: skip
    crew.pipe(tee, down, 0.75 if hot else BRANCH_IN, f"{label}, in wall W2")
    before = dishwasher(crew, down, y, label) if hot else down
    crew.pipe(before, up, BRANCH_IN, f"{label}, under slab")
    crew.pipe(up, stop, BRANCH_IN, label)
    end = supply(crew.plan.parts["k1"], crew.service, (island_x, y, 2.35), (0.0, 0.0, -1.0))
    crew.pipe(stop, end, BRANCH_IN, label)


def dishwasher(hot: Crew, down: Part, y: float, label: str) -> Part:
    """A tee under the slab and the dishwasher's own stop."""
    tee = hot.fitting("Tee", "dw1/tee", (27.6, y, -0.8), "hot branch at DW-1")
    hot.pipe(down, tee, 0.75, f"{label} and DW-1, under slab")
    stop = hot.fitting("Stop valve", "dw1/stop", (27.6, y, 0.1), "Hot stop, DW-1")
    hot.pipe(tee, stop, BRANCH_IN, "hot branch, DW-1")
    end = supply(hot.plan.parts["dw1"], "hot", (27.6, y, 0.4), (0.0, 0.0, -1.0))
    hot.close(stop, end, BRANCH_IN)
    return tee


def ice_maker(cold: Crew, corner: Part) -> None:
    x = MAIN_X["cold"]
    over = cold.fitting("Elbow", "ice/over", (x, 24.2, corner.centre[2]), "to ice maker box")
    box = device(
        cold.plan, "Ice maker box", "ice/box", "Ice maker box IM-1", "cold",
        {"inlet": ((x, 24.2, 1.5), (0.0, 0.0, 1.0), BRANCH_IN, IN, "cold")},
        space="Kitchen",
    )  # fmt: skip
    cold.pipe(corner, over, BRANCH_IN, "cold branch to ice maker box IM-1")
    cold.pipe(over, box.end("inlet"), BRANCH_IN, "cold drop to ice maker box IM-1")
