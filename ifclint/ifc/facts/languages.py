"""Words of further languages: `languages.csv`, a column each, in the shape of `vocabulary.toml`."""

from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from ifclint.engineering.data import CsvRow, read_csv

ABOUT = frozenset({"table", "meaning", "general"})  # columns that hold no words


@lru_cache(maxsize=1)
def _rows() -> tuple[CsvRow, ...]:
    return read_csv(files("ifclint.ifc.facts").joinpath("languages.csv")).rows


@lru_cache(maxsize=1)
def further_languages() -> dict[str, Any]:
    """All words of the further languages, by what they tell."""
    told: dict[str, Any] = {"any_drain": {"words": []}}
    for row in _rows():
        table, meaning, words = row.text("table"), row.text("meaning"), words_of(row)
        if table == "energy":
            continue
        if table == "any drain":  # of rain or sewage
            told["any_drain"]["words"] += words
            table = "system"
        if table == "element":
            role, _, kind = meaning.partition("/")
            entry = {"role": role, "kind": kind, "general": bool(row.text("general"))}
        else:
            entry = {"material" if table == "material" else "system": meaning}
        entry |= {"marks": words, "words": []} if table == "mark" else {"words": words}
        told.setdefault("layer" if table == "mark" else table, []).append(entry)
    return told


def words_of(row: CsvRow) -> list[str]:
    """The phrases of a line, of every language."""
    cells = (cell for column, cell in row.cells.items() if column not in ABOUT)
    return [phrase.strip() for cell in cells for phrase in cell.split(";") if phrase.strip()]


@cache
def energy_words(energy: str) -> tuple[str, ...]:
    """How appliances of an energy are called in these languages."""
    rows = (r for r in _rows() if (r.text("table"), r.text("meaning")) == ("energy", energy))
    return tuple(phrase for row in rows for phrase in words_of(row))
