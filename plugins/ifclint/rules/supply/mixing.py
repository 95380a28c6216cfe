"""Rules about mixing valves: which water comes to which inlet, and what the sun heats."""

from collections.abc import Iterator

from ifclint.checks import PASS, missing, violation
from ifclint.engineering.joined import NONE
from ifclint.engineering.wording import so_with_more
from ifclint.findings import Answer, Change, PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import COLD, HOT
from ifclint.plumbing.supply.water_fixtures import WaterFixture, side_named
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.plumbing.words import listed_to, says, says_text

OTHER = {COLD: HOT, HOT: COLD}
SYSTEMS = {System.COLD_WATER: COLD, System.HOT_WATER: HOT}
# of one shower, of showers in a gang, of taps: the standards of valves at the point of use
POINT_OF_USE = ("1016", "1069", "1070")
SOLAR = ("solar*", "solaire*", "zonneboiler*")
MIXING_VALVES = PartKind(
    "mixing valves",
    drawn=lambda context: bool(context.plumbing.supply.mixing_valves),
    remedy="Draw the mixing valve (IfcValve MIXING), joined to hot and cold.",
)
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.HEATER})


@rule(
    title="Mixing valve not turned about",
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
    applies=lambda service: bool(service.supply.mixing_valves),
)
def mixing_valve_inlets(service: WaterService, context: Context) -> Iterator[Answer]:
    """A mixing valve with hot water on its cold inlet cannot shut the hot off when the cold fails.

    What comes to each inlet that the model names cold or hot, by whether a water heater lies on
    its way, else by the system it is in. An inlet that gets what its name says is no finding, and
    neither is a valve whose inlets bear no names.
    """
    yield PASS
    supply = service.supply
    for index in supply.mixing_valves:
        if not service.holds(index):
            continue
        valve = supply.elements[index]
        inlets = _inlets(supply, index)
        wrong = [(name, near) for name, near in inlets if side_of(supply, near) == OTHER[name]]
        if not wrong:
            continue
        yield _crossed(supply, valve, wrong)


def _crossed(supply: Supply, valve: Element, wrong: list[tuple[str, int]]) -> Answer:
    named, near = wrong[0]
    both = ", and the other way round" if len({name for name, _ in wrong}) > 1 else ""
    return violation(
        message=f"The {named} inlet of {valve.label} gets {OTHER[named]} water{both}.",
        remedy="Bring the hot water to the inlet marked hot, and the cold to the one marked cold.",
        elements=(valve.guid, *(supply.elements[near].guid for _, near in wrong)),
        steps=(Step(f"Joined to {supply.elements[near].label}"),),
        about=valve.guid,
    )


def _inlets(supply: Supply, index: int) -> Iterator[tuple[str, int]]:
    """What each inlet of a valve is named, cold or hot, and the piping joined to it."""
    network = supply.network
    for other, number in network.joined[index]:
        joint = network.joints[number]
        end = supply.elements[index].ends[joint.a_end if joint.a == index else joint.b_end]
        named, is_fed = side_named(end), supply.distribution.up[other] == index
        if named and end.flow != "out" and not is_fed and supply.elements[other].role in PIPING:
            yield named, other


def side_of(supply: Supply, index: int) -> str:
    """What piping carries, cold or hot: by the heater that feeds it, else by its system."""
    segment, system = supply.segment_of.get(index), supply.elements[index].system
    stated = SYSTEMS.get(system) if system is not None else None
    if segment is not None and (segment.heater != NONE or stated is None):
        return segment.service
    return stated or ""


def is_for_one_point(valve: Element) -> bool:
    """Whether a mixing valve is listed for the point of use alone."""
    return listed_to(valve, *POINT_OF_USE) and not listed_to(valve, "1017")


@rule(
    title="What the sun heats is tempered before the taps",
    clauses={"upc": "", "ipc": "", "irc": "P2802.1"},
    severity=Severity.HIGH,
    applies=lambda service: any(service.holds(i) for i in _heated_by_the_sun(service.supply)),
)
def solar_tempered(service: WaterService, context: Context) -> Iterator[Answer]:
    """On a summer's day nothing keeps a solar tank below the heat that scalds in a second.

    A mixing valve between what the sun heats (a tank or heater named so, or heated by a circuit
    named so) and each tap of its hot water, also behind a heater that it preheats for. One of a
    single fixture, or listed for the point of use alone (ASSE 1016, 1069, 1070), is none. The
    section is from memory.
    """
    yield PASS
    supply = service.supply
    for index in filter(service.holds, _heated_by_the_sun(supply)):
        hot = [f.element for f in supply.fixtures if _is_untempered(f, index, supply)]
        if not hot:
            continue
        tank = supply.elements[index]
        text = "Put a thermostatic mixing valve (ASSE 1017, 140 F or less) before the hot taps."
        yield missing(
            MIXING_VALVES,
            message=f"The hot water of {tank.label} comes to {hot[0].label} untempered."
            + so_with_more(len(hot)),
            remedy=Change("part", (tank.guid,), "mixing valve", text),
            elements=(tank.guid, *(element.guid for element in hot)),
            about=tank.guid,
        )


def _heated_by_the_sun(supply: Supply) -> list[int]:
    """Tanks and heaters of potable water that are named solar, or that piping named so joins."""
    network = supply.network
    hold = [i for i in network.of_roles(Role.TANK, Role.HEATER) if supply.distribution.reached(i)]
    return [i for i in hold if any(_is_solar(supply.elements[n]) for n in _near(i, supply))]


def _near(index: int, supply: Supply) -> list[int]:
    return [index, *supply.network.neighbours(index)]


def _is_solar(element: Element) -> bool:
    return says(element, SOLAR) or says_text(element.system_name, SOLAR)


def _is_untempered(fixture: WaterFixture, index: int, supply: Supply) -> bool:
    for tap in fixture.fed:
        path = supply.distribution.path(tap.connection.up)
        if tap.service != HOT or index not in path:
            continue
        behind = path[path.index(index) + 1 :]
        valves = [i for i in behind if supply.elements[i].kind == "mixing"]
        valves = [i for i in valves if i not in supply.own_mixers]
        if all(is_for_one_point(supply.elements[i]) for i in valves):
            return True
    return False
