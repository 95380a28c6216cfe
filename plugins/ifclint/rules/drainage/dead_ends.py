"""The rule about capped drains that lead nowhere."""

from ifclint.checks import PASS, Fact, advise, due, not_known
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Measure
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.facts import fact
from ifclint.plumbing.words import says

FUTURE = ("future", "rough in", "roughed in", "roughin", "stub out", "provision*")
STRAIGHT_ON = 2  # neighbours of what stands between a cap and the drain it closes
LENGTH = Fact(
    "the developed length of the drain that {} closes is not known.", fact("length_m").remedy
)


def _is_cap(piece: Piece) -> bool:
    return piece.element.kind == "cap" and piece.element.system is System.SANITARY


@rule(
    title="No dead end in the drains", clauses={"ipc": "704.5", "irc": "P3005.1.5"}, applies=_is_cap
)
def drain_dead_end(piece: Piece, context: Context) -> Answer:
    """What settles in a pipe that leads nowhere rots there.

    The length of pipe from a cap to the drain that water passes, along pieces without a branch,
    fixture, cleanout or vent. A capped drain may be meant for a future fixture: where none of its
    pieces is called so, that is to be said, and the answer is an advisory.
    """
    elements, stub = context.plumbing.network.elements, due(_stub(piece, context))
    if any(says(elements[i], FUTURE) for i in stub):
        return PASS
    pipes = [elements[i] for i in stub if elements[i].role is Role.PIPE]
    lengths = [pipe.length_m for pipe in pipes]
    told = [length for length in lengths if length is not None]
    most, length_ft = context.code.limit("dead_end_ft"), sum(told) / M_PER_FT
    if not at_least(length_ft, most.value, "ft"):
        return PASS if len(told) == len(lengths) else not_known(LENGTH, piece)
    return _dead_end(piece, pipes, most, length_ft)


def _dead_end(piece: Piece, pipes: list[Element], most: Limit, length_ft: float) -> Answer:
    return advise(
        f"The drain that {piece.label} closes is a dead end of {feet_text(length_ft)}.",
        "Take it out; or, where it is for a future fixture, say so in its name, and have it "
        "approved.",
        elements=(piece.element.guid, *(pipe.guid for pipe in pipes)),
        measured=Measure(round(length_ft, 2), "ft"),
        required=Measure(most.value, "ft"),
        steps=(most.step("A dead end from"),),
    )


@derived
def _fixtures_above(context: Context) -> list[float]:
    """How many fixtures drain through every element."""
    fixtures = context.plumbing.fixtures
    return context.plumbing.drainage.how_many(f.index for f in fixtures)


def _stub(piece: Piece, context: Context) -> list[int] | None:
    """From a cap to the drain that it closes, None where it closes another thing, or nothing."""
    network, flow = context.plumbing.network, _fixtures_above(context)
    came, index = -1, network.of_guid[piece.element.guid][-1]
    stub = [index]
    while True:
        beyond = [i for i in network.neighbours(index) if i != came]
        if len(beyond) != 1:
            return None
        came, index = index, beyond[0]
        if flow[index]:
            return stub if network.elements[index].role in (Role.PIPE, Role.FITTING) else None
        plain = network.elements[index].role in (Role.PIPE, Role.FITTING)
        if not plain or index in stub or len(network.neighbours(index)) != STRAIGHT_ON:
            return None
        stub.append(index)
