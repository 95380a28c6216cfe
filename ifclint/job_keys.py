"""Every key of the job file, its own and those of rule packs, as a page (Markdown).

What a key means stands beside it in the code of its section, as a comment or as its description.
"""

import inspect
import re
from collections.abc import Iterator
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from ifclint.job import Job, Section, job_with
from ifclint.packs import load_packs

KINDS = {
    Any: "a value",
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    str: "a text",
}
_BESIDE = r"^    {}: .*?#\s*(.+?)\s*$"  # a field, and what is said of it on its line


def job_page() -> str:
    """A table of keys for each section."""
    job = job_with(load_packs().sections)
    lines = [
        "# Keys of the job file",
        "",
        "Written from the sections themselves. All keys may be left out; quantities are texts with "
        'their unit, as `"65 psi"`; GlobalIds are those of the model. A key that there is not, and '
        "a unit that does not fit, is refused by name.",
        "",
    ]
    lines += _section("", job)
    return "\n".join(lines)


def _section(name: str, model: type[Section]) -> Iterator[str]:
    """One section as a table, then those that stand in it."""
    inner: list[tuple[str, type[Section]]] = []
    rows = []
    for key, field in model.model_fields.items():
        below = _section_in(field.annotation)
        if below is None:
            rows.append(f"| `{key}` | {_kind(field)} | {_meaning(model, key, field)} |")
            continue
        path = f"{name.strip('[]')}.{key}" if name else key
        inner.append((path if below[1] == "one" else f"[{path}]", below[0]))
    if rows:
        yield from ([f"## `[{name}]`", ""] if name else ["## Before all sections", ""])
        if model.__doc__ and not issubclass(model, Job):
            yield from (" ".join(inspect.cleandoc(model.__doc__).split()), "")
        yield from ("| key | value | meaning |", "|---|---|---|", *rows, "")
    for path, section in inner:
        yield from _section(path, section)


def _section_in(annotation: Any) -> tuple[type[Section], str] | None:
    """The section that a key holds, and whether it holds one or many."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation, "one"
    for part in get_args(annotation):
        if (found := _section_in(part)) is not None:
            return found[0], "many" if get_origin(annotation) is tuple else found[1]
    return None


def _kind(field: FieldInfo) -> str:
    for said in field.metadata:
        if (example := _example(said)) is not None:
            return f'`"{example}"`'
    return _words(field.annotation)


def _example(said: object) -> str | None:
    """The quantity that a validator names as an example."""
    if not isinstance(said, BeforeValidator):
        return None
    held = [cell.cell_contents for cell in said.func.__closure__ or ()]
    texts = [text for text in held if isinstance(text, str) and re.match(r"-?[\d.]+ ", text)]
    return texts[0] if texts else None


def _words(kind: Any) -> str:
    """A type in words; of a choice, what can be chosen."""
    origin, parts = get_origin(kind), [p for p in get_args(kind) if p is not type(None)]
    if origin is Literal:
        return ", ".join(f"`{part}`" for part in parts)
    if origin in (tuple, list):
        return "a list: " + _words(parts[0])
    if origin is dict:
        return f"a table: {_words(parts[0])} = {_words(parts[1])}"
    if origin is not None and hasattr(kind, "__metadata__"):
        examples = [e for said in kind.__metadata__ if (e := _example(said)) is not None]
        return f'`"{examples[0]}"`' if examples else _words(parts[0])
    if origin in (Union, UnionType):
        return " or ".join(dict.fromkeys(map(_words, parts)))
    return KINDS.get(kind, getattr(kind, "__name__", "a value").replace("date", "a date"))


def _meaning(model: type[Section], key: str, field: FieldInfo) -> str:
    if field.description:
        return field.description
    for owner in model.__mro__:
        if key in inspect.get_annotations(owner):
            try:
                text = inspect.getsource(owner)
            except (OSError, TypeError):
                return ""
            found = re.search(_BESIDE.format(re.escape(key)), text, re.M)
            return found.group(1).replace("|", "\\|") if found else ""
    return ""
