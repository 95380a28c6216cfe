"""Rules about what stands in storm drainage: cleanouts at leaders, traps before a sewer."""

from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, given, missing, not_known, violation
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Change, Outcome, PartKind, Severity
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Inlet, Outlet, StormDrain, StormOutlet
from ifclint.plumbing.words import says
from ifclint.rules.storm.section import StormSection

OPEN = frozenset({"open end", "low point"})
CLEANS = frozenset({"cleanout-tee", "two-way"})
COMBINED = Fact(
    "whether the sewer at {}, which takes storm and sanitary drains, is a combined one",
    "Say so in the job file (storm.combined_sewer = true or false).",
)
ITS_NAME = Fact(
    "whether {}, called a sewer of sewage, takes storm water too",
    "Say so in the job file (storm.combined_sewer = true or false).",
)
WHICH = Fact(
    "whether {} is the storm sewer or the sanitary one is not known.",
    "Name the connection for what it takes: storm sewer, or sanitary sewer.",
)
FOR_STORM = ("storm*", "rain*", "regen*", "pluvial*", "pluviales", "hwa", "hemelwater*")
FOR_SEWAGE = (
    "sanitary", "foul", "sewage", "wastewater", "waste water", "schmutzwasser*", "fakal*",
    "eaux usees", "eaux usées", "eaux vannes", "aguas negras", "aguas residuales", "vuilwater*",
)  # fmt: skip


@derived
def _cleanouts(context: Context) -> list[list[Point]]:
    """Where the cleanouts of the storm drainage stand: each by its place and its ends. One that is
    of the storm system and joined to nothing stands where it is drawn."""
    storm = context.plumbing.storm
    members, found = set(storm.members if storm else ()), []
    for index, element in enumerate(context.plumbing.network.elements):
        is_its_own = index in members or element.system is System.STORM
        if is_its_own and (element.role is Role.CLEANOUT or element.kind in CLEANS):
            places = [element.position, *(end.position for end in element.ends)]
            found.append([p for p in places if p is not None])
    return found


CLEANOUTS = PartKind(
    "cleanouts of storm drains",
    drawn=lambda context: bool(_cleanouts(context)),
    remedy="Model the cleanouts of the storm drainage (IfcPipeFitting or IfcWasteTerminal, named "
    "cleanout), in its system.",
)


def _is_last(drain: StormDrain) -> bool:
    """Whether a leader is the last of its way: from its foot on the water runs level."""
    following = drain.next
    if not drain.vertical or following is None:
        return False
    while following is not None:
        if following.vertical:
            return False
        following = following.next
    return True


@rule(
    title="Cleanout at the foot of a leader",
    clauses={"upc": "1101.13.1", "ipc": "common practice, no clause", "irc": ""},
    applies=_is_last,
)
def leader_cleanout(drain: StormDrain, context: Context) -> Answer:
    """What a gutter sheds comes to rest where the leader turns into the level drain.

    A cleanout of the storm drainage near the foot of each leader, where a level storm drain begins,
    or near the lowest floor above it where the foot lies in the ground.
    The UPC demands it of leaders outside the walls; of others, and under the IPC, it is advice. A
    leader that ends in the open needs none, nor does one that turns level only to fall again; the
    advice waits where the drain is to be led to another sewer.
    """
    if _is_in_the_open(_outlet_of(drain, context), context):
        return NOT_APPLICABLE
    pipe = drain.pipes[-1]
    foot, ids = given(pipe.down), (pipe.element.guid,)
    near = context.code.limit("cleanout_stack_base_ft")
    bases = _bases(foot, context)
    gaps = [
        min(dist(p, base) for p in one for base in bases) / M_PER_FT
        for one in _cleanouts(context)
        if one
    ]
    if any(at_most(gap, near.value, "ft") for gap in gaps):
        return PASS
    text = f"Set a cleanout within {number_text(near.value)} ft of the foot of the leader."
    is_demanded = _is_demanded(foot, context)
    if not is_demanded and _is_led_wrong(_outlet_of(drain, context), context):
        return NOT_APPLICABLE
    return missing(
        CLEANOUTS,
        message=f"{drain.label} has no cleanout at its foot.",
        remedy=Change("part", ids, "cleanout", text),
        wrong=Outcome.VIOLATION if is_demanded else Outcome.ADVISORY,
        elements=ids,
    )


def _bases(foot: Point, context: Context) -> list[Point]:
    """The foot of a leader, and where it passes the lowest floor if the foot lies below that."""
    floors = context.plumbing.surroundings.floors
    if floors.is_below_lowest(foot[2]) is not True:
        return [foot]
    return [foot, (*foot[:2], floors.likely[0].level_m)]


def _outlet_of(drain: StormDrain, context: Context) -> Outlet | None:
    drainage = context.plumbing.storm.drainage if context.plumbing.storm else None
    return drainage.outlet_of(drain.indexes[-1]) if drainage else None


def _is_in_the_open(outlet: Outlet | None, context: Context) -> bool:
    """Whether water is let go in the open there, and not known to be below the ground."""
    if outlet is None or outlet.kind not in OPEN or outlet.position is None:
        return False
    ground = context.ground
    return ground is None or ground.is_below(outlet.position[2]) is not True


