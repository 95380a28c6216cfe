"""Pages made from templates: everything from a model is escaped, a missing value is an error."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

_INDENT = re.compile(r"^[ \t]+", re.M)


class _Unindented(FileSystemLoader):
    """Templates without the spaces that indent them: a page repeats them thousands of times."""

    def get_source(
        self, environment: Environment, template: str
    ) -> tuple[str, str, Callable[[], bool]]:
        source, name, is_current = super().get_source(environment, template)
        return _INDENT.sub("", source), name, is_current


def environment(folder: Path, finalize: Callable[[Any], Any] | None = None) -> Environment:
    """The templates of a folder; `finalize` is put to whatever a template writes."""
    return Environment(
        loader=_Unindented(folder),
        autoescape=True,
        finalize=finalize,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        optimized=False,  # a page is written once: looking for constants takes longer than it saves
    )
