"""Elements that code of others was given to look at: what it changed of them is put back."""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import copy
from dataclasses import fields
from typing import Any

from ifclint.ifc.elements import Element

NAMES = tuple(each.name for each in fields(Element))


@contextmanager
def read_only(elements: list[Element], job: dict[str, Any]) -> Iterator[list[str]]:
    """What is changed of elements or the job within, put back and told: "size_in of Pipe 1"."""
    changed: list[str] = []
    before, asked = [(element, _facts(element)) for element in elements], dict(job)
    try:
        yield changed
    finally:
        if list(map(id, elements)) != [id(element) for element, _ in before]:
            elements[:] = [element for element, _ in before]
            changed.append("the list of all elements")
        if job != asked:
            job.clear()
            job.update(asked)
            changed.append("the job file")
        for element, facts in before:
            for name, was in zip(NAMES, facts, strict=True):
                if getattr(element, name) != was:
                    setattr(element, name, was)
                    changed.append(f"{name} of {element.label}")


def _facts(element: Element) -> tuple[Any, ...]:
    facts = (getattr(element, name) for name in NAMES)
    return tuple([copy(fact) if isinstance(fact, dict | list) else fact for fact in facts])
