"""The review as a letter and in open formats, each written only where it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path

from ifclint.findings import Review, Schedule
from ifclint.packs import ReportFormat
from ifclint.report.exchange.sources import SourceLines, sources

ALWAYS = ("findings.json", "report.html")
FILES = {
    "letter": "corrections.txt",
    "summary": "summary.html",
    "sarif": "findings.sarif",
    "junit": "findings.junit.xml",
    "code-quality": "code-quality.json",
    "bcf": "corrections.bcfzip",
    "bcf-3.0": "corrections-3.0.bcfzip",
}
SCHEDULES = "schedules"  # a CSV each
_WRITERS = {
    "letter": ("letter", "letter_bytes"),
    "summary": ("summary", "summary_bytes"),
    "sarif": ("sarif", "sarif_bytes"),
    "junit": ("junit", "junit_bytes"),
    "code-quality": ("code_quality", "code_quality_bytes"),
    "bcf": ("bcf", "bcf_bytes"),
    "bcf-3.0": ("bcf", "bcf_3_bytes"),
}


def also_written(
    names: Iterable[str], models: Sequence[Path]
) -> Callable[[Review], list[ReportFormat]]:
    """What is to be written of a review of some files, beside the two reports that always are.

    `names` are keys of `FILES`, or "schedules".
    """
    names = list(names)

    def formats(review: Review) -> list[ReportFormat]:
        wanted = {f.element_ids[0] for f in review.findings if f.element_ids}
        chosen = [name for name in names if name in FILES]
        at = sources(models, wanted) if chosen else SourceLines(())
        made = [ReportFormat(FILES[name], partial(_write, name, at)) for name in chosen]
        if SCHEDULES in names:
            made += [
                ReportFormat(f"schedule-{s.key}.csv", partial(_csv, s)) for s in review.schedules
            ]
        return made

    return formats


def _write(name: str, at: SourceLines, review: Review) -> bytes:
    module, function = _WRITERS[name]
    writer: Callable[[Review, SourceLines], bytes] = getattr(
        import_module(f"ifclint.report.exchange.{module}"), function
    )
    return writer(review, at)


def _csv(schedule: Schedule, _: Review) -> bytes:
    from ifclint.report.exchange.schedule_csv import csv_bytes

    return csv_bytes(schedule)


def take_away(out_dir: Path, but: Collection[Path | None] = ()) -> None:
    """Take away all reports that a review writes, except for some files."""
    kept = {path.absolute() for path in but if path is not None}
    with suppress(OSError):
        named = [out_dir / name for name in (*ALWAYS, *FILES.values())]
        for path in (*named, *out_dir.glob(f"{SCHEDULES.removesuffix('s')}-*.csv")):
            if path.is_file() and path.absolute() not in kept:
                path.unlink()
