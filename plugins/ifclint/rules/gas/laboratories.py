"""The rule about the one valve that shuts off the gas of a laboratory."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import dist

from ifclint.checks import PASS, Fact, missing, not_known
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.findings import Answer, Change, PartKind
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance, GasPiping
from ifclint.plumbing.facts import fact
from ifclint.plumbing.gas.gas_piping import LABORATORY, SHUTOFFS, middle_of
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.piping import members

SEVERAL = 2  # outlets, from which on a laboratory has a shutoff of its own (IFGC 409.6)
AT_DOOR_M = 9.0  # a valve farther from every outlet stands at another door. Ours, no source

VALVES = PartKind(
    "gas shutoff valves",
    drawn=lambda context: any(e.kind in SHUTOFFS for e in members(context)),
    remedy="Model the shutoff of each laboratory (IfcValve, GASCOCK or ISOLATING).",
)
ROOMS = Fact(
    "which laboratory {} and {} more gas outlets are in is not known, nor what shuts them off.",
    "Add the rooms (IfcSpace), named, or review together with the file that has them.",
)
SHUTS_OFF = Fact('whether {} shuts off the gas of "{}"', fact("valve_kind").remedy)
AT_DOOR = Fact(
    'whether {}, which shuts off the gas of "{}" from outside it, stands at its door',
    "Set it inside, or show on the drawing that it is beside the door by which one leaves.",
)


def _outlets(piping: GasPiping) -> list[GasAppliance]:
    return [a for a in piping.appliances if a.kind in LABORATORY and a.length_m is not None]


@gas_rule(
    title="One shutoff for the gas of a laboratory",
    clauses={"upc": "1210.11", "ipc": "IFGC 409.6"},
    applies=lambda piping: len(_outlets(piping)) >= SEVERAL,
)
def gas_laboratory_shutoff(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """Where a class or a bench burns, one hand must shut off every outlet of the room.

    Each room with two gas outlets of a laboratory or more (turrets, burners, by their names): a
    shutoff in the room, through which all of them are fed and nothing else. The UPC, as NFPA 54,
    lets it stand outside at the door, which is asked. How near the valve inside is to the door, and
    its sign, are for the site. The section of the UPC is from memory.
    """
    rooms: dict[str, list[GasAppliance]] = defaultdict(list)
    for outlet in _outlets(piping):
        rooms[outlet.element.space].append(outlet)
    for room, outlets in rooms.items():
        if len(outlets) < SEVERAL:
            continue
        if room:
            yield _shut_off(room, outlets, piping, context)
        else:
            others = str(len(outlets) - 1)
            yield not_known(ROOMS, outlets[0], others, elements=_ids(outlets), about="rooms")


def _shut_off(
    room: str, outlets: list[GasAppliance], piping: GasPiping, context: Context
) -> Answer:
    """Whether a valve in a room shuts off all its outlets, and these alone."""
    valves = _valves_of(outlets, piping, context)
    inside = [v for v in valves if v.space == room]
    if any(v.kind in SHUTOFFS for v in inside):
        return PASS
    if inside:
        return not_known(SHUTS_OFF, inside[-1], room, elements=_ids(outlets, inside), about=room)
    beside = [v for v in valves if v.kind in SHUTOFFS and _is_near(v, outlets)]
    if beside and context.code.family == "upc":
        return not_known(AT_DOOR, beside[-1], room, elements=_ids(outlets, beside), about=room)
    outside = f"; {beside[-1].label} stands outside it" if beside else ""
    text = f'Set one shutoff in "{room}", beside its door and marked, that feeds its outlets alone.'
    return missing(
        VALVES,
        message=f'The {len(outlets)} gas outlets in "{room}" have no single shutoff in the room'
        f"{outside}.",
        remedy=Change("part", _ids(outlets), "gas shutoff valve", text),
        elements=_ids(outlets, beside),
        about=room,
    )


def _ids(outlets: list[GasAppliance], valves: Sequence[Element] = ()) -> tuple[str, ...]:
    """What to click: the last of some valves, then the outlets."""
    return (*(v.guid for v in valves[-1:]), *(a.element.guid for a in outlets))


def _valves_of(outlets: list[GasAppliance], piping: GasPiping, context: Context) -> list[Element]:
    """The valves through which all of some outlets are fed, and nothing else; the source first."""
    made, elements = piping.distribution, context.plumbing.network.elements
    at = {c.element: c.up for c in made.connections if c.up != NONE}
    mine = made.how_many(at[a.index] for a in outlets if a.index in at)
    fed = made.how_many(at.values())
    way = made.path(at[outlets[0].index]) if outlets[0].index in at else []
    found = (i for i in way if mine[i] == len(outlets) == fed[i])
    return [elements[i] for i in found if elements[i].role is Role.VALVE]


def _is_near(valve: Element, outlets: list[GasAppliance]) -> bool:
    """Whether a valve stands near one of some outlets; also where no place tells."""
    place = middle_of(valve)
    places = [p for a in outlets if (p := middle_of(a.element)) is not None]
    if place is None or not places:
        return True
    return at_most(min(dist(place, p) for p in places), AT_DOOR_M, "m")
