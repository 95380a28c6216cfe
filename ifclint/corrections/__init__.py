"""Corrections: each one change to the building, with the findings that it clears.

Findings are per rule and subject, so one mistake is found many times. Sizes and slopes are solved
together over all packs: what the findings ask is changed in memory and reviewed again, until no
finding asks for more; pipes that are changed and follow one another are one correction. Each is
then reviewed by itself, for what it clears and what it raises. A finding whose remedy is no size
or slope is a correction of its own, unless a change of size or slope clears it too, or another asks
for the same part at the same element or the same work on the same line of pipe.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter

from ifclint.as_findings import apart
from ifclint.corrections.heights import DrainRun
from ifclint.corrections.landmarks import DrainWays, Landmarks
from ifclint.corrections.proofs import (
    ELEMENTS_REVIEWED,
    Again,
    Bearing,
    FindingsBefore,
    Proofs,
    bears_all,
)
from ifclint.corrections.targets import NUMBERS, Targets, adjoining, beyond, targets_of
from ifclint.corrections.wording import title
from ifclint.findings import Change, Correction, Finding, Outcome, ReviewedAgain, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.flow.subject import place_of

__all__ = ["DrainRun", "agreed", "corrections"]

ROUNDS = 8  # of taking up what findings ask; each makes a pipe larger, so it seldom takes three

DANGEROUS = (
    System.GAS, System.FLUE, System.RELIEF, System.HOT_WATER, System.HOT_WATER_RETURN,
    System.COLD_WATER, System.WATER, System.SANITARY, System.VENT,
)  # fmt: skip


def corrections(
    findings: Sequence[Finding],
    network: Network,
    again: Again,
    runs: Mapping[str, DrainRun],
    bearing: Bearing = bears_all,
    drained: Sequence[Drainage] = (),
) -> tuple[Correction, ...]:
    """What is to be corrected, what can hurt someone first.

    `again` reviews a changed model; `runs` tells how pipes of the drainage are used, `bearing`
    which services bear on a finding by their sizes, `drained` which way drains run. Findings that a
    variance accepts are left out.
    """
    before = [f for f in findings if f.outcome is Outcome.VIOLATION]
    wrong = [f for f in before if f.variance is None]
    if not wrong:
        return ()
    ways = DrainWays(network, runs, drained)
    proofs = Proofs(wrong, before, network, again, runs, bearing)
    solver = _Solver(wrong, before, network, proofs, ways)
    made = solver.of_pipe() if any(map(_asks_number, wrong)) else []
    cleared = {id_ for correction in made for id_ in correction.finding_ids}
    others = _others([f for f in wrong if f.id not in cleared], network, runs)
    made = apart([*made, *others])
    landmarks = Landmarks(network.elements)
    made = [_placed(_where_done(c, network), landmarks, network, ways) for c in made]
    at = {finding.id: n for n, finding in enumerate(wrong)}
    return tuple(
        sorted(made, key=lambda c: (_rank(c.severity), _danger(c.system), at[c.finding_ids[0]]))
    )


def _where_done(made: Correction, network: Network) -> Correction:
    """A correction of several findings that asks for work or a part at one element stands there."""
    change = made.changes[0] if len(made.finding_ids) > 1 and made.changes else None
    if change is None or change.what not in ("part", "work") or not change.element_ids:
        return made
    at = network.of_guid.get(change.element_ids[0])
    return replace(made, location=place_of(network.elements[at[0]], None)) if at else made


def _placed(
    made: Correction, landmarks: Landmarks, network: Network, ways: DrainWays
) -> Correction:
    """A correction with where it is: of several pieces of pipe, in its title, where they run; else
    what it is at or near, unless its room is known or it names that itself."""
    is_run = len(made.element_ids) > 1 and made.reviewed_again is not None
    if is_run:
        way = ways.way(made.element_ids)
        own = set(made.element_ids)
        where = landmarks.of_drain(way) if way is not None else landmarks.ends(network, own)
        if where:
            return replace(made, title=f"{made.title.removesuffix('.')}, {where}.")
    if made.location.space:
        return made
    near = landmarks.own(network, made.element_ids) or landmarks.near(made.location)
    return replace(made, near="" if near in f"{made.title} {made.subject}" else near)


def agreed(findings: Sequence[Finding], made: Sequence[Correction]) -> list[Finding]:
    """The findings, each asking for the size or slope that its correction makes: where rules ask
    for several of one pipe, nobody is told two."""
    said: dict[str, list[Change]] = {id_: list(c.changes) for c in made for id_ in c.finding_ids}
    return [_agreed(finding, said.get(finding.id, [])) for finding in findings]


def _agreed(finding: Finding, changes: Sequence[Change]) -> Finding:
    if finding.change is None or not _asks_number(finding):
        return finding
    said = [
        (own, change)
        for own in finding.change.parts
        for change in changes
        if change.what == own.what and set(own.element_ids) & set(change.element_ids)
    ]
    if all(own.value == change.value for own, change in said):
        return finding
    told = dict.fromkeys(change.text for _, change in said)
    return replace(finding, change=said[0][1], remedy=" ".join(told))


def _asks_number(finding: Finding) -> bool:
    return finding.change is not None and finding.change.what in NUMBERS


def _danger(system: str) -> int:
    """Gas and flue gas kill at once, hot water and pressure burn, sewage makes ill."""
    return DANGEROUS.index(system) if system in DANGEROUS else len(DANGEROUS)


def _rank(severity: Severity) -> int:
    return list(Severity).index(severity)


@dataclass
class _Solver:
    """Sizes and slopes, found together and reviewed again."""

    wrong: list[Finding]
    before: list[Finding]  # all violations, accepted ones too
    network: Network
    proofs: Proofs
    ways: DrainWays

    @property
    def runs(self) -> Mapping[str, DrainRun]:
        return self.proofs.runs

    def of_pipe(self) -> list[Correction]:
        """The corrections of size and slope."""
        targets, left = self._solved()
        groups = self._groups(targets)
        proofs = self.proofs.of_each(targets, groups, left)
        while merged := self._merged(targets, groups, proofs, left):
            groups, proofs = merged
        own, cleared = self._own(groups, proofs), _cleared(proofs)
        return [
            self._correction(targets.only(group), found, _of_own(proof, found, cleared))
            for group, found, proof in zip(groups, own, proofs, strict=True)
            if found
        ]

    def _own(self, groups: list[set[str]], proofs: list[ReviewedAgain]) -> list[list[Finding]]:
        """The findings of each group: those that ask for it, then what else it clears; each of the
        first group that it is of."""
        number_of, clearing = _numbers(groups), dict[str, int]()
        for n, proof in enumerate(proofs):
            if not n or proof is not proofs[n - 1]:  # one of all, where they are reviewed together
                clearing = dict.fromkeys(proof.clears, n) | clearing
        asking, cleared = [[list[Finding]() for _ in groups] for _ in range(2)]
        for finding in self.wrong:
            if _asks_number(finding):
                if numbers := [number_of[guid] for guid in _asked(finding) if guid in number_of]:
                    asking[min(numbers)].append(finding)
            elif finding.id in clearing:
                cleared[clearing[finding.id]].append(finding)
        return [[*a, *b] for a, b in zip(asking, cleared, strict=True)]

    def _solved(self) -> tuple[Targets, list[Finding]]:
        """The least sizes and slopes that leave no finding which asks for more, and the violations
        that are left with them."""
        targets = targets_of(self.network)
        left = self.wrong
        affordable = ELEMENTS_REVIEWED // max(len(self.network.elements), 1)
        accepted = FindingsBefore(f for f in self.before if f.variance is not None)
        ours = FindingsBefore(self.wrong)
        for _ in range(min(ROUNDS, max(affordable, 1))):
            if not targets.grow(f for f in left if ours.holds(f) or not accepted.holds(f)):
                break
            left = self.proofs.violations(targets)
        return targets, left

    def _groups(self, targets: Targets) -> list[set[str]]:
        """The changed elements by correction. Pipe that no finding of the model asks for, and that
        has to follow what is changed, goes with the change next to it."""
        asked = {guid for finding in self.wrong for guid in _asked(finding)}
        groups = adjoining(self.network, targets.elements, self.runs)
        first = [group for group in groups if group & asked]
        number_of, elements = _numbers(first), targets.elements
        for group in groups:
            if not group & asked:
                beside = beyond(self.network, group, elements)
                number = min((number_of[guid] for guid in beside if guid in number_of), default=0)
                first[number] |= group
                number_of |= dict.fromkeys(group, number)
        return first

    def _merged(
        self,
        targets: Targets,
        groups: list[set[str]],
        proofs: list[ReviewedAgain],
        left: list[Finding],
    ) -> tuple[list[set[str]], list[ReviewedAgain]] | None:
        """The groups and their proofs, those in one that clear a finding only together; None where
        there are none. Where a finding asks for one group alone, what follows it is taken in."""
        stays = FindingsBefore(left)
        cleared = _cleared(proofs)
        number_of, elements = _numbers(groups), targets.elements
        for finding in self.wrong:
            if finding.id in cleared or not _asks_number(finding) or stays.holds(finding):
                continue
            own = sorted({number_of[guid] for guid in _asked(finding) if guid in number_of})
            if len(own) == 1:
                beside = beyond(self.network, groups[own[0]], elements)
                own += sorted({number_of[guid] for guid in beside if guid in number_of})
            if len(own) > 1 and not any(proofs[n].together for n in own):
                together = set[str]().union(*(groups[n] for n in own))
                kept = [n for n in range(len(groups)) if n not in own]
                return (
                    [*(groups[n] for n in kept), together],
                    [*(proofs[n] for n in kept), self.proofs.alone(targets.only(together))],
                )
        return None

    def _correction(self, targets: Targets, own: list[Finding], proof: ReviewedAgain) -> Correction:
        asked = [guid for f in own for change in _parts(f) for guid in change.element_ids]
        order = {guid: n for n, guid in enumerate(dict.fromkeys(asked))}
        indexes = sorted(i for guid in targets.elements for i in self.network.of_guid[guid])
        indexes.sort(key=lambda i: order.get(self.network.elements[i].guid, len(order)))
        elements = [self.network.elements[i] for i in self.ways.upper_first(indexes)]
        made = _correction(
            own, title(elements, targets.sizes, targets.slopes, self.runs), elements, proof
        )
        return replace(made, changes=tuple(_changes(elements, targets, self.runs)))


def _cleared(proofs: Sequence[ReviewedAgain]) -> set[str]:
    """The findings that any of these clear. One proof may stand for many changes."""
    return {id_ for proof in {id(p): p for p in proofs}.values() for id_ in proof.clears}


def _of_own(proof: ReviewedAgain, own: list[Finding], cleared: set[str]) -> ReviewedAgain:
    """What a review says of one correction: of what all together clear, its own findings."""
    if not proof.together:
        return proof
    return replace(proof, clears=tuple(f.id for f in own if f.id in cleared))


def _numbers(groups: Sequence[set[str]]) -> dict[str, int]:
    """The number of the group that each element is of."""
    return {guid: n for n, group in enumerate(groups) for guid in group}


def _changes(
    elements: Sequence[Element], targets: Targets, runs: Mapping[str, DrainRun]
) -> Iterator[Change]:
    """What is changed to one value, as one change, the least value first."""
    for what, values in (("size", targets.sizes), ("slope", targets.slopes)):
        of_value: dict[float, dict[str, Element]] = {}
        for element in elements:
            if element.guid in values:
                of_value.setdefault(values[element.guid], {})[element.guid] = element
        for value, changed_to in sorted(of_value.items(), key=itemgetter(0)):
            sizes, slopes = (values, {}) if what == "size" else ({}, values)
            said = title([*changed_to.values()], sizes, slopes, runs)
            yield Change("size" if what == "size" else "slope", tuple(changed_to), value, said)


def _asked(finding: Finding) -> set[str]:
    """The elements whose size or slope a finding asks to be changed."""
    if not _asks_number(finding):
        return set()
    return {guid for change in _parts(finding) for guid in change.element_ids}


def _parts(finding: Finding) -> tuple[Change, ...]:
    return finding.change.parts if finding.change is not None else ()


def _others(
    findings: list[Finding], network: Network, runs: Mapping[str, DrainRun]
) -> list[Correction]:
    """Corrections that are no size or slope: by the part that is added or the work that is done and
    where, by what is moved (as far as clears all), by the line of pipe that a rule asks the same
    of all along, or one each."""
    groups: dict[object, list[Finding]] = {}
    lines = _lines([f for f in findings if f.change is None], network, runs)
    for finding in findings:
        change = finding.change
        key: object = lines.get(finding.id, finding.id)
        if change is not None and change.what in ("part", "work"):
            key = (change.what, change.value, change.element_ids[:1])
        elif change is not None and change.what == "move":
            key = (change.what, change.element_ids[:1])
        groups.setdefault(key, []).append(finding)
    return [_correction(group, _farthest(group).remedy, [], None) for group in groups.values()]


def _lines(
    findings: Sequence[Finding], network: Network, runs: Mapping[str, DrainRun]
) -> dict[str, str]:
    """Of findings about pipe alone, the first finding on the same line that asks for the same."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        indexes = [i for guid in finding.element_ids for i in network.of_guid.get(guid, ())]
        if indexes and all(network.elements[i].role is Role.PIPE for i in indexes):
            alike.setdefault((finding.rule, finding.remedy), []).append(finding)
    first: dict[str, str] = {}
    for asked in alike.values():
        if len(asked) == 1:
            continue
        groups = adjoining(network, {g for f in asked for g in f.element_ids}, runs)
        number_of, of_group = _numbers(groups), dict[int, str]()
        for finding in asked:
            number = number_of[finding.element_ids[0]]
            first[finding.id] = of_group.setdefault(number, finding.id)
    return first


