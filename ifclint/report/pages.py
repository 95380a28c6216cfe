"""Pages made from templates: everything from a model is escaped, a missing value is an error."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from ifclint import __version__

_INDENT = re.compile(r"^[ \t]+", re.M)


class _Unindented(FileSystemLoader):
    """Templates without the spaces that indent them: a page repeats them thousands of times."""

    def get_source(
        self, environment: Environment, template: str
    ) -> tuple[str, str, Callable[[], bool]]:
        source, name, is_current = super().get_source(environment, template)
        return _INDENT.sub("", source), name, is_current


class _Compiled(FileSystemBytecodeCache):
    """Templates kept compiled beside them, as Python keeps its modules, where it may."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        if not sys.dont_write_bytecode:
            with suppress(OSError):
                Path(self.directory).mkdir(exist_ok=True)
                super().dump_bytecode(bucket)

    def get_source_checksum(self, source: str) -> str:
        return super().get_source_checksum(f"{__version__} {source}")


def environment(folder: Path, finalize: Callable[[Any], Any] | None = None) -> Environment:
    """The templates of a folder; `finalize` is put to whatever a template writes."""
    return Environment(
        loader=_Unindented(folder),
        autoescape=True,
        finalize=finalize,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        bytecode_cache=_Compiled(str(folder / "__pycache__")),
    )
