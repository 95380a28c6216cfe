"""What burns fuel in a building, how it gets its air, and the rooms it stands in."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace

from ifclint.engineering.arithmetic import Step
from ifclint.engineering.units import W_PER_BTU_PER_H
from ifclint.ifc.elements import Element, Role, Space, System
from ifclint.packs import Context, derived
from ifclint.plumbing import FuelAppliance, Heater
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.gas.inputs import inputs
from ifclint.plumbing.heaters.fuel_vents import VentConnector
from ifclint.plumbing.surroundings.rooms import REFUSED, use_of
from ifclint.plumbing.words import ROOM_SEALED, UNVENTED, says, says_text, stands_outdoors
from ifclint.rules.combustion.room_uses import space_of

FAN = ("fan assisted", "induced draft")
OPEN = ("draft hood", "draught hood", "natural draft", "natural draught", "atmospheric",
    "open flue*", "power vent*")  # fmt: skip
CATEGORY_I = ("type b", "b vent", "double wall", "single wall", "draft hood")  # vents of such
MAKER_SAYS = ("power vent*", "condensing", "outdoor", "category iii", "category iv")
ROOM_HEATERS = frozenset({"room-heater", "unvented-heater"})
COUNTED = ROOM_HEATERS | {"furnace", "range"}  # dryers and fireplaces get their air otherwise
HEATS_NO_ROOM = ("patio*", "terrace*", "terrassen*", "outdoor*", "unit heater*", "infrared*",
    "radiant*")  # fmt: skip


@dataclass(eq=False)
class Burner(OfElement):
    """An appliance that burns fuel, or may. `burns` is None where nothing tells its energy."""

    sized_by = frozenset({System.FLUE})

    service = System.GAS

    element: Element
    burns: bool | None
    connector: VentConnector | None
    input: Step | None  # in Btu/h, and what tells it; None where nothing does
    least: Step | None  # the same, or the least listed where nothing states it

    @property
    def appliance(self) -> str:
        """What tables of rooms call it."""
        if self.element.role is Role.HEATER:
            return "heater"
        kind = self.element.kind
        if kind == "unit-heater" and not says(self.element, HEATS_NO_ROOM):
            return "unvented-heater" if says(self.element, UNVENTED) else "room-heater"
        return "unvented-heater" if kind == "fireplace" and says(self.element, UNVENTED) else kind

    @property
    def takes_room_air(self) -> bool | None:
        """Whether it burns the air of its room; None where neither it nor its vent tells. One that
        stands outdoors by its name is in none."""
        stated = self.element.properties.text("draft")
        if says(self.element, ROOM_SEALED) or says_text(stated, ROOM_SEALED):
            return False
        if stands_outdoors(self.element):
            return False
        if says(self.element, (*OPEN, *FAN, *UNVENTED)) or stated in ("natural", "fan"):
            return True
        return True if says_text(stated, (*OPEN, *FAN)) or self._has_open_vent else None

    @property
    def _has_open_vent(self) -> bool:
        names = list(self.connector.elements) if self.connector is not None else []
        if self.connector is not None and self.connector.vent is not None:
            names.append(self.connector.vent.terminal)
        hood = any(says_text(end.name, ("draft hood",)) for end in self.element.ends)
        return hood or any(says(e, CATEGORY_I) or says_text(e.material, CATEGORY_I) for e in names)

    @property
    def is_fan_assisted(self) -> bool:
        return says(self.element, FAN) or self.element.properties.text("draft") == "fan"

    @property
    def is_by_its_maker(self) -> bool:
        """Whether its maker, and no table of the code, says what air it takes."""
        stated = self.element.properties.text("draft")
        return says(self.element, MAKER_SAYS) or says_text(stated, MAKER_SAYS)


@dataclass(eq=False)
class FiredRoom(OfElement):
    """A room in which fuel is burned with its air; `space` is None where no such room is drawn."""

    sized_by = frozenset({System.FLUE})
    service = System.GAS

    name: str
    space: Space | None
    burners: list[Burner]

    @property
    def element(self) -> Element:
        return self.burners[0].element

    @property
    def label(self) -> str:
        names = " and ".join(b.label for b in self.burners[:3])
        return f'{names} in "{self.name}"' if self.name else names

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(b.element.guid for b in self.burners)

    @property
    def kbtuh(self) -> float | None:
        """Input of all it holds, thousand Btu/h; None where that of one is not known."""
        known = [s.value for s in self.inputs if s.value is not None]
        return None if len(known) < len(self.burners) else sum(known) / 1000

    @property
    def with_least(self) -> FiredRoom:
        """The same room with the least listed of every input that nothing states."""
        burners = [replace(b, input=b.least) for b in self.burners]
        return FiredRoom(self.name, self.space, burners)

    @property
    def is_unvented(self) -> bool:
        """Whether one of them gives its flue gas to the room, so that its volume alone counts."""
        return any(b.appliance == "unvented-heater" for b in self.burners)

    @property
    def doubtful(self) -> bool:
        """Whether one of them may be direct vent."""
        return any(b.takes_room_air is None for b in self.burners)

    @property
    def inputs(self) -> list[Step]:
        return [b.input for b in self.burners if b.input is not None]


@derived
def burners(context: Context) -> list[Burner]:
    """Heaters, furnaces and ranges that burn fuel, or of which nothing tells what they use."""
    known = [(a, taken) for a, taken in inputs(context).items() if taken is not None]
    taken = {a.key: (i.step(a), i.least_step(a)) for a, i in known}
    plumbing, found = context.plumbing, dict[str, Burner]()
    vented: list[Heater | FuelAppliance] = [
        *plumbing.heaters.heaters, *plumbing.heaters.appliances
    ]  # fmt: skip
    for each in vented:
        if each.burns_fuel is not False:
            said = taken.get(each.key) or (_stated(each.element),) * 2
            found[each.key] = Burner(each.element, each.burns_fuel, each.connector, *said)
    for appliance in plumbing.gas.appliances if plumbing.gas else ():
        said, burns = taken.get(appliance.key, (None, None)), appliance.is_stated or None
        found.setdefault(appliance.key, Burner(appliance.element, burns, None, *said))
    return list(found.values())


def _stated(element: Element) -> Step | None:
    """The input of what burns another fuel than gas."""
    watts = element.properties.number("input_rating_w")
    if watts is None:
        return None
    basis = element.basis.get("input_rating_w", "the model")
    return Step(f"{element.label}: {basis}", float(round(watts / W_PER_BTU_PER_H)), "Btu/h")


@derived
def fired_rooms(context: Context) -> list[FiredRoom]:
    """The rooms with a heater or furnace that may burn the room's air, in the model's order; room
    heaters where their room is known."""
    held = defaultdict[tuple[str, str], list[Burner]](list)
    for burner in burners(context):
        is_counted = burner.appliance == "heater" or burner.appliance in COUNTED
        is_its_own = burner.takes_room_air is False or burner.is_by_its_maker
        if burner.burns and is_counted and not is_its_own:
            held[burner.element.storey, burner.element.space].append(burner)
    rooms = []
    for (_, name), inside in held.items():
        alone = [b for b in inside if b.appliance in ("heater", "furnace")]
        if name and (alone or any(map(_heats_it, inside))):
            rooms.append(FiredRoom(name, space_of(inside[0].element, context), inside))
        elif not name:
            rooms += [FiredRoom("", None, [b]) for b in alone]
    return rooms


def _heats_it(burner: Burner) -> bool:
    """Whether it is a room heater in a room that no rule on places asks the volume of."""
    room = burner.element.space
    return burner.appliance in ROOM_HEATERS and bool(room) and use_of(room) not in REFUSED
