"""Changes of size and slope reviewed again: what each clears, and what it raises.

Each change is reviewed by itself. Changes of sizes, each of another service, are reviewed in one go
where every finding that goes or comes is one that the sizes of one of these services alone bear on.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ifclint.corrections.heights import DrainRun
from ifclint.corrections.targets import Changed, Targets, changed
from ifclint.corrections.wording import STUCK, moved_text
from ifclint.findings import Finding, Outcome, ReviewedAgain
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Model, System
from ifclint.network import Network

ELEMENTS_REVIEWED = 60_000  # in all these reviews; beyond it, all changes are reviewed together
WATER = WATER_SUPPLY | {System.RELIEF}
APART = (DRAINAGE, WATER, frozenset({System.GAS}), frozenset({System.FLUE}))

Again = Callable[[Model], Sequence[Finding]]
Bearing = Callable[[Finding], frozenset[System] | None]
"""The services whose sizes bear on a finding; None where any may."""


def bears_all(_: Finding) -> None:
    """Of findings of which it is not known which services bear on them."""


@dataclass
class Proofs:
    """What is reviewed again, and what was wrong with it."""

    wrong: list[Finding]
    before: list[Finding]  # all violations, accepted ones too
    network: Network
    again: Again
    runs: Mapping[str, DrainRun]
    bearing: Bearing

    def violations(self, targets: Targets) -> list[Finding]:
        """What is wrong with the model where all is changed."""
        return self._violations(changed(self.network, targets, self.runs))

    def of_each(
        self, targets: Targets, groups: Sequence[set[str]], left: list[Finding]
    ) -> list[ReviewedAgain]:
        """Each group of changed elements reviewed again; all at once where the model is too large.
        `left` are the violations with all groups changed."""
        if len(groups) * len(self.network.elements) > ELEMENTS_REVIEWED:
            return [self._proof(left, together=True)] * len(groups)
        made = dict[int, ReviewedAgain]()
        for numbers in self._batches(targets, groups):
            found = left if len(numbers) == len(groups) else None
            own = [targets.only(groups[n]) for n in numbers]
            together = targets.only(set[str]().union(*(groups[n] for n in numbers)))
            made |= zip(numbers, self._in_one_go(own, together, found), strict=True)
        return [made[n] for n in range(len(groups))]

    def alone(self, targets: Targets, found: list[Finding] | None = None) -> ReviewedAgain:
        """A change reviewed again by itself. `found` are the violations with it, where known."""
        model = changed(self.network, targets, self.runs)
        if model.stuck:
            return ReviewedAgain((), (), note=STUCK)
        found = self._violations(model) if found is None else found
        return replace(self._proof(found), note=moved_text(model))

    def _batches(self, targets: Targets, groups: Sequence[set[str]]) -> list[list[int]]:
        """The numbers of the groups, those in one that are each of another service."""
        batches: list[dict[int, int]] = []
        for n, group in enumerate(groups):
            service = self._service(targets.only(group))
            with_room = (b for b in batches if service not in b and -1 not in b and service >= 0)
            batch = next(with_room, None)
            if batch is None:
                batches.append(batch := {})
            batch[service] = n
        return [[*batch.values()] for batch in batches]

    def _service(self, targets: Targets) -> int:
        """The service of which sizes are changed, and nothing else; -1 where there is none."""
        made = changed(self.network, targets, self.runs).model.elements
        both = zip(self.network.elements, made, strict=True)
        systems = {new.system for old, new in both if old is not new}
        of_all = (n for n, service in enumerate(APART) if systems <= service)
        return -1 if targets.slopes else next(of_all, -1)

    def _in_one_go(
        self, own: list[Targets], together: Targets, found: list[Finding] | None
    ) -> list[ReviewedAgain]:
        """What each of several changes does, told apart by the services that bear on findings; each
        reviewed alone where that does not tell."""
        if len(own) == 1:
            return [self.alone(own[0], found)]
        found = self.violations(together) if found is None else found
        services = [APART[self._service(change)] for change in own]
        left, known = FindingsBefore(found), FindingsBefore(self.before)
        gone = [f for f in self.before if not left.holds(f)]
        come = [f for f in found if not known.holds(f)]
        if any(sum(self._bears(s, f) for s in services) != 1 for f in (*gone, *come)):
            return [self.alone(change) for change in own]
        return [
            self._proof(
                [f for f in found if self._bears(service, f)]
                + [f for f in self.before if not self._bears(service, f)]
            )
            for service in services
        ]

    def _bears(self, service: frozenset[System], finding: Finding) -> bool:
        bearing = self.bearing(finding)
        return bearing is None or bool(bearing & service)

    def _violations(self, made: Changed) -> list[Finding]:
        return [f for f in self.again(made.model) if f.outcome is Outcome.VIOLATION]

    def _proof(self, found: list[Finding], together: bool = False) -> ReviewedAgain:
        left, known = FindingsBefore(found), FindingsBefore(self.before)
        return ReviewedAgain(
            clears=tuple(f.id for f in self.wrong if not left.holds(f)),
            raises=tuple(f"{f.title}: {f.message}" for f in found if not known.holds(f)),
            together=together,
        )


class FindingsBefore:
    """Findings, to be met again in a review of a changed model.

    Segments grow together where sizes become equal, so a finding of the same rule about one of the
    same elements is the same.
    """

    def __init__(self, findings: Iterable[Finding]) -> None:
        known = list(findings)
        self._about = {(f.rule, guid) for f in known for guid in f.element_ids}
        self._ids = {f.id for f in known}

    def holds(self, finding: Finding) -> bool:
        return finding.id in self._ids or any(
            (finding.rule, guid) in self._about for guid in finding.element_ids
        )
