"""What a reviewer and other programs get: findings.json, report.html and the short summary."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from ifclint.errors import InputError
from ifclint.findings import Review
from ifclint.report.as_json import json_bytes
from ifclint.report.text import summary

__all__ = ["check_folder", "summary", "write_reports"]


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


def write_reports(review: Review, out_dir: Path) -> tuple[Path, ...]:
    """Write findings.json and report.html to a folder, made if need be, and say where they are.

    Each file is whole or not there. A folder that cannot be written raises InputError.
    """
    from ifclint.report.html import html_bytes  # jinja2 takes a while to start

    contents = {"findings.json": json_bytes(review), "report.html": html_bytes(review)}
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        return tuple(_replace(out_dir / name, data) for name, data in contents.items())
    except OSError as error:
        raise _cannot_write(out_dir, error) from error


def _replace(path: Path, data: bytes) -> Path:
    """Write beside the file under another name, then put it in place in one step."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, path)
    except BaseException:
        os.unlink(name)
        raise
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
