"""Rules about the cleanouts that single fixtures want: urinals and kitchen sinks."""

from collections.abc import Iterator
from itertools import takewhile

from ifclint.checks import PASS, advise, missing
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import feet
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import System
from ifclint.packs import Context, rule
from ifclint.part_kinds import CLEANOUTS
from ifclint.plumbing import Cleanout, DrainLine, Fixture
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.rules.cleanouts.wording import (
    add_cleanout,
    downstream,
    for_want_of_cleanouts,
    line_steps,
    on_line,
)


@rule(
    title="Urinal with a cleanout above its fitting",
    clauses={"upc": "707.4"},
    severity=Severity.LOW,
    applies=lambda f: f.kind == "urinal" and f.connected,
)
def urinal_cleanout(fixture: Fixture, context: Context) -> Answer:
    """Urinals crust up their drains; each is to be opened without taking it off the wall.

    Whether a cleanout joins the drain of the urinal before it meets another drain, or stands in
    the vertical straight above the fitting in which it does.
    """
    if any(_opens(c, _to_junction(fixture, context), context) for c in context.plumbing.cleanouts):
        return PASS
    return missing(
        CLEANOUTS,
        message=lambda: f"No cleanout stands above the connection of {fixture.label}.",
        remedy=add_cleanout(fixture.key, "Put a cleanout tee above the connection of the urinal."),
    )


def _to_junction(fixture: Fixture, context: Context) -> set[int]:
    """The elements of its drain to where it meets another; where pipes meet without a fitting, the
    pipe that begins there too."""
    piping, path = context.plumbing.venting.piping, fixture.path
    if not path or not piping.is_pipe(path[-1]):
        return set(path)
    return {*path, piping.drainage.down[path[-1]]}


def _opens(cleanout: Cleanout, drain: set[int], context: Context) -> bool:
    """Whether its cable enters a drain, at once or straight down vertical pipe above it, within a
    storey."""
    piping = cleanout.piping
    if cleanout.on_vent:
        return False
    for index in downstream(cleanout.entry, context):
        if index in drain:
            above, here = cleanout.point, piping.middle(index)
            drop = 0.0 if above is None or here is None else above[2] - here[2]
            return at_most(drop, STOREY_HEIGHT_M, "m")
        if piping.is_pipe(index) and not piping.is_vertical(index):
            return False
    return False


@rule(
    title="Kitchen drain with a cleanout past its trap",
    clauses={"upc": "707.4", "ipc": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda line: any(f.kind == "kitchen-sink" for f in line.fixtures),
    follows=(System.SANITARY,),
)
def kitchen_drain_rodded(line: DrainLine, context: Context) -> Iterator[Answer]:
    """Grease closes the kitchen drain first, and no cable passes a trap.

    Whether a cleanout between the trap of each sink and the end of the line, or in the vertical
    straight above, or in the upright that its arm turns down in unvented, lets the line be rodded
    with the flow, but for a part that is worth no word. An advisory where the code asks for none
    (the rule about upper ends finds what it does ask for).
    """
    short = context.code.limit("cleanout_unreached_ft").value
    rodded = any(at_most(feet(at), short, "ft") for at, _ in on_line(line, context))
    for sink in line.fixtures:
        if sink.kind != "kitchen-sink":
            continue
        drain = _to_line(sink, line, context) | _drop(sink, context)
        if rodded or any(_opens(c, drain, context) for c in context.plumbing.cleanouts):
            yield PASS
            continue
        text = "Put a cleanout tee in the sink's waste, below the trap arm."
        yield for_want_of_cleanouts(
            advise(
                f"{line.label} cannot be rodded from past the kitchen sink's trap.",
                add_cleanout(sink.key, text),
                steps=lambda: line_steps(line, context),
                about=sink.key,
            )
        )


def _to_line(sink: Fixture, line: DrainLine, context: Context) -> set[int]:
    """The elements from a sink to where its drain comes into a line."""
    path = downstream(sink.index, context)
    enters = next((n for n, i in enumerate(path) if i in line.indexes[1:]), len(path))
    return set(path[: enters + 1])


def _drop(sink: Fixture, context: Context) -> set[int]:
    """Where the arm of a sink turns down before any vent: the upright that it falls in."""
    arms = (a for a in context.plumbing.venting.arms if sink in a.fixtures)
    turned = next((a.turned_down for a in arms if a.turned_down != NONE), NONE)
    piping = context.plumbing.venting.piping
    below = downstream(turned, context) if turned != NONE else []
    return {*takewhile(lambda i: not piping.is_horizontal(i), below)}
