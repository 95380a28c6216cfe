"""What a reviewer and other programs get: findings.json, report.html and the short summary."""

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ifclint.errors import RAISED, InputError
from ifclint.findings import Failure, Review
from ifclint.gc_pause import collector_paused
from ifclint.guard import Guard
from ifclint.packs import Packs, ReportFormat, explain
from ifclint.report import formats
from ifclint.report.exchange import is_report
from ifclint.report.text import summary

OURS = "reports"  # the pack that brings these two reports
LONGEST = 120  # bytes of a file's name; most systems take 255

__all__ = ["check_folder", "render", "summary", "write_files", "write_reports"]


def check_folder(out_dir: Path) -> None:
    """Make the folder and see that it can be written, before long work. Raises InputError."""
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out_dir):
            pass
    except OSError as error:
        raise _cannot_write(out_dir, error) from error


def _cannot_write(out_dir: Path, error: OSError) -> InputError:
    reason = error.strerror or str(error)
    return InputError(
        f"The reports cannot be written to {out_dir} ({reason}); "
        "name a folder that can be written with --out."
    )


def render(
    review: Review, packs: Packs, also: Sequence[ReportFormat] = (), for_crew: str = ""
) -> tuple[Review, dict[str, bytes]]:
    """Every report that a pack brings, by the name of its file, and the review with the failures
    of those that could not be made. Ours come last, so that they tell them, and are made even
    where an installation does not know them by their entry point."""
    ours = formats.formats(for_crew)
    others = [pack for pack in packs.loaded if pack.name != OURS]
    brought = [(pack.name, form, pack.guard) for pack in others for form in pack.formats]
    brought += [(OURS, form, Guard()) for form in also]
    contents: dict[str, bytes] = {}
    for name, form, guard in brought:
        try:
            if not _is_name(form.filename) or _is_taken(form.filename, name, contents):
                raise ValueError(f"{form.filename!r} is no file name of its own")
            with guard():
                contents[form.filename] = _bytes(form.render(review))
        except RAISED as error:
            failure = Failure(name, form.filename, explain(error))
            review = replace(review, failures=(*review.failures, failure))
        if printed := guard.printed():
            failure = Failure(name, form.filename, printed)
            review = replace(review, failures=(*review.failures, failure))
    contents.update({form.filename: form.render(review) for form in ours})
    return review, dict(reversed(contents.items()))


def _is_taken(filename: str, pack: str, contents: Mapping[str, bytes]) -> bool:
    """Whether the file is written already, or is one of those that only we write."""
    return filename in contents or (pack != OURS and is_report(filename))


def _is_name(name: object) -> bool:
    """Whether a file may have the name, in whatever folder."""
    if not isinstance(name, str) or not name.isprintable():
        return False
    return 0 < len(name.encode()) <= LONGEST and Path(name).name == name


def _bytes(content: object) -> bytes:
    if not isinstance(content, bytes):
        raise TypeError(f"a report is bytes, not {type(content).__name__}")
    return content


def write_reports(
    review: Review,
    out_dir: Path,
    packs: Packs | None = None,
    also: Callable[[Review], Sequence[ReportFormat]] | None = None,
    for_crew: str = "",
) -> tuple[Review, tuple[Path, ...]]:
    """Write the reports to a folder, made if need be; the review as reported, and where they are.

    `also` makes what is to be written beside what always is; `for_crew` is what stands on the
    field sheet, as a part of the page.

    All appear together or not at all; one of an earlier run that could not be made now is taken
    away.
    A folder that cannot be written raises InputError.
    """
    with collector_paused():
        reported, contents = render(
            review, packs or Packs(), also(review) if also else (), for_crew
        )
    failed = {failure.rule for failure in reported.failures} - set(contents)
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        written = _put(out_dir, contents)
        for pack in (packs or Packs()).loaded:
            for form in pack.formats:
                if form.filename in failed and _is_name(form.filename):
                    (out_dir / form.filename).unlink(missing_ok=True)
        return reported, written
    except OSError as error:
        raise _cannot_write(out_dir, error) from error


def write_files(out_dir: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write files to a folder, made if need be, all or none; InputError where that cannot be."""
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        return _put(out_dir, contents)
    except OSError as error:
        raise _cannot_write(out_dir, error) from error


def _put(out_dir: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write all files aside, then put them in place together: all of them, or the old ones stay.

    What goes wrong between (a file that cannot be replaced, a signal) puts back what was there.
    """
    places = tuple(out_dir / name for name in contents)
    with tempfile.TemporaryDirectory(dir=out_dir, prefix=".ifclint-") as aside:
        made, kept = Path(aside, "new"), Path(aside, "old")
        made.mkdir()
        kept.mkdir()
        for name, data in contents.items():
            (made / name).write_bytes(data)
        done: list[Path] = []
        try:
            for place in places:
                if place.is_file():
                    shutil.copy2(place, kept / place.name)
                done.append(place)
                os.replace(made / place.name, place)
        except BaseException:
            for place in done:
                if (kept / place.name).exists():
                    os.replace(kept / place.name, place)
                elif not place.is_dir():
                    place.unlink(missing_ok=True)
            raise
    return places
