"""Rules about how elements are drawn and joined."""

from __future__ import annotations

from ifclint.checks import PASS, advise, unverified
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Measure, Severity
from ifclint.ifc.elements import Role
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing import Piece

SHORTEST_M = 0.001
LONGEST_M = 100.0  # a longer single pipe is a sign of a wrong unit
LARGEST_IN = 48.0
MAY_END_OPEN = frozenset({"cap"})


@rule(
    title="No pipe or fitting ends in the air",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    applies=lambda piece: (
        piece.role in (Role.PIPE, Role.FITTING)
        and bool(piece.element.ends)
        and piece.element.kind not in MAY_END_OPEN
    ),
)
def ends_are_joined(piece: Piece, context: Context) -> Answer:
    """What is joined to nothing is followed no further.

    Ends of pipes and fittings that no port relation joins and that meet no other end within the
    joining tolerance. An outlet of the drainage may end open.
    """
    if not piece.open_ends or piece.is_outlet:
        return PASS
    count = len(piece.open_ends)
    where = piece.open_ends[0]
    at = "" if where is None else f", one at x {where[0]:.2f}, y {where[1]:.2f}, z {where[2]:.2f} m"
    noun = "end is" if count == 1 else "ends are"
    return unverified(
        f"{count} {noun} joined to nothing on {piece.label}{at}.",
        (
            "Join the end to what it meets (ports, or ends nearer than the joining tolerance), "
            "or cap it if it is meant to end there."
        ),
    )


@rule(
    title="Every fixture is joined to something",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    applies=lambda piece: piece.role in (Role.FIXTURE, Role.TRAP),
)
def fixture_is_joined(piece: Piece, context: Context) -> Answer:
    """A fixture joined to no pipe is in no network, and nothing about its piping can be judged.

    Joints of fixtures and traps, by ports or by ends that meet.
    """
    ends = len(piece.element.ends)
    if ends and len(piece.open_ends) < ends:
        return PASS
    what = piece.role.value
    return unverified(
        f"{piece.label[0].upper()}{piece.label[1:]} is joined to no pipe.",
        (
            f"Connect the {what}'s ports to its pipes (IfcRelConnectsPorts), or draw the pipes "
            f"up to the {what}."
        ),
    )


@rule(
    title="Every pipe has a length, and a likely one",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    needs=("length_m",),
    applies=lambda piece: piece.role is Role.PIPE,
)
def pipe_has_length(piece: Piece, context: Context) -> Answer:
    """A pipe of no length is a leftover; one of hundreds of metres is in the wrong unit.

    The length of the axis, or the Length quantity where there is no shape.
    """
    length = piece.length_m or 0.0
    if SHORTEST_M <= length <= LONGEST_M:
        return PASS
    short = length < SHORTEST_M
    bound = SHORTEST_M if short else LONGEST_M
    return advise(
        f"{piece.label} is {feet_text(length / M_PER_FT)} long.",
        "Delete the leftover." if short else "Check the unit of length of the model.",
        measured=Measure(length / M_PER_FT, "ft"),
        required=Measure(bound / M_PER_FT, "ft", "at least" if short else "at most"),
    )


@rule(
    title="Sizes are those of a building",
    subject=Piece,
    clauses=ANY_CODE,
    severity=Severity.LOW,
    applies=lambda piece: piece.role is Role.PIPE and piece.size_in is not None,
)
def size_is_likely(piece: Piece, context: Context) -> Answer:
    """A pipe wider than it is likely to be is in the wrong unit.

    The nominal size against 48 in, and against the outside diameter where both are told.
    """
    size = piece.size_in or 0.0
    outside = piece.element.properties.get("outside_diameter_m")
    odd = isinstance(outside, float) and not 0.8 <= outside / (size * M_PER_IN) <= 2.5
    if size <= LARGEST_IN and not odd:
        return PASS
    return advise(
        (
            f"{piece.label} has an unlikely size"
            + (f": its outside diameter is told as {outside:.3f} m." if odd else ".")
        ),
        "Check the unit in which the diameter is given.",
        measured=Measure(size, "in"),
        required=Measure(LARGEST_IN, "in", "at most"),
    )


RULES = (ends_are_joined, fixture_is_joined, pipe_has_length, size_is_likely)
