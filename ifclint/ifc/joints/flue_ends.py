"""What a flue ends in is its terminal, whatever it is called: a cap, a hood or a kit in a wall."""

from __future__ import annotations

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Basis, Confidence, Element, Joint, Role, System, joined_to
from ifclint.ifc.facts.vocabulary import Phrases

ENDS_IT = Basis("the flue that ends in it", Confidence.INFERRED)
KINDS = frozenset({"", "cap", "exit"})
NAMES: Phrases[bool] = Phrases()  # whether gas leaves by what is called so
for _phrase in (
    "terminal", "termination", "concentric", "rain cap", "chimney cap", "flue cap", "vent hood",
    "cowl", "mundung", "mündung",
):  # fmt: skip
    NAMES.add(_phrase, True)
for _phrase in (
    "plug", "end cap", "tee cap", "test cap", "blind", "blank", "cleanout", "clean out",
    "draft hood", "draft diverter", "barometric", "damper", "draft regulator", "drain",
    "condensate", "drip", "adapter", "collar", "connector", "starter", "reinigung", "revision",
):  # fmt: skip
    NAMES.add(_phrase, False)


def tell_flue_ends(elements: list[Element], joints: list[Joint]) -> None:
    """Make a terminal of the part that a flue ends in, where none is told by its words.

    Such a part is a fitting of no other kind whose one end, or one of the ends where its name tells
    a terminal, is joined to the flue, above every end of that flue that is open: what closes the
    foot of a tee lies below.
    """
    flues = [i for i, e in enumerate(elements) if e.system is System.FLUE]
    if not flues:
        return
    beside = joined_to(joints)
    taken = {at for j in joints for at in ((j.a, j.a_end), (j.b, j.b_end))}
    for piece in pieces(flues, lambda i: beside[i]):
        if any(elements[i].role is Role.VENT_TERMINAL for i in piece):
            continue
        heights = {i: _height(elements[i]) for i in piece if _may_end(elements[i], beside[i])}
        open_m = [
            end.position[2]
            for i in piece
            for n, end in enumerate(elements[i].ends if i not in heights else ())
            if (i, n) not in taken and end.position is not None
        ]
        last = max(heights, key=lambda i: (elements[i].kind != "cap", heights[i]), default=None)
        if last is not None and heights[last] > max(open_m, default=float("-inf")):
            ending = elements[last]
            ending.role, ending.kind = Role.VENT_TERMINAL, "vent-through-roof"
            ending.basis["role"] = ending.basis["kind"] = ENDS_IT


def _may_end(element: Element, beside: list[int]) -> bool:
    said = NAMES.find(element.called)
    return (
        element.role is Role.FITTING
        and element.kind in KINDS
        and len(beside) == 1
        and (len(element.ends) == 1 or said is True)
        and said is not False
    )


def _height(element: Element) -> float:
    points = [z for _, _, z in element.places]
    return max(points, default=0.0)
