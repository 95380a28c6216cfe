"""Pairs of what is the same in two revisions: by GlobalId, by tag, by the nearest place."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from ifclint.comparison.reading import ACCEPTED, RecordedElement, RecordedFinding, Reviewed
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import without_number

NEAR_M = 0.5  # an element without its GlobalId and tag may be this far from where it was
AS_NEAR_M = 0.01  # two that are as near as this to each other cannot be told apart by place

T = TypeVar("T", RecordedElement, RecordedFinding)


@dataclass
class Pairs:
    """Old names to new ones, and old ones that several new ones fit."""

    of: dict[str, str] = field(default_factory=dict)
    ambiguous: dict[str, tuple[str, ...]] = field(default_factory=dict)


def pair_elements(old: Reviewed, new: Reviewed) -> Pairs:
    """Elements by GlobalId, else by class, name and the very place, else by class and tag where one
    has it and tags are no running numbers, else by class and place."""
    pairs = Pairs({guid: guid for guid in old.elements if guid in new.elements})
    left, right = _unpaired(old.elements, new.elements, pairs)
    _pair_by_place(_of_name, left, right, pairs, AS_NEAR_M)
    in_place = ((e.tag, new.elements[pairs.of[e.guid]].tag) for e in left if e.guid in pairs.of)
    tags = [one == other for one, other in in_place if one and other]
    pairs.ambiguous.clear()
    if 2 * sum(tags) >= len(tags):
        left, right = _unpaired(old.elements, new.elements, pairs)
        _pair_by(lambda e: (e.ifc_class, e.tag) if e.tag else None, left, right, pairs)
    for key in (_of_name, lambda e: e.ifc_class):
        pairs.ambiguous.clear()  # a looser key may settle it, or not
        left, right = _unpaired(old.elements, new.elements, pairs)
        _pair_by_place(key, left, right, pairs)
    return pairs


def _of_name(element: RecordedElement) -> tuple[str, str]:
    return element.ifc_class, without_number(element.name)


def pair_findings(old: Reviewed, new: Reviewed, elements: Pairs) -> Pairs:
    """Findings of one rule: by id, by the same first element, then by another of the elements.

    An open question of the same rule and element is the pair of a violation too: what could be
    said of it once cannot be said now.
    """
    left = {f.id: f for f in old.violations}
    right = {f.id: f for f in new.findings if f.outcome in ("violation", "unverified", ACCEPTED)}
    pairs = Pairs({id_: id_ for id_ in left if id_ in right})
    for reach in (1, None):
        old_left, new_left = _unpaired(left, right, pairs)
        by_element: dict[tuple[str, str], list[RecordedFinding]] = defaultdict(list)
        for finding in new_left:
            for guid in finding.element_ids[:reach]:
                by_element[finding.rule, guid].append(finding)
        _pair_across(old_left, by_element, reach, elements, pairs)
    return pairs


def _pair_across(
    old: Iterable[RecordedFinding],
    new: dict[tuple[str, str], list[RecordedFinding]],
    reach: int | None,
    elements: Pairs,
    pairs: Pairs,
) -> None:
    taken = set(pairs.of.values())
    for finding in old:
        keys = [(finding.rule, elements.of.get(guid, "")) for guid in finding.element_ids[:reach]]
        fits = {f.id: f for key in keys for f in new.get(key, ()) if f.id not in taken}
        if not fits:
            continue
        best = _nearest(finding, list(fits.values()))
        if best is None:
            pairs.ambiguous[finding.id] = tuple(fits)
        else:
            pairs.of[finding.id] = best.id
            taken.add(best.id)


def _nearest(finding: RecordedFinding, fits: list[RecordedFinding]) -> RecordedFinding | None:
    """The nearest of several; None where two are as near."""
    if len(fits) == 1:
        return fits[0]
    away = [(finding.distance_m(fit), n) for n, fit in enumerate(fits)]
    known = sorted((metres, n) for metres, n in away if metres is not None)
    if len(known) < len(fits) or known[1][0] - known[0][0] < AS_NEAR_M:
        return None
    return fits[known[0][1]]


def _unpaired(old: dict[str, T], new: dict[str, T], pairs: Pairs) -> tuple[list[T], list[T]]:
    met = set(pairs.of.values())
    return (
        [one for key, one in old.items() if key not in pairs.of and key not in pairs.ambiguous],
        [one for key, one in new.items() if key not in met],
    )


def _pair_by(
    key: Callable[[RecordedElement], Hashable | None],
    old: Iterable[RecordedElement],
    new: Iterable[RecordedElement],
    pairs: Pairs,
) -> None:
    """Those of which there is exactly one of a key on either side."""
    there = _grouped(key, new)
    for value, one in _grouped(key, old).items():
        other = there.get(value, [])
        if value is not None and len(one) == len(other) == 1:
            pairs.of[one[0].guid] = other[0].guid


def _pair_by_place(
    key: Callable[[RecordedElement], Hashable],
    old: Iterable[RecordedElement],
    new: Iterable[RecordedElement],
    pairs: Pairs,
    reach_m: float = NEAR_M,
) -> None:
    """Those of one key, the nearest first, one to one; two that lie as near are ambiguous."""
    there = _grouped(key, (e for e in new if e.point is not None))
    for value, group in _grouped(key, (e for e in old if e.point is not None)).items():
        others = there.get(value, [])
        if others:
            _pair_near(group, others, pairs, reach_m)


def _pair_near(
    old: list[RecordedElement], new: list[RecordedElement], pairs: Pairs, reach_m: float
) -> None:
    places = NearPlaces([e.point for e in new if e.point is not None])
    away, at = places.nearest([e.point for e in old if e.point is not None], 2, reach_m)
    taken: set[int] = set()
    for n in np.argsort(away[:, 0], kind="stable"):
        if not np.isfinite(away[n, 0]):
            break
        first = int(at[n, 0])
        if away[n, 1] - away[n, 0] < AS_NEAR_M:
            pairs.ambiguous[old[n].guid] = tuple(new[int(k)].guid for k in at[n])
        elif first not in taken:
            taken.add(first)
            pairs.of[old[n].guid] = new[first].guid


def _grouped(
    key: Callable[[RecordedElement], Hashable], elements: Iterable[RecordedElement]
) -> dict[Hashable, list[RecordedElement]]:
    groups: dict[Hashable, list[RecordedElement]] = defaultdict(list)
    for one in elements:
        groups[key(one)].append(one)
    return groups
