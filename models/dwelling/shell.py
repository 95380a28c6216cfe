"""The building around the pipes: slabs, walls, roof, windows, doors, rooms."""

from __future__ import annotations

from .parts import Plan, Solid

WIDTH, DEPTH = 44.0, 30.0
GRADE, SLAB, UPPER_FLOOR, ROOF = -0.5, 0.0, 10.0, 21.0
LEVELS = (("Level 1", SLAB), ("Level 2", UPPER_FLOOR), ("Roof", ROOF))
CEILING = {"Level 1": 8.0, "Level 2": 19.0}
OUTER, INNER, CHASE = 0.5, 0.4, 1.0  # wall thickness; W1 is a plumbing chase

# name, axis ("x" runs along x), position of the centreline, from, to, thickness
WALLS = {
    "Level 1": (
        ("South wall", "x", 0.25, 0.0, WIDTH, OUTER),
        ("North wall", "x", DEPTH - 0.25, 0.0, WIDTH, OUTER),
        ("West wall", "y", 0.25, 0.5, DEPTH - 0.5, OUTER),
        ("East wall", "y", WIDTH - 0.25, 0.5, DEPTH - 0.5, OUTER),
        ("Plumbing wall W1", "y", 20.0, 0.5, DEPTH - 0.5, CHASE),
        ("Wall W2", "y", 30.0, 0.5, DEPTH - 0.5, OUTER),
        ("Garage wall W3", "x", 20.0, 30.25, WIDTH - 0.5, INNER),
        ("Powder room wall", "x", 9.0, 13.0, 19.5, INNER),
        ("Hall wall", "x", 14.0, 20.5, 29.75, INNER),
    ),
    "Level 2": (
        ("South wall, level 2", "x", 0.25, 0.0, WIDTH, OUTER),
        ("North wall, level 2", "x", DEPTH - 0.25, 0.0, WIDTH, OUTER),
        ("West wall, level 2", "y", 0.25, 0.5, DEPTH - 0.5, OUTER),
        ("East wall, level 2", "y", WIDTH - 0.25, 0.5, DEPTH - 0.5, OUTER),
        ("Plumbing wall W1, level 2", "y", 20.0, 0.5, DEPTH - 0.5, CHASE),
        ("Wall W2, level 2", "y", 30.0, 0.5, DEPTH - 0.5, OUTER),
        ("Bath 2 west wall", "y", 12.0, 9.5, 20.5, INNER),
        ("Bath 2 south wall", "x", 9.5, 12.2, 19.5, INNER),
        ("Bath 2 north wall", "x", 20.7, 11.8, 19.5, INNER),
        ("Bath 3 south wall", "x", 6.0, 20.5, 28.0, INNER),
        ("Bath 3 north wall", "x", 17.0, 20.5, 28.0, INNER),
        ("Laundry south wall", "x", 20.0, 30.25, WIDTH - 0.5, INNER),
    ),
}

# host wall, kind, along the wall from, to, sill, head
OPENINGS = (
    ("South wall", "Door", 24.0, 27.0, 0.0, 6.8),
    ("South wall", "Window", 4.0, 10.0, 3.0, 7.0),
    ("North wall", "Window", 24.0, 28.0, 3.5, 7.0),
    ("Hall wall", "Door", 26.0, 29.0, 0.0, 6.8),
    ("Garage wall W3", "Door", 34.0, 37.0, 0.0, 6.8),
    ("West wall, level 2", "Window", 12.0, 17.0, 13.0, 17.0),
    ("East wall, level 2", "Window", 6.0, 11.0, 13.0, 17.0),
    ("South wall, level 2", "Window", 5.0, 10.0, 13.0, 17.0),
    ("Bath 2 south wall", "Door", 13.0, 15.5, 10.0, 16.8),
    ("Bath 3 south wall", "Door", 25.3, 27.8, 10.0, 16.8),
)

