"""Laying pipe as a plumber takes it off a drawing: fittings at centres, pipe between them.

A fitting is put at the point where its centrelines meet; every pipe or direct joint to it adds
an end, a take-off away along the line to the other part. Drainage is laid uphill from the
sewer, so `uphill` gives the next centre of a run at a stated fall.
"""

from __future__ import annotations

from dataclasses import dataclass

from .catalogue import MATERIALS
from .parts import BOTH, IN, OUT, End, Part, Plan, Point, between, plus

QUARTER_INCH_PER_FOOT = 1 / 48
EIGHTH_INCH_PER_FOOT = 1 / 96
SHORTEST_PIPE_FT = 0.04


def uphill(
    start: Point,
    x: float | None = None,
    y: float | None = None,
    slope: float = QUARTER_INCH_PER_FOOT,
) -> Point:
    """The point above (x, y) reached from `start` by climbing at `slope`."""
    to_x = start[0] if x is None else x
    to_y = start[1] if y is None else y
    run = ((to_x - start[0]) ** 2 + (to_y - start[1]) ** 2) ** 0.5
    return (to_x, to_y, start[2] + run * slope)


def at_height(point: Point, z: float) -> Point:
    """The point straight above or below."""
    return (point[0], point[1], z)


def take_off(size_in: float) -> float:
    """Distance in ft from a fitting's centre to its end: 1-1/2 in for 1/2 in, 5 in for 4 in."""
    return (size_in + 1.0) / 12


def trade_size(size_in: float) -> str:
    """A size as it is written: 1.5 -> "1-1/2"."""
    whole, part = int(size_in), size_in - int(size_in)
    fraction = {0.0: "", 0.25: "1/4", 0.375: "3/8", 0.5: "1/2", 0.75: "3/4"}[part]
    return "-".join(text for text in (str(whole) if whole else "", fraction) if text)


@dataclass
class Crew:
    """Lays one service: what it draws is named and sized alike unless told otherwise."""

    plan: Plan
    service: str
    material: str
    two_way: bool = False  # air or water may move both ways: vents

    def fitting(self, trade: str, tag: str, at: Point, label: str, **more: object) -> Part:
        """A fitting or inline device at the point where its centrelines meet."""
        part = Part(trade, tag, label, self.service, at, material=self.material)
        for name, value in more.items():
            setattr(part, name, value)
        return self.plan.add(part)

    def pipe(
        self,
        upstream: Part | End,
        downstream: Part | End,
        size_in: float,
        label: str,
        *,
        stated: bool = True,
        sizes: tuple[float, float] | None = None,
    ) -> Part:
        """A pipe between two parts, flowing from the first to the second.

        `stated=False` leaves the size out of the model, as a pipe still to be sized. `sizes`
        gives the fittings' ends another size than the pipe's own, where that is a mistake.
        """
        first, second = sizes or (size_in, size_in)
        a = self.end_towards(upstream, place(downstream), first, OUT, stated)
        b = self.end_towards(downstream, place(upstream), second, IN, stated)
        pipe = self._segment(f"pipe/{a.part.tag}>{b.part.tag}", a.at, b.at, size_in, label, stated)
        self.plan.join(a, pipe.end("inlet"))
        self.plan.join(pipe.end("outlet"), b)
        return pipe

    def stub(self, upstream: Part | End, to: Point, size_in: float, label: str) -> Part:
        """A pipe that ends in the open at `to`."""
        a = self.end_towards(upstream, to, size_in, OUT, True)
        pipe = self._segment(f"pipe/{a.part.tag}>open", a.at, to, size_in, label, True)
        self.plan.join(a, pipe.end("inlet"))
        return pipe

    def lead_in(
        self, tag: str, start: Point, downstream: Part | End, size_in: float, label: str
    ) -> Part:
        """A pipe that begins in the open at `start`."""
        b = self.end_towards(downstream, start, size_in, IN, True)
        pipe = self._segment(tag, start, b.at, size_in, label, True)
        self.plan.join(pipe.end("outlet"), b)
        return pipe

    def close(self, upstream: Part | End, downstream: Part | End, size_in: float) -> None:
        """Join a fitting directly to a fixed end of another part, without pipe between."""
        if isinstance(upstream, Part):
            assert isinstance(downstream, End)
            upstream = self._add_end(upstream, downstream.at, size_in, OUT)
        elif isinstance(downstream, Part):
            downstream = self._add_end(downstream, upstream.at, size_in, IN)
        assert isinstance(downstream, End)
        self.plan.join(upstream, downstream)

    def end_towards(
        self, of: Part | End, target: Point, size_in: float, flow: str, stated: bool = True
    ) -> End:
        if isinstance(of, End):
            return of
        _, direction = between(of.centre, target)
        at = plus(of.centre, direction, take_off(size_in))
        return self._add_end(of, at, size_in if stated else None, flow)

    def _add_end(self, part: Part, at: Point, size_in: float | None, flow: str) -> End:
        _, direction = between(part.centre, at)
        flow = BOTH if self.two_way else flow
        end = End(part, f"end {len(part.ends) + 1}", at, direction, size_in, flow, self.service)
        part.ends.append(end)
        return end

    def _segment(
        self, tag: str, start: Point, stop: Point, size_in: float, label: str, stated: bool
    ) -> Part:
        length, direction = between(start, stop)
        if length < SHORTEST_PIPE_FT:
            raise ValueError(f"{tag} has no room for a pipe: {length * 12:.2f} in")
        name = f"{trade_size(size_in)} in {label}" if stated else label
        size = size_in if stated else None
        pipe = Part("Pipe", tag, name, self.service, start, material=self.material, size_in=size)
        back = (-direction[0], -direction[1], -direction[2])
        flows = (BOTH, BOTH) if self.two_way else (IN, OUT)
        pipe.ends = [
            End(pipe, "inlet", start, back, size, flows[0], self.service),
            End(pipe, "outlet", stop, direction, size, flows[1], self.service),
        ]
        return self.plan.add(pipe)


def place(of: Part | End) -> Point:
    return of.at if isinstance(of, End) else of.centre


def device(
    plan: Plan,
    trade: str,
    tag: str,
    name: str,
    service: str,
    ends: dict[str, tuple[Point, Point, float, str, str]],
    **more: object,
) -> Part:
    """A part whose ends are where its maker put them.

    `ends`: name -> point, direction, size, flow, service.
    """
    part = Part(trade, tag, name, service, next(iter(ends.values()))[0])
    for key, (at, direction, size_in, flow, end_service) in ends.items():
        part.ends.append(End(part, key, at, direction, size_in, flow, end_service))
    for key, value in more.items():
        setattr(part, key, value)
    return plan.add(part)


def outside_diameter_ft(material: str, size_in: float) -> float:
    """Outside diameter of a pipe of this material and trade size."""
    return MATERIALS[material].outside_in(size_in) / 12
