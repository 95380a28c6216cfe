"""Rules about backflow: the device that each hazard asks for, and where its own water goes."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, missing, not_known, violation
from ifclint.codes.tables import Row
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import SPREAD, WATER_SUPPLY, Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.supply.primers import is_primer
from ifclint.plumbing.words import says
from ifclint.rules.protection.cross_connections import LINKS, UNKNOWN
from ifclint.rules.protection.devices import Device, device_of, serves
from ifclint.rules.protection.hazard_names import HUMIDIFIER, NON_POTABLE, OPEN_BASIN, system_hazard
from ifclint.rules.protection.hazards import Hazard, hazards, way_round

FOR_PEOPLE = frozenset(
    {
        "lavatory", "kitchen-sink", "bar-sink", "sink", "bathtub", "shower", "bidet",
        "drinking-fountain", "ice-maker", "dishwasher", "wash-fountain", "dental-unit",
        "emergency-fixture",
    }
)  # fmt: skip
HOSE_ENDS = ("hose end", "hose thread*", "threaded hose", "hose outlet", "hose connection")
AT_HOSES = (*HOSE_ENDS, "serrated*", "hose barb", "aspirator", "fume hood", "cup sink")
BASINS = frozenset({"mop-sink", "laundry-sink", "sink"})  # whose faucet may take a hose
MAY_TAKE_HOSE = Fact(
    "whether the faucet of {} takes a hose, and has its vacuum breaker, is not known.",
    "Name the faucet of mop and laboratory sinks, or its type, as a plain spout or with its vacuum "
    "breaker (ASSE 1001 or 1011).",
)
IN_DWELLINGS = "Show the device, or that the sprinklers are part of the domestic piping."
WORDS = {
    "irrigation": "the irrigation system", "boiler-make-up": "a heating or cooling system",
    "fire-sprinklers": "a fire sprinkler system", "carbonated-beverages": "a carbonator",
    "coffee-machine": "a coffee machine", "commercial-dishwasher": "a commercial dishwasher",
    "laboratory": "a laboratory outlet", "medical": "medical equipment",
    "non-potable": "non-potable water", "drainage": "the drainage",
    "irrigation-chemicals": "irrigation with chemicals", "chemicals": "a chemical dispenser",
    "cooling-tower": "a cooling tower", "swimming-pool": "a swimming pool",
    "boiler-make-up-chemicals": "a heating or cooling system with chemicals",
    "fire-sprinklers-chemicals": "a fire sprinkler system with antifreeze or chemicals",
    "car-wash": "a car wash", "film-processor": "a film processor",
    "dental-vacuum": "a dental vacuum pump", "vacuum-pump": "a vacuum pump",
    "ornamental-pool": "an ornamental pool or fountain",
    "kitchen-equipment": "kitchen equipment", "hand-spray": "a spray that can hang in its basin",
    "other-service": "piping that holds no drinking water",
}  # fmt: skip
DEVICE_WORDS = {
    Device.AIR_GAP: "an air gap",
    Device.REDUCED_PRESSURE: "a reduced-pressure backflow preventer",
    Device.PRESSURE_VACUUM_BREAKER: "a pressure vacuum breaker",
    Device.ATMOSPHERIC_VACUUM_BREAKER: "an atmospheric vacuum breaker",
    Device.HOSE_VACUUM_BREAKER: "a hose connection vacuum breaker",
    Device.VENTED: "a dual check with atmospheric vent",
    Device.DUAL_CHECK: "a dual check",
    Device.DOUBLE_CHECK: "a double check assembly",
}
IS_WANTED = Fact(
    "whether {} is {}, as {} ({}) asks for, is not known.",
    "Name the type of backflow preventers (reduced pressure, double check …).",
)
OWN_GAP = Fact(
    "whether {} keeps its own water back (ASSE 1004)",
    "Name the type of commercial dishwashers with their standard, or show the device.",
)
KEEPS_OWN = Fact(
    "whether {} keeps its own water back",
    "Name it with the air gap or the device within, or show the device before it.",
)
JOINED = Fact(
    "{} meets the water supply; whether they are joined is not stated.",
    "Join what is joined by ports, and keep the ends of other services apart.",
)
UNREAD = Fact(
    'whether {} of "{}", which the water supply is joined to, holds drinking water is not known.',
    "Give the system a PredefinedType, or name it in trade words.",
)
SPRINKLERS = Fact("Nothing protects the potable water from {} ({}).", IN_DWELLINGS)


def _takes_hose(fixture: WaterFixture) -> bool:
    is_basin = fixture.kind in BASINS and says(fixture.element, HOSE_ENDS)
    return fixture.kind == "hose-bibb" or is_basin


def _hoses_told(context: Context) -> bool:
    return any(_takes_hose(f) and _is_told(f, context) for f in context.plumbing.supply.fixtures)


def _is_told(fixture: WaterFixture, context: Context) -> bool:
    """Whether a device is told in its branch, by its name, or on its outlet."""
    branches, network = fixture.branches, context.plumbing.network
    in_branch = branches and all(any(map(device_of, b.elements)) for b in branches)
    joined = (network.elements[i] for i in network.neighbours(fixture.index))
    return bool(device_of(fixture.element) or in_branch) or any(map(device_of, joined))


HOSES = PartKind(
    "vacuum breakers at hose connections",
    drawn=_hoses_told,
    remedy="Use a hose bibb with a vacuum breaker built in (name its type so), or model the "
    "vacuum breaker.",
)


@rule(
    title="Hose connections protected against backflow",
    subject=WaterFixture,
    clauses={"upc": "603.5.7", "ipc": "608.16.4.2", "irc": "P2902.4.3"},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.joined and (_takes_hose(fixture) or fixture.kind == "mop-sink"),
)
def hose_protected(fixture: WaterFixture, context: Context) -> Answer:
    """A hose left in a bucket of weed killer siphons it back into the kitchen.

    A vacuum breaker or backflow preventer in the branch, on the outlet, or stated by the name of
    the fixture or of its type: a hose bibb may have one built in. A device at the meter protects
    the street, and not the kitchen. So it is with a sink whose faucet is said to have a hose end;
    of a mop sink it is asked.
    """
    if _is_told(fixture, context):
        return PASS
    if not _takes_hose(fixture):
        return not_known(MAY_TAKE_HOSE, fixture, elements=fixture.element_ids)
    change = Change("part", fixture.element_ids, "vacuum breaker", HOSES.remedy)
    return missing(
        HOSES,
        message=f"The model tells of no backflow protection at {fixture.label}.",
        remedy=change,
        elements=fixture.element_ids,
    )


def _part(name: str, kinds: tuple[str, ...], is_piped: bool) -> PartKind:
    """The devices before hazards. Of those on a branch of their own that `is_piped`, who draws an
    assembly, or a hose connection with its vacuum breaker, anywhere draws one there."""

    def drawn(context: Context) -> bool:
        mine = [h for h in hazards(context) if h.kind in kinds]
        told = any(any(found) for h in mine for found in h.devices)
        return told or (is_piped and (_assembly_told(context) or _hoses_told(context)))

    remedy = "Model the device in the branch, its type named (reduced pressure, double check …)."
    return PartKind(name, drawn, remedy)


def _assembly_told(context: Context) -> bool:
    """Whether a backflow preventer stands anywhere in the supply, as at its entry."""
    supply = context.plumbing.supply
    piping = (supply.elements[i] for i in supply.distribution.members)
    return any(e.kind == "backflow-preventer" for e in piping)


IRRIGATION = _part(
    "backflow preventers of irrigation", ("irrigation", "irrigation-chemicals"), is_piped=True
)
TO_SYSTEMS = _part(
    "backflow preventers between systems",
    (
        "boiler-make-up", "boiler-make-up-chemicals", "fire-sprinklers",
        "fire-sprinklers-chemicals", "non-potable", "other-service",
    ),
    is_piped=True,
)  # fmt: skip
PLANT = (
    "chemicals", "cooling-tower", "swimming-pool", "car-wash", "film-processor", "ornamental-pool",
    "dental-vacuum", "vacuum-pump",
)  # fmt: skip
EQUIPMENT = (
    "carbonated-beverages", "coffee-machine", "kitchen-equipment", "hand-spray",
)  # fmt: skip
AT_PLANT = _part("backflow preventers at plant", PLANT, is_piped=True)
AT_EQUIPMENT = _part("backflow preventers at equipment", (*PLANT, *EQUIPMENT), is_piped=False)
OUTLETS = ("laboratory", "medical")
AT_OUTLETS = _part("vacuum breakers of laboratory and medical outlets", OUTLETS, is_piped=False)
AT_STERILIZERS = _part("backflow preventers at sterilizers", ("medical",), is_piped=True)
PRIMED = PartKind(
    "trap primers",
    drawn=lambda context: any(map(is_primer, context.plumbing.network.elements)),
    remedy="Model the trap primer (IfcValve, named so) in the line to the floor drain.",
)
PART_OF = {
    "irrigation": IRRIGATION, "irrigation-chemicals": IRRIGATION,
    **dict.fromkeys(PLANT, AT_PLANT), **dict.fromkeys(EQUIPMENT, AT_EQUIPMENT),
    "laboratory": AT_OUTLETS, "medical": AT_OUTLETS,
}  # fmt: skip


@rule(
    title="Hazards kept from the potable water by the device they ask for",
    subject=Hazard,
    clauses={"upc": "603.5", "ipc": "608.17", "irc": "P2902.5"},
    severity=Severity.HIGH,
)
def hazard_isolated(hazard: Hazard, context: Context) -> Answer:
    """What a boiler, a sprinkler or a soda machine holds must never come back to a tap.

    Irrigation, the make-up of boilers and fire sprinklers, with chemicals or antifreeze or without,
    cooling towers, pools and fountains, chemical dispensers, car washes, film processors, beverage
    and coffee machines, commercial dishwashers, peelers and can washers, shampoo bowls, dental
    units and vacuum pumps, outlets of laboratories and medicine, by whatever class or name alone,
    and piping of other services joined to the supply: whether a device that the code accepts for it
    stands where the water serves nothing else, and none of its water leads round it without one as
    good. A device whose kind is not stated is asked for; a check valve is no device. Drains joined
    to the supply are wrong with whatever device, trap primers excused: water led into a floor drain
    or its trap passes one on its path. Sprinklers of a dwelling may be of the domestic piping
    (where all piping to them is said to be in a system of the supply, they are), a commercial
    dishwasher may have its air gap within, and a sink of a laboratory a plain spout (one called so
    is no hazard): these are asked about, and so is piping of another service that is drawn to meet
    the supply, end to end or on its side, and is not said to be joined. What it is joined to
    without a device, in a system whose name tells no service, is asked about too, and so are what
    no code lists: humidifiers, troughs, waterers and tanks that goods are dipped in, unless an air
    gap or device is named. Non-potable water that the model joins to the supply is wrong without a
    device, whether or not devices are drawn elsewhere.
    """
    if hazard.kind == UNKNOWN:
        of = hazard.element.system_name
        return PASS if all(hazard.devices) else not_known(UNREAD, hazard, of)
    if hazard.kind in (HUMIDIFIER, OPEN_BASIN):
        return PASS if all(hazard.devices) else not_known(KEEPS_OWN, hazard)
    row = context.code.table("backflow_devices").one(hazard=hazard.kind)
    if row is None:  # the code asks for no device
        return PASS
    allowed = frozenset(row.text("devices").split())
    answers = [
        _judged(hazard, number, found, allowed, row, context)
        for number, found in enumerate(hazard.devices)
    ]
    wrong = [answer for answer in answers if answer is not PASS]
    return wrong[0] if wrong else PASS


def _judged(
    hazard: Hazard,
    number: int,
    found: list[tuple[Element, Device]],
    allowed: frozenset[str],
    row: Row,
    context: Context,
) -> Answer:
    """One connection of a hazard, by the devices found before it or past it."""
    path = hazard.paths[number]
    told = [serves(device, allowed) for _, device in found]
    if True in told:
        return _bypassed(hazard, number, found[told.index(True)][0], allowed, row, context)
    wanted = " or ".join(words for device, words in DEVICE_WORDS.items() if device.value in allowed)
    what, elements = WORDS[hazard.kind], (*(e.guid for e, _ in found), hazard.element.guid)
    remedy = Change("part", hazard.element_ids, "backflow preventer", f"Put in {wanted}.")
    if None in told:
        named = found[told.index(None)][0], wanted, what, hazard
        return not_known(IS_WANTED, *named, elements=elements, clause=row.clause)
    if found:
        text = f"Put in {wanted}."
        return violation(
            message=f"{found[0][0].label} stands before {what} ({hazard.label}), which asks for "
            f"{wanted}.",
            remedy=Change("part", (found[0][0].guid,), "backflow preventer", text),
            elements=elements,
            clause=row.clause,
        )
    message = f"Nothing protects the potable water from {what} ({hazard.label})."
    domestic = context.job.building.use == "private" and not says(hazard.element, ("standpipe",))
    if hazard.kind == "fire-sprinklers" and domestic:
        if _is_domestic_piping(path, hazard):
            return PASS
        return not_known(SPRINKLERS, what, hazard, elements=elements, clause=row.clause)
    if hazard.kind == "commercial-dishwasher":
        return not_known(OWN_GAP, hazard, elements=elements, clause=row.clause)
    if _may_be_plain(hazard):
        return not_known(MAY_TAKE_HOSE, hazard, elements=elements, clause=row.clause)
    if not hazard.stated:
        return not_known(JOINED, hazard, elements=elements, clause=row.clause)
    if hazard.kind == "drainage" and hazard.element.role not in LINKS:
        return _bare(hazard, row)
    if hazard.kind == "drainage":
        return violation(
            message=f"The water supply is joined to {hazard.label} of the drainage.",
            remedy="Part the two waters by an air gap.",
            elements=elements,
            clause=row.clause,
        )
    if checks := [e.guid for e in path if e.kind == "check"]:
        return violation(
            message=f"A check valve alone stands before {what} ({hazard.label}); {wanted} is asked "
            "for.",
            remedy=remedy,
            elements=(*checks, hazard.element.guid),
            clause=row.clause,
        )
    if hazard.kind == "non-potable" and _is_drawn_joined(hazard, context):
        return violation(message=message, remedy=remedy, elements=elements, clause=row.clause)
    return missing(
        _part_of(hazard), message=message, remedy=remedy, elements=elements, clause=row.clause
    )


def _bypassed(
    hazard: Hazard,
    number: int,
    device: Element,
    allowed: frozenset[str],
    row: Row,
    context: Context,
) -> Answer:
    """Whether water passes a device by piping that leads round it without one as good."""

    def keeps(element: Element) -> bool:
        kind = device_of(element)
        return kind is not None and serves(kind, allowed) is not False

    around = way_round(hazard, number, keeps, context)
    if not around:
        return PASS
    ids = tuple(dict.fromkeys(e.guid for e in around))
    shown = next((e for e in around if e.role is Role.VALVE), around[0])
    return violation(
        message=f"{shown.label} leads round {device.label}, which keeps the water of "
        f"{WORDS[hazard.kind]} ({hazard.label}) back: no device does there.",
        remedy=Change(
            "part", (shown.guid,), "backflow preventer",
            "Take the bypass out, or give it a device as good.",
        ),
        elements=(shown.guid, *ids, device.guid),
        clause=row.clause,
    )  # fmt: skip


def _is_domestic_piping(path: list[Element], hazard: Hazard) -> bool:
    """Whether all piping to sprinklers is stated to be of the water supply, and of no system that
    is called theirs."""
    piping = [e for e in path if e.role in LINKS and e is not hazard.element]
    piping += [hazard.element] if hazard.element.role in LINKS else []
    return bool(piping) and all(
        e.system in WATER_SUPPLY
        and bool(e.system_name)
        and e.basis.get("system") is not SPREAD
        and not system_hazard(e)
        for e in piping
    )


def _is_drawn_joined(hazard: Hazard, context: Context) -> bool:
    """Whether the model says of a tank or of other piping that the water supply is joined to it."""
    network, element = context.plumbing.network, hazard.element
    if element.role in LINKS and element.system in WATER_SUPPLY:
        return False  # the end of a supply line that its name alone tells of
    at = next(i for i, each in enumerate(network.elements) if each is element)
    stated = (n for n, joint in network.joined[at] if not network.joints[joint].inferred)
    return any(network.elements[n].system in WATER_SUPPLY for n in stated)


def _part_of(hazard: Hazard) -> PartKind:
    """The devices that may be missing before a hazard: a dental unit may have its own within."""
    is_medical = hazard.kind == "medical" and hazard.element.kind != "dental-unit"
    return AT_STERILIZERS if is_medical else PART_OF.get(hazard.kind, TO_SYSTEMS)


def _may_be_plain(hazard: Hazard) -> bool:
    """Whether a hazard is a laboratory's sink, whose faucet may have no end that takes a hose."""
    element = hazard.element
    is_sink = hazard.kind == "laboratory" and element.kind in BASINS
    return is_sink and not says(element, AT_HOSES)


