"""Supply networks made in code: trees of pipe, and a large building for measuring."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ifclint import codes, network
from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role, System
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.plumbing import build

M_PER_FT = 0.3048


@dataclass
class Builder:
    """Puts elements end to end; every element's last end is where the next begins."""

    model: Model
    material: str = "copper"

    def add(self, name: str, role: Role, kind: str, size: float | None, points: list[Point]) -> int:
        element = Element(name, name=name, role=role, kind=kind, system=System.COLD_WATER)
        element.size_in, element.material = size, self.material
        element.ends = [End(p, size) for p in points]
        element.position = points[0]
        if role is Role.PIPE:
            element.length_m = sum((a - b) ** 2 for a, b in zip(*points, strict=True)) ** 0.5
        self.model.elements.append(element)
        return len(self.model.elements) - 1

    def join(self, a: int, a_end: int, b: int, b_end: int) -> None:
        self.model.joints.append(Joint(a, a_end, b, b_end))


@dataclass(frozen=True)
class Branch:
    """A pipe of a tree: the pipe it leaves (-1: the meter), its length in ft, its size in in."""

    parent: int
    length_ft: float
    size_in: float
    pieces: int = 1  # drawn in so many pieces
    rise_ft: float = 0.0


def tree(branches: Sequence[Branch], fixtures: Sequence[tuple[int, str]]) -> Model:
    """A meter, pipes "P0", "P1" ..., and fixtures "F0", "F1" ... (pipe they end, kind)."""
    made = Builder(Model())
    meter = made.add("M", Role.METER, "water", branches[0].size_in, [(0.0, 0.0, 0.0)])
    tip: dict[int, tuple[int, int, Point]] = {-1: (meter, 0, (0.0, 0.0, 0.0))}
    for number, branch in enumerate(branches):
        element, end, start = tip[branch.parent]
        step = branch.length_ft * M_PER_FT / branch.pieces
        rise = branch.rise_ft * M_PER_FT / branch.pieces
        level = (step**2 - rise**2) ** 0.5
        for piece in range(branch.pieces):
            stop = (start[0] + level, start[1] + number * 0.01, start[2] + rise)
            name = f"P{number}" if not piece else f"P{number}.{piece}"
            pipe = made.add(name, Role.PIPE, "", branch.size_in, [start, stop])
            made.model.elements[pipe].length_m = step
            made.join(element, end, pipe, 0)
            element, end, start = pipe, 1, stop
        tip[number] = (element, end, start)
    for number, (pipe, kind) in enumerate(fixtures):
        element, end, point = tip[pipe]
        fixture = made.add(f"F{number}", Role.FIXTURE, kind, None, [point])
        made.join(element, end, fixture, 0)
    return made.model


def large(lines: int) -> Model:
    """A building of risers with floors of fixtures, of at least so many pieces of pipe."""
    made = Builder(Model())
    meter = made.add("M", Role.METER, "water", 4.0, [(0.0, 0.0, 0.0)])
    before, before_end = meter, 0
    count, riser = 0, 0
    while count < lines:
        x = 3.0 * (riser + 1)
        main = made.add(f"main{riser}", Role.PIPE, "", 4.0, [(x - 3.0, 0.0, 0.0), (x, 0.0, 0.0)])
        made.join(before, before_end, main, 0)
        tee = made.add(f"tee{riser}", Role.FITTING, "tee", 4.0, [(x, 0.0, 0.0)] * 3)
        made.join(main, 1, tee, 0)
        before, before_end = tee, 1
        count += 1 + _riser(made, riser, tee, x)
        riser += 1
    return made.model


def _riser(made: Builder, riser: int, foot: int, x: float) -> int:
    at, at_end, count = foot, 2, 0
    for floor in range(10):
        z = 3.0 * (floor + 1)
        pipe = made.add(
            f"riser{riser}.{floor}", Role.PIPE, "", 2.0, [(x, 0.0, z - 3.0), (x, 0.0, z)]
        )
        made.join(at, at_end, pipe, 0)
        tee = made.add(f"floor{riser}.{floor}", Role.FITTING, "tee", 2.0, [(x, 0.0, z)] * 3)
        made.join(pipe, 1, tee, 0)
        at, at_end = tee, 1
        side, side_end = tee, 2
        for place in range(4):
            y = 1.0 * (place + 1)
            name = f"{riser}.{floor}.{place}"
            along = made.add(f"along{name}", Role.PIPE, "", 1.0, [(x, y - 1.0, z), (x, y, z)])
            made.join(side, side_end, along, 0)
            tap = made.add(f"tap{name}", Role.FITTING, "tee", 1.0, [(x, y, z)] * 3)
            made.join(along, 1, tap, 0)
            drop = made.add(f"drop{name}", Role.PIPE, "", 0.5, [(x, y, z), (x, y, z - 1.0)])
            made.join(tap, 2, drop, 0)
            kind = ("lavatory", "water-closet", "shower", "kitchen-sink")[place]
            fixture = made.add(f"fixture{name}", Role.FIXTURE, kind, None, [(x, y, z - 1.0)])
            made.join(drop, 1, fixture, 0)
            side, side_end = tap, 1
            count += 2
        count += 1
    return count


def context_of(model: Model, code: str = "upc-2021", **water: object) -> Context:
    """All that rules see of a model, with the keys of [water] given."""
    job = Job.model_validate({"water": water})
    plumbing = build(network.connect(model), water_source=job.water.source)
    return Context(codes.load(code), plumbing, job)
