"""The field sheet as a page to print and as a table."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ifclint.engineering.units import M3_PER_US_GAL, M_PER_FT
from ifclint.engineering.wording import feet_text, number_text
from ifclint.fieldsheet.sheet import FieldSheet, Look, PipingSection, Procedure, Stage, TakeoffPiece
from ifclint.report.arrange import NAME_LIMIT, NO_STOREY, plain

HTML, CSV = "fieldsheet.html", "fieldsheet.csv"
FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet takes for one
COLUMNS = (
    "part", "stage", "storey", "item", "do", "quantity", "unit", "clause", "source", "caution",
    "corrections", "not_shown", "as_found",
)  # fmt: skip
ABBREVIATED = frozenset({"pvc", "cpvc", "abs", "pex"})  # materials that are written in capitals
SHOWN = 8  # numbers on one line; more are counted
INTRO = {
    Stage.UNDERGROUND: "Below the lowest floor, before it is covered.",
    Stage.ROUGH_IN: "In walls and floors, before they are closed.",
    Stage.TOP_OUT: "Vents above the highest fixture, through the roof.",
    Stage.FINISH: "Fixtures and appliances set, before anyone moves in.",
}


@dataclass(frozen=True, slots=True)
class StagePart:
    """One stage as it is printed: what is tested, and the walk by storey."""

    stage: Stage
    intro: str
    tested: tuple[tuple[PipingSection | None, tuple[Procedure, ...]], ...]
    walked: tuple[tuple[str, tuple[Look, ...]], ...]


def files(sheet: FieldSheet) -> dict[str, bytes]:
    """What is written, by the name of its file."""
    return {
        HTML: as_html(sheet).encode("utf-8", "replace"),
        CSV: as_csv(sheet).encode("utf-8", "replace"),
    }


def stage_parts(sheet: FieldSheet) -> list[StagePart]:
    """The stages that there is work in."""
    made = []
    for stage in Stage:
        sections = [s for s in sheet.sections if s.stage is stage]
        tested: list[tuple[PipingSection | None, tuple[Procedure, ...]]] = [
            (section, tuple(_tests_of(sheet, section))) for section in sections
        ]
        held = {id(test) for _, tests in tested for test in tests}
        others = [t for t in sheet.procedures if t.stage is stage and id(t) not in held]
        if others:
            tested.append((None, tuple(others)))
        looks = [look for look in sheet.looks if look.stage is stage]
        storeys = dict.fromkeys(look.storey for look in looks)
        walked = tuple((s, tuple(k for k in looks if k.storey == s)) for s in storeys)
        if tested or walked:
            made.append(StagePart(stage, INTRO[stage], tuple(tested), walked))
    return made


def _tests_of(sheet: FieldSheet, section: PipingSection) -> Iterator[Procedure]:
    for test in sheet.procedures:
        key = (test.section, test.stage, test.storeys)
        if key == (section.name, section.stage, section.storeys):
            yield test


def as_html(sheet: FieldSheet) -> str:
    """One page that needs nothing else; everything from the models is escaped and cut."""
    return _filled("fieldsheet.html.j2", sheet, level=2)


def as_section(sheet: FieldSheet) -> str:
    """What stands on the sheet, as a part of another page with a heading above it."""
    return _filled("parts.html.j2", sheet, level=3)


def _filled(template: str, sheet: FieldSheet, level: int) -> str:
    """A template with the sheet; `level` is that of its first headings."""
    from ifclint.report.pages import environment as pages  # jinja2 takes a while to start

    environment = pages(Path(__file__).with_name("templates"), indented=True)
    environment.filters.update(FILTERS)
    filled = environment.get_template(template)
    return filled.render(sheet=sheet, parts=stage_parts(sheet), level=level)


def _gallons(volume_m3: float) -> str:
    return f"{number_text(volume_m3 / M3_PER_US_GAL, 3)} gal"


def _feet(length_m: float) -> str:
    return feet_text(length_m / M_PER_FT, 1.0)


def numbers(found: tuple[int, ...]) -> str:
    """ "3, 7"; more than a line holds are counted."""
    said = ", ".join(map(str, found[:SHOWN]))
    return f"{said} and {len(found) - SHOWN} more" if len(found) > SHOWN else said


FILTERS = {
    "plain": plain,
    "name": lambda text: plain(text, NAME_LIMIT),
    "storey": lambda text: plain(text, NAME_LIMIT) or NO_STOREY,
    "material": lambda text: plain(text.upper() if text in ABBREVIATED else text, NAME_LIMIT),
    "amount": lambda value: number_text(value, 3),
    "gallons": _gallons,
    "feet": _feet,
    "numbers": numbers,
}


def as_csv(sheet: FieldSheet) -> str:
    """One table of all parts; `as_found` is for whoever walks the site."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n", restval="")
    writer.writeheader()
    for row in _rows(sheet):
        writer.writerow({column: _cell(value) for column, value in row.items()})
    return text.getvalue()


def _rows(sheet: FieldSheet) -> Iterator[dict[str, str]]:
    for section in sheet.sections:
        yield from _section_rows(section)
    for test in sheet.procedures:
        yield {
            "part": "test", "stage": test.stage.value, "storey": "; ".join(test.storeys),
            "item": f"{test.what}: {test.section}", "do": test.do, "clause": test.clause,
            "source": test.source, "caution": " ".join(test.cautions),
        }  # fmt: skip
    for look in sheet.looks:
        yield {
            "part": "walk", "stage": look.stage.value, "storey": look.storey, "item": look.text,
            "corrections": " ".join(map(str, look.corrections)),
            "not_shown": " ".join(map(str, look.open_items)),
        }  # fmt: skip
    for piece in sheet.takeoff:
        yield _piece_row(piece)


def _section_rows(section: PipingSection) -> Iterator[dict[str, str]]:
    place = {
        "part": "section", "stage": section.stage.value, "storey": "; ".join(section.storeys),
        "caution": " ".join(section.cautions),
    }  # fmt: skip
    told = (
        ("contents of its pipe", section.contents_m3 / M3_PER_US_GAL, "gal"),
        ("to fill", section.to_fill_m3 / M3_PER_US_GAL, "gal"),
        ("lowest pipe, height in the model", section.low_m / M_PER_FT, "ft"),
        ("highest pipe, height in the model", section.high_m / M_PER_FT, "ft"),
        ("fill to, height in the model", _in_ft(section.fill_to_m), "ft"),
        ("head from the top of the stack as drawn", _in_ft(section.available_m), "ft"),
    )
    for what, value, unit in told:
        if value is not None:
            yield {
                **place, "item": f"{section.name}: {what}", "quantity": f"{value:.3f}",
                "unit": unit,
            }  # fmt: skip
    for what, said in (("plug", section.plugs), ("cap", section.caps)):
        if said:
            yield {**place, "item": f"{section.name}: {what}", "do": "; ".join(said)}


def _in_ft(length_m: float | None) -> float | None:
    return None if length_m is None else length_m / M_PER_FT


def _piece_row(piece: TakeoffPiece) -> dict[str, str]:
    item = " ".join(filter(None, (piece.size, piece.material, piece.what)))
    return {
        "part": "takeoff", "item": item, "do": piece.note, "quantity": f"{piece.quantity:.2f}",
        "unit": piece.unit, "corrections": " ".join(map(str, piece.corrections)),
    }  # fmt: skip


def _cell(value: str) -> str:
    """Words that no spreadsheet takes for a formula; numbers stay numbers."""
    text = plain(value)
    if not text.startswith(FORMULA):
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text
