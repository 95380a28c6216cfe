"""Pages made from templates: everything from a model is escaped, a missing value is an error."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined


def environment(folder: Path, finalize: Callable[[Any], Any] | None = None) -> Environment:
    """The templates of a folder; `finalize` is put to whatever a template writes."""
    return Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        finalize=finalize,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
