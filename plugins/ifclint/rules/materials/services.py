"""Rules about what pipe is made of, and about metals that meet."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Change,
    Fact,
    PartKind,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.engineering.wording import sentence
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import says
from ifclint.rules.materials.lots import WORDS, Lot, listed_as, lots, material_of, row_of, told

NAMED = 4  # of the materials that would do
FERROUS = frozenset({"galvanized steel", "steel", "black steel"})
DIELECTRIC = ("dielectric*", "isolating union", "insulating union", "insulated union",
    "dielektrisch*", "isoleerkoppeling")  # fmt: skip
COPPER = ("copper", "copper-dwv")
COPPER_ALLOY = ("brass", "bronze", "red brass", "copper alloy")

TRANSITIONS = PartKind(
    "fittings between copper and galvanized steel",
    drawn=lambda context: bool(context.plumbing.saying(DIELECTRIC)),
    remedy="Name the fitting where copper and galvanized steel meet (dielectric union, brass), or "
    "give it its material.",
)
IN_PLACE = Fact(
    "whether {} is allowed for {} {} ({}) is not known.",
    "Show the listing of the pipe for this place, or review together with the file that has "
    "walls, slabs and floors.",
)
MADE_OF = Fact(
    "what {} pipes are made of",
    "Give the pipes or their types a material (IfcRelAssociatesMaterial) named in trade words: "
    "copper, PEX, CPVC, PVC, cast iron, steel.",
)
FOR_SERVICE = Fact(
    "whether {} is allowed for {} ({}) is not known here.",
    "Name the material more closely (galvanized or black steel, Type L or DWV, 304 or 316L), or "
    "show its listing for this service.",
)


@rule(
    title="Pipe of a material the code allows for its service",
    clauses={"upc": "604.1 and 701.2", "ipc": "605 and 702", "irc": "P2906 and P3002"},
)
def material_allowed(lot: Lot, context: Context) -> Answer:
    """Hot water softens PVC, the ground eats galvanized steel, and lead poisons.

    All pipe of one service, material and place at once (cold and hot water, drains, vents, storm
    drains, relief discharge, by name acid waste that is not neutralized yet; above ground, under
    the building, outside, where the tables tell these apart), against the code's tables of
    materials. What they allow in every place where the pipe may lie passes; what they refuse in
    each is wrong; a material they do not name, or a place that walls and floors do not show, is a
    question, as is all pipe without a material, once. By the IPC and IRC pipe of the water service
    counts as outside up to 5 ft within the wall or floor that it enters by, and the drain of a
    heater's pan must be of what hot water is distributed in. Gas pipe has rules of
    its own; water that is not potable, by name, is left out, as are connectors and the hoses of
    dishwashers and washers, of no material in the tables, which are listed products.
    """
    if not lot.material:
        return not_known(MADE_OF, str(len(lot.pipes)))
    service = WORDS[lot.service]
    row = row_of(lot.material, lot.service, context)
    row = known(row, FOR_SERVICE, told(lot.material), service, lot)
    allowed, where = lot.allowed_by(row), lot.where
    if allowed - {"yes", "no"} or len(allowed) > 1:
        doubt = where or "in the place where it lies, which walls and floors do not show"
        return not_known(IN_PLACE, told(lot.material), service, doubt, lot, clause=row.clause)
    asked = f"{service} {where}".rstrip()
    return require(
        allowed == {"yes"},
        message=f"{sentence(lot.label)}: the code does not allow it.",
        remedy=lambda: (
            f"Use a material that the code lists for {asked}{_listed(lot, context)}, with "
            "its fittings."
        ),
        clause=row.clause,
        provenance=row.provenance,
    )


def _listed(lot: Lot, context: Context) -> str:
    """The first few materials that the code allows for the service wherever the pipe may lie."""
    table = context.code.table("material_uses").where(service=listed_as(lot.service))
    allowed = [row.text("material") for row in table if lot.allowed_by(row) == {"yes"}]
    return f", such as {', '.join(map(told, allowed[:NAMED]))}" if allowed else ""


@dataclass(eq=False)
class MetalsMeeting(OfElement):
    """Where copper meets steel in the water supply: the element between them, or the steel."""

    element: Element
    copper: Element
    steel: Element
    is_between: bool  # a fitting of neither stands between
    length: Sequence[Element]  # the steel that hangs together there
    sized_by = frozenset[System]()  # no size bears on it

    @property
    def system(self) -> str:
        return self.steel.system.value if self.steel.system is not None else "water"

    @property
    def key(self) -> str:
        return f"{self.copper.key} {self.steel.key}"


@derived
def meetings(context: Context) -> list[MetalsMeeting]:
    """Every place where copper and steel meet, directly or in one fitting between them."""
    network, found = context.plumbing.network, []
    piping = network.of_roles(Role.PIPE, Role.FITTING)
    metal = defaultdict[int, str](str, {i: _metal(network.elements[i]) for i in piping})
    lengths = network.pieces([i for i in piping if metal[i] == "steel"])
    elements = network.elements
    length_of = {i: [elements[j] for j in sorted(piece)] for piece in lengths for i in piece}
    for at in piping:
        element = network.elements[at]
        if element.system not in WATER_SUPPLY or metal[at] not in ("", "steel"):
            continue
        joined = sorted(network.neighbours(at))
        if metal[at] == "steel":
            copper = [network.elements[i] for i in joined if metal[i] == "copper"]
            found += [MetalsMeeting(element, c, element, False, length_of[at]) for c in copper]
        elif element.role is Role.FITTING:
            copper = [network.elements[i] for i in joined if metal[i] == "copper"]
            steel = [i for i in joined if metal[i] == "steel"]
            if copper and steel:
                met = network.elements[steel[0]]
                found.append(MetalsMeeting(element, copper[0], met, True, length_of[steel[0]]))
    return found


def _metal(element: Element) -> str:
    material = material_of(element)
    metal = "copper" if material in COPPER else "steel" if material in FERROUS else ""
    return "" if metal and says(element, DIELECTRIC) else metal


@derived
def _refused(context: Context) -> frozenset[str]:
    """The pipes of materials that the code allows nowhere where they may lie."""
    rows = ((lot, row_of(lot.material, lot.service, context)) for lot in lots(context))
    bad = (lot for lot, row in rows if row is not None and lot.allowed_by(row) == {"no"})
    return frozenset(pipe.guid for lot in bad for pipe in lot.pipes)


@rule(
    title="Copper and galvanized steel parted",
    clauses={"upc": "605.15", "ipc": "605.24.1", "irc": "P2906.18"},
)
def metals_parted(meeting: MetalsMeeting, context: Context) -> Answer:
    """Where copper touches steel in water, the steel dissolves until it leaks.

    Each place of the water supply where pipe or fittings of copper and of steel meet, by their
    materials: a dielectric fitting, or one of brass or bronze, must stand between. Valves, whose
    bodies are of brass, and heaters part them too. A fitting that is drawn and said to be of copper
    or steel parts nothing; where pipe meets pipe, the fitting may be left out of the drawing. Steel
    that the code does not allow there comes out, and is not asked for.
    """
    if not _refused(context).isdisjoint(e.guid for e in meeting.length):
        return NOT_APPLICABLE
    between = meeting.element
    if meeting.is_between and (
        says(between, (*DIELECTRIC, *COPPER_ALLOY)) or between.material == "brass"
    ):
        return PASS
    text = "Put a dielectric fitting, or one of brass, between copper and steel."
    ids = tuple(dict.fromkeys((between.guid, meeting.copper.guid, meeting.steel.guid)))
    message = (
        f"{meeting.copper.label} (copper) meets {meeting.steel.label} ({meeting.steel.material}), "
        "and no fitting is told that parts them."
    )
    at = tuple(dict.fromkeys((meeting.length[0].guid, *ids)))  # a length of steel is one correction
    remedy = Change("part", at, "dielectric fitting", text)
    if not meeting.is_between and Role.FITTING in (meeting.copper.role, meeting.steel.role):
        return violation(message=message, remedy=remedy, elements=ids)
    return missing(TRANSITIONS, message=message, remedy=remedy, elements=ids)
