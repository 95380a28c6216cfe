"""What is to be bought, changed or added for the corrections."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ifclint.corrections.targets import Targets, changed
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import trade_size
from ifclint.fieldsheet.sheet import TakeoffPiece
from ifclint.findings import Change, Correction
from ifclint.ifc.elements import Element, Role
from ifclint.network import Network

Key = tuple[str, float | None, str, str]  # what, size in, material, unit


@dataclass
class _Sum:
    quantity: float = 0.0
    corrections: set[int] = field(default_factory=set)
    unknown: int = 0  # pipes whose length is not known


def takeoff(corrections: Sequence[Correction], network: Network) -> list[TakeoffPiece]:
    """Pipe and fittings in their new sizes, pipe to be hung anew, parts to add; then the rest.

    What a pipe that grows is fitted with grows with it, as in the review of the correction.
    """
    sums: dict[Key, _Sum] = defaultdict(_Sum)
    rest: list[TakeoffPiece] = []
    at: dict[str, list[Element]] = defaultdict(list)
    for element in network.elements:
        at[element.guid].append(element)
    _sizes(sums, corrections, network)
    for number, correction in enumerate(corrections, 1):
        for change in _once(correction.changes, "slope"):
            for element in (e for guid in change.element_ids for e in at[guid]):
                if element.role is Role.PIPE:
                    key = ("pipe to hang anew", element.size_in, *_of(element))
                    _add(sums, (number,), key, element)
        for change in _once(correction.changes, "part"):
            entry = sums[(str(change.value), None, "", "pcs")]
            entry.quantity += 1
            entry.corrections.add(number)
        if all(change.what in ("move", "work") for change in correction.changes):
            rest.append(
                TakeoffPiece(correction.title, "", "", 1, "job", (number,), correction.subject)
            )
    return [*(_piece(key, entry) for key, entry in sorted(sums.items(), key=_order)), *rest]


def _sizes(sums: dict[Key, _Sum], corrections: Sequence[Correction], network: Network) -> None:
    """What the corrections make larger or smaller, each part once, in the largest size asked."""
    targets = Targets({e.guid: e.size_in for e in network.elements})
    asked: dict[str, set[int]] = defaultdict(set)
    for number, correction in enumerate(corrections, 1):
        for change in correction.changes:
            if change.what == "size" and isinstance(change.value, float | int):
                for guid in change.element_ids:
                    targets.sizes[guid] = max(change.value, targets.sizes.get(guid, 0.0))
                    asked[guid].add(number)
    for index, new in enumerate(changed(network, targets, {}).model.elements):
        if new.size_in != network.elements[index].size_in:
            beside = (network.elements[i].guid for i in network.neighbours(index))
            numbers = asked.get(new.guid) or {n for g in beside for n in asked.get(g, ())}
            _add(sums, numbers, (_what(new), new.size_in, *_of(new)), new)


def _what(element: Element) -> str:
    if element.role is Role.PIPE:
        return f"{element.system.value} pipe" if element.system else "pipe"
    kind = element.kind or element.role.value
    if kind in ("exit", "entry"):  # an end of piping as IFC calls it
        return "end fitting"
    if kind.endswith("-trap"):
        return kind.capitalize()
    needs = element.role is Role.VALVE and not kind.endswith(("valve", "shutoff"))
    return kind.replace("-", " ") + (" valve" if needs else "")


def _of(element: Element) -> tuple[str, str]:
    """Material, and the unit that such an element is counted in."""
    return element.material, "ft" if element.role is Role.PIPE else "pcs"


def _add(sums: dict[Key, _Sum], numbers: Iterable[int], key: Key, element: Element) -> None:
    entry = sums[key]
    entry.corrections.update(numbers)
    if key[3] == "pcs":
        entry.quantity += 1
    elif element.length_m is None:
        entry.unknown += 1
    else:
        entry.quantity += element.length_m / M_PER_FT


def _once(changes: Sequence[Change], what: str) -> list[Change]:
    """The changes of one kind, those of the same elements once."""
    seen: dict[object, Change] = {}
    for change in changes:
        if change.what == what:
            key = (change.element_ids[:1], change.value) if what == "part" else change.element_ids
            seen.setdefault(key, change)
    return list(seen.values())


def _order(item: tuple[Key, _Sum]) -> tuple[bool, str, float, str]:
    (what, size, material, unit), _ = item
    return unit == "pcs", what, or_zero(size), material


def _piece(key: Key, entry: _Sum) -> TakeoffPiece:
    what, size, material, unit = key
    note = f"and {entry.unknown} of unknown length" if entry.unknown else ""
    said = trade_size(size) if size is not None else ""
    return TakeoffPiece(
        what, said, material, entry.quantity, unit, tuple(sorted(entry.corrections)), note
    )
