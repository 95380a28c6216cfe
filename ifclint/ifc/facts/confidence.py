"""How far a fact can be trusted, told from the basis it was known from."""

from __future__ import annotations

from enum import StrEnum


class Confidence(StrEnum):
    STATED = "stated"  # the model says it in so many words: an enumeration, a property, a port
    WORDS = "read from words"  # the words of a name were understood
    SHAPE = "measured on the shape"
    INFERRED = "inferred"  # neither stated nor drawn: spread along joints, taken from the height


_WORDS = ("words of", "name", "type name", "type description", "description")
_WORDS_ALONE = frozenset({"object type", "type"})  # where a text stands that was understood
_STATED = ("diameter of the material profile", "inside diameter of the material profile")
_SHAPE = (
    "diameter of the", "extruded", "swept", "mesh", "axis representation", "angle of",
    "inside diameter of the", "outside diameter of the", "drawn",
)  # fmt: skip
_INFERRED = ("spread along", "by elevation", "pipe ends", "joined to", "sizes of its ends")


def confidence(basis: str) -> Confidence:
    """How far a fact with this basis can be trusted."""
    if basis.startswith(_INFERRED):
        return Confidence.INFERRED
    if basis.startswith(_STATED):
        return Confidence.STATED
    if (
        basis in _WORDS_ALONE
        or basis.startswith(_WORDS)
        or basis.endswith("refined by its port or name")
    ):
        return Confidence.WORDS
    return Confidence.SHAPE if basis.startswith(_SHAPE) else Confidence.STATED
