"""How each element was understood, and from where: for whoever mends the model or the words."""

import csv
import io
import json
from collections import Counter, defaultdict
from collections.abc import Iterable

from ifclint.engineering.arithmetic import largest
from ifclint.engineering.extents import level_m, lies_flat
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, slope_text, trade_size
from ifclint.ifc.elements import Element, Model, Note, Role, System
from ifclint.report.exchange.schedule_csv import FORMULA

FALLING = frozenset({System.SANITARY, System.STORM, System.VENT, System.CONDENSATE})
FORMATS = ("text", "csv", "json")
_FACTS = ("role", "kind", "system", "size", "material", "length", "slope", "ends", "storey")
COLUMNS = (
    "global_id", "name", "ifc_class", "type_name", "role", "kind", "system", "size_in",
    "designation", "material", "length_m", "slope", "storey", "space", "ends", "ends_joined",
    "joints_inferred", "widest_gap_m", "unknown", "doubts",
    *(f"{fact}_{told}" for fact in _FACTS for told in ("from", "confidence")),
)  # fmt: skip

Row = dict[str, object]


def rows(model: Model, only_unknown: bool = False) -> list[Row]:
    """One row an element, in the order of the model; only those with an unknown or a doubt if so
    asked. Cells that are not known are None; "unknown" and "doubts" are lists of words."""
    joined: dict[int, set[int]] = defaultdict(set)
    inferred: dict[int, list[float]] = defaultdict(list)  # gaps of the joints
    for joint in model.joints:
        for index, end in ((joint.a, joint.a_end), (joint.b, joint.b_end)):
            joined[index].add(end)
            if joint.inferred:
                inferred[index].append(joint.gap_m)
    notes: dict[str, list[Note]] = defaultdict(list)
    for note in model.notes:
        notes[note.guid].append(note)
    made = [
        _row(element, len(joined[index]), inferred.get(index, []), notes.get(element.guid, []))
        for index, element in enumerate(model.elements)
    ]
    return [row for row in made if row["unknown"] or row["doubts"]] if only_unknown else made


def _row(element: Element, joined: int, inferred: list[float], notes: list[Note]) -> Row:
    return {
        "global_id": element.guid,
        "name": element.name,
        "ifc_class": element.ifc_class,
        "type_name": element.type_name,
        "role": element.role.value,
        "kind": element.kind or None,
        "system": element.system.value if element.system else None,
        "size_in": element.size_in,
        "designation": element.properties.get("designation"),
        "material": element.material or None,
        "length_m": element.length_m,
        "slope": _slope(element),
        "storey": element.storey or None,
        "space": element.space or None,
        "ends": len(element.ends),
        "ends_joined": joined,
        "joints_inferred": len(inferred),
        "widest_gap_m": round(largest(inferred), 6) or None,
        "unknown": list(_unknown(element, joined)),
        "doubts": list(dict.fromkeys(f"{note.what} {note.remedy}" for note in notes)),
        **{key: value for fact in _FACTS for key, value in _basis(element, fact)},
    }


def _slope(element: Element) -> float | None:
    """Rise over run of a pipe: as it is drawn, else as it is stated; None of an upright one."""
    places = element.places
    if element.role is not Role.PIPE or len(places) != 2 or not lies_flat(*places):
        return element.slope
    (*_, low), (*_, high) = places
    return round(abs(high - low) / level_m(*places), 6)


def _basis(element: Element, fact: str) -> Iterable[tuple[str, str | None]]:
    """Where a fact was known from, and how far that can be trusted."""
    basis = element.basis.get(fact)
    yield f"{fact}_from", basis and basis.words
    yield f"{fact}_confidence", basis and basis.confidence.value


def _unknown(element: Element, joined: int) -> Iterable[str]:
    """What is not known of an element that should be."""
    if element.role is Role.OTHER:
        return
    if element.role in (Role.PIPE, Role.FITTING) and element.system is None:
        yield "system"
    if element.role is Role.PIPE and element.size_in is None:
        yield "size"
    if element.role is Role.PIPE and element.length_m is None:
        yield "length"
    if element.role in (Role.FIXTURE, Role.FITTING) and not element.kind:
        yield "kind"
    if joined < len(element.ends) or not element.ends:
        yield "a joint"


def as_csv(made: list[Row]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows({column: _cell(value) for column, value in row.items()} for row in made)
    return text.getvalue()


def _cell(value: object) -> object:
    """A value as one cell: several stand one beside the other; words that no spreadsheet takes
    for a formula."""
    text = "; ".join(value) if isinstance(value, list) else value
    return f"'{text}" if isinstance(text, str) and text.startswith(FORMULA) else text


def as_json(made: list[Row]) -> str:
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def as_text(made: list[Row], total: int, notes: Iterable[Note] = ()) -> str:
    """Two lines an element, what it is and from where, and one for each thing unknown or doubtful;
    then those of the notes that are about no one element."""
    blocks = [_block(row) for row in made]
    blocks += [f"noted  {note.what} {note.remedy}" for note in notes if not note.guid]
    blocks.append(_counts(made, total))
    return "\n".join(blocks) + "\n"


def _block(row: Row) -> str:
    kind = f" {row['kind']}" if row["kind"] else ""
    size, length, slope = row["size_in"], row["length_m"], row["slope"]
    facts = [
        f"{row['role']}{kind}",
        str(row["system"] or "system not known"),
        _size(size, row["designation"]) if isinstance(size, float) else "",
        feet_text(length / M_PER_FT) if isinstance(length, float) else "",
        slope_text(slope) if isinstance(slope, float) and row["system"] in FALLING else "",
        f"{row['ends_joined']} of {row['ends']} ends joined",
    ]
    lines = [f"{row['global_id']}  {row['name'] or '(no name)'}", f"    {_listed(facts)}"]
    known = [
        f"{fact}: {row[f'{fact}_from']} ({row[f'{fact}_confidence']})"
        for fact in _FACTS
        if row[f"{fact}_from"]
    ]
    lines.append(f"    from  {_listed(known)}")
    if row["unknown"]:
        lines.append(f"    not known  {_cell(row['unknown'])}")
    lines += [f"    doubtful  {doubt}" for doubt in _list(row["doubts"])]
    return "\n".join(lines)


def _list(value: object) -> list[str]:
    return value if isinstance(value, list) else []


def _size(size_in: float, designation: object) -> str:
    """A size in trade terms, and as the model named it where that is a DN."""
    return f"{trade_size(size_in)} ({designation})" if designation else trade_size(size_in)


def _listed(words: Iterable[str]) -> str:
    return " · ".join(word for word in words if word)


def _counts(made: list[Row], total: int) -> str:
    by_role = Counter(str(row["role"]) for row in made)
    counted = ", ".join(f"{count} {role}" for role, count in by_role.most_common())
    return f"{len(made)} of {total} elements shown: {counted or 'none'}"
