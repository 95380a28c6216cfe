"""A job file is read: within bounds, checked key by key, each mistake one sentence that its writer
can put right."""

import re
import stat
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from ifclint.errors import InputError
from ifclint.job.model import Job
from ifclint.job.quantities import in_same_unit
from ifclint.job.sections import Sections, job_with

BOUNDS = {  # of a value, as pydantic calls them
    "less_than_equal": ("le", "write {} or less"),
    "less_than": ("lt", "write less than {}"),
    "greater_than_equal": ("ge", "write {} or more"),
    "greater_than": ("gt", "write more than {}"),
}
PLAIN = {
    "string_type": "write a text in quotes",
    "string_too_short": "write a text that is not empty",
    "too_short": "write one entry or more",
    "bool_type": "write true or false",
    "bool_parsing": "write true or false",
    "int_type": "write a whole number",
    "int_parsing": "write a whole number",
    "int_from_float": "write a whole number",
    "float_type": "write a number, without quotes",
    "float_parsing": "write a number, without quotes",
    "missing": "this key is missing",
}
MAX_BYTES = 1_000_000
MAX_DEPTH = 32  # sections and lists within one another; a vocabulary has 4
MAX_SENTENCE = 600  # characters
NO_SECTIONS: Sections = MappingProxyType({})
_KEY_PART = r"""(?:[\w-]++|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*"""
_DEEP_KEY = re.compile(rf"(?<![\w-])(?:{_KEY_PART}){{{MAX_DEPTH}}}")  # tomllib is slow on these


def load(path: Path, sections: Sections = NO_SECTIONS) -> tuple[Job, dict[str, Any]]:
    """The job and, as written, its keys and values. Raises InputError naming file and key.

    `sections` are those that rule packs add, by name. What the jurisdiction's file says holds where
    the job file says nothing else; amendments and variances of both hold. An adopted code that is
    a folder is found beside the file that names it.
    """
    model = job_with(sections)
    job, written = _checked(path, model)
    if job.jurisdiction is None:
        return job, written
    local, local_written = _of_the_city(path, job.jurisdiction, model)
    merged = _merged(local_written, written)
    joined = _validated(merged, model, path)
    joined = joined.beside_city(path.parent / job.jurisdiction, len(local.amendments))
    return _with_code(joined, job.adopted_code or local.adopted_code), merged


def _of_the_city(path: Path, named: str, model: type[Job]) -> tuple[Job, dict[str, Any]]:
    below = path.parent / named
    try:
        local, written = _checked(below, model)
        if local.jurisdiction is not None:
            raise _refused(below, "a jurisdiction names no other.")
    except InputError as error:
        raise _refused(path, f"jurisdiction: {error}") from None
    return local, written


def job_of(written: Mapping[str, Any], sections: Sections = NO_SECTIONS) -> Job:
    """The job that keys and values of a file make; InputError names the key that is wrong."""
    return _validated(written, job_with(sections), None)


def _checked(path: Path, model: type[Job]) -> tuple[Job, dict[str, Any]]:
    written = written_in(path)
    job = _validated(written, model, path)
    code = job.adopted_code
    if code is not None and ("/" in code or "\\" in code):
        job = _with_code(job, str((path.parent / code).absolute()))
    return job, written


def _with_code(job: Job, code: str | None) -> Job:
    return job.model_copy(update={"adopted_code": code})


def written_in(path: Path) -> dict[str, Any]:
    """The keys and values of a file, as they stand; InputError where it is no TOML."""
    return _parsed(path, _text(path))


