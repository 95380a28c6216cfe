"""Rules about backflow: the device that each hazard asks for, and where its own water goes."""

from ifclint.checks import PASS, Fact, missing, not_known, violation
from ifclint.codes.tables import Row
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import SPREAD, WATER_SUPPLY, Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing.words import says
from ifclint.rules.protection.cross_connections import LINKS, UNKNOWN
from ifclint.rules.protection.devices import Device, device_of, serves
from ifclint.rules.protection.hazard_names import HUMIDIFIER, OPEN_BASIN, system_hazard
from ifclint.rules.protection.hazards import IRRIGATION, Hazard, way_round
from ifclint.rules.protection.hoses import BASINS, HOSE_ENDS, MAY_TAKE_HOSE
from ifclint.rules.protection.parts import PRIMED, part_of

AT_HOSES = (*HOSE_ENDS, "serrated*", "hose barb", "aspirator", "fume hood", "cup sink")
DRY = ("dry pipe", "dry system", "dry sprinkler*", "preaction", "pre action", "deluge")
IN_DWELLINGS = "Show the device, or that the sprinklers are part of the domestic piping."
WORDS = {
    "irrigation": "the irrigation system", "boiler-make-up": "a heating or cooling system",
    "fire-sprinklers": "a fire sprinkler system", "carbonated-beverages": "a carbonator",
    "still-beverages": "a coffee machine or dispenser of beverages that are not carbonated",
    "commercial-dishwasher": "a commercial dishwasher",
    "laboratory": "a laboratory outlet", "medical": "medical equipment",
    "non-potable": "non-potable water", "drainage": "the drainage",
    "irrigation-chemicals": "irrigation with chemicals", "chemicals": "a chemical dispenser",
    "cooling-tower": "a cooling tower", "swimming-pool": "a swimming pool",
    "boiler-make-up-chemicals": "a heating or cooling system with chemicals",
    "fire-sprinklers-chemicals": "a fire sprinkler system with antifreeze or chemicals",
    "car-wash": "a car wash", "film-processor": "a film processor",
    "dental-vacuum": "a dental vacuum pump", "vacuum-pump": "a vacuum pump",
    "water-powered-pump": "a pump that water drives",
    "ornamental-pool": "an ornamental pool or fountain",
    "kitchen-equipment": "kitchen equipment", "hand-spray": "a spray that can hang in its basin",
    "another-supply": "a second water supply",
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


@rule(
    title="Hazards kept from the potable water by the device they ask for",
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
    device, whether or not devices are drawn elsewhere, as is irrigation in whose line valves are
    drawn. By the IPC sprinklers of a dry pipe, preaction or deluge system are no hazard.
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
    is_dry = hazard.kind == "fire-sprinklers" and any(says(e, DRY) for e in (hazard.element, *path))
    if is_dry and not context.code.limit("dry_sprinklers_isolated").value:
        return PASS
    told = [serves(device, allowed) for _, device in found]
    if True in told:
        return _bypassed(hazard, number, found[told.index(True)][0], allowed, row, context)
    wanted = " or ".join(words for device, words in DEVICE_WORDS.items() if device.value in allowed)
    what, elements = WORDS[hazard.kind], (*(e.guid for e, _ in found), hazard.element.guid)
    at = path[-1] if path and hazard.kind in IRRIGATION else hazard.element  # one for all its heads
    at = found[0][0] if found else at
    remedy = Change("part", (at.guid,), "backflow preventer", f"Put in {wanted}.")
    if None in told:
        named = found[told.index(None)][0], wanted, what, hazard
        return not_known(IS_WANTED, *named, elements=elements, clause=row.clause)
    if found:
        return violation(
            message=f"{found[0][0].label} stands before {what} ({hazard.label}), which asks for "
            f"{wanted}.",
            remedy=remedy,
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
    if hazard.kind in ("drainage", "another-supply"):
        of = "of the drainage" if hazard.kind == "drainage" else "of another water supply"
        return violation(
            message=f"The water supply is joined to {hazard.label} {of}.",
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
    is_joined = hazard.kind == "non-potable" and _is_drawn_joined(hazard, context)
    has_valves = hazard.kind in IRRIGATION and any(e.role is Role.VALVE for e in path)
    if is_joined or has_valves:
        return violation(message=message, remedy=remedy, elements=elements, clause=row.clause)
    return missing(
        part_of(hazard), message=message, remedy=remedy, elements=elements, clause=row.clause
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
