"""Text as authors write it: made safe to show, and split into comparable words."""

import re
import unicodedata
from functools import lru_cache

LONGEST = 200  # characters kept of a name
_TURNING = re.compile("[\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]+")
_INITIALS = re.compile(r"(?<![\w.])(?:[^\W\d_]\.)+[^\W\d_]\b\.?")  # W.C.O.
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_UNSPACED = "\u3040-\u30ff\u3400-\u9fff"  # signs of scripts that leave no space between words
_WORD = re.compile(rf"[{_UNSPACED}]|(?:(?![{_UNSPACED}])[a-z0-9\u0370-\uffff])+")
_UNMARKED = str.maketrans({"ø": "o", "ł": "l", "ı": "i"})  # which no accent is taken off


def clean(value: object) -> str:
    """A name fit to print: no control characters, no marks that turn or hide text, one line, at
    most 200 characters."""
    if not isinstance(value, str):
        return "" if value is None else clean(str(value))
    if value.isascii() and value.isprintable() and len(value) <= LONGEST:
        return value.strip()
    text = _CONTROL.sub(" ", _TURNING.sub("", value[: 4 * LONGEST])).strip()
    text = text.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


@lru_cache(maxsize=65536)
def words(text: str) -> tuple[str, ...]:
    """Lower-case words without accents and plural "s"; camel case is split, and initials are one
    word: "C.O." is "co". Of Japanese and Chinese each sign is a word."""
    text = _INITIALS.sub(lambda found: found[0].replace(".", ""), _CAMEL.sub(" ", text))
    if text.isascii():
        text = text.lower()
    else:
        text = unicodedata.normalize("NFKD", text).casefold().translate(_UNMARKED)
        text = "".join(c for c in text if not unicodedata.combining(c))
    return tuple(_singular(w) for w in _WORD.findall(text))


def _singular(word: str) -> str:
    if word.endswith("ories"):  # lavatories; of other such words many are French
        return f"{word[:-3]}y"
    plural = len(word) > 3 and word.endswith("s") and not word.endswith("ss")
    return word[:-1] if plural else word
