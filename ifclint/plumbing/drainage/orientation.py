"""What counts as vertical, as straight on, and as tall as a storey."""

from ifclint.engineering.tolerance import at_least

STRAIGHT_DEG = 10.0  # what turns less goes straight on. Ours, no source
VERTICAL_FROM_DEG = 45.0  # from here a drain is vertical, in either family of codes
STOREY_HEIGHT_M = 8 * 0.3048  # a branch interval is never less; a vertical this tall is a stack


def counts_as_vertical(rise_deg: float) -> bool:
    """Whether pipe so steep is vertical by the codes: drawn at 45 degrees, or steeper."""
    return at_least(rise_deg, VERTICAL_FROM_DEG, "deg")
