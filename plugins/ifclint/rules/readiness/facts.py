"""Rules about what the model tells of each element: size, service, kind, and doubts in reading."""

from functools import partial

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, not_known, unverified
from ifclint.findings import Answer, Settles, Severity
from ifclint.ifc.elements import CONNECTOR, Role
from ifclint.packs import ANY_CODE, Context, derived, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.facts import fact

SIZE = "size"  # the topic of a note
KIND = Fact("the kind of {}", fact("known_kind").remedy)
piece_rule = partial(rule, clauses=ANY_CODE, severity=Severity.LOW)


@piece_rule(title="Every pipe has a nominal size", applies=lambda piece: piece.role is Role.PIPE)
def pipe_has_size(piece: Piece, context: Context) -> Answer:
    """A pipe of unknown size can be judged by no sizing rule.

    The size as a trade size, from a property of the pipe, its type or ports, its profile, its name
    or its shape; a hose or riser between a stop and its fixture needs none. A diameter that fits
    two trade sizes, or none, is not guessed at; the answer says what was found and between which
    sizes it lies.
    """
    if piece.size_in is not None:
        return PASS
    if piece.element.kind == CONNECTOR:
        return NOT_APPLICABLE
    for note in piece.notes:
        if note.topic == SIZE:
            return unverified(note.what, note.remedy, cause=note.cause or note.what)
    return not_known("size_in", piece)


@piece_rule(
    title="Service of every pipe and fitting known",
    applies=lambda piece: piece.role in (Role.PIPE, Role.FITTING),
    settles=Settles.SERVICE,
)
def service_known(piece: Piece, context: Context) -> Answer:
    """A pipe in no known system was judged by no rule of any service.

    The system it is assigned to, its ports' system, the words of its name or material, or what it
    is joined to. Pieces joined to each other are one question; lone pieces are one together.
    """
    if piece.service is not None:
        return PASS
    cause = _unknown_networks(context).get(piece.key, "alone")
    return not_known("service", piece, cause=cause)


@derived
def _unknown_networks(context: Context) -> dict[str, str]:
    """The first of the pieces of unknown service that one is joined to, by key."""
    network = context.plumbing.network
    unknown = {p.key for p in context.plumbing.pieces if p.service is None}
    members = [
        i
        for i, e in enumerate(network.elements)
        if e.key in unknown and e.role in (Role.PIPE, Role.FITTING)
    ]
    return {
        network.elements[i].key: network.elements[min(piece)].key
        for piece in network.pieces(members)
        if len(piece) > 1
        for i in piece
    }


@piece_rule(title="Kind of every fixture known", applies=lambda piece: piece.role is Role.FIXTURE)
def fixture_has_kind(piece: Piece, context: Context) -> Answer:
    """A fixture of unknown kind gives no load and asks for no trap size.

    The PredefinedType of the fixture or its type, or the words of their names.
    """
    return not_known(KIND, piece) if piece.known_kind is None else PASS


@piece_rule(title="Nothing doubtful in what the model tells")
def told_without_doubt(piece: Piece, context: Context) -> Answer | list[Answer]:
    """Where two places of the model say different things, one of them is wrong.

    Conflicts met in reading: two systems, two sizes, a class and a name that disagree, a length
    that is not that of the shape, an element drawn twice. One doubt about all elements of a type is
    one finding. Why a size is not known is told by the rule about sizes.
    """
    if not piece.notes:
        return PASS
    sizeless = piece.role is Role.PIPE and piece.size_in is None
    doubts = {n.what: n for n in piece.notes if not (sizeless and n.topic == SIZE)}
    return [advise(w, n.remedy, n.cause, about=w) for w, n in doubts.items()] or PASS
