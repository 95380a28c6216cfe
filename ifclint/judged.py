"""What a pass rests on: of which fixtures, appliances and pipes each question was settled.

A rule that `settles` a question settles it for what its subject stands for: a fixture, all
fixtures of a trap arm, the pipes of a segment. Only an answer does; what a rule excuses is not
asked of, and what no rule saw (a fixture that no drain is joined to) is open.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from ifclint.findings import Judged, Outcome, SetAside, Settles
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.network import Network
from ifclint.plumbing import DrainSegment, GasSegment, Plumbing, TrapArm, VentSegment, WaterSegment
from ifclint.plumbing.storm.members import building_storm
from ifclint.rule import Rule, Subject

OF_FIXTURES = (Settles.DRAIN, Settles.TRAP, Settles.VENT)
OF_SUPPLIED = (Settles.WATER, Settles.PRESSURE)
OF_PIPES = (Settles.PIPE, Settles.SERVICE)
SET_ASIDE = frozenset({System.HEATING, System.FIRE, System.STORM, System.NON_POTABLE, System.OTHER})
SITE = "site drainage"
ON_SITE = frozenset({Role.PIPE, Role.FITTING, Role.CHAMBER, Role.OTHER})
INDOORS = frozenset({"wall", "roof", "window", "door"})
SERVICES: dict[type, frozenset[System]] = {
    DrainSegment: frozenset({System.SANITARY}),
    VentSegment: frozenset({System.VENT}),
    WaterSegment: WATER_SUPPLY - {System.HOT_WATER_RETURN},
}
EXCUSED = Outcome.NOT_APPLICABLE
LEAST_OF_PIPES = 0.9  # of the pipes of a pack; a stub may stay open. The bound has no source


@dataclass
class Settled:
    """What one rule said of what a pass rests on."""

    pack: str
    rule: Rule
    answers: list[tuple[tuple[str, ...], Outcome, str]] = field(default_factory=list)
    """GlobalIds of what was asked about, the gravest answer, and the id of its finding"""


def things_of(subject: Subject) -> tuple[str, ...]:
    """The GlobalIds of what a subject stands for."""
    if isinstance(subject, TrapArm):
        return tuple(fixture.element.guid for fixture in subject.fixtures)
    return subject.element_ids


def judged(
    said: Iterable[Settled], plumbing: Plumbing, accepted: Collection[str] = ()
) -> tuple[Judged, ...]:
    """One line for every question of every pack. `accepted` are ids of findings that a variance
    accepts: what is open there is settled by whoever accepted it."""
    together: dict[tuple[str, Settles], list[Settled]] = {}
    for one in said:
        if one.rule.settles is not None:
            together.setdefault((one.pack, one.rule.settles), []).append(one)
    outcomes = {key: _Seen(given, accepted) for key, given in together.items()}
    untrapped = _without_trap(outcomes)
    undrained = _without_drain(outcomes)  # nothing is known of their traps and vents either
    lines = []
    for (pack, question), given in together.items():
        seen = outcomes[pack, question]
        none_due = seen.excused | (untrapped - seen.asked if question is Settles.VENT else set())
        if question in OF_FIXTURES:
            none_due -= undrained
        asked = [guid for guid in _all_of(question, given, plumbing) if guid not in none_due]
        left = tuple(guid for guid in asked if guid not in seen.settled)
        if asked:
            settled = len(asked) - len(left)
            lines.append(Judged(pack, question, _name(question), len(asked), settled, left))
    return tuple(lines)


class _Seen:
    """What was said of a question, as the GlobalIds of what each outcome was given of."""

    def __init__(self, given: Iterable[Settled], accepted: Collection[str]) -> None:
        self.of = {outcome: set[str]() for outcome in Outcome}
        for one in given:
            for things, outcome, finding in one.answers:
                open_but_accepted = outcome is Outcome.UNVERIFIED and finding in accepted
                self.of[Outcome.PASS if open_but_accepted else outcome].update(things)
        answered = set[str]().union(*(self.of[o] for o in Outcome if o is not EXCUSED))
        self.asked = answered | self.of[EXCUSED]
        self.settled = answered - self.of[Outcome.UNVERIFIED]
        self.excused = self.of[EXCUSED] - answered


def _without_trap(outcomes: Mapping[tuple[str, Settles], _Seen]) -> set[str]:
    """Fixtures that every pack excuses from a trap of their own (a disposer), or finds to have
    none: there is no vent to judge."""
    of_traps = [seen for (_, question), seen in outcomes.items() if question is Settles.TRAP]
    others = set(Outcome) - {EXCUSED, Outcome.VIOLATION}
    asked = set[str]().union(*(seen.asked for seen in of_traps))
    return asked.difference(*(seen.of[outcome] for seen in of_traps for outcome in others))


def _without_drain(outcomes: Mapping[tuple[str, Settles], _Seen]) -> set[str]:
    of_drains = (seen for (_, question), seen in outcomes.items() if question is Settles.DRAIN)
    return set[str]().union(*(seen.of[Outcome.UNVERIFIED] for seen in of_drains))


def _name(question: Settles) -> str:
    if question in OF_FIXTURES:
        return "fixtures"
    if question in OF_SUPPLIED:
        return "supplied fixtures"
    return "pipes" if question in OF_PIPES else "gas appliances"


def _all_of(question: Settles, given: list[Settled], plumbing: Plumbing) -> Iterable[str]:
    """GlobalIds of all that the question is about, whether a rule saw it or not.

    What is not understood and takes water or gas is one that no rule saw; its pipe stands for it.
    """
    if question is Settles.VENT:  # the trap of indirect waste breathes at its open end
        return [f.element.guid for f in plumbing.fixtures if not f.is_indirect]
    if question in OF_FIXTURES:
        return [fixture.element.guid for fixture in plumbing.fixtures]
    if question in OF_SUPPLIED:
        known = [fixture.element.guid for fixture in plumbing.supply.fixtures]
        return known + (_unknown_takers(plumbing) if question is Settles.WATER else [])
    if question is Settles.LINE:
        gas = plumbing.gas
        burners = [a.element for a in gas.appliances] + gas.unknown_takers if gas else []
        return [element.guid for element in burners]
    pipes = plumbing.network.of_role[Role.PIPE]
    if question is Settles.SERVICE:
        return [e.guid for e in pipes if e.system not in {*SET_ASIDE, System.FLUE}]
    found = {guid for one in given for things, _, _ in one.answers for guid in things}
    for kind in {one.rule.subject for one in given}:
        found.update(_unseen(kind, pipes, plumbing))
    return [e.guid for e in pipes if e.guid in found]


def _unknown_takers(plumbing: Plumbing) -> list[str]:
    """The last elements of the water lines that end at something that is not understood."""
    return [s.elements[-1].guid for s in plumbing.supply.segments if s.leads_elsewhere]


def _unseen(kind: type, pipes: Iterable[Element], plumbing: Plumbing) -> set[str]:
    """Pipes of the service of such segments that are in none: what leads nowhere known.

    Not pipe that carries nothing by its place (a cleanout's, a nipple for sediment), nor the line
    of a relief valve, a pan or condensate, whatever its system: it drains no fixture.
    """
    if kind is GasSegment:
        gas = plumbing.gas
        if gas is None:
            return set()
        return {e.guid for e in (gas.stray if gas.source_elements else gas.members)}
    systems = SERVICES.get(kind)
    if systems is None:
        return set()
    placed = {guid for segment in plumbing.segments for guid in segment.element_ids}
    placed.update(e.guid for line in plumbing.heaters.lines for e in line.elements)
    return {e.guid for e in pipes if e.system in systems and e.guid not in placed}


def unearned(lines: Iterable[Judged], label: dict[str, str]) -> str:
    """Why a pass is not earned, "" where it is. `label` names elements by GlobalId."""
    why: dict[str, list[str]] = {}
    for line in lines:
        of_pipes = line.question in OF_PIPES
        if line.judged < (LEAST_OF_PIPES if of_pipes else 1.0) * line.asked:
            first = line.pack if of_pipes else label.get(line.open_ids[0], line.open_ids[0])
            of_what = f"{line.asked - line.judged} of {line.asked} {line.of} ({first})"
            asked = why.setdefault(of_what, [])
            if line.question.value not in asked:  # two packs ask of traps
                asked.append(line.question.value)
    if not why:
        return ""
    open_questions = "; ".join(
        f"the {' and '.join(asked)} of {what}" for what, asked in why.items()
    )
    return (
        f"Nothing wrong was found, but these were not judged: {open_questions}. Add to the model "
        "what they lack, or put the pack out of scope in the job file (out_of_scope)."
    )


def set_aside(plumbing: Plumbing) -> tuple[SetAside, ...]:
    """What is out of a building's plumbing code, counted by service, and what is not built; no
    boiler that is judged beside the rest of its piping."""
    counts = dict(plumbing.network.model.set_aside)
    out = _out_of_code(plumbing.network)
    every = _is_every(out, plumbing.network)
    for element in out:
        if element.role is Role.HEATER and not every:
            continue
        service = element.system.value if element.system in SET_ASIDE else SITE
        counts[service] = counts.get(service, 0) + 1
    return tuple(SetAside(service, counts[service]) for service in sorted(counts))


def all_is_set_aside(network: Network) -> bool:
    """Whether a model holds nothing that a building's plumbing code judges."""
    return _is_every(_out_of_code(network), network)


def _is_every(out: Sequence[Element], network: Network) -> bool:
    held = len(network.elements) - len(network.of_roles(Role.OTHER))
    return 0 < held == len(out)


def is_site(network: Network) -> bool:
    """Whether the piping is that of a road or site: nothing stands there that is of a building."""
    model = network.model
    if model.storeys or model.spaces or any(s.kind in INDOORS for s in model.surfaces):
        return False
    return len(network.elements) == len(network.of_roles(*ON_SITE))


def _out_of_code(network: Network) -> list[Element]:
    """The elements of heating, fire and other piping, and of storm piping that is not the
    building's, with what stands in that alone (its pumps and boilers); of a site, all."""
    elements = network.elements
    if is_site(network):
        return [element for element in elements if element.role is not Role.OTHER]
    judged_here = set(building_storm(network))
    return [
        element
        for index, element in enumerate(elements)
        if element.role is not Role.OTHER
        and index not in judged_here
        and (
            _stands_in_it(network, index) if element.system is None else element.system in SET_ASIDE
        )
    ]


def _stands_in_it(network: Network, index: int) -> bool:
    """Whether an element of no known service stands in such piping alone."""
    if network.elements[index].role in (Role.FIXTURE, Role.TRAP):
        return False
    beside = network.neighbours(index)
    return bool(beside) and all(network.elements[i].system in SET_ASIDE for i in beside)
