"""What is wrong with a value of the job file, as its writer would put it right."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ifclint.job.quantities import in_same_unit

BOUNDS = {  # of a value, as pydantic calls them
    "less_than_equal": ("le", "write {} or less"),
    "less_than": ("lt", "write less than {}"),
    "greater_than_equal": ("ge", "write {} or more"),
    "greater_than": ("gt", "write more than {}"),
}
PLAIN = {
    "string_type": "write a text in quotes",
    "string_too_short": "write a text that is not empty",
    "bool_type": "write true or false",
    "bool_parsing": "write true or false",
    "int_type": "write a whole number",
    "int_parsing": "write a whole number",
    "int_from_float": "write a whole number",
    "float_type": "write a number, without quotes",
    "float_parsing": "write a number, without quotes",
    "missing": "this key is missing",
}


def sentence(detail: Mapping[str, Any], written: Mapping[str, Any]) -> str:
    """One mistake that pydantic found, without the key it is in."""
    kind, value = detail["type"], _value_at(written, detail["loc"])
    if kind == "tuple_type":
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
