"""A model with other sizes and slopes judged again, as far as these can bear on it.

What was found wrong with the model itself stays. Where parts of one service alone get another
size, and nothing moves, so does what was found of those that it does not meet: drainage, water, gas
and flues. Where anything moves, all rules about the plumbing are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ifclint import network
from ifclint.findings import Finding
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, Model, System
from ifclint.judge import judge
from ifclint.packs import Context, Pack, Rule
from ifclint.plumbing import Plumbing
from ifclint.plumbing.subjects import OF_DRAINAGE, OF_FLUES, OF_GAS, OF_HEATERS, OF_WATER

WATER = WATER_SUPPLY | {System.RELIEF}
BEARING = (  # kinds of subjects, and the services whose sizes bear on them
    (OF_DRAINAGE, DRAINAGE),
    (OF_WATER, WATER),
    (OF_GAS, frozenset({System.GAS})),
    (OF_HEATERS, WATER | {System.GAS}),
    (OF_FLUES, frozenset({System.FLUE})),
)
SERVICES = frozenset[System | None]().union(*(services for _, services in BEARING))


@dataclass(frozen=True)
class Again:
    """What was judged first, by which packs, and what it was found to be."""

    model: Model
    packs: Sequence[Pack]
    context: Context
    findings: Sequence[Finding]
    build: Callable[[network.Network], Plumbing]

    def __call__(self, model: Model) -> list[Finding]:
        """The findings of a changed model, in no order."""
        alike = _kinds_alike(self.model.elements, model.elements)
        asked = [
            replace(pack, rules=tuple(r for r in pack.rules if not _finds_the_same(r, alike)))
            for pack in self.packs
        ]
        again = {(pack.name, rule.name) for pack in asked for rule in pack.rules}
        plumbing = self.build(network.connect(model))
        context = Context(self.context.code, plumbing, self.context.job)
        found = judge(asked, context).findings
        return found + [f for f in self.findings if (f.pack, f.rule) not in again]


def _finds_the_same(rule: Rule, alike: frozenset[type]) -> bool:
    return rule.is_about_model or rule.subject in alike


def _kinds_alike(before: Sequence[Element], after: Sequence[Element]) -> frozenset[type]:
    """The kinds of subjects that are as they were."""
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old is not new]
    if any(_place(old) != _place(new) for old, new in changed):
        return frozenset()
    services = {element.system for element, _ in changed}
    if not services <= SERVICES:
        return frozenset()
    kinds = (kinds for kinds, bearing in BEARING if not services & bearing)
    return frozenset[type]().union(*kinds)


def _place(element: Element) -> tuple[object, ...]:
    return (element.position, element.slope, *(end.position for end in element.ends))
