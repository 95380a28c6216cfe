"""Rules that the vents of heaters and other appliances that burn fuel reach the open air."""

from ifclint.checks import PASS, Fact, check, known, missing, not_known, violation
from ifclint.engineering.extents import holds
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import feet
from ifclint.engineering.wording import sentence
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import FuelAppliance, FuelVent, Heater, VentConnector
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import CONDENSES, ROOM_SEALED, UNVENTED, denies_text, says, says_text
from ifclint.rules.heaters.parts import CAPS, DRAW_FLUE, FLUES
from ifclint.rules.heaters.venting import Draft, draft, told_of, words_of
from ifclint.rules.heaters.wording import raised

HOT = ("category iii", "cat iii", "category 3", "cat 3")  # hotter than PVC bears
POWERED = ("power vent*",)  # may cool its flue gas with the air of the room, but for a tankless one
LISTED = (*ROOM_SEALED, *CONDENSES, *POWERED)
CELLULAR = ("cellular core", "foam core", "foamcore", "cell core", "f891")
CATEGORY_I = ("category i", "cat i", "category 1")
PLASTICS = frozenset({"pvc", "cpvc", "abs", "polypropylene", "polyethylene"})
VENTING = {"upc": "509.1", "ipc": "IFGC 503.1", "irc": "G2427.1"}
OVER_M, BESIDE_M = 0.9, 0.15  # a flue that begins so near over a heater may be its own. No source
OUTDOORS = Fact(
    "whether {} ends outdoors is not known: the roof and the walls around it do not tell.",
    "Review together with the file that has the roof and the walls.",
)
END = Fact("where {} ends", "Give its terminal a place.")
BY_LEAVE = Fact(
    "whether {}{} by its maker's leave",
    "Tell in the appliance's name how its vent draws (draft hood, condensing, direct vent, "
    "Category IV), or show that its maker lists this plastic; else vent it through Type B.",
)
NOT_CONDENSING = Fact(
    BY_LEAVE.words,
    "Show that its maker lists this plastic; else vent it as it is listed: Type B for Category I, "
    "special gas vent of stainless steel (UL 1738) for Category III.",
)
CORE = Fact(
    "whether the maker of {} allows {}, of cellular core, for its flue gas",
    "Carry the flue in solid pipe that the maker lists; most refuse cellular core (ASTM F891).",
)
OUTDOOR = ("outdoor", "outdoors", "exterior")  # its vent is part of it
NO_VENT_ASKED = ("log lighter*", "gas light*", "gas lamp*", "gas lantern*")  # IFGC 501.8, memory
BY_LISTING = (*UNVENTED, "infrared*", "radiant heater")  # some of them have no vent
ROOM_HEATERS = frozenset({"unit-heater", "fireplace"})
NO_VENT = Fact("No vent is drawn from {}.", DRAW_FLUE)
BEGINS_OVER = Fact(
    "{} begins over {} and is not joined to it: whether it vents it is not known.",
    "Join the vent to the heater's vent outlet or draft hood.",
)
NO_CAP = Fact("No cap is drawn on the vent of {}.", CAPS.remedy)


@rule(
    title="Heater that burns fuel vented to outdoors",
    clauses=VENTING,
    severity=Severity.HIGH,
    needs=("burns_fuel",),
    applies=lambda heater: heater.burns_fuel is not False,
    follows=(System.FLUE,),
)
def heater_vented(heater: Heater, context: Context) -> Answer:
    """Carbon monoxide from an open flue kills the household in its sleep.

    A vent followed from the heater to a terminal: one that reaches none, or ends under the roof, is
    wrong; one that begins over the heater, unjoined, is a question. One called an outdoor heater
    that stands outdoors has its vent built in; any other there is asked about. Direct-vent and
    power-vented heaters follow their makers' instructions, which nothing here knows: where none is
    drawn from such a heater, that is wrong where its vent outlet is drawn, open, and others have
    their vents, and else unverified. Where the model draws no flue at all, another trade may: that
    is asked.
    """
    return _vented(heater, context)


@rule(
    title="Furnace, boiler, room heater or fireplace that burns fuel vented to outdoors",
    clauses=VENTING,
    severity=Severity.HIGH,
    needs=("burns_fuel",),
    applies=lambda appliance: (
        appliance.burns_fuel is not False
        and not says(appliance.element, NO_VENT_ASKED)
        and not _is_unvented_room_heater(appliance.element)
    ),
    follows=(System.FLUE,),
)
def appliance_vented(appliance: FuelAppliance, context: Context) -> Answer:
    """A furnace that breathes into the house fills it with carbon monoxide.

    As of a heater, a boiler that heats rooms among them: a vent followed to a terminal outdoors.
    One that reaches no terminal, or ends under the roof, is wrong; none drawn from a direct-vent or
    power-vented one whose outlet is not drawn, or one called infrared, is unverified. What stands
    outdoors is excused, and so are room heaters called unvented: where those may stand is another
    rule's.
    """
    return _vented(appliance, context)


