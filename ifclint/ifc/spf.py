"""The instances of an IFC file as text, for the classes a model has hundreds of thousands of.

Asking the library for each attribute of each point, placement, port and property costs more than
everything else together. Those few classes are simple enough to be read from their own text;
whatever is irregular is read through the library. A reference is kept as it is written: b"#12".

Where plumbing is a small part of a model, the text of single instances is asked for instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

Ref = bytes


class Instances(dict[Ref, bytes]):
    """Reference -> b"IFCCLASS(arguments)"."""


GROUPS = {
    b"IFCCARTESIANPOINT": "geometry",
    b"IFCDIRECTION": "geometry",
    b"IFCAXIS2PLACEMENT3D": "geometry",
    b"IFCAXIS2PLACEMENT2D": "geometry",
    b"IFCLOCALPLACEMENT": "placement",
    b"IFCGRIDPLACEMENT": "placement",
    b"IFCLINEARPLACEMENT": "placement",
    b"IFCDISTRIBUTIONPORT": "port",
    b"IFCRELCONNECTSPORTS": "port joint",
    b"IFCRELCONNECTSPORTTOELEMENT": "port owner",
    b"IFCRELNESTS": "nesting",
    b"IFCRELDEFINESBYPROPERTIES": "property relation",
    b"IFCRELOVERRIDESPROPERTIES": "property relation",
    b"IFCPROPERTYSET": "property set",
    b"IFCELEMENTQUANTITY": "property set",
    b"IFCPROPERTYSINGLEVALUE": "property",
    b"IFCPROPERTYLISTVALUE": "property",
    b"IFCPROPERTYENUMERATEDVALUE": "property",
    b"IFCPROPERTYBOUNDEDVALUE": "property",
    b"IFCQUANTITYLENGTH": "property",
}
_COMMENT = re.compile(rb"('(?:[^']|'')*')|/\*.*?\*/", re.S)
_CAREFUL = re.compile(rb"(#\d+)\s*+=\s*+((?:[^';]++|'[^']*+')*+);")


ASKED_FOR = frozenset({"geometry", "placement", "property set", "property"})  # by reference only
WHOLE_TEXT_FROM = 60  # instances per plumbing element; with more, the text is read piecewise


def plumbing_text(ifc: Any, path: Path, elements: int) -> dict[str, Instances]:
    """The instances that so many plumbing elements need, by group."""
    count = len(ifc.entity_names())
    whole = count <= WHOLE_TEXT_FROM * elements
    return grouped_instances(path, count) if whole else _instances_on_demand(ifc)


class _OnDemand(Instances):
    """Instances whose text is asked of the library when it is first looked up."""

    def __init__(self, ifc: Any) -> None:
        self._ifc = ifc

    def get(self, key: Ref, default: Any = None) -> Any:
        if key not in self:
            try:
                entity = self._ifc.by_id(int(key[1:]))
            except (RuntimeError, ValueError):
                return default
            self[key] = _text_of(entity)
        return self[key]


def _text_of(entity: Any) -> bytes:
    _, _, text = entity.to_string().encode("utf-8").partition(b"=")
    return _trimmed(text)


def _instances_on_demand(ifc: Any) -> dict[str, Instances]:
    groups: dict[str, Instances] = {}
    for name, group in GROUPS.items():
        if group in ASKED_FOR:
            groups.setdefault(group, _OnDemand(ifc))
            continue
        found = groups.setdefault(group, Instances())
        try:
            entities = ifc.by_type(name.decode(), include_subtypes=False)
        except RuntimeError:  # no such class in this schema
            continue
        for entity in entities:
            found[b"#%d" % entity.id()] = _text_of(entity)
    return groups


def grouped_instances(path: Path, count: int) -> dict[str, Instances]:
    """The instances of the classes in `GROUPS`, by group, in file order.

    The text is split at line ends after ";". Where that does not find as many instances as the
    library counted, it is read again with a pattern that minds strings and comments.
    """
    data = path.read_bytes()
    end = b";\r\n" if b";\r\n" in data[:4096] else b";\n"
    groups, seen = _group(data.split(end))
    return groups if seen == count else _group(_split_with_care(data))[0]


def _group(instances: Iterable[bytes]) -> tuple[dict[str, Instances], int]:
    """Instances by group, and how many of any class there were."""
    groups = {name: Instances() for name in GROUPS.values()}
    group_of = {name: groups[group] for name, group in GROUPS.items()}.get
    seen = 0
    for instance in instances:
        ref, equals, text = instance.partition(b"=")
        group = group_of(text[: text.find(b"(")])
        if group is not None:
            group[ref] = text
            seen += 1
        elif equals and ref[:1] == b"#":
            seen += 1
            if text[:1] != b"I" or ref[-1:] == b" ":  # not as most programs write it
                text = _trimmed(text)
                group = group_of(text[: text.find(b"(")])
                if group is not None:
                    group[ref.strip()] = text
    return groups, seen


def _split_with_care(data: bytes) -> Iterator[bytes]:
    if b"/*" in data:
        data = _COMMENT.sub(rb"\1", data)
    for match in _CAREFUL.finditer(data, max(0, data.find(b"DATA"))):
        yield match.group(1) + b"=" + _trimmed(match.group(2))


def _trimmed(text: bytes) -> bytes:
    """No space before the class name, nor between it and its parenthesis; in capitals."""
    name, parenthesis, rest = text.partition(b"(")
    return name.strip().upper() + parenthesis + rest


_FIELD = re.compile(
    rb"\s*("
    rb"'(?:[^']|'')*'"  # a string
    rb"|\w*\((?:[^()']|'(?:[^']|'')*'|\((?:[^()']|'(?:[^']|'')*'|\([^()]*\))*\))*\)"  # a list
    rb"|[^,()']*?"
    rb")\s*,"
)


def fields(text: bytes) -> list[bytes]:
    """The arguments of an instance (or the members of a list) as they are written."""
    inner = text[text.index(b"(") + 1 : text.rindex(b")")]
    if b"'" not in inner and b"(" not in inner:
        return [f.strip() for f in inner.split(b",")]
    return _FIELD.findall(inner + b",")


def string(field: bytes) -> str:
    """The text of a string field; empty where it is not set."""
    if field[:1] != b"'":
        return ""
    raw = field[1:-1]
    if b"'" in raw:
        raw = raw.replace(b"''", b"'")
    if b"\\" in raw:
        import ifcopenshell

        return str(ifcopenshell.decode_spf_string(raw.decode("latin-1")))
    return raw.decode("utf-8", "replace")
