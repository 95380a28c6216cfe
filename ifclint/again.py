"""A model with other sizes and slopes judged again, as far as these can bear on it.

What was found wrong with the model itself stays. Where parts of one service alone get another
size, and nothing moves, so does what was found of those that it does not meet: drainage, water, gas
and flues. Where anything moves, all rules about the plumbing are asked. A kind of subject that a
pack brings is always asked about, unless its `sized_by` names the services whose sizes bear on it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ifclint import network
from ifclint.corrections.proofs import WATER
from ifclint.findings import Finding
from ifclint.ifc.elements import DRAINAGE, Element, Model, System
from ifclint.judge import judge
from ifclint.packs import Context, Pack, Rule
from ifclint.plumbing import Plumbing
from ifclint.plumbing.resized import resized
from ifclint.plumbing.subjects import OF_DRAINAGE, OF_FLUES, OF_GAS, OF_HEATERS, OF_WATER
from ifclint.plumbing.surroundings.obstacles import Surroundings

BEARS = (  # kinds of subjects, and the services whose sizes bear on them
    (OF_DRAINAGE, DRAINAGE),
    (OF_WATER, WATER),
    (OF_GAS, frozenset({System.GAS})),
    (OF_HEATERS, WATER | {System.GAS}),
    (OF_FLUES, frozenset({System.FLUE})),
)
BEARING = {kind: services for kinds, services in BEARS for kind in kinds}
EVERY = frozenset[System]().union(*BEARING.values())


@dataclass(frozen=True)
class Again:
    """What was judged first, by which packs, and what it was found to be."""

    model: Model
    packs: Sequence[Pack]
    context: Context
    findings: Sequence[Finding]
    build: Callable[[network.Network, Surroundings | None], Plumbing]

    def __call__(self, model: Model) -> list[Finding]:
        """The findings of a changed model, in no order."""
        sized = _sized(self.model.elements, model.elements)
        asked = [
            replace(pack, rules=tuple(r for r in pack.rules if not _finds_the_same(r, sized)))
            for pack in self.packs
        ]
        again = {(pack.name, rule.name) for pack in asked for rule in pack.rules}
        plumbing = self._plumbing(model, sized)
        context = Context(self.context.code, plumbing, self.context.job)
        found = judge(asked, context).findings
        return found + [f for f in self.findings if (f.pack, f.rule) not in again]

    def bearing(self, finding: Finding) -> frozenset[System] | None:
        """The services whose sizes bear on a finding; None where any may."""
        return self._bearings.get((finding.pack, finding.rule))

    @cached_property
    def _bearings(self) -> dict[tuple[str, str], frozenset[System] | None]:
        return {(p.name, rule.name): _bearing(rule) for p in self.packs for rule in p.rules}

    def _plumbing(self, model: Model, sized: frozenset[System] | None) -> Plumbing:
        before, pairs = self.context.plumbing, zip(self.model.elements, model.elements, strict=True)
        if sized is None:
            return self.build(network.connect(model), None)
        changed = {i: (old, new) for i, (old, new) in enumerate(pairs) if old is not new}
        kept = resized(before, changed, sized)
        return kept or self.build(network.connect(model), before.surroundings)


def _finds_the_same(rule: Rule, sized: frozenset[System] | None) -> bool:
    """Whether other sizes of some services leave what a rule finds; nothing does where None."""
    if rule.is_about_model or sized is None:
        return rule.is_about_model
    bearing = _bearing(rule)
    return bearing is not None and not sized & bearing


def _bearing(rule: Rule) -> frozenset[System] | None:
    found: frozenset[System] | None = getattr(rule.subject, "sized_by", BEARING.get(rule.subject))
    return found


def _sized(before: Sequence[Element], after: Sequence[Element]) -> frozenset[System] | None:
    """The services of which parts got another size; None where anything moved, or may bear on
    more."""
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old is not new]
    services = frozenset(element.system for element, _ in changed if element.system in EVERY)
    if any(_place(old) != _place(new) or old.system not in EVERY for old, new in changed):
        return None
    return frozenset(service for service in services if service is not None)


def _place(element: Element) -> tuple[object, ...]:
    return (element.position, element.slope, *(end.position for end in element.ends))
