"""Where outside air comes in: intakes, louvers and units that are called so, or stated to be."""

from __future__ import annotations

import re

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
