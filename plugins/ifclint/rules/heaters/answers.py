"""Wording that the rules of this pack share."""

from __future__ import annotations

from ifclint.codes import AdoptedCode
from ifclint.findings import Step
from ifclint.ifc.elements import Element
from ifclint.packs import Subject

SHAPE = "Give the pipes a shape, or placed ports that are joined, so that the line can be followed."


def limit_step(code: AdoptedCode, key: str, words: str) -> Step:
    """A single value of the code as a line of arithmetic."""
    limit = code.limit(key)
    return Step(words, limit.value, limit.unit, limit.clause)


def says(element: Element, *words: str) -> bool:
    """Whether an element's name, type or tag says one of the words."""
    text = f"{element.name} {element.type_name}".lower()
    return any(word in text for word in words)


def start(subject: Subject) -> str:
    """What a subject is called at the start of a sentence."""
    return f"{subject.label[0].upper()}{subject.label[1:]}"