def _farthest(findings: list[Finding]) -> Finding:
    """The finding that asks for the longest move; of other changes, the first."""
    return max(findings, key=_moved_m)


def _moved_m(finding: Finding) -> float:
    change = finding.change
    return float(change.value) if change is not None and change.what == "move" else 0.0


def _subjects(findings: list[Finding]) -> str:
    """What several findings are about: one or two by name, else the first, and how many more."""
    first, *more = dict.fromkeys(f.subject for f in findings)
    if len(more) == 1:
        return f"{first} and {more[0]}"
    return f"{first} and {len(more)} more" if more else first


def _correction(
    own: list[Finding], said: str, elements: Sequence[Element], proof: ReviewedAgain | None
) -> Correction:
    worst = min(own, key=lambda f: _rank(f.severity))
    ids = [e.guid for e in elements] or [*dict.fromkeys(g for f in own for g in f.element_ids)]
    named = "|".join((own[0].change.what if own[0].change else own[0].rule, *ids[:1], own[0].rule))
    return Correction(
        id=f"correction-{hashlib.sha256(named.encode()).hexdigest()[:10]}",
        title=said,
        severity=worst.severity,
        subject=worst.subject if proof else _subjects([worst, *own]),
        system=worst.system,
        location=worst.location,
        near="",
        element_ids=tuple(ids),
        changes=tuple(dict.fromkeys(f.change for f in own if f.change is not None)),
        finding_ids=tuple(f.id for f in own),
        reviewed_again=proof,
    )