def _text(path: Path) -> str:
    """The text of a file; InputError where it is none, or too large."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise InputError(f"Job file {path} is a folder; give the TOML file inside it.")
        if not stat.S_ISREG(mode):
            raise InputError(f"Job file {path} is no file but a device; give a TOML file.")
        with path.open("rb") as file:
            read = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise InputError(f"Job file {path} does not exist; check its path.") from None
    except OSError as error:
        raise _refused(path, f"it cannot be read: {error.strerror}.") from None
    except ValueError as error:  # a path that no system takes
        raise _refused(path, f"it cannot be read: {error}.") from None
    if len(read) > MAX_BYTES:
        raise _refused(path, f"it is larger than {MAX_BYTES // 1_000_000} MB; is it a job file?")
    try:
        return read.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(path, "it is not written as UTF-8 text; save it as UTF-8.") from None


def _parsed(path: Path, text: str) -> dict[str, Any]:
    deep = f"it is nested deeper than {MAX_DEPTH} levels; is it a job file?"
    if _DEEP_KEY.search(text):
        raise _refused(path, deep)
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"Job file {path} is not valid TOML: {error}.") from None
    except RecursionError:
        raise _refused(path, deep) from None
    except ValueError:  # of a number with thousands of digits
        raise _refused(path, "it holds a number that is too large.") from None
    for keys, value in _values(written):
        if len(keys) > MAX_DEPTH:
            raise _refused(path, deep)
        if isinstance(value, int) and not -(2**63) <= value < 2**63:
            raise _refused(path, f"{_dotted(keys)}: the number is too large.")
        if any("\0" in text for text in (*keys[-1:], value) if isinstance(text, str)):
            raise _refused(path, f"{_dotted(keys)}: a text holds no NUL character.")
    return written


def _values(written: dict[str, Any]) -> list[tuple[tuple[str, ...], Any]]:
    """Every value with the keys it stands under, but for what stands too deep."""
    found: list[tuple[tuple[str, ...], Any]] = []
    todo: list[tuple[tuple[str, ...], Any]] = [((), written)]
    while todo:
        keys, value = todo.pop()
        found.append((keys, value))
        if len(keys) <= MAX_DEPTH:
            todo += [((*keys, str(key)), inner) for key, inner in _inside(value)]
    return found


def _inside(value: Any) -> Iterable[tuple[Any, Any]]:
    if isinstance(value, dict):
        return value.items()
    return enumerate(value, 1) if isinstance(value, list) else ()


def _validated(written: Mapping[str, Any], model: type[Job], path: Path | None) -> Job:
    try:
        return model.model_validate(written)
    except ValidationError as error:
        raise _refused(path, first_mistake(error, model, written)) from None


def _refused(path: Path | None, said: str) -> InputError:
    """One line, whatever characters and however many the file holds."""
    whole = f"Job file {path}: {said}" if path else f"Job file: {said}"
    plain = "".join(c if c.isprintable() else " " for c in whole)
    half = MAX_SENTENCE // 2
    return InputError(plain if len(plain) <= 2 * half else f"{plain[:half]} ... {plain[-half:]}")


def _merged(under: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    """Two files as one: sections are merged, lists are joined, else the upper one wins."""
    made = dict(under)
    for key, value in over.items():
        below = made.get(key)
        if isinstance(value, dict) and isinstance(below, dict):
            made[key] = _merged(below, value)
        elif isinstance(value, list) and isinstance(below, list):
            made[key] = [*below, *value]
        else:
            made[key] = value
    return made


def first_mistake(
    error: ValidationError,
    model: type[BaseModel],
    written: Mapping[str, Any],
    of: str = "the job file",
) -> str:
    """The first mistake in a file as one sentence that names the key; of one that is missing, the
    unknown one beside it, which may be meant for it."""
    first, *more = error.errors()
    beside = (e for e in more if e["loc"][:-1] == first["loc"][:-1])
    unknown = (e for e in beside if e["type"] == "extra_forbidden")
    detail = next(unknown, first) if first["type"] == "missing" else first
    keys = detail["loc"]
    if detail["type"] == "extra_forbidden":
        return _unknown(keys, detail["input"], model, of)
    return f"{_dotted(_written(detail, written))}: {sentence(detail, written)}."


def _written(detail: ErrorDetails, within: Any) -> tuple[int | str, ...]:
    """The keys that are written, and one that is missing; pydantic adds of what type each was to
    be."""
    keys = detail["loc"]
    for depth, key in enumerate(keys):
        try:
            within = within[key]
        except (KeyError, IndexError, TypeError):
            return keys if detail["type"] == "missing" else keys[:depth]
    return keys


def _dotted(keys: tuple[int | str, ...]) -> str:
    """The keys as they are written, entries of lists counted from 1."""
    return ".".join(str(part + 1 if isinstance(part, int) else part) for part in keys)


def _unknown(keys: tuple[int | str, ...], value: object, model: type[BaseModel], of: str) -> str:
    """What to write instead: the most alike key of the same section, else all of them."""
    known = _keys_beside(keys, model)
    if len(keys) == 1 and isinstance(value, dict | list) and issubclass(model, Job):
        sections = {n for n, f in model.model_fields.items() if _model_in(f.annotation)}
        hint = _nearest(str(keys[0]), [name for name in known if name in sections])
        missing = f"If a rule pack reads [{keys[0]}], it is not installed."
        return f"[{keys[0]}] is no section of {of}; {hint} {missing}"
    return f"{_dotted(keys)} is not a key of {of}; {_nearest(str(keys[-1]), known)}"


def _nearest(word: str, known: list[str]) -> str:
    import difflib

    close = difflib.get_close_matches(word, known, n=1)
    return f'did you mean "{close[0]}"?' if close else f"known here: {', '.join(known)}."


def _keys_beside(keys: tuple[int | str, ...], model: type[BaseModel]) -> list[str]:
    """The keys that may stand where the last of these stands."""
    for part in keys[:-1]:
        if isinstance(part, str):
            field = model.model_fields.get(part)
            inner = _model_in(field.annotation) if field else None
            if inner is None:
                break
            model = inner
    return list(model.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model of a key: its type, or what its list holds."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inside = (_model_in(argument) for argument in get_args(annotation))
    return next((found for found in inside if found), None)


def sentence(detail: Mapping[str, Any], written: Mapping[str, Any]) -> str:
    """One mistake that pydantic found, without the key it is in."""
    kind, value = detail["type"], _value_at(written, detail["loc"])
    if kind in ("tuple_type", "list_type"):
        return _list([key for key in detail["loc"] if isinstance(key, str)], value)
    if kind in ("model_type", "dict_type"):
        return f"{_shown(value)} is no section: write its keys below it, or in braces"
    if kind in BOUNDS:
        key, wanted = BOUNDS[kind]
        limit = in_same_unit(detail["ctx"][key], value)
        return f"{_shown(value)} is out of bounds: {wanted.format(limit)}"
    if kind.startswith("date"):
        return "write a date, as 2027-01-31"
    if detail["loc"][-1:] == ("[key]",):
        return f'"{detail["loc"][-2]}" is no number: write such a key as {{"0.5" = …}}, in quotes'
    if kind in PLAIN:
        return PLAIN[kind]
    message: str = detail["msg"].removeprefix("Value error, ")
    return message[0].lower() + message[1:]


def _list(keys: list[str], value: object) -> str:
    if isinstance(value, Mapping):
        return f"write it in double brackets, [[{'.'.join(keys)}]], once for each"
    return f"write a list, in brackets: {keys[-1]} = [{_shown(value)}]"


def _value_at(written: Any, keys: tuple[int | str, ...]) -> object:
    """The value as it is written; what holds it, where it is not there."""
    for key in keys:
        try:
            written = written[key]
        except (KeyError, IndexError, TypeError):
            return written
    return written


def _shown(value: object) -> str:
    if isinstance(value, Mapping | list):
        return "a section" if isinstance(value, Mapping) else "a list"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)
