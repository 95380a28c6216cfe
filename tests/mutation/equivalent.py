"""Changes that make no difference to what the code does, so that no test can notice them.

`equivalent.toml` lists them by text: the function, the code as it is and as it becomes, and the
reason why that is the same. An entry must fit exactly one place, or the list is stale and refused.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path

from tests.mutation.places import Place


class StaleList(Exception):
    """The list does not fit the code; the message says where."""


@dataclass(frozen=True)
class Equivalent:
    """One entry of the list."""

    function: str
    text: str
    becomes: str
    reason: str

    def fits(self, place: Place) -> bool:
        mine = (self.function, self.text, self.becomes)
        return mine == (place.function, place.text, place.becomes)


def read_list(path: Path) -> list[Equivalent]:
    """The entries of the list; none where there is no list."""
    if not path.exists():
        return []
    keys = {field.name for field in fields(Equivalent)}
    try:
        listed = tomllib.loads(path.read_text()).get("equivalent", [])
    except tomllib.TOMLDecodeError as error:
        raise StaleList(f"{path.name}: {error}") from error
    entries = []
    for number, entry in enumerate(listed, 1):
        if set(entry) != keys or not all(isinstance(v, str) and v for v in entry.values()):
            wanted = ", ".join(sorted(keys))
            raise StaleList(f"{path.name}, entry {number}: needs {wanted}, each a text")
        entries.append(Equivalent(**entry))
    return entries


def accounted_for(places: list[Place], equivalents: list[Equivalent]) -> set[Place]:
    """The places that the list tells of. Raises `StaleList`."""
    accepted: set[Place] = set()
    for entry in equivalents:
        fitting = [place for place in places if entry.fits(place)]
        if len(fitting) != 1:
            raise StaleList(
                f"{entry.function}: {entry.text} -> {entry.becomes} fits {len(fitting)} places"
            )
        accepted.update(fitting)
    return accepted
