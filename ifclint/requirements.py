"""What a model must contain, as an Information Delivery Specification (IDS 1.0, buildingSMART).

An IDS asks for attributes, properties, materials and groups of single elements. It cannot say "the
one or the other", nor ask for ports, joints and shapes: those facts are named in its description.
"""

import tomllib
from importlib.resources import files
from typing import Any
from xml.etree import ElementTree as ET

from ifclint.packs import Packs
from ifclint.plumbing.facts import fact
from ifclint.report.exchange.wording import xml_bytes

NAMESPACE = "http://standards.buildingsmart.org/IDS"
LOCATION = f"{NAMESPACE} http://standards.buildingsmart.org/IDS/1.0/ids.xsd"
XSI = "http://www.w3.org/2001/XMLSchema-instance"
VERSIONS = "IFC4 IFC4X3_ADD2"


def specifications() -> list[dict[str, Any]]:
    """The specifications as requirements.toml has them."""
    text = files("ifclint").joinpath("requirements.toml").read_text(encoding="utf-8")
    found: list[dict[str, Any]] = tomllib.loads(text)["specification"]
    return found


def unexpressed(packs: Packs) -> list[str]:
    """Facts that rules need and no specification asks for, in words."""
    asked = {name for one in specifications() for name in one["expresses"]}
    needs = {need for pack in packs.loaded for rule in pack.rules for need in rule.needs}
    return sorted({fact(need).words for need in needs - asked})


def ids_bytes(packs: Packs) -> bytes:
    """The IDS of all rules of these packs."""
    ET.register_namespace("", NAMESPACE)
    ET.register_namespace("xsi", XSI)
    root = ET.Element(_tag("ids"), {f"{{{XSI}}}schemaLocation": LOCATION})
    info = ET.SubElement(root, _tag("info"))
    ET.SubElement(info, _tag("title")).text = "What a model must contain for a plumbing review"
    left = "; ".join(unexpressed(packs))
    ET.SubElement(info, _tag("description")).text = (
        "Elements are to be joined by their ports, or by ends that meet, and to have shapes or "
        f"placed ports; an IDS cannot ask for that, nor for these facts: {left}."
    )
    parent = ET.SubElement(root, _tag("specifications"))
    for one in specifications():
        _add(parent, one)
    return xml_bytes(root)


def _tag(name: str) -> str:
    return f"{{{NAMESPACE}}}{name}"


def _add(parent: ET.Element, one: dict[str, Any]) -> None:
    made = ET.SubElement(
        parent, _tag("specification"), name=one["name"], ifcVersion=VERSIONS,
        instructions=one["instructions"],
    )  # fmt: skip
    about = ET.SubElement(made, _tag("applicability"), minOccurs="0", maxOccurs="unbounded")
    entity = ET.SubElement(about, _tag("entity"))
    _value(entity, "name", one["class"])
    if "predefined" in one:
        _value(entity, "predefinedType", one["predefined"])
    asked = ET.SubElement(made, _tag("requirements"))
    if "property" in one:
        in_set, name, kind = one["property"]
        element = ET.SubElement(asked, _tag("property"), dataType=kind)
        if one.get("optional"):
            element.set("cardinality", "optional")
        _value(element, "propertySet", in_set)
        _value(element, "baseName", name)
    elif "attribute" in one:
        _value(ET.SubElement(asked, _tag("attribute")), "name", one["attribute"])
    elif "part_of" in one:
        whole, relation = one["part_of"]
        element = ET.SubElement(asked, _tag("partOf"), relation=relation)
        _value(ET.SubElement(element, _tag("entity")), "name", whole)
    else:
        ET.SubElement(asked, _tag("material"))


def _value(parent: ET.Element, name: str, text: str) -> None:
    ET.SubElement(ET.SubElement(parent, _tag(name)), _tag("simpleValue")).text = text
