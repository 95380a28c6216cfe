"""Appliance connectors: flexible tube made to a listed length, which is no gas piping."""

from ifclint.ifc.elements import CONNECTOR, Element
from ifclint.plumbing.words import says

CONNECTORS = (
    "appliance connector", "gas connector", "range connector", "flex connector",
    "flexible connector", "flexible appliance connector", "flexible hose",
    "flexible gas connector", "gas hose", "gas flex", "stainless connector", "dryer connector",
    "water heater connector",
)  # fmt: skip
MAY_BE_TUBING = ("gas flex",)  # said alone, it may be corrugated tubing of any length
CSST = ("csst", "corrugated stainless*", "corrugated tubing")


def is_flexible(element: Element) -> bool:
    """Whether an element is called a connector, surely or as corrugated tubing may be too."""
    return is_connector(element) or (says(element, CONNECTORS) and not says(element, CSST))


def is_connector(element: Element) -> bool:
    """Whether an element is surely an appliance connector: by its name, or by where it is."""
    if element.kind == CONNECTOR:
        return True
    surely = tuple(word for word in CONNECTORS if word not in MAY_BE_TUBING)
    return says(element, surely) and not says(element, CSST[:1])
