"""Rules about pipe in walls: room enough between the faces."""

import re
from dataclasses import dataclass

from ifclint.checks import Answer, Fact, check, known
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import middle, thickness_m, thin_axis
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import fraction_text, trade_size
from ifclint.findings import Outcome, Severity, Step
from ifclint.ifc.elements import DRAINAGE, Element, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.roughin.pipes import Straight, straights
from ifclint.rules.roughin.standing import askew_walls

SMALLEST_IN = 2.0  # smaller pipe fits every wall
SHORTEST_M = 0.3  # what is shorter passes through a wall, and does not run in it
THICKEST_IN = 12.0  # thicker walls hold every pipe of a building
DRAWN_IN = 0.05  # a wall drawn so much thinner is as thick as its studs. Ours, no source
STUDS_IN = (2.5, 3.5, 3.625, 5.5, 6.0, 7.25, 9.25, 11.25)  # depths of studs, wood and steel
HUB_IN = 0.5  # by which the hubs of drainage pipe are thicker than it; common practice, no source
OTHER_HUB_IN = 0.25
SOLID = re.compile(
    r"concrete|masonry|brick|block|cmu|stone|chase|shaft|beton|béton|mauer|ziegel|schacht|ladrillo|"
    r"hormig|bloque|brique|parpaing|pierre|gaine|baksteen|metselwerk|кирпич|бетон",
    re.I,
)
FITS = Fact(
    "whether {} fits into {} is not known: its outside diameter is not.",
    "Give the pipe a material named in trade words (PVC, ABS, cast iron, copper).",
)


@dataclass(eq=False)
class InWall(OfElement):
    """A pipe that runs in a wall."""

    element: Element
    pipe: Straight
    wall: Surface
    service = None

    @property
    def key(self) -> str:
        return f"{self.element.key} {self.wall.guid}"

    @property
    def thickness_in(self) -> float:
        return thickness_m(self.wall.low, self.wall.high) / M_PER_IN


@derived
def in_walls(context: Context) -> list[InWall]:
    """Every larger pipe that runs in a framed wall, with the wall."""
    askew = askew_walls(context)
    walls = {
        w.guid: w
        for w in context.plumbing.surroundings.of_kind("wall")
        if w.guid not in askew and not SOLID.search(w.name)
    }
    found = []
    for pipe in straights(context) if walls else ():
        is_large = at_least(or_zero(pipe.element.size_in), SMALLEST_IN, "in")
        if not is_large or not at_least(pipe.length_m, SHORTEST_M, "m"):
            continue
        at = middle(pipe.a, pipe.b)
        for o in context.plumbing.surroundings.within(at, at):
            wall = walls.get(o.guid)
            if wall and pipe.axis not in (None, thin_axis(wall.low, wall.high)):
                found.append(InWall(pipe.element, pipe, wall))
    return found


@rule(
    title="Pipe thin enough for its wall",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda run: at_most(run.thickness_in, THICKEST_IN, "in"),
)
def pipe_fits_wall(run: InWall, context: Context) -> Answer:
    """A 3 in stack does not go into a wall of 2 by 4 studs, and is found out when they stand.

    Pipe of 2 in and larger that runs in a wall, with its hubs, against the deepest stud that goes
    into the thickness of the wall's box. Walls of concrete, masonry or named a chase are excused,
    and walls thicker than 12 in. An advisory: no code asks for it.
    """
    outside_in = known(run.pipe.outside_m, FITS, run, _named(run.wall)) / M_PER_IN
    hub = HUB_IN if run.element.system in DRAINAGE else OTHER_HUB_IN
    depth = max((s for s in STUDS_IN if s <= run.thickness_in + DRAWN_IN), default=run.thickness_in)
    return check(
        outside_in + hub,
        at_most=depth,
        unit="in",
        message=f"{trade_size(run.element.size_in)} pipe {run.label} runs in {_named(run.wall)}, "
        f"{fraction_text(run.thickness_in, 3)} in thick.",
        remedy="Frame that wall deeper, fur it out, or move the pipe.",
        steps=(
            Step("Outside diameter", outside_in, "in"),
            Step("Its hubs are thicker by", hub, "in"),
            Step("Deepest stud that goes into the wall", depth, "in"),
        ),
        wrong=Outcome.ADVISORY,
        elements=(run.element.guid, run.wall.guid),
    )


def _named(wall: Surface) -> str:
    return f'wall "{wall.name}"' if wall.name else "a wall"
