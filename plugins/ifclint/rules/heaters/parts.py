"""Parts around heaters that a model may not draw at all (see `ifclint.findings.PartKind`)."""

from __future__ import annotations

from ifclint.findings import PartKind
from ifclint.ifc.elements import Role
from ifclint.packs import Context
from ifclint.rules.heaters.answers import says

STRAP_WORDS = ("seismic", "earthquake", "heater strap", "water heater strap", "restraint")
BARRIER_WORDS = ("bollard", "wheel stop", "vehicle barrier", "guard post")


def _valves(context: Context, *kinds: str) -> bool:
    elements = context.plumbing.network.elements
    return any(e.role is Role.VALVE and e.kind in kinds for e in elements)


def _named(context: Context, *words: str) -> bool:
    return any(says(element, *words) for element in context.plumbing.network.elements)


RELIEF_VALVES = PartKind(
    "relief valves",
    lambda context: _valves(context, "relief"),
    "Draw the temperature and pressure relief valve (IfcValve, PRESSURERELIEF) joined to the "
    "heater, or show that the heater's listing does without.",
)
RELIEF_LINES = PartKind(
    "relief discharge lines",
    lambda context: any(line.is_drawn for line in context.plumbing.heaters.relief_lines),
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
COLD_SHUTOFFS = PartKind(
    "shutoff valves in the water supply",
    lambda context: _valves(context, "isolating"),
    "Draw the shutoff valves (IfcValve, ISOLATING) in the water pipes they close.",
)
VACUUM_RELIEF = PartKind(
    "vacuum relief valves",
    lambda context: _valves(context, "vacuum-breaker") or _named(context, "vacuum relief"),
    "Draw the vacuum relief valve on the heater's cold water, named as one.",
)
STRAPS = PartKind(
    "seismic straps",
    lambda context: _named(context, *STRAP_WORDS),
    "Draw the seismic straps of each heater, one in its upper and one in its lower third.",
)
BARRIERS = PartKind(
    "vehicle barriers",
    lambda context: _named(context, *BARRIER_WORDS),
    "Draw the bollard or wheel stop, or raise the heater out of the way of vehicles.",
)
