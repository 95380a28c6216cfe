"""Parts around heaters that a model may not draw at all (see `ifclint.findings.PartKind`), and
tappings."""

from ifclint.findings import PartKind
from ifclint.ifc.elements import WATER_SUPPLY, End, Role, Surface, System
from ifclint.packs import Context
from ifclint.plumbing.heaters.condensate import NEUTRALIZERS
from ifclint.plumbing.words import says_text

# A temperature setting on a plate is that of a combined valve.
BOTH_WORDS = ("t&p", "t & p", "t+p", "t/p", "t and p", "p&t", "p & t", "p/t", "tpr", "tprv",
    "tp valve", "tp relief", "210 f", "210°f", "210 °f", "99 c", "99°c", "99 °c")  # fmt: skip
_WORDS = ("relief", "safety", "prv", "psv", "tp", "alivio", "sicherheitsventil", "soupape",
    "overdruk*", *BOTH_WORDS)  # fmt: skip
STRAP_WORDS = ("seismic", "earthquake", "heater strap", "water heater strap", "restraint")
BARRIER_WORDS = ("bollard", "wheel stop", "vehicle barrier", "guard post")
VACUUM_KINDS = ("vacuum-relief", "vacuum-breaker")
PLATFORM_WORDS = ("platform", "catwalk")


def _valves(context: Context, *kinds: str) -> bool:
    elements = context.plumbing.network.elements
    return any(e.role is Role.VALVE and e.kind in kinds for e in elements)


def _shuts_water(context: Context) -> bool:
    """Whether a shutoff is drawn in the water supply: one of gas tells nothing of water."""
    elements = context.plumbing.network.elements
    return any(e.kind == "isolating" and e.system in WATER_SUPPLY for e in elements)


def _led_lines(context: Context) -> bool:
    """Whether a relief valve of a heater is drawn with its line."""
    return any(line.is_drawn for line in context.plumbing.heaters.relief_lines)


def _led_vents(context: Context) -> bool:
    """Whether a heater is drawn with its vent, all the way to the cap."""
    connectors = (heater.connector for heater in context.plumbing.heaters.heaters)
    vents = (c.vent for c in connectors if c is not None)
    return any(vent is not None and vent.is_capped for vent in vents)


def _draws_flues(context: Context) -> bool:
    elements = context.plumbing.network.elements
    return any(e.system is System.FLUE and e.role in (Role.PIPE, Role.FITTING) for e in elements)


def platform_slabs(context: Context) -> list[Surface]:
    """The slabs named as platforms."""
    slabs = context.plumbing.surroundings.of_kind("slab")
    return [s for s in slabs if says_text(s.name, PLATFORM_WORDS)]


RELIEF_VALVES = PartKind(
    "relief valves",
    # who draws a heater with its vent and the valves of its water draws its relief
    lambda context: _valves(context, "relief") or (_led_vents(context) and _shuts_water(context)),
    "Draw the temperature and pressure relief valve (IfcValve, PRESSURERELIEF) joined to the "
    "heater, or show that the heater's listing does without.",
)
RELIEF_LINES = PartKind(
    "relief discharge lines",
    _led_lines,
    "Draw the relief discharge lines and join them to the outlets of their valves.",
)
PANS = PartKind(
    "pans",
    lambda context: bool(context.plumbing.heaters.pans),
    "Draw the pan under the heater (IfcWasteTerminal or IfcSanitaryTerminal, named as a pan).",
)
PAN_DRAINS = PartKind(
    "drains of pans",
    lambda context: any(
        pan.line.elements or pan.element.ends for pan in context.plumbing.heaters.pans
    ),
    "Draw the pan with its outlet, and its drain joined to it.",
)
FLOOR_RECEPTORS = PartKind(
    "floor drains or floor sinks",
    lambda context: any(
        e.role is Role.FIXTURE and e.kind in ("floor-drain", "floor-sink")
        for e in context.plumbing.network.elements
    ),
    "Draw the floor drain or floor sink that the line ends over.",
)
COLD_SHUTOFFS = PartKind(
    "shutoff valves in the water supply",
    _shuts_water,
    "Draw the shutoff valves (IfcValve, ISOLATING) in the water pipes they close.",
)
VACUUM_RELIEF = PartKind(
    "vacuum relief valves",
    lambda context: _valves(context, *VACUUM_KINDS),
    "Draw the vacuum relief valve on the heater's cold water, named as one.",
)
STRAPS = PartKind(
    "seismic straps",
    lambda context: bool(context.plumbing.saying(STRAP_WORDS)),
    "Draw the seismic straps of each heater, one in its upper and one in its lower third.",
)
BARRIERS = PartKind(
    "vehicle barriers",
    lambda context: bool(context.plumbing.saying(BARRIER_WORDS)),
    "Draw the bollard or wheel stop, or raise the heater out of the way of vehicles.",
)
PLATFORMS = PartKind(
    "platforms before heaters in attics",
    lambda context: bool(context.plumbing.saying(PLATFORM_WORDS) or platform_slabs(context)),
    "Draw the platform before the heater and the passage to it.",
)
DRAW_FLUE = "Draw its vent to the terminal, joined at every fitting."
FLUES = PartKind(
    "flues",
    _draws_flues,  # often another trade draws them, whatever else is drawn around the heater
    "Draw its vent to the terminal, joined at every fitting, or add the file that has the flues to "
    "the review.",
)
CAPS = PartKind(
    "caps of fuel vents",
    lambda context: any(
        e.system is System.FLUE and e.role is Role.VENT_TERMINAL
        for e in context.plumbing.network.elements
    ),
    "Draw the cap of every fuel vent, joined to it, and the roof it passes.",
)
CONDENSATE_DRAINS = PartKind(
    "condensate drains",
    lambda context: any(s.line.elements for s in context.plumbing.heaters.condensing),
    "Draw the condensate drain and join it to what it drains.",
)
CONDENSATE_NEUTRALIZERS = PartKind(
    "condensate neutralizers",
    lambda context: any(e.kind in NEUTRALIZERS for e in context.plumbing.network.elements),
    "Draw the neutralizer in the condensate line (named so), or show that the maker and the "
    "authority ask for none.",
)


def is_relief_tapping(end: End) -> bool:
    """Whether an opening is said to be for a relief valve."""
    return end.system is System.RELIEF or says_text(end.name, _WORDS)
