"""XML as bytes, of text that XML can hold."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def xml_text(text: object) -> str:
    """Without the characters that XML 1.0 forbids."""
    return _UNWRITABLE.sub(" ", str(text))


def xml_bytes(root: ET.Element) -> bytes:
    ET.indent(root)
    written: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return written + b"\n"
