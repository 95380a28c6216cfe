"""A model with other sizes and slopes judged again, as far as these can bear on it.

What was found wrong with the model itself stays. Where parts of the drainage alone get another
size, and nothing moves, so does what was found of the piping under pressure, and the reverse: the
two do not meet. Where anything moves, all rules about the plumbing are asked.
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
from ifclint.plumbing.subjects import OF_DRAINAGE, UNDER_PRESSURE

PRESSURE = WATER_SUPPLY | {System.GAS, System.RELIEF}


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
    systems = {element.system for element, _ in changed}
    if systems <= DRAINAGE:
        return UNDER_PRESSURE
    return OF_DRAINAGE if systems <= PRESSURE else frozenset()


def _place(element: Element) -> tuple[object, ...]:
    return (element.position, element.slope, *(end.position for end in element.ends))
