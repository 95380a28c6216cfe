"""The walk list: what an inspector looks for, with what the review found there."""

import tomllib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ifclint.fieldsheet.sheet import Look, Stage
from ifclint.fieldsheet.stages import Levels, heights, highest_rim_m, stage_of, vents
from ifclint.findings import Finding, Outcome
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, Role, System
from ifclint.plumbing import Plumbing
from ifclint.report.arrange import Item

STAGES = tuple(Stage)
ROLES = {
    Role.FIXTURE: "fixture",
    Role.APPLIANCE: "appliance",
    Role.HEATER: "heater",
    Role.INTERCEPTOR: "interceptor",
}
LEFT = "What else the review says here; see its report."
Place = tuple[Stage, str]  # stage and storey


@dataclass(frozen=True)
class WalkLine:
    """A line of walk.toml."""

    stages: tuple[Stage, ...]
    of: frozenset[str]
    look: str
    rules: frozenset[str]


@cache
def lines() -> tuple[WalkLine, ...]:
    told = tomllib.loads(Path(__file__).with_name("walk.toml").read_text(encoding="utf-8"))
    return tuple(
        WalkLine(
            tuple(map(Stage, w["stages"])), frozenset(w["of"]), w["look"], frozenset(w["rules"])
        )
        for w in told["line"]
    )


@dataclass
class _Marks:
    corrections: set[int]
    open_items: set[int]


class WalkPlaces:
    """Where everything is looked at: stage and storey of each element."""

    def __init__(self, plumbing: Plumbing, at: Levels) -> None:
        elements = plumbing.network.elements
        dry, rim_m = vents(plumbing), highest_rim_m(elements)
        self.levels = at
        self.of: dict[str, Place] = {}
        self.present: dict[Place, set[str]] = defaultdict(set)
        for index, element in enumerate(elements):
            if element.role is Role.OTHER:
                continue
            stage = stage_of(element, at, index in dry, rim_m)
            place = (stage, self._storey(element, stage))
            self.of.setdefault(element.guid, place)
            what = _what(element, index in dry)
            if what:
                self.present[place].add(what)
                if what == "water" and stage is Stage.ROUGH_IN:
                    self.present[(Stage.FINISH, place[1])].add(what)
                if what == "drain" and stage is Stage.ROUGH_IN:
                    self.present[(Stage.FINISH, place[1])].add(what)

    def _storey(self, element: Element, stage: Stage) -> str:
        if stage is Stage.UNDERGROUND:
            return self.levels.floor
        placed = heights(element)
        if element.storey and not self.levels.is_below_floor(element.storey):
            return element.storey
        return self.levels.storey_at(placed[0]) if placed else element.storey

    def place(self, finding: Finding) -> Place:
        known = next((self.of[g] for g in finding.element_ids if g in self.of), None)
        return known or (Stage.ROUGH_IN, finding.location.storey)


def _what(element: Element, is_vent: bool) -> str:
    if element.role in ROLES:
        return ROLES[element.role]
    if element.role is not Role.PIPE:
        return ""
    if element.system in DRAINAGE:
        return "vent" if is_vent or element.system is System.VENT else "drain"
    if element.system in WATER_SUPPLY:
        return "water"
    return {System.GAS: "gas", System.STORM: "storm"}.get(element.system or System.OTHER, "")


def walk(items: Sequence[Item], places: WalkPlaces) -> list[Look]:
    """The lines of every storey and stage that has such work, marked; nothing found is lost."""
    marks, rest = _marked(items, places)
    made = [
        _look(stage, storey, line.look, marks.get((number, stage, storey)))
        for number, line in enumerate(lines())
        for stage, storey in _where(line, number, places.present, marks)
    ]
    made += [_look(*place, LEFT, found) for place, found in rest.items()]
    names = [name for name, _ in places.levels.storeys]
    rank = {name: n for n, name in enumerate(names)}
    return sorted(made, key=lambda k: (STAGES.index(k.stage), rank.get(k.storey, len(rank))))


def _where(
    line: WalkLine,
    number: int,
    present: Mapping[Place, set[str]],
    marks: Mapping[tuple[int, Stage, str], _Marks],
) -> Iterable[Place]:
    """Where a line stands: where there is such work, and where the review found something of it."""
    held = [p for p, what in present.items() if p[0] in line.stages and line.of & what]
    marked = [(stage, storey) for n, stage, storey in marks if n == number]
    return dict.fromkeys([*held, *marked])


def _marked(
    items: Sequence[Item], places: WalkPlaces
) -> tuple[dict[tuple[int, Stage, str], _Marks], dict[Place, _Marks]]:
    """What the review found, by line and place; and by place alone where no line is of its rule.

    A finding at a stage that its line has none of stands at the line's last stage: it can be seen
    then as well.
    """
    by_rule = {rule: number for number, line in enumerate(lines()) for rule in line.rules}
    marks: dict[tuple[int, Stage, str], _Marks] = {}
    rest: dict[Place, _Marks] = {}
    for item in items:
        stage, storey = places.place(item.finding)
        number = by_rule.get(item.finding.rule)
        if number is None:
            entry = rest.setdefault((stage, storey), _Marks(set(), set()))
        else:
            stages = lines()[number].stages
            if stage not in stages:
                stage = stages[-1]
                storey = places.levels.floor if stage is Stage.UNDERGROUND else storey
            key = (number, stage, storey)
            entry = marks.setdefault(key, _Marks(set(), set()))
        if item.finding.outcome is Outcome.VIOLATION:
            entry.corrections.add(item.number)
        elif item.finding.outcome is Outcome.UNVERIFIED:
            entry.open_items.add(item.number)
    return marks, {place: m for place, m in rest.items() if m.corrections or m.open_items}


def _look(stage: Stage, storey: str, text: str, marks: _Marks | None) -> Look:
    found = marks or _Marks(set(), set())
    return Look(
        stage, storey, text, tuple(sorted(found.corrections)), tuple(sorted(found.open_items))
    )
