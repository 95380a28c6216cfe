"""What the joints tell about fittings: which kind their ends make them, the size of each end.

A kind told by words or by an enumeration is never overridden. What is told by the ends has the
basis `BY_ANGLE` or `BY_SIZES`: an angle does not tell the pattern of a drainage fitting (a sanitary
tee, a combination and a straight tee all branch at 90 degrees), so rules that ask for the pattern
look at the basis.
"""

import math
from itertools import combinations

from ifclint.ifc.elements import Basis, Confidence, Element, End, Model, Point, Role, ends_joined
from ifclint.ifc.shape.placement import dot, unit

BENDS = (
    (90.0, "quarter-bend"),
    (60.0, "sixth-bend"),
    (45.0, "eighth-bend"),
    (22.5, "sixteenth-bend"),
)
BY_ANGLE = Basis("angle of its ends", Confidence.SHAPE)
BY_STATED_ANGLE = Basis("bend angle property", Confidence.SHAPE)
BY_SIZES = Basis("sizes of its ends", Confidence.INFERRED)
BY_PIPES = Basis("pipes joined to it", Confidence.INFERRED)
OF_ONE_SIZE = frozenset({Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.VALVE})
RELIEF = "relief"
OPEN_KINDS = frozenset({"", "bend"})  # of a fitting, which its ends may tell more of
FEWEST_ENDS = {"JUNCTION": 3}  # of a fitting with this PredefinedType that its ends may name
ANGLE_TOLERANCE = 5.0  # degrees; the slope of a drain turns a nominal angle by a degree or two


def set_kinds_and_sizes(model: Model) -> None:
    """What joints tell of fittings of open kind and of the ends of all elements."""
    asking = [i for i, element in enumerate(model.elements) if _asks(element)]
    partners = {i: dict(met) for i, met in ends_joined(model.joints, asking).items()}
    for i in asking:
        _set_kind(model, model.elements[i], partners[i])
        _set_end_sizes(model, model.elements[i], partners[i])


def _asks(element: Element) -> bool:
    """Whether the joints of an element are needed to know its kind or the sizes of its ends.

    The ends of most elements have a size already, or take the one their element has.
    """
    role, kind = element.role, element.kind
    if role is Role.FITTING and kind in OPEN_KINDS:
        return True
    for end in element.ends:
        if end.size_in is None:
            break
    else:
        element.properties.pop("sizes_in", None)
        return False
    size = element.size_in
    if (
        size is None
        or role not in OF_ONE_SIZE
        or kind == "reducer"
        or "sizes_in" in element.properties
    ):
        return True
    for end in element.ends:
        if end.size_in is None:
            end.size_in = size
    return False


# -- kinds -----------------------------------------------------------------------------------


def _set_kind(model: Model, element: Element, joined: dict[int, tuple[int, int]]) -> None:
    if element.role is not Role.FITTING or element.kind not in OPEN_KINDS:
        return
    if element.kind == "bend":
        kind, basis = _bend(model, element, joined)
    elif len(element.ends) >= FEWEST_ENDS.get(element.predefined_type, 2):
        kind, basis = _of_open_kind(model, element, joined)
    else:
        return
    if kind:
        element.kind, element.basis["kind"] = kind, basis


def _bend(model: Model, bend: Element, joined: dict[int, tuple[int, int]]) -> tuple[str, Basis]:
    """A bend by its stated angle, or by the angle between the pipes it joins."""
    stated = bend.properties.positive("bend_angle_rad")
    if stated is not None:
        return _bend_kind(math.degrees(stated)), BY_STATED_ANGLE
    directions = _ways(model, bend, joined)
    two = len(directions) == 2
    return _bend_kind(180.0 - _angle(*directions)) if two else "", BY_ANGLE


def _bend_kind(turn: float) -> str:
    return next((kind for at, kind in BENDS if abs(at - turn) <= ANGLE_TOLERANCE), "")


def _of_open_kind(
    model: Model, fitting: Element, joined: dict[int, tuple[int, int]]
) -> tuple[str, Basis]:
    """What the number of ends of a fitting and the angles between them make it."""
    directions = _ways(model, fitting, joined)
    if len(directions) != len(fitting.ends):
        return "", BY_ANGLE
    if len(directions) == 2:
        turn = 180.0 - _angle(*directions)
        if turn > ANGLE_TOLERANCE:
            return _bend_kind(turn) or "bend", BY_ANGLE
        return _straight_kind(model, fitting, joined), BY_SIZES
    return _branched_kind(directions), BY_ANGLE


def _straight_kind(model: Model, fitting: Element, joined: dict[int, tuple[int, int]]) -> str:
    sizes = [
        end.size_in or (_pipe_size(model, joined[e]) if e in joined else None)
        for e, end in enumerate(fitting.ends)
    ]
    if None in sizes:
        return ""
    return "coupling" if len(set(sizes)) == 1 else "reducer"