def _bare(hazard: Hazard, row: Row) -> Answer:
    """Water led straight into a drain of a floor or its trap."""
    text = "Put in a trap primer with its air gap where water is to keep the trap full, or part it."
    return missing(
        PRIMED,
        message=f"The water supply runs into {hazard.label} without a trap primer or an air gap.",
        remedy=Change("part", hazard.element_ids, "trap primer", text),
        elements=(hazard.element.guid,),
        clause=row.clause,
    )


@rule(
    title="No non-potable water where people drink and wash",
    subject=WaterFixture,
    clauses={"upc": "601.2", "ipc": "602.2", "irc": "P2901.1"},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.kind in FOR_PEOPLE,
)
def potable_fed(fixture: WaterFixture, context: Context) -> Answer:
    """Nobody sees at the tap that its water came from the roof.

    What the piping from the source to a fixture for drinking, washing or food is called, itself or
    its system: reclaimed, rain, grey or other non-potable water may feed closets and irrigation
    alone.
    """
    other = _beside_not_potable(context).get(fixture.element.guid)
    if other is not None:
        return _fed_by(fixture, other)
    if fixture.feed is None:
        return NOT_APPLICABLE
    for branch in fixture.branches:
        element = _not_potable(context)[branch.number]
        if element is not None:
            return _fed_by(fixture, element)
    return PASS