def _is_demanded(foot: Point, context: Context) -> bool:
    footprint = context.plumbing.surroundings.footprint
    if context.code.family != "upc" or footprint is None:
        return False
    return not footprint.holds(foot)


def _traps(context: Context) -> bool:
    storm = context.plumbing.storm
    elements = context.plumbing.network.elements
    return storm is not None and any(elements[i].role is Role.TRAP for i in storm.members)


TRAPS = PartKind(
    "traps of storm drains",
    drawn=_traps,
    remedy="Model the trap between the storm drainage and the combined sewer.",
)


@rule(
    title="Storm drainage trapped before a combined sewer",
    clauses={"upc": "1104.1", "ipc": "1103.1", "irc": ""},
)
def storm_trapped(outlet: StormOutlet, context: Context) -> Answer:
    """Without a trap every roof drain and gutter is a vent of the sewer, below somebody's window.

    Where the job file says that the storm drainage goes into a combined sewer
    (storm.combined_sewer): the water of every inlet passes a trap, its own or one for all. Where
    it does not say, and storm and sanitary drains end in one chamber, it is asked.
    """
    combined = context.job.section(StormSection).combined_sewer
    if combined is False or _is_in_the_open(outlet.outlet, context):
        return NOT_APPLICABLE
    if combined is None:
        return not_known(COMBINED, outlet) if _takes_sewage(outlet, context) else NOT_APPLICABLE
    untrapped = [inlet for inlet in outlet.inlets if not _is_trapped(inlet, context)]
    if not untrapped:
        return PASS
    text = "Set a trap in the storm drain before the sewer, with a cleanout."
    return missing(
        TRAPS,
        message=f"{untrapped[0].label} drains into the combined sewer without a trap.",
        remedy=Change("part", (outlet.element.guid,), "trap", text),
        elements=(outlet.element.guid, *(inlet.element.guid for inlet in untrapped)),
    )


@rule(
    title="Storm drainage into a sewer that takes storm water",
    clauses={
        "upc": "1101.3",
        "ipc": "1101.3",
        "irc": "sewer ordinance: the IRC has no clause of its own for it",
    },
    severity=Severity.HIGH,
)
def storm_sewer(outlet: StormOutlet, context: Context) -> Answer:
    """Where sewers are separate, rain in the sanitary sewer floods cellars and the treatment works.

    Where the job file says that the sewer is no combined one (storm.combined_sewer = false): the
    chamber or sewer at which storm drainage ends takes no sanitary drains, and is not called one
    of these. One called a sewer alone is asked about, as is where the job file does not say one
    called a sewer of sewage.
    """
    at = _sewer_at(outlet.outlet, context)
    combined = context.job.section(StormSection).combined_sewer
    if combined or at == NONE:
        return NOT_APPLICABLE
    end = context.plumbing.network.elements[at]
    if combined is None:
        is_open = _is_called_for_sewage(end) and not _takes_sewage(outlet, context)
        return not_known(ITS_NAME, end) if is_open else NOT_APPLICABLE
    if not _is_for_sewage(at, context):
        unknown = end.system is System.SANITARY and not says(end, FOR_STORM)
        return not_known(WHICH, outlet) if unknown else PASS
    return violation(
        message=f"The storm drainage ends in {end.label}, which takes sewage, and the sewer is "
        "stated to be no combined one.",
        remedy="Lead the storm drainage to the storm sewer, or to where the authority allows.",
        elements=(end.guid, *(inlet.element.guid for inlet in outlet.inlets)),
    )


def _is_for_sewage(at: int, context: Context) -> bool:
    """Whether a chamber or sewer is called one of sewage, or sanitary drains lead into it."""
    network, piping = context.plumbing.network, context.plumbing.venting.piping
    end = network.elements[at]
    joined = (i for i in network.neighbours(at) if network.elements[i].system is System.SANITARY)
    takes = not says(end, FOR_STORM) and any(map(piping.is_wet, joined))
    return takes or _is_called_for_sewage(end)


def _is_called_for_sewage(end: Element) -> bool:
    return says(end, FOR_SEWAGE) and not says(end, FOR_STORM)


def _is_led_wrong(outlet: Outlet | None, context: Context) -> bool:
    """Whether storm drainage is to be led elsewhere than to where it ends."""
    if outlet is None or context.job.section(StormSection).combined_sewer is not False:
        return False
    at = _sewer_at(outlet, context)
    return at != NONE and _is_for_sewage(at, context)


def _sewer_at(outlet: Outlet, context: Context) -> int:
    """The chamber or sewer at which storm drainage ends, also where its system keeps it apart."""
    index, network = outlet.element, context.plumbing.network
    near = (index, *network.neighbours(index))
    return next((i for i in near if network.elements[i].role is Role.CHAMBER), NONE)


def _is_trapped(inlet: Inlet, context: Context) -> bool:
    storm, elements = given(context.plumbing.storm), context.plumbing.network.elements
    return any(elements[i].role is Role.TRAP for i in storm.route(inlet))


def _takes_sewage(outlet: StormOutlet, context: Context) -> bool:
    """Whether sanitary drains end in the same chamber, or lead on from where it ends."""
    piping, index = context.plumbing.venting.piping, outlet.outlet.element
    near = (index, *context.plumbing.network.neighbours(index))
    inside = set(context.plumbing.drainage.members)
    return any(i in inside and piping.is_wet(i) for i in near)
