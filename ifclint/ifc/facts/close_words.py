"""What may be meant by a word of a job file that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def told_instead(given: str, known: Iterable[str]) -> str:
    """What may be meant by a word that is none of those known."""
    listed = sorted(known)
    if near := get_close_matches(given, listed, 3):
        quoted = ", ".join(f'"{word}"' for word in near)
        return f"did you mean {quoted}?"
    return f"known are: {', '.join(listed)}."
