"""Elements that code of others was given to look at: what it changed of them is put back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from copy import copy
from dataclasses import fields
from typing import Any

from ifclint.ifc.elements import Element

NAMES = tuple(each.name for each in fields(Element))


@contextmanager
def read_only(elements: Iterable[Element]) -> Iterator[list[str]]:
    """What is changed of some elements within, put back and told: "size_in of Pipe 1"."""
    changed: list[str] = []
    before = [(element, _facts(element)) for element in elements]
    try:
        yield changed
    finally:
        for element, facts in before:
            for name, was in zip(NAMES, facts, strict=True):
                if getattr(element, name) != was:
                    setattr(element, name, was)
                    changed.append(f"{name} of {element.label}")


def _facts(element: Element) -> tuple[Any, ...]:
    facts = (getattr(element, name) for name in NAMES)
    return tuple([copy(fact) if isinstance(fact, dict | list) else fact for fact in facts])
