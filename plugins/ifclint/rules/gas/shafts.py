"""The rule that gas pipe keeps out of shafts, chutes, ducts and chimneys."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.engineering.extents import holds
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role, Space, Surface
from ifclint.packs import Context, derived
from ifclint.plumbing import GasSegment
from ifclint.plumbing.surroundings.rooms import ELEVATORS, passes, passes_hollow, rooms_called
from ifclint.rules.gas.caution import gas_rule

FORBIDDEN = (
    *ELEVATORS, "clothes chute", "laundry chute", "linen chute", "trash chute", "rubbish chute",
    "chute", "chimney", "chimney shaft", "air duct", "air shaft", "duct shaft", "ventilating duct",
)  # fmt: skip
NOT_IN_IT = ("lobby", "lobbies", "hall", "machine room", "room")
PLACE = Fact("where {} runs", "Give the pipe a shape or two placed ports.")
THROUGH = Fact(
    'whether {} passes through "{}"',
    "Draw duct and chimney as straight solids of their own cross-section, or the pipe clear of "
    "their boxes.",
)


@gas_rule(
    title="Gas pipe outside shafts, chutes, ducts and chimneys",
    clauses={"upc": "1210.2", "ipc": "IFGC 404.3", "irc": "G2415.3"},
    severity=Severity.HIGH,
)
def gas_in_shaft(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """A leak in a shaft or duct is carried to every floor, and no one can reach the pipe.

    Pipe within a space named as an elevator or dumbwaiter shaft, a chute, an air duct or a chimney,
    or through one, and within a chimney, chute or duct drawn as such. Where that is round, bent or
    askew, pipe in its box but not in its middle is asked about. Pipe that ends in it at the
    appliance it serves, as at a fireplace, may. A model without such a space or part is excused.
    The sections are from memory.
    """
    shafts = _shafts(context)
    if not shafts:
        return
    unplaced = [pipe for pipe in segment.pipes if len(pipe.places) < 2]
    for pipe in unplaced:
        yield not_known(PLACE, pipe, elements=(pipe.guid,), about=pipe.guid)
    answers = [a for shaft in shafts if (a := _keeps_out(segment, shaft)) is not PASS]
    yield from answers or ([] if unplaced else [PASS])


@derived
def _shafts(context: Context) -> list[Space | Surface]:
    """The spaces, chimneys, chutes and ducts that no gas pipe may pass."""
    plumbing = context.plumbing
    ducts = [e for e in plumbing.network.elements if e.role is Role.OTHER and e.kind == "duct"]
    return [
        *rooms_called(FORBIDDEN, NOT_IN_IT, context),
        *plumbing.surroundings.of_kind("chimney", "chute", "duct", "duct fitting"),
        *(Surface(e.guid, "duct", e.label, *e.box) for e in ducts if e.box is not None),
    ]


def _keeps_out(segment: GasSegment, shaft: Space | Surface) -> Answer:
    through = {pipe.guid: _is_in(segment, pipe, shaft) for pipe in segment.pipes}
    pipes = [guid for guid, within in through.items() if within is not False]
    if not pipes:
        return PASS
    name = shaft.name or "duct"
    own = (shaft.guid,) if isinstance(shaft, Surface) else ()
    elements, about = (*pipes, *own), " ".join((pipes[0], *(own or (name,))))
    if True not in through.values():
        return not_known(THROUGH, segment, name, elements=elements, about=about)
    return violation(
        message=f'{segment.label} passes through "{name}".',
        remedy=f'Lead the gas pipe around "{name}".',
        elements=elements,
        about=about,
    )


def _is_in(segment: GasSegment, pipe: Element, shaft: Space | Surface) -> bool | None:
    """Whether a pipe lies in a shaft for some of its length; None where that cannot be told."""
    points = pipe.places
    if len(points) < 2:
        return False  # asked for by itself
    if isinstance(shaft, Space):
        return passes(points[0], points[-1], shaft)
    serves = any(appliance.segment is segment for appliance in segment.appliances)
    if serves and any(holds(shaft.low, shaft.high, p) for p in points):
        return False  # it ends there, at its appliance
    return passes_hollow(points[0], points[-1], shaft)
