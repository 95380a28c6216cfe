"""Whole words in what an element is called."""

from __future__ import annotations

import re
from functools import cache

from ifclint.ifc.elements import Element


def says(element: Element, words: tuple[str, ...]) -> bool:
    """Whether an element's name or type says one of the words, alone or as a plural.

    A word that ends in "*" may go on: "irrigat*".
    """
    return _pattern(words).search(f"{element.name} {element.type_name}".lower()) is not None


@cache
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    parts = []
    for word in words:
        stem = r"[\s_-]+".join(map(re.escape, word.removesuffix("*").split()))
        parts.append(stem + ("" if word.endswith("*") else r"s?(?![^\W_])"))
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(parts)})")
