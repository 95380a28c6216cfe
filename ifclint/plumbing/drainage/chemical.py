"""Drains of chemicals and their vents: what is called so, and where it has been neutralized."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.words import says_text

if TYPE_CHECKING:
    from ifclint.plumbing import Plumbing

NEUTRALIZER = "neutralizer"
CALLED_ACID = (
    "acid waste", "acid vent*", "acid drain*", "chemical waste", "chemical vent*",
    "corrosive waste", "corrosive vent*", "saureabwasser*", "effluents chimiques",
    "residuos quimicos",
)  # fmt: skip


@derived
def called_acid(context: Context) -> frozenset[int]:
    """What is called a drain or vent of chemicals itself, by its material or its system."""
    plumbing = context.plumbing
    of_material = (e.properties.text("material_words") for e in plumbing.network.elements)
    made = _at_texts(of_material, CALLED_ACID)
    return made | in_systems(plumbing, CALLED_ACID) | {*plumbing.numbers_saying(CALLED_ACID)}


def in_systems(plumbing: Plumbing, words: tuple[str, ...]) -> frozenset[int]:
    named = plumbing.network.of_system_name.items()
    return frozenset(i for name, those in named if says_text(name, words) for i in those)


def _at_texts(texts: Iterable[str], words: tuple[str, ...]) -> frozenset[int]:
    """The places of the texts that say one of the words; each text is asked once."""
    at: dict[str, list[int]] = defaultdict(list)
    for number, text in enumerate(texts):
        at[text].append(number)
    return frozenset(n for text, numbers in at.items() if says_text(text, words) for n in numbers)


@derived
def neutralized(context: Context) -> list[bool]:
    """Whether what drains through each element has come through a neutralizing tank."""
    drainage = context.plumbing.drainage
    tanks = (i for i in drainage.members if drainage.elements[i].kind == NEUTRALIZER)
    return drainage.passed_by(tanks)


@derived
def carries_chemicals(context: Context) -> list[bool]:
    """Whether each element of the drainage is, or drains through, what is called a drain of
    chemicals, before a neutralizing tank."""
    drainage = context.plumbing.drainage
    named, cleared = called_acid(context), neutralized(context)
    found = [False] * (len(drainage.elements) + 1)  # the last is that of no element, -1
    for index in drainage.order:
        found[index] = not cleared[index] and (index in named or found[drainage.down[index]])
    return found
