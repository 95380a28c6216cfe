"""All buildings on one page and in one document: the worst first, by rule, by storey."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from ifclint.batch.running import BuildingOutcome
from ifclint.errors import InputError

SCHEMA_VERSION = "1"
NOT_DONE = "not-done"
COLUMNS = (
    "building", "id", "pack", "rule", "outcome", "severity", "title", "message", "clause",
    "subject", "system", "element_id", "storey", "space", "x", "y", "z", "remedy",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PortfolioRow:
    """One building of the portfolio."""

    name: str
    verdict: str  # that of its review, or "not-done"
    reason: str
    corrections: int
    high: int  # of them, those that can hurt someone
    advisories: int
    unverified: int
    failures: int  # of rules and packs
    folder: str


@dataclass(frozen=True, slots=True)
class Portfolio:
    rows: tuple[PortfolioRow, ...]
    by_rule: tuple[tuple[str, int, int], ...]  # rule, violations, buildings
    by_storey: tuple[tuple[str, int], ...]  # storey, violations


def portfolio(outcomes: Iterable[BuildingOutcome], out: Path) -> Portfolio:
    """What the reviews in a folder say together."""
    rows, by_rule, buildings, by_storey = [], Counter[str](), Counter[str](), Counter[str]()
    for outcome in outcomes:
        document = _document(out / outcome.name) if outcome.status in (0, 1, 2, 3) else None
        if document is None:
            rows.append(
                PortfolioRow(outcome.name, NOT_DONE, outcome.said, 0, 0, 0, 0, 0, outcome.name)
            )
            continue
        rows.append(_row(outcome, document))
        wrong = [f for f in _counting(document) if f["outcome"] == "violation"]
        by_rule.update(f["rule"] for f in wrong)
        buildings.update({f["rule"] for f in wrong})
        by_storey.update(f["location"]["storey"] or "not known" for f in wrong)
    rows.sort(key=lambda r: (r.verdict != NOT_DONE, -r.high, -r.corrections, -r.unverified, r.name))
    return Portfolio(
        tuple(rows),
        tuple((rule, n, buildings[rule]) for rule, n in _ranked(by_rule)),
        tuple(_ranked(by_storey)),
    )


def _ranked(counts: Counter[str]) -> list[tuple[str, int]]:
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))


def _document(folder: Path) -> dict[str, Any] | None:
    try:
        document: dict[str, Any] = json.loads((folder / "findings.json").read_bytes())
    except (OSError, ValueError):
        return None
    return document


def _counting(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [finding for finding in document["findings"] if finding["variance"] is None]


def _row(outcome: BuildingOutcome, document: dict[str, Any]) -> PortfolioRow:
    kinds = Counter(finding["outcome"] for finding in _counting(document))
    return PortfolioRow(
        outcome.name,
        document["verdict"],
        document["reason"],
        len(document["corrections"]),
        sum(c["severity"] == "high" for c in document["corrections"]),
        kinds["advisory"],
        kinds["unverified"],
        len(document["failures"]),
        outcome.name,
    )


def write(made: Portfolio, out: Path) -> tuple[Path, Path]:
    """portfolio.json and portfolio.html in a folder. Raises InputError."""
    document = {
        "schema_version": SCHEMA_VERSION,
        "buildings": [asdict(row) for row in made.rows],
        "by_rule": [{"rule": rule, "violations": n, "buildings": b} for rule, n, b in made.by_rule],
        "by_storey": [{"storey": storey, "violations": n} for storey, n in made.by_storey],
    }
    data, page = out / "portfolio.json", out / "portfolio.html"
    text = json.dumps(document, indent=2, ensure_ascii=False) + "\n"
    with _writing():
        data.write_text(text, encoding="utf-8")
        page.write_text(_page(made), encoding="utf-8", errors="replace")
    return data, page


@contextmanager
def _writing() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise InputError(f"{error.filename} could not be written ({error.strerror}).") from error


def _page(made: Portfolio) -> str:
    from ifclint.report.pages import environment  # jinja2 takes a while to start

    templates = environment(Path(__file__).with_name("templates"))
    return templates.get_template("portfolio.html.j2").render(made=made)


def findings(outcomes: Sequence[BuildingOutcome], out: Path) -> Iterator[dict[str, Any]]:
    """Every finding of every building as one flat row, its keys those of `COLUMNS`."""
    for outcome in outcomes:
        document = _document(out / outcome.name)
        for finding in _counting(document) if document else ():
            place = finding["location"]
            flat = {"building": outcome.name, **finding, **place}
            flat["element_id"] = (finding["element_ids"] or [""])[0]
            yield {column: flat[column] for column in COLUMNS}


def write_parquet(outcomes: Sequence[BuildingOutcome], out: Path) -> Path:
    """findings.parquet: the findings of all buildings as one table. Raises InputError."""
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as error:
        raise InputError('--parquet needs the extra: pip install "ifclint[tables]".') from error
    numbers = {"x", "y", "z"}
    schema = pa.schema([(c, pa.float64() if c in numbers else pa.string()) for c in COLUMNS])
    path = out / "findings.parquet"
    with _writing():
        pq.write_table(pa.Table.from_pylist(list(findings(outcomes, out)), schema=schema), path)
    return path
