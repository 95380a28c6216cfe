"""The size of a water meter that no pipe has: 5/8 in.

The common meter of a dwelling (from memory: AWWA C700, which lists none of 1/2 in). Its diameter is
the outside one of 1/2 in copper, so that it is told before the sizes of pipe are looked through.
"""

from __future__ import annotations

import re

from ifclint.ifc.elements import Basis, Confidence
from ifclint.ifc.facts.properties import StatedFact

SIZE_IN = 0.625
MM = 15.875
TOLERANCE_MM = 0.35  # written as 15.9 or 16 mm
_IN_WORDS = re.compile(r"(?<![\d/.])(?<!\d[ -])5\s*[/\u2044]\s*8(?!\d)|⅝")


def small_meter(stated: StatedFact | None, texts: list[tuple[str, str]]) -> Basis | None:
    """Where a water meter is told to be of this size; None where it is of another or of none."""
    if stated is not None:
        return stated.basis if _is_small(stated) else None
    what = next((what for text, what in texts if _IN_WORDS.search(text)), None)
    return None if what is None else Basis(what, Confidence.WORDS)


def _is_small(stated: StatedFact) -> bool:
    if isinstance(stated.value, str):
        return bool(_IN_WORDS.search(stated.value))
    value = float(stated.value)
    return value == SIZE_IN or (stated.is_length and is_of_meter(value))


def is_of_meter(metres: float) -> bool:
    return abs(metres * 1000.0 - MM) <= TOLERANCE_MM
