"""A BCF viewpoint: a camera outside that looks at a place, with the elements selected."""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from math import isfinite, sqrt
from xml.etree import ElementTree as ET

from ifclint.ifc.elements import Location
from ifclint.report.exchange.xml import xml_bytes

OURS = uuid.uuid5(uuid.NAMESPACE_URL, "urn:ifclint:viewpoint")
AWAY_M = 6.0  # along each axis, between the camera and what it looks at
FIELD_OF_VIEW_DEG = 60.0
_GUID = re.compile(r"[0-3][0-9A-Za-z_$]{21}")


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
