"""Elements that are taken out of a model and judged by nothing, counted and named."""

from collections import Counter
from collections.abc import Iterable, Mapping

from ifclint.ifc.elements import Box, Element, Joint, Model, without_number

NAMES_SHOWN = 5


def take_out(model: Model, boxes: dict[int, Box], rows: Mapping[int, int | None], why: str) -> None:
    """Take elements out, each with the row of the one that has its ends from now on, or None: then
    its joints go with it. They are counted, unless nothing tells `why`."""
    gone = {model.elements[row].guid for row in rows}
    kept = [row for row in range(len(model.elements)) if row not in rows]
    now = {row: to for to, row in enumerate(kept)}
    joints = {j[:4]: j for j in model.joints if j.a in now and j.b in now}
    taken = {at for j in joints.values() for at in ((j.a, j.a_end), (j.b, j.b_end))}
    for j in model.joints:
        if j[:4] in joints:
            continue
        a, b = ((_end_of(model, rows, row, end)) for row, end in ((j.a, j.a_end), (j.b, j.b_end)))
        if a and b and a[0] != b[0] and a not in taken and b not in taken:
            joints[(*a, *b)] = Joint(*a, *b, j.inferred, j.gap_m)
            taken |= {a, b}
    model.joints[:] = [j._replace(a=now[j.a], b=now[j.b]) for j in joints.values()]
    model.elements[:] = [model.elements[row] for row in kept]
    held = {now[row]: box for row, box in boxes.items() if row in now}
    boxes.clear()
    boxes.update(held)
    gone -= {element.guid for element in model.elements}
    model.notes[:] = [note for note in model.notes if note.guid not in gone]
    for guid in gone:
        model.leads_elsewhere.pop(guid, None)
    if why:
        model.set_aside[why] = model.set_aside.get(why, 0) + len(rows)


def _end_of(
    model: Model, rows: Mapping[int, int | None], row: int, end: int
) -> tuple[int, int] | None:
    """An end that stays: of an element that stays, or of the one in its place."""
    if row not in rows:
        return row, end
    heir, place = rows[row], model.elements[row].ends[end].position
    if heir is None or place is None:
        return None
    ends = enumerate(model.elements[heir].ends)
    return next(((heir, n) for n, e in ends if e.position and near(e.position, place)), None)


def near(a: Iterable[float], b: Iterable[float]) -> bool:
    """Whether two places are one, to the millimetre."""
    return all(abs(p - q) < 0.0015 for p, q in zip(a, b, strict=True))


def counted(found: Iterable[Element]) -> str:
    """The names of elements without their serial numbers, the first few of them, counted."""
    names = Counter(without_number(element.label) for element in found)
    shown = [f'"{name}"' + (f" ({n})" if n > 1 else "") for name, n in sorted(names.items())]
    rest = len(shown) - NAMES_SHOWN
    return ", ".join(shown[:NAMES_SHOWN]) + (f" and {rest} other names" if rest > 0 else "")
