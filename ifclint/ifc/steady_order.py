"""The elements of a model in one order, whatever numbers their instances have and whichever file is
named first: another export numbers them anew, and what a review says first must not change with
that."""

from __future__ import annotations

from ifclint.engineering.wording import as_counted
from ifclint.ifc.elements import Box, Joint, Model


def order_steadily(model: Model, boxes: dict[int, Box]) -> None:
    """Put the elements into the order of their names and, of those of one name, of their GlobalIds;
    and with them what refers to them."""
    keys = [(as_counted(of.name), of.guid) for of in model.elements]
    order = sorted(range(len(keys)), key=keys.__getitem__)
    model.elements[:] = [model.elements[row] for row in order]
    now = {row: to for to, row in enumerate(order)}
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
