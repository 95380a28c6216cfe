"""The review as a letter and in open formats, each written only where it is asked for."""

import re
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path

from ifclint.errors import InputError
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
SCHEDULE = "schedule-"
HEAD = 400  # bytes, in which a report names what wrote it
GENERATOR = re.compile(rb'generator"(: | content=)"ifclint ')
_WRITERS = {
    "letter": ("letter", "letter_bytes"),
    "summary": ("summary", "summary_bytes"),
    "sarif": ("sarif", "sarif_bytes"),
    "junit": ("junit", "junit_bytes"),
    "code-quality": ("sarif", "code_quality_bytes"),
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
                ReportFormat(f"{SCHEDULE}{s.key}.csv", partial(_csv, s)) for s in review.schedules
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


def check_inputs_stay(out_dir: Path, inputs: Iterable[Path | None]) -> None:
    """Raises InputError where the reports would be written over what the review reads."""
    for path in inputs:
        if path is not None and is_report(path.name) and path.resolve().parent == out_dir.resolve():
            raise InputError(
                f"{path} would be written over by the reports; name another folder with --out."
            )


def take_away(out_dir: Path, but: Iterable[Path | None] = ()) -> None:
    """Take away the reports of an earlier review, except for some files. Nothing is taken from a
    folder in which no review of ours stands."""
    kept = {path.absolute() for path in but if path is not None}
    with suppress(OSError):
        if any(_is_ours(out_dir / name) for name in ALWAYS):
            for path in out_dir.absolute().iterdir():
                if is_report(path.name) and path.is_file() and path not in kept:
                    path.unlink()


def is_report(name: str) -> bool:
    """Whether a review may write a file of that name."""
    is_schedule = name.startswith(SCHEDULE) and name.endswith(".csv")
    return is_schedule or name in ALWAYS or name in FILES.values()


def _is_ours(path: Path) -> bool:
    """Whether a findings.json or report.html says at its head that a review wrote it."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return GENERATOR.search(file.read(HEAD)) is not None