def _is_unvented_room_heater(element: Element) -> bool:
    return element.kind in ROOM_HEATERS and says(element, UNVENTED)


def _vented(appliance: Heater | FuelAppliance, context: Context) -> Answer:
    """Whether the vent of what burns fuel reaches the open air."""
    if appliance.connector is not None and appliance.connector.vent is not None:
        vent = appliance.connector.vent
        if vent.is_capped:
            return ends_outdoors(vent, context)
        return _without_terminal(appliance, vent, appliance.connector, context)
    if _stands_outdoors(appliance, context):
        is_made_for_it = isinstance(appliance, FuelAppliance) or says(appliance.element, OUTDOOR)
        return PASS if is_made_for_it else not_known(NO_VENT, appliance)
    if says(appliance.element, BY_LISTING):
        return not_known(NO_VENT, appliance)
    over = _flue_over(appliance, context)
    if over is not None:
        return not_known(BEGINS_OVER, over, appliance, elements=(*appliance.element_ids, over.guid))
    if draft(appliance.element) is Draft.OTHER:
        if not _has_open_outlet(appliance, context):
            return not_known(NO_VENT, appliance)
        message = f"No vent is drawn from {appliance.label}: its vent outlet is open."
    else:
        message = f"No vent is drawn from {appliance.label}."
    return missing(FLUES, message=message, remedy=DRAW_FLUE)


def _has_open_outlet(appliance: Heater | FuelAppliance, context: Context) -> bool:
    """Whether it shows an outlet for a vent that nothing is joined to."""
    taken, ends = context.plumbing.network.taken_ends, enumerate(appliance.element.ends)
    return any(e.system is System.FLUE and (appliance.index, n) not in taken for n, e in ends)


def _stands_outdoors(appliance: Heater | FuelAppliance, context: Context) -> bool:
    """Whether it stands beside the building or above its roof, and the model names no room."""
    place = middle_of(appliance.element)
    is_outdoors = place is not None and context.plumbing.surroundings.is_outdoors(place) is True
    return is_outdoors and not appliance.element.space


def _flue_over(appliance: Heater | FuelAppliance, context: Context) -> Element | None:
    """A flue that begins in the open over an appliance."""
    box = appliance.element.box
    outlets = [e.position for e in appliance.element.ends if e.system is System.FLUE and e.position]
    over = [(box[0], (*box[1][:2], box[1][2] + OVER_M))] if box is not None else []
    over += [(p, (p[0], p[1], p[2] + OVER_M)) for p in outlets]
    for flue, p in _open_flues(context):
        if any(holds(low, high, p, BESIDE_M) for low, high in over):
            return flue
    return None


@derived
def _open_flues(context: Context) -> list[tuple[Element, Point]]:
    """The pieces of flues, with each place at which one stands open."""
    network = context.plumbing.network
    return [
        (flue, end.position)
        for i, flue in enumerate(network.elements)
        if flue.system is System.FLUE and flue.role in (Role.PIPE, Role.FITTING)
        for end in network.open_ends(i)
        if end.position is not None
    ]


def _without_terminal(
    appliance: Heater | FuelAppliance, vent: FuelVent, connector: VentConnector, context: Context
) -> Answer:
    """A vent that no terminal ends: wrong where it ends under the roof, a question where it ends in
    the open, and where no roof tells, by the policy of absence."""
    ids = (*connector.element_ids[:1], *appliance.element_ids)
    outdoors = context.plumbing.surroundings.is_outdoors(vent.top) if vent.top is not None else None
    if outdoors:
        return not_known(NO_CAP, appliance, elements=ids)
    message = f"The vent of {appliance.label} reaches no terminal."
    text, end = f"{_carried(vent)}, joined all the way.", vent.top
    roof = context.plumbing.surroundings.roof_over(end) if end is not None else None
    if outdoors is None or end is None or roof is None:
        return missing(CAPS, message=message, remedy=text, elements=ids)
    remedy = raised(vent, roof.top_m - end[2], text)
    return violation(message=message, remedy=remedy, elements=ids)


