"""Rules about where fuel may not be burned: bedrooms, baths, closets, low places."""

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Fact,
    check,
    drawn,
    known,
    not_known,
    require,
    violation,
)
from ifclint.codes import Row
from ifclint.codes.tables import Table
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.wording import number_text
from ifclint.findings import Severity
from ifclint.packs import Context, rule
from ifclint.plumbing.gas.inputs import gas
from ifclint.plumbing.surroundings.rooms import REFUSED, closet_of, is_garage, opens_into, use_of
from ifclint.plumbing.words import says_text
from ifclint.rules.combustion.air import INDOOR, INPUT, ROOMS, VOLUME
from ifclint.rules.combustion.burners import Burner, FiredRoom
from ifclint.rules.combustion.room_uses import space_of, touching
from ifclint.rules.combustion.section import CombustionSection
from ifclint.rules.combustion.volumes import needed_ft3, volume_with_shared_ft3

CELLARS = (
    "basement", "cellar", "crawl space", "crawlspace", "keller", "sous sol", "sotano", "sótano",
    "kelder", "подвал*",
)  # fmt: skip
LOW = (*CELLARS, "under floor", "underfloor", "pit")
BATHS = frozenset({"bathtub", "shower"})
TELL_AIR = (
    "Say whether the appliance is direct vent (its name or type, or the property Draft), so that "
    "it takes no air from the room."
)
TELL_DOOR = (
    "State in the job file (combustion.rooms.sealed_door and openings) whether the closet has a "
    "solid, gasketed, self-closing door, no other use, and its air from outdoors."
)
TELL_DOORS = "Draw the doors of the room (IfcDoor), so that it is known what it opens into."
MOVE = "Set the appliance in another room, or take a direct-vent appliance."
CLOSET = Fact("{}; its door and its air are not known.", TELL_DOOR)
BATHROOM = Fact(
    '{} burns the air of "{}"; whether that counts as a bathroom is read either way.',
    "Ask the authority, set the appliance in another room, or take a direct-vent one.",
)
ROOM_AIR = Fact(
    '{} stands in "{}", and whether it burns the air of that room is not known.', TELL_AIR
)
ROOM = Fact(
    "the room in which {} stands is not known.",
    "Contain it in its space (IfcSpace), named by its use.",
)
OPENS_INTO = Fact('whether "{}", where {} stands, opens into "{}" alone', TELL_DOORS)
STORAGE = Fact(
    'whether "{}", where {} stands, is a storage closet',
    "Name the closet by its use: heater closet, storage closet, linen closet.",
)
BELOW_GROUND = Fact(
    "whether {} stands below the ground",
    "Place the appliance in its room, and give the job file building.grade_elevation.",
)


@rule(
    title="No fuel burned with the air of bedrooms, baths and closets",
    clauses={"upc": "504.1", "ipc": "IFGC 303.3", "irc": "G2406.2"},
    severity=Severity.HIGH,
    applies=lambda burner: burner.takes_room_air is not False,
)
def appliance_room(burner: Burner, context: Context) -> Answer:
    """Whoever sleeps does not smell the flue gas that a starved heater spills.

    The room of a water heater or furnace by its name, and what it opens into by its doors, or as a
    closet by its name where no door tells: in a bedroom or bathroom (by the fuel gas code also a
    storage closet or surgical room) the appliance must be direct vent. A room that opens into such
    rooms alone needs a gasketed, self-closing door, no other use, and air from outdoors, as the job
    file tells. Whether a toilet room without tub or shower is a bathroom of the UPC is a question.
    Where nothing tells how an appliance gets its air, or what a closet is for, that is a question.
    The plumbing code of the UPC family speaks of water heaters alone, and its mechanical code of
    room heaters: those may stand where the volume of the room alone gives them air, an unvented one
    of no more than so much input, and none at all in schools, wards and halls by the fuel gas code.
    """
    table = context.code.table("appliance_rooms")
    if not table.where(appliance=burner.appliance):
        return NOT_APPLICABLE
    name = _room_of(burner, context)
    stated = context.job.section(CombustionSection).of(name)
    if closet_of(name) and stated is not None and stated.sealed_door is not None:
        return _behind(burner, context)  # of no other use, as the job file tells with its door
    row = table.one(appliance=burner.appliance, room=_use(name, burner, table, context))
    if row is None or row.text("allowed") == "yes":
        return _behind(burner, context)
    if row.text("allowed") == "by-volume" and burner.takes_room_air:
        return _by_volume(burner, row, context)
    if row.text("allowed") == "conditional" and burner.takes_room_air:
        return not_known(BATHROOM, burner, name, clause=row.clause)
    if burner.takes_room_air is None or burner.burns is None:
        return not_known(ROOM_AIR, burner, name, clause=row.clause)
    return violation(
        message=f'{burner.label} stands in "{name}" and burns the air of that room.',
        remedy=MOVE,
        clause=row.clause,
    )


STORED = "storage-closet"


