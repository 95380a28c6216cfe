"""Rules about what the model tells of each element: size, service, kind, and doubts in reading."""

from __future__ import annotations

from collections.abc import Sequence

from ifclint.checks import PASS, advise, unverified
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Role
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.facts import fact

PIPING = frozenset({Role.PIPE, Role.FITTING})
SIZE = "size"  # the topic of a note
MOST_TOLD = 3  # doubts of one element that are told in full


@rule(
    title="Every pipe has a nominal size",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    applies=lambda piece: piece.role is Role.PIPE,
)
def pipe_has_size(piece: Piece, context: Context) -> Answer:
    """A pipe of unknown size can be judged by no sizing rule.

    The size as a trade size, from a property of the pipe, its type or ports, its profile, its name
    or its shape. A diameter that fits two trade sizes, or none, is not guessed at; the answer says
    what was found and between which sizes it lies.
    """
    if piece.size_in is not None:
        return PASS
    found = next((n for n in piece.notes if n.topic == SIZE), None)
    if found is not None:
        return unverified(found.what, found.remedy)
    wanted = fact("size_in")
    return unverified(f"The {wanted.words} of {piece.label} is not known.", wanted.remedy)


@rule(
    title="Service of every pipe and fitting known",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    needs=("service",),
    applies=lambda piece: piece.role in PIPING,
)
def service_known(piece: Piece, context: Context) -> Answer:
    """A pipe in no known system was judged by no rule of any service.

    The system it is assigned to, its ports' system, the words of its name, or what it is joined to.
    """
    return PASS


@rule(
    title="Kind of every fixture known",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    needs=("known_kind",),
    applies=lambda piece: piece.role is Role.FIXTURE,
)
def fixture_has_kind(piece: Piece, context: Context) -> Answer:
    """A fixture of unknown kind gives no load and asks for no trap size.

    The PredefinedType of the fixture or its type, or the words of their names.
    """
    return PASS


@rule(
    title="Nothing doubtful in what the model tells",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
)
def told_without_doubt(piece: Piece, context: Context) -> Answer:
    """Where two places of the model say different things, one of them is wrong.

    Conflicts met in reading: two systems, two sizes, a class and a name that disagree, a length
    that is not that of the shape, an element drawn twice. Why a size is not known is told by the
    rule about sizes.
    """
    sizeless = piece.role is Role.PIPE and piece.size_in is None
    doubts = [n for n in piece.notes if not (sizeless and n.topic == SIZE)]
    if not doubts:
        return PASS
    shown, more = doubts[:MOST_TOLD], len(doubts) - MOST_TOLD
    stated = _in_order([n.what for n in shown])
    if more > 0:
        stated += f" {more} more: see the notes on how the model was read."
    remedies = [n.remedy for n in shown]
    same = len(set(remedies)) == 1
    return advise(stated, remedies[0] if same else _in_order(remedies))


def _in_order(sentences: Sequence[str]) -> str:
    """Numbered where there are several, so that each doubt finds its remedy."""
    if len(sentences) == 1:
        return sentences[0]
    return " ".join(f"({number}) {said}" for number, said in enumerate(sentences, 1))


RULES = (pipe_has_size, service_known, fixture_has_kind, told_without_doubt)
