"""Pages made from templates: everything from a model is escaped, a missing value is an error, and
nothing but their own style and scripts runs."""

import base64
import hashlib
import re
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import jinja2
from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from ifclint.findings import Review
from ifclint.report.arrange import NAME_LIMIT, plain

MODELS_AT_FOOT = 3  # of a printed page
TEMPLATES = Path(__file__).with_name("templates")
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


def source(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")


def running_foot(review: Review) -> str:
    """A rule of the style sheet: what every printed page says of the model and the code."""
    lines = [
        f"{model.name}{f' of {model.date[:10]}' if model.date else ''}, {model.sha256[:12]}"
        for model in review.models[:MODELS_AT_FOOT]
    ]
    if len(review.models) > MODELS_AT_FOOT:
        lines.append(f"and {len(review.models) - MODELS_AT_FOOT} more models")
    written = "\\a ".join(_in_style(line) for line in (*lines, review.adopted_code.title))
    foot = f'content: "{written}"; font: 7pt/1.25 sans-serif; white-space: pre;'
    return f"@media print {{ @page {{ @bottom-left {{ {foot} }} }} }}\n"


def _in_style(text: str) -> str:
    """Text as a string of a style sheet has it."""
    shown = plain(text, NAME_LIMIT)
    return "".join(c if c.isalnum() and c.isascii() else f"\\{ord(c):x} " for c in shown)


def policy(style: str, scripts: Sequence[str]) -> str:
    """A content security policy that lets this page's own style and scripts run, nothing else."""
    allowed = " ".join(f"'{_hash(script)}'" for script in scripts)
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src {allowed}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()