# storey, name, west, south, east, north
ROOMS = (
    ("Level 1", "Living room", 0.5, 9.2, 19.5, 29.5),
    ("Level 1", "Study", 0.5, 0.5, 12.8, 8.8),
    ("Level 1", "Powder room", 13.0, 0.5, 19.5, 8.8),
    ("Level 1", "Hall", 20.5, 0.5, 29.75, 13.8),
    ("Level 1", "Kitchen", 20.5, 14.2, 29.75, 29.5),
    ("Level 1", "Garage", 30.25, 0.5, 43.5, 19.8),
    ("Level 1", "Mechanical room", 30.25, 20.2, 43.5, 29.5),
    ("Level 2", "Bath 2", 12.2, 9.7, 19.5, 20.5),
    ("Level 2", "Bath 3", 20.5, 6.2, 28.0, 16.8),
    ("Level 2", "Laundry", 30.25, 20.2, 43.5, 29.5),
    ("Level 2", "Bedroom 1", 0.5, 0.5, 11.8, 29.5),
    ("Level 2", "Bedroom 2", 30.25, 0.5, 43.5, 19.8),
)


def shell(plan: Plan) -> None:
    """Add the whole building fabric."""
    slabs(plan)
    for storey, base in LEVELS[:2]:
        for wall in WALLS[storey]:
            plan.solids.append(wall_solid(storey, base, *wall))
    for number, opening in enumerate(OPENINGS, 1):
        plan.solids.append(opening_solid(plan, number, *opening))
    for storey, name, west, south, east, north in ROOMS:
        base = dict(LEVELS)[storey]
        size = (east - west, north - south, CEILING[storey] - base)
        plan.solids.append(
            Solid("IfcSpace", "INTERNAL", f"room/{name}", name, (west, south, base), size,
                  storey=storey)
        )  # fmt: skip


def slabs(plan: Plan) -> None:
    full = (WIDTH, DEPTH)
    for kind, tag, name, base, thickness, storey in (
        ("BASESLAB", "slab/ground", "Slab on grade", -0.33, 0.33, "Level 1"),
        ("FLOOR", "slab/upper", "Level 2 subfloor", 9.9, 0.1, "Level 2"),
        ("ROOF", "slab/roof", "Flat roof", 21.0, 0.6, "Roof"),
    ):
        plan.solids.append(
            Solid("IfcSlab", kind, tag, name, (0.0, 0.0, base), (*full, thickness), True,
                  storey=storey)
        )  # fmt: skip


def wall_solid(
    storey: str, base: float, name: str, axis: str, line: float, start: float, stop: float,
    thickness: float,
) -> Solid:  # fmt: skip
    half, height = thickness / 2, CEILING[storey] + (2.0 if thickness == OUTER else 0.0) - base
    low = (start, line - half, base) if axis == "x" else (line - half, start, base)
    size = (stop - start, thickness, height) if axis == "x" else (thickness, stop - start, height)
    outer = name.split(",")[0] in ("South wall", "North wall", "West wall", "East wall")
    return Solid("IfcWall", "", f"wall/{name}", name, low, size, outer, storey=storey)


def opening_solid(
    plan: Plan, number: int, host: str, kind: str, start: float, stop: float, sill: float,
    head: float,
) -> Solid:  # fmt: skip
    wall = next(solid for solid in plan.solids if solid.tag == f"wall/{host}")
    along_x = wall.size[0] > wall.size[1]
    low = (start, wall.low[1], sill) if along_x else (wall.low[0], start, sill)
    size = (
        (stop - start, wall.size[1], head - sill)
        if along_x
        else (wall.size[0], stop - start, head - sill)
    )
    name = f"{kind} {number}, {host}"
    return Solid(f"Ifc{kind}", kind.upper(), f"opening/{number}", name, low, size, wall.exterior,
                 wall.tag, wall.storey)  # fmt: skip
