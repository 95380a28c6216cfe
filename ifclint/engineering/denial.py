"""Words that are denied: "non-condensing", "nicht kondensierend", "sans siphon"."""

import re
from collections.abc import Iterator

_DENIALS = ("no", "not", "non", "without", "nicht", "ohne", "keine?[nmrs]?", "sans", "pas", "sin",
    "sem", "senza", "niet", "geen", "zonder")  # fmt: skip
_ARTICLES = ("an?", "the", "any", "eine?[nmrs]?", "een", "une?", "una?", "del?", "di", "à")
_DENIED = re.compile(
    rf"(?<![^\W_])(?:{'|'.join(_DENIALS)})[\s_-]+(?:(?:{'|'.join(_ARTICLES)})[\s_-]+)?\Z"
)


def says_undenied(pattern: re.Pattern[str], text: str) -> bool:
    """Whether a lower-case text has a match of a pattern that no word before it denies."""
    return any(not denied for denied in _denials(pattern, text))


def says_denied(pattern: re.Pattern[str], text: str) -> bool:
    """Whether a lower-case text has a match of a pattern that a word before it denies."""
    return any(_denials(pattern, text))


def _denials(pattern: re.Pattern[str], text: str) -> Iterator[bool]:
    """Of each match, whether it is denied."""
    return (bool(_DENIED.search(text[: found.start()])) for found in pattern.finditer(text))