def _carried(vent: FuelVent) -> str:
    """Where a vent is to go: that of a direct-vent appliance may leave by a wall."""
    appliances = [c.appliance for c in vent.connectors]
    if appliances and all(says(a, (*ROOM_SEALED, *CONDENSES)) for a in appliances):
        return "Carry the vent outdoors, through wall or roof, to the terminal of its listing"
    return "Carry the vent through the roof to a listed cap"


def ends_outdoors(vent: FuelVent, context: Context) -> Answer:
    """Whether a fuel vent ends beside the building or above its roof."""
    around, end = context.plumbing.surroundings, known(vent.leaves_at, END, vent)
    if around.footprint is not None and not around.footprint.holds(end):
        return PASS
    roof = around.roof_over(end)
    if roof is not None:
        above_roof = check(
            feet(end[2] - roof.top_m),
            at_least=0.0,
            unit="ft",
            message=f"{sentence(vent.label)} ends inside the building, under "
            f"{roof.name or 'the roof'}.",
            remedy=raised(vent, roof.top_m - end[2], f"{_carried(vent)}."),
            elements=(vent.terminal.guid, *vent.element_ids),
        )
        above_m = end[2] - roof.underside_m
        is_under = around.footprint is not None and not at_least(above_m, 0.0, "m")
        if above_roof is PASS or is_under:
            return above_roof
    return not_known(OUTDOORS, vent, elements=(vent.terminal.guid,))


@rule(
    title="Plastic flue only on an appliance made for it",
    clauses={"upc": "509.4", "ipc": "IFGC 503.4.1", "irc": "G2427.4.1"},
    severity=Severity.HIGH,
    applies=lambda connector: bool(_plastic(connector)),
)
def flue_plastic(connector: VentConnector, context: Context) -> Answer:
    """The flue gas of a draft hood is hotter than plastic bears, and a flue that sags leaks.

    Vents of which a pipe or fitting is told to be of plastic, from the appliance to the terminal.
    An appliance told as condensing, direct vent, power vent or of Category II or IV is taken to be
    listed for it; that its maker allows pipe of cellular core is asked. One told as of Category I,
    fan-assisted or with a draft hood is not listed for plastic, nor is one of Category III but for
    polypropylene or where it is power vented, which is a question, as it is of any other and of one
    told as not condensing. A tankless heater mixes no air of the room into its flue gas, power
    vented or not.
    """
    plastic = _plastic(connector)
    told, kind = told_of(connector.appliance), draft(connector.appliance)
    ids = (*(e.guid for e in plastic), connector.appliance.guid)
    what = f"{plastic[0].label} ({plastic[0].material.upper()}) carries the flue gas of "
    if _is_listed(told, connector.appliance):
        core = next((e for e in plastic if says_text(words_of(e), CELLULAR)), None)
        return PASS if core is None else not_known(CORE, connector.appliance, core, elements=ids)
    if _is_hot(told, connector.appliance, plastic):
        return violation(
            message=f"{what}{connector.appliance.label}, which is of Category III.",
            remedy="Vent the appliance through special gas vent of stainless steel (UL 1738) that "
            "its maker lists.",
            elements=ids,
        )
    if kind in (Draft.NATURAL, Draft.FAN) or says_text(told, CATEGORY_I):
        return violation(
            message=f"{what}{connector.appliance.label}, which is of Category I.",
            remedy="Vent the appliance through a listed gas vent (Type B) or a chimney.",
            elements=ids,
        )
    fact = NOT_CONDENSING if denies_text(told, CONDENSES) else BY_LEAVE
    return not_known(fact, what, connector.appliance.label, elements=ids)


def _is_listed(told: str, appliance: Element) -> bool:
    """Whether what is told of an appliance makes it one that is listed for plastic."""
    if says_text(told, CONDENSES):
        return True
    is_hot = says_text(told, HOT) or (
        denies_text(told, CONDENSES) and not _is_cooled(told, appliance)
    )
    return says_text(told, LISTED) and not is_hot


def _is_hot(told: str, appliance: Element, plastic: list[Element]) -> bool:
    """Whether an appliance told so melts the plastic of its vent."""
    bears = all(e.material == "polypropylene" for e in plastic)
    return says_text(told, HOT) and not _is_cooled(told, appliance) and not bears


def _is_cooled(told: str, appliance: Element) -> bool:
    """Whether the air of the room may cool its flue gas."""
    return says_text(told, POWERED) and appliance.kind != "tankless"


def _plastic(connector: VentConnector) -> list[Element]:
    """The parts of its way to the terminal that are told to be of plastic."""
    common = connector.vent.common if connector.vent is not None else ()
    way = {e.guid: e for e in (*connector.elements, *common)}
    return [e for e in way.values() if e.material in PLASTICS]
