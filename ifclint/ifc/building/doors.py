"""Openings as the file states them: how the leaves of doors swing, and where outside air comes
in."""

import re
from collections.abc import Iterator

from ifclint.ifc.elements import Box, Leaf, Place, Point
from ifclint.ifc.shape.placement import Frame, to_world
from ifclint.ifc.step.spf import class_and_arguments
from ifclint.ifc.step.text_index import Ref, TextIndex

CLASSES = (
    b"IFCUNITARYEQUIPMENT", b"IFCAIRTERMINAL", b"IFCFAN", b"IFCENERGYCONVERSIONDEVICE",
    b"IFCFLOWMOVINGDEVICE", b"IFCFLOWTERMINAL", b"IFCBUILDINGELEMENTPROXY",
)  # fmt: skip
INTAKE, UNIT = "air intake", "air unit"
_STATED = frozenset({b".AIRHANDLER.", b".AIRCONDITIONINGUNIT.", b".ROOFTOPUNIT."})
_INTAKE = re.compile(
    r"\b(?:(?:air|louv(?:er|re)) ?intakes?|intake (?:louv(?:er|re)|hood|grille|cap)s?|fresh air"
    r"|(?:outside|outdoor) air(?![ -](?:cool|cond|source))|au(?:ss|ß)enluft\w*|frischluft\w*"
    r"|prise d'air|toma de aire"
    r"|buitenlucht\w*|luchtinlaat)\b",
    re.IGNORECASE,
)
_UNIT = re.compile(
    r"\b(?:roof ?top unit|rtu|ahu|doas|mau|air handl(?:er|ing unit)|make-?up air unit"
    r"|louv(?:er|re)s?"
    r"|l(?:ü|ue)ftungsgerät\w*|dachgerät|luchtbehandelingskast)\b",
    re.IGNORECASE,
)
_OUT = re.compile(
    r"\b(?:exhaust|relief|extract\w*|discharge|outlet|fortluft\w*|abluft\w*|combustion|extraction)\b",
    re.IGNORECASE,
)
OF_DOOR, OF_TYPE, OF_STYLE = 11, 10, 8  # where each class states its operation
UNSAID = (b"", b"$", b"*", b".NOTDEFINED.", b".USERDEFINED.")
# Of each leaf: from which of its jambs to which, in shares of the width, and to which sides it
# opens: 1 is along the door's y axis. Left and right are seen in that direction.
LEFT, RIGHT = (0.0, 1.0), (1.0, 0.0)
LEFT_HALF, RIGHT_HALF = (0.0, 0.5), (1.0, 0.5)
LEAVES = {
    b".SINGLE_SWING_LEFT.": ((LEFT, 1),),
    b".SINGLE_SWING_RIGHT.": ((RIGHT, 1),),
    b".SWING_FIXED_LEFT.": ((LEFT_HALF, 1),),
    b".SWING_FIXED_RIGHT.": ((RIGHT_HALF, 1),),
    b".DOUBLE_SWING_LEFT.": ((LEFT, 1), (LEFT, -1)),
    b".DOUBLE_SWING_RIGHT.": ((RIGHT, 1), (RIGHT, -1)),
    b".DOUBLE_DOOR_SINGLE_SWING.": ((LEFT_HALF, 1), (RIGHT_HALF, 1)),
    b".DOUBLE_DOOR_SINGLE_SWING_OPPOSITE_LEFT.": ((LEFT_HALF, 1), (RIGHT_HALF, -1)),
    b".DOUBLE_DOOR_SINGLE_SWING_OPPOSITE_RIGHT.": ((LEFT_HALF, -1), (RIGHT_HALF, 1)),
    b".DOUBLE_DOOR_DOUBLE_SWING.": (
        (LEFT_HALF, 1), (LEFT_HALF, -1), (RIGHT_HALF, 1), (RIGHT_HALF, -1),
    ),
}  # fmt: skip


def operation(written: list[bytes], of_type: Ref, text: TextIndex) -> bytes:
    """How a door works, as it says itself, else its type; empty where neither does."""
    said = written[OF_DOOR] if len(written) > OF_DOOR else b""
    if said not in UNSAID or not of_type:
        return said
    kind, style = class_and_arguments(text.get(of_type))
    at = OF_STYLE if kind == b"IFCDOORSTYLE" else OF_TYPE
    return style[at] if len(style) > at else b""


def leaves(operation: bytes, box: Box, frame: Frame) -> tuple[Leaf, ...]:
    """The swinging leaves of a door; `box` is in the coordinates of the frame it is placed in."""
    return tuple(_leaves(operation, box, frame))


def _leaves(operation: bytes, box: Box, frame: Frame) -> Iterator[Leaf]:
    (x1, y1, z), (x2, y2, _) = box
    for (hinge, end), side in LEAVES.get(operation, ()):
        a, b = (x1 + (x2 - x1) * share for share in (hinge, end))
        y = y2 if side > 0 else y1
        opened = y + side * abs(b - a)
        yield _above(frame, (a, y, z)), _above(frame, (b, y, z)), _above(frame, (a, opened, z))


def _above(frame: Frame, point: Point) -> Place:
    return to_world(frame, point)[:2]


def air_intake_kind(class_name: bytes, named: str, stated: bytes) -> str:
    """What a part is to the air that comes in: an "air intake", an "air unit" whose intake is not
    shown by itself, or "" where it is neither."""
    text = named.replace("_", " ")
    if _INTAKE.search(text):
        return INTAKE
    if _OUT.search(text):
        return ""
    is_unit = class_name == CLASSES[0] and stated in _STATED
    return UNIT if is_unit or _UNIT.search(text) else ""