def _by_volume(burner: Burner, row: Row, context: Context) -> Answer:
    """A room heater where a row allows one: of no more input than it says, in a room whose volume
    alone gives the air."""
    room = FiredRoom(burner.element.space, space_of(burner.element, context), [burner])
    heat = known(room.kbtuh, INPUT, burner) * 1000
    where = f'{burner.label} stands in "{room.name}"'
    if row.number_or_none("most_btuh") is not None:
        most = row.limit("most_btuh", "Btu/h")
        if not at_most(heat, most.value, most.unit):
            return check(
                heat,
                at_most=most,
                message=f"{where} and burns {number_text(heat)} Btu/h unvented.",
                remedy="Take a direct-vent heater, or a smaller one.",
            )
    stated = context.job.section(CombustionSection).of(room.name)
    needed, steps = needed_ft3(room, stated, context)
    low, high = known(volume_with_shared_ft3(room, stated, context), VOLUME, room)
    if low < needed.value <= high:
        return not_known(VOLUME, room, steps=steps)
    return check(
        high,
        at_least=needed,
        message=f"{where} of {number_text(high)} ft³ and burns its air.",
        remedy="Take a direct-vent heater, or a smaller one.",
        steps=steps,
        limit_step="Volume asked for",
        clause=row.clause,
    )


def _room_of(burner: Burner, context: Context) -> str:
    if not burner.element.space:
        drawn(ROOMS, context, "the room in which {} stands", burner)
    return known(burner.element.space or None, ROOM, burner)


def _use(room: str, burner: Burner, table: Table, context: Context) -> str:
    """What a room is for, as the table tells rooms apart."""
    use = use_of(room)
    if use == "closet":  # of what is not stated
        is_told_apart = bool(table.where(appliance=burner.appliance, room=STORED))
        return known(None if is_told_apart else "", STORAGE, room, burner, clause=table.clause)
    if use == "toilet-room" and _is_bathed_in(room, burner, context):
        return "bathroom"
    return use


def _is_bathed_in(room: str, burner: Burner, context: Context) -> bool:
    """Whether a tub or shower stands in the room."""
    here = (room, burner.element.storey)
    elements = context.plumbing.network.elements
    return any(e.kind in BATHS and (e.space, e.storey) == here for e in elements)


def _behind(burner: Burner, context: Context) -> Answer:
    """Of a room that may open into bedrooms and baths alone."""
    space, told = space_of(burner.element, context), closet_of(burner.element.space)
    beyond = opens_into(space, context) if space is not None else None
    if beyond is None and told:
        return _closet(burner, f"which by its name opens into a {told} alone", context)
    if space is None:
        return PASS
    if beyond is None:
        beside = [s.name for s in touching(space, context) if use_of(s.name) in REFUSED]
        if not beside or is_garage(space.name) or says_text(space.name, CELLARS):
            return PASS  # those open outdoors, or to a stair
        return not_known(OPENS_INTO, space.name, burner, beside[0])
    if not all(use_of(name) in REFUSED for name in beyond):
        return PASS
    return _closet(burner, f'which opens into "{beyond[0]}" alone', context)


def _closet(burner: Burner, alone: str, context: Context) -> Answer:
    """In a room that opens into bedrooms or baths alone."""
    stated = context.job.section(CombustionSection).of(burner.element.space)
    openings = (stated.openings or ()) if stated is not None else ()
    outdoors = any(o.to not in INDOOR for o in openings) or bool(
        stated and (stated.designed or stated.fan)
    )
    message = f'{burner.label} stands in "{burner.element.space}", {alone}'
    if stated is not None and stated.sealed_door and outdoors:
        return PASS
    if stated is not None and stated.sealed_door is False and burner.takes_room_air:
        return violation(
            message=f"{message} by a door that is not sealed.",
            remedy="Give the closet a gasketed, self-closing door and air from outdoors, or take a "
            "direct-vent appliance.",
        )
    return not_known(CLOSET, message)


@rule(
    title="No propane appliance where its gas would collect",
    clauses={"upc": "UMC 303.7", "ipc": "", "irc": ""},
    severity=Severity.HIGH,
)
def propane_low_place(burner: Burner, context: Context) -> Answer:
    """Propane is heavier than air: what leaks lies in a pit or basement until it is lit.

    Appliances of a propane system that stand in a basement, crawl space or pit, by the name of
    room or storey, or below the ground; unless the job file says that approved means remove
    unburned gas. The fuel gas code leaves this to local amendments.
    """
    supplied = gas(context) or context.job.gas
    energy = burner.element.properties.text("energy")
    if supplied.name != "propane" or energy in ("oil", "electricity"):
        return NOT_APPLICABLE
    where = known(_low_place(burner, context), BELOW_GROUND)
    return require(
        not where or context.job.section(CombustionSection).propane_removal is True,
        message=f"{burner.label} burns propane and stands {where}.",
        remedy="Set the appliance above the ground, or provide approved means to remove unburned "
        "gas (job file, combustion.propane_removal).",
    )


def _low_place(burner: Burner, context: Context) -> str | None:
    """In words; "" for none, None where nothing tells."""
    e = burner.element
    named = next((n for n in (e.space, e.storey) if says_text(n, LOW)), "")
    if named:
        return f'in "{named}"'
    ground = context.ground
    low = e.box[0] if e.box is not None else e.position
    if low is None or ground is None:
        return None
    below = ground.is_below(low[2] + BELOW_M)
    return None if below is None else "below the ground" if below else ""


BELOW_M = 0.6  # what stands no deeper than this below the ground stands in no pit. Ours, no source
