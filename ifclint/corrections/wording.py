"""A change of sizes or slopes, said in the imperative."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ifclint.engineering.wording import slope_text, trade_size
from ifclint.ifc.elements import Element


def title(
    elements: Sequence[Element], sizes: Mapping[str, float], slopes: Mapping[str, float]
) -> str:
    """One sentence for all that is changed: 'Make "1-1/2 in kitchen drain" and 2 more 2 in.'"""
    said = []
    for what, words, text in (
        (sizes, "Make {} {}", trade_size),
        (slopes, "Give {} a fall of {}", slope_text),
    ):
        named = [e for e in elements if e.guid in what]
        if named:
            values = sorted({what[e.guid] for e in named})
            said.append(words.format(_named(named), " to ".join(map(text, values))))
    return " and ".join((said[0], *(s[0].lower() + s[1:] for s in said[1:]))) + "."


def _named(elements: Sequence[Element]) -> str:
    first, others = elements[0], len(elements) - 1
    if not others:
        return f'"{first.label}"'
    return f'"{first.label}" and {others} more'
