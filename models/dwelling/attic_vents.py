"""Stack vents through the roof, and the headers that gather the other vents in the attic."""

from __future__ import annotations

from .fixtures import vent_terminal
from .parts import Part
from .takeoff import Crew, at_height, uphill

ROOF_VENT_TOP = 22.6
LOWER_HEADER, UPPER_HEADER = 19.5, 20.5  # where attic vents join a stack vent
VENT_GRADE = -1 / 48  # a header falls away from the stack vent


def stack_vent(vent: Crew, tag: str, name: str, top: Part) -> tuple[Part, Part]:
    """The stack vent above the highest drain fitting, with two tees in the attic."""
    lower = vent.fitting(
        "Tee", f"{tag}/vent-lower", at_height(top.centre, LOWER_HEADER), f"stack vent {name}"
    )
    upper = vent.fitting(
        "Tee", f"{tag}/vent-upper", at_height(top.centre, UPPER_HEADER), f"stack vent {name}"
    )
    vent.pipe(lower, top, 3.0, f"stack vent, {name}")
    vent.pipe(upper, lower, 3.0, f"stack vent, {name}, attic")
    vent_terminal(vent, f"{tag}/vtr", f"Vent through roof {name}", upper, ROOF_VENT_TOP, 3.0)
    return lower, upper


def headers(vent: Crew, north: Part, south: Part) -> dict[str, Part]:
    """The two vent headers above wall W1: where each vent rises into them, by fixture."""
    stops = {
        "header north": (north, {"lav2": 14.5, "lav3": 17.0, "tub": 19.1, "kitchen": 21.0}),
        "header south": (south, {"s3": 9.4, "shower": 7.9, "powder": 4.0}),
    }
    found: dict[str, Part] = {}
    for label, (inner, places) in stops.items():
        last = list(places)[-1]
        start = inner.centre
        for key, y in places.items():
            trade = "Quarter bend" if key == last else "Tee"
            at = uphill(start, y=y, slope=VENT_GRADE)
            node = vent.fitting(trade, f"header/{key}", at, f"vent {label}")
            vent.pipe(inner, node, 2.0, f"vent {label}")
            found[key] = inner = node
    found["header end"], found["south end"] = found["kitchen"], found["powder"]
    return found