def _branched_kind(directions: list[Point]) -> str:
    """A tee, wye, cross or double wye: two ends in line and one or two branches off them."""
    for a, b in combinations(range(len(directions)), 2):
        if _angle(directions[a], directions[b]) < 180.0 - ANGLE_TOLERANCE:
            continue
        branches = [w for i, w in enumerate(directions) if i not in (a, b)]
        square = all(abs(_angle(w, directions[a]) - 90.0) <= ANGLE_TOLERANCE for w in branches)
        slanted = any(
            all(abs(_angle(w, directions[end]) - 45.0) <= ANGLE_TOLERANCE for w in branches)
            for end in (a, b)
        )
        if len(branches) == 1:
            return "tee" if square else "wye" if slanted else ""
        if len(branches) == 2 and slanted:
            return "double-wye"
        if len(branches) == 2 and square and _angle(*branches) >= 180.0 - ANGLE_TOLERANCE:
            return "cross"
    return ""


def _angle(a: Point, b: Point) -> float:
    """Degrees between two unit vectors."""
    return math.degrees(math.acos(max(-1.0, min(1.0, dot(a, b)))))


def _ways(model: Model, fitting: Element, joined: dict[int, tuple[int, int]]) -> list[Point]:
    """The directions in which a fitting is left: by its pipes, else from its origin to its ends."""
    by_pipe = {e: _way_out(model, *joined[e]) for e in joined}
    directions = [
        direction for e in range(len(fitting.ends)) if (direction := by_pipe.get(e)) is not None
    ]
    return directions if len(directions) == len(fitting.ends) else _ways_from_origin(fitting)


def _way_out(model: Model, other: int, end: int) -> Point | None:
    """The direction in which a joined pipe leaves."""
    element = model.elements[other]
    if element.role is not Role.PIPE or len(element.ends) < 2:
        return None
    here = element.ends[end].position
    others = [e.position for i, e in enumerate(element.ends) if i != end and e.position is not None]
    if here is None or not others:
        return None
    far = max(others, key=lambda p: math.dist(here, p))
    return unit((far[0] - here[0], far[1] - here[1], far[2] - here[2]))


def _ways_from_origin(fitting: Element) -> list[Point]:
    o = fitting.position
    if o is None:
        return []
    directions = [
        unit((e.position[0] - o[0], e.position[1] - o[1], e.position[2] - o[2]))
        for e in fitting.ends
        if e.position is not None and math.dist(e.position, o) > 1e-3
    ]
    return [w for w in directions if w is not None]


# -- sizes of ends ---------------------------------------------------------------------------


def _set_end_sizes(model: Model, element: Element, joined: dict[int, tuple[int, int]]) -> None:
    """Give every end its size: the port's, the joined pipe's among a fitting's sizes, its own."""
    named = element.properties.pop("sizes_in", None)
    sizes = tuple(float(s) for s in str(named).split(" x ")) if named else ()
    if len(sizes) > 1 and element.size_in is None:
        _settle(model, element, sizes, joined)
    elif len(sizes) > 1:
        _share_out(model, element.ends, sizes, joined)
    elif element.size_in is not None and element.role in OF_ONE_SIZE and element.kind != "reducer":
        for end in element.ends:
            end.size_in = end.size_in or element.size_in
    else:
        _size_from_pipes(model, element, joined)
        if element.size_in is None and (element.role is Role.TRAP or element.kind == RELIEF):
            _set_size_between(element)


def _set_size_between(element: Element) -> None:
    """A trap or relief valve of which nothing tells the size has that of the pipes at both its
    ends, where they are of one."""
    sizes = {end.size_in for end in element.ends}
    if len(element.ends) > 1 and len(sizes) == 1 and None not in sizes:
        (element.size_in,) = sizes
        element.basis["size"] = BY_PIPES
        for end in element.ends:
            end.sized_by_pipe = False


def _size_from_pipes(model: Model, element: Element, joined: dict[int, tuple[int, int]]) -> None:
    """Ends of a fixture, heater, chamber ... are as large as the pipes they take."""
    for e, end in enumerate(element.ends):
        if end.size_in is None and e in joined:
            end.size_in = _pipe_size(model, joined[e])
            end.sized_by_pipe = end.size_in is not None
        if end.size_in is None and len(element.ends) == 1:
            end.size_in = element.size_in


def _settle(
    model: Model, element: Element, sizes: tuple[float, ...], joined: dict[int, tuple[int, int]]
) -> None:
    """Of sizes that an element may have, it has that of the pipes joined to it."""
    of_pipes = {_pipe_size(model, at) for at in joined.values()}
    fitting = [size for size in sizes if size in of_pipes]
    if len(fitting) == 1 and element.role is not Role.PIPE:
        element.size_in, element.basis["size"] = fitting[0], BY_PIPES
        said = element.guid, "size"
        model.notes = [note for note in model.notes if (note.guid, note.topic) != said]
    _size_from_pipes(model, element, joined)
    for end in element.ends:
        end.size_in = end.size_in or element.size_in


def _pipe_size(model: Model, at: tuple[int, int]) -> float | None:
    """The size of the pipe that is joined there, if it is one."""
    other = model.elements[at[0]]
    return other.size_in if other.role is Role.PIPE else None


def _share_out(
    model: Model, ends: list[End], sizes: tuple[float, ...], joined: dict[int, tuple[int, int]]
) -> None:
    for e, end in enumerate(ends):
        if end.size_in is None and e in joined:
            size = model.elements[joined[e][0]].size_in
            end.size_in = size if size in sizes else None
    missing = [end for end in ends if end.size_in is None]
    left = [s for s in sizes if s not in {end.size_in for end in ends}]
    if len(missing) == 1 and len(left) == 1:
        missing[0].size_in = left[0]
