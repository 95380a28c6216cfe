"""What a BCF topic shows of a place: a camera that looks at it, and a picture of the storey's
plan around it, with the topic's number.

The picture is made by resvg, which is an optional part of the installation; without it topics have
no picture.
"""

import importlib.util
import re
import uuid
from collections.abc import Sequence
from math import isfinite, sqrt
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape

from ifclint.drawings import Plan, PlanBox
from ifclint.findings import Review
from ifclint.ifc.elements import Location
from ifclint.report.exchange.wording import xml_bytes

OURS = uuid.uuid5(uuid.NAMESPACE_URL, "urn:ifclint:viewpoint")
AWAY_M = 6.0  # along each axis, between the camera and what it looks at
FIELD_OF_VIEW_DEG = 60.0
_GUID = re.compile(r"[0-3][0-9A-Za-z_$]{21}")
WIDTH, HEIGHT = 800, 600  # px
ACROSS_M = 12.0  # of the plan that is shown
COLOURS = {
    "drain": "#2b3a33", "vent": "#4a6f8a", "cold": "#2c6ea0", "hot": "#a03c1c",
    "hot return": "#a03c1c", "gas": "#6f5200",
}  # fmt: skip
OTHER = "#777"


def snapshot(review: Review, place: Location, number: int) -> bytes | None:
    """PNG; None where the place or its plan is not known, or no renderer is installed."""
    plan = next((p for p in review.plans if p.storey == place.storey), None)
    if plan is None or place.x is None or place.y is None:
        return None
    if importlib.util.find_spec("resvg_py") is None:
        return None
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=picture(plan, place.x, place.y, number)))


def picture(plan: Plan, x: float, y: float, number: int) -> str:
    """The plan around a place as SVG."""
    scale = WIDTH / ACROSS_M

    def pixel(point: tuple[float, float]) -> tuple[float, float]:
        return WIDTH / 2 + (point[0] - x) * scale, HEIGHT / 2 - (point[1] - y) * scale

    def box(b: PlanBox, style: str) -> str:
        (left, bottom), (right, top) = pixel(b.low), pixel(b.high)
        return (
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{abs(right - left):.1f}" '
            f'height="{abs(bottom - top):.1f}" {style}/>'
        )

    drawn = [box(wall, 'fill="#d9d6cc" stroke="#5c6259"') for wall in plan.walls]
    drawn += [box(fixture, 'fill="none" stroke="#5c6259"') for fixture in plan.fixtures]
    for pipe in plan.pipes:
        (x1, y1), (x2, y2) = pixel(pipe.a[:2]), pixel(pipe.b[:2])
        drawn.append(
            f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" fill="none" stroke-width="4" '
            f'stroke-linecap="round" stroke="{COLOURS.get(pipe.service, OTHER)}"/>'
        )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}">'
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>{"".join(drawn)}'
        f'<circle cx="{WIDTH / 2}" cy="{HEIGHT / 2}" r="16" fill="#9c1f1f"/>'
        f'<text x="{WIDTH / 2}" y="{HEIGHT / 2 + 6}" text-anchor="middle" fill="#fff" '
        f'font-size="16" font-family="sans-serif">{number}</text>'
        f'<text x="10" y="{HEIGHT - 12}" font-size="16" font-family="sans-serif" fill="#20251f">'
        f"{escape(plan.storey)}</text></svg>"
    )


def viewpoint(element_ids: Sequence[str], place: Location, version: str) -> tuple[str, bytes]:
    """Its GUID, which follows from what it shows, and its text."""
    root = ET.Element("VisualizationInfo")
    components = ET.SubElement(root, "Components")
    chosen = [guid for guid in element_ids if _GUID.fullmatch(guid)]
    if chosen:
        selection = ET.SubElement(components, "Selection")
        for guid in chosen:
            ET.SubElement(selection, "Component", IfcGuid=guid)
    ET.SubElement(components, "Visibility", DefaultVisibility="true")
    _camera(root, place, version)
    guid = str(uuid.uuid5(OURS, ET.tostring(root, encoding="unicode")))
    root.set("Guid", guid)
    return guid, xml_bytes(root)


def _camera(root: ET.Element, place: Location, version: str) -> None:
    """South-west of the place and above it, looking down at it."""
    x, y, z = (c if c is not None and isfinite(c) else 0.0 for c in (place.x, place.y, place.z))
    camera = ET.SubElement(root, "PerspectiveCamera")
    across, up = 1 / sqrt(3), sqrt(1 / 6)
    for name, vector in (
        ("CameraViewPoint", (x - AWAY_M, y - AWAY_M, z + AWAY_M)),
        ("CameraDirection", (across, across, -across)),
        ("CameraUpVector", (up, up, 2 * up)),
    ):
        parent = ET.SubElement(camera, name)
        for axis, value in zip("XYZ", vector, strict=True):
            ET.SubElement(parent, axis).text = f"{value:.4f}"
    ET.SubElement(camera, "FieldOfView").text = f"{FIELD_OF_VIEW_DEG:g}"
    if version == "3.0":
        ET.SubElement(camera, "AspectRatio").text = "1.333"
