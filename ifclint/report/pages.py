"""Pages made from templates: everything from a model is escaped, a missing value is an error."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import jinja2
from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

_INDENT = re.compile(r"^[ \t]+", re.M)
_OPTIONS: dict[str, Any] = {
    "autoescape": True,
    "undefined": StrictUndefined,
    "trim_blocks": True,
    "lstrip_blocks": True,
    "optimized": False,  # a page is written once: finding constants takes longer than it saves
}


class _Unindented(FileSystemLoader):
    """Templates without the spaces that indent them: a page repeats them thousands of times."""

    def get_source(
        self, environment: Environment, template: str
    ) -> tuple[str, str, Callable[[], bool]]:
        source, name, is_current = super().get_source(environment, template)
        return _INDENT.sub("", source), name, is_current


class _Compiled(FileSystemBytecodeCache):
    """Templates compiled, kept beside them as Python keeps modules: one file each, of use only to
    the same text, options and version of jinja2; none where no such files can or may be written.
    """

    def __init__(self, folder: Path, options: str) -> None:
        super().__init__(str(folder / "__pycache__"), f"%s.{sys.implementation.cache_tag}.pyc")
        self._options = f"{jinja2.__version__} {options}"

    def get_cache_key(self, name: str, filename: str | None = None) -> str:
        return name

    def get_source_checksum(self, source: str) -> str:
        return super().get_source_checksum(self._options + source)

    def load_bytecode(self, bucket: Bucket) -> None:
        with suppress(Exception):  # a damaged file is as none
            super().load_bytecode(bucket)

    def dump_bytecode(self, bucket: Bucket) -> None:
        if not sys.dont_write_bytecode:
            with suppress(OSError):
                Path(self.directory).mkdir(exist_ok=True)
                super().dump_bytecode(bucket)


def environment(
    folder: Path, finalize: Callable[[Any], Any] | None = None, indented: bool = False
) -> Environment:
    """The templates of a folder; `finalize` is put to whatever a template writes. Where `indented`,
    lines keep the spaces before them."""
    return Environment(
        loader=FileSystemLoader(folder) if indented else _Unindented(folder),
        finalize=finalize,
        bytecode_cache=_Compiled(folder, f"{_OPTIONS} {finalize is None}"),
        **_OPTIONS,
    )
