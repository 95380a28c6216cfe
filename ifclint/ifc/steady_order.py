"""The elements of a model in one order, whatever numbers their instances have and whichever file is
named first: another export numbers them anew, and what a review says first must not change with
that. They are made in this order, so that they lie in memory as they are gone through."""

from collections.abc import Iterable
from typing import Protocol, TypeVar

from ifclint.engineering.wording import as_counted
from ifclint.ifc.elements import Box, Joint, Model


class _Named(Protocol):
    @property
    def name(self) -> str: ...
    @property
    def guid(self) -> str: ...


T = TypeVar("T", bound=_Named)


def steadily(found: Iterable[T]) -> list[T]:
    """In the order of their names and, of those of one name, of their GlobalIds."""
    return sorted(found, key=lambda of: (as_counted(of.name), of.guid))


def order_steadily(model: Model, boxes: dict[int, Box]) -> None:
    """Put the elements of several files into one such order, and with them what refers to them."""
    before = {id(of): row for row, of in enumerate(model.elements)}
    model.elements[:] = steadily(model.elements)
    now = {before[id(of)]: to for to, of in enumerate(model.elements)}
    model.joints[:] = sorted(_between(joint, now) for joint in model.joints)
    held = {now[row]: box for row, box in boxes.items()}
    boxes.clear()
    boxes.update(held)


def _between(joint: Joint, now: dict[int, int]) -> Joint:
    """A joint of the same ends, where their elements stand now."""
    a, a_end, b, b_end, inferred, gap_m = joint
    one, other = (now[a], a_end), (now[b], b_end)
    if other < one:
        one, other = other, one
    return Joint(*one, *other, inferred, gap_m)