def _fed_by(fixture: WaterFixture, element: Element) -> Answer:
    return violation(
        message=f"{fixture.label} is fed by {element.label}, which is non-potable water.",
        remedy="Feed this from the potable water.",
        elements=(fixture.element.guid, element.guid),
    )


@derived
def _beside_not_potable(context: Context) -> dict[str, Element]:
    """What piping of non-potable water is joined to, with that piping."""
    network = context.plumbing.network
    return {
        network.elements[n].guid: element
        for i, element in enumerate(network.elements)
        if element.system is System.NON_POTABLE and element.role in (Role.PIPE, Role.FITTING)
        for n in network.neighbours(i)
    }


@derived
def _not_potable(context: Context) -> list[Element | None]:
    """Of each line by its number, the last on the path to it that is called non-potable."""
    found: list[Element | None] = []
    for line in context.plumbing.supply.segments:  # each comes after the one that feeds it
        own = (e for e in line.elements if says(e, NON_POTABLE) or says_system(e))
        found.append(next(own, found[line.above.number] if line.above is not None else None))
    return found


def says_system(element: Element) -> bool:
    """Whether the system of an element is named as non-potable."""
    return says(Element(element.guid, name=element.system_name), NON_POTABLE)


RULES = (hose_protected, hazard_isolated, potable_fed)
