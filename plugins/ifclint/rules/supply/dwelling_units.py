"""The valve by which each dwelling of a building is shut off alone."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import takewhile

from ifclint.checks import PASS, Fact, missing, not_known
from ifclint.engineering.joined import NONE, onward
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import COLD
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.shutoff import CLOSES, SHUTOFFS, is_stopped_by_itself, isolates

MANY = "several dwellings"
_HOME = r"apartments?|apt|flat|condo(?:minium)?|dwelling|residence|townho(?:use|me)"
_HOME += r"|wohnung|whg|appartement|logement|vivienda|departamento|apartamento|apto"
_NUMBERED = re.compile(  # "Unit 2 Bath", "APT. 3B", "Flat A": the home, or the unit, and its tag
    rf"(?<![^\W\d_])(?:({_HOME})|unit)(?: unit)?(?: no)?[ .:#_-]*(\d+[a-z]?|[a-z])(?![^\W_])",
    re.IGNORECASE,
)
BATHING = frozenset({"bathtub", "shower"})
LIVED_IN = BATHING | {"kitchen-sink"}  # what tells a unit for a dwelling
WHOSE = Fact(
    "Each of {} kitchens has a branch of its own with a bathroom on it, and none a valve: whether "
    "they are of several dwellings is not known.",
    "Name rooms or storeys after their dwelling (Unit 2 Bath, Apt 3B).",
)


@dataclass(eq=False)
class Unit:
    """A dwelling of several in one building: what takes water in it."""

    name: str
    is_home: bool = False
    fixtures: list[WaterFixture] = field(default_factory=list)


def units(supply: Supply) -> list[Unit]:
    """The dwellings that rooms or storeys are named after; none where there is one alone."""
    found: dict[str, Unit] = {}
    for fixture in supply.fixtures:
        names = (fixture.element.space, fixture.element.storey)
        told = next((m for name in names if name and (m := _NUMBERED.search(name))), None)
        if told is None or fixture.feed is None:
            continue
        unit = found.setdefault(told[2].lower(), Unit(told[0]))
        unit.is_home |= bool(told[1]) or fixture.kind in LIVED_IN
        unit.fixtures.append(fixture)
    homes = [unit for unit in found.values() if unit.is_home]
    return homes if len(homes) > 1 else []


def _by_kitchens(supply: Supply) -> list[Unit]:
    """The dwellings that no name tells: behind each branch to one kitchen alone a tub or shower and
    a closet; none where it is not so of every kitchen."""
    up = supply.distribution.up
    cold = {f: t.connection.up for f in supply.fixtures for t in f.fed if t.service == COLD}
    kitchens = [f for f in cold if f.kind == "kitchen-sink"]
    counts = supply.distribution.how_many(cold[sink] for sink in kitchens)
    found = {}
    for number, sink in enumerate(kitchens, 1):
        alone = [*takewhile(lambda i: counts[i] == 1, onward(cold[sink], up))]
        where = ", ".join(filter(None, (sink.element.label, sink.element.storey)))
        name = f"dwelling {number} ({where})"
        found[alone[-1] if alone else cold[sink]] = Unit(name)
    for fixture, at in cold.items():
        if (entry := next((i for i in onward(at, up) if i in found), NONE)) != NONE:
            found[entry].fixtures.append(fixture)
    homes = list(found.values())
    kinds = ({f.kind for f in unit.fixtures} for unit in homes)
    whole = all("water-closet" in k and k & BATHING for k in kinds)
    return homes if whole and len(homes) > 1 else []


def _ends(unit: Unit, supply: Supply) -> Iterator[tuple[WaterFixture, int]]:
    """Where its water ends: at its fixtures, and the cold at the mixing valves before them."""
    for fixture in unit.fixtures:
        for tap in fixture.fed:
            yield fixture, tap.connection.up
            yield from ((fixture, supply.cold_inlets[mixer]) for mixer in supply.mixers(tap))


def _owners(supply: Supply, homes: list[Unit]) -> dict[int, str]:
    """Element -> the one dwelling that it leads to, or that there are several."""
    owner: dict[int, str] = {}
    for unit in homes:
        waiting = [index for _, index in _ends(unit, supply)]
        while waiting:
            index = waiting.pop()
            before = owner.get(index)
            if before not in (unit.name, MANY):
                owner[index] = unit.name if before is None else MANY
                waiting += supply.distribution.feeds(index)
    return owner


@rule(
    title="Each dwelling of several can be shut off alone",
    clauses={"upc": "606.3", "ipc": "606.1", "irc": "P2903.9.1"},
    severity=Severity.MEDIUM,
)
def unit_shutoff(service: WaterService, context: Context) -> Iterator[Answer]:
    """When the tub of one apartment leaks, its neighbours keep their water.

    Dwellings are told by numbered names of rooms or storeys ("Unit 2 Bath", "Apt 3B"); else by
    branches of which each leads to one kitchen and a bathroom, where one has its valve; where none
    has, it is asked whether these are dwellings. The IPC and IRC want a valve where each line
    enters a dwelling, before it parts to several fixtures; the line to the dwelling's heater may
    part before it and have its own. The UPC wants one (a fixture's own stop is one) between each
    fixture and where the water of other dwellings parts. A dwelling with a service of its own has
    the main shutoff. Where in the dwelling the valve stands is not judged. The sections are from
    memory.
    """
    named = units(service.supply)
    homes = named or _by_kitchens(service.supply)
    if homes and not service.source_known:
        yield not_known("source_known", service)
        return
    owner = _owners(service.supply, homes)
    own = ((unit, _own_lines(unit, owner, service)) for unit in homes)
    said = [_shut_off(unit, lines, service.supply, context) for unit, lines in own if lines]
    if not said or named or PASS in said:
        yield from said
    else:
        yield not_known(WHOSE, str(len(homes)), elements=[e for a in said for e in a.elements])


def _own_lines(
    unit: Unit, owner: dict[int, str], service: WaterService
) -> list[tuple[WaterFixture, list[int]]]:
    """Each fixture with the piping of a connection from where it serves the dwelling alone; none
    of a service of its own."""
    up, found = service.supply.distribution.up, []
    for fixture, end in _ends(unit, service.supply):
        line: list[int] = []
        at = end
        while at != NONE and owner.get(at) == unit.name:
            line.insert(0, at)
            at = up[at]
        if line and at != NONE and service.holds(end):
            found.append((fixture, line))
    return found


def _shut_off(
    unit: Unit, lines: list[tuple[WaterFixture, list[int]]], supply: Supply, context: Context
) -> Answer:
    by_fixture = context.code.family == "upc"
    heater = {line[-1]: _to_heater(line, supply) for _, line in lines}
    counts = supply.distribution.how_many(line[-1] for _, line in lines if not heater[line[-1]])
    lacking: dict[int, list[int]] = {}  # where a line begins -> its valves of unknown kind
    for fixture, line in lines:
        alone = by_fixture or not any(f is not fixture and x[0] == line[0] for f, x in lines)
        before = heater[line[-1]] or [i for i in line if counts[i] == counts[line[0]]]
        entry = line if alone else before
        if any(isolates(supply.elements[i]) for i in entry):
            continue
        if not (alone and is_stopped_by_itself(fixture)):
            doubtful = lacking.setdefault(line[0], [])
            doubtful += [i for i in entry if _is_doubtful(supply.elements[i])]
    if not lacking:
        return PASS
    if all(lacking.values()):
        valves = [supply.elements[doubtful[0]] for doubtful in lacking.values()]
        return not_known(CLOSES, valves[0], unit.name, elements=[v.guid for v in valves])
    begins = tuple(supply.elements[i].guid for i in lacking)
    text = f"Put a full-open valve where the water enters {unit.name}, before it parts."
    return missing(
        SHUTOFFS,
        message=f"No valve shuts off the water of {unit.name} alone.",
        remedy=Change("part", begins, "shutoff valve", text),
        elements=begins,
    )


def _to_heater(line: list[int], supply: Supply) -> list[int]:
    """The piping of a line up to the dwelling's own water heater, which its own valve shuts off."""
    at = next((k for k, i in enumerate(line) if supply.elements[i].role is Role.HEATER), 0)
    return line[:at]


def _is_doubtful(element: Element) -> bool:
    return element.role is Role.VALVE and not element.kind
