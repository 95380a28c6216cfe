"""Under which names facts are kept in property sets: `properties.toml`, and a job file's own."""

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.elements import Basis, PropertyFact
from ifclint.ifc.step.spf import string
from ifclint.ifc.step.text import clean, words

MOST_NAMES = 10_000  # of one fact; names of a job file rank before ours
IN_SHARES = re.compile(
    r"(?:in|en)?(?:percent|prozent|pourcent(?:age)?|porcentaje|procent|promille|permille)$"
)
NOT_READ = Basis("")  # yet
IN_UNIT = re.compile(r"\s*[(\[]\s*(mm|cm|dm|m|in|inch|ft|duim|zoll)\s*[)\]]\s*$", re.I)
IN_POWER = re.compile(  # "Gas Input (Btu/h)", "Input MBH"
    r"(?:[\s_,]*[(\[]\s*|[\s_,]+)(k?btu/hr?|k?btuh|mbh|kw|w)\s*[)\]]?\s*$", re.I
)
AS_RUN = re.compile(r"\s*[(\[]?\s*1\s*[:/]\s*[?nx]?\s*[)\]]?\s*$", re.I)  # "Afschot 1:?"


@dataclass(frozen=True, slots=True)
class WantedFact:
    fact: str
    reads: str
    rank: int
    zero: bool = False  # 0 is a value; elsewhere it stands for "not filled in"
    basis: Basis = NOT_READ


class PropertyNames:
    """Under which names facts are kept: our own (`properties.toml`), after those of a job file."""

    def __init__(
        self, extra: Mapping[str, Any] | None = None, brought: Sequence[PropertyFact] = ()
    ) -> None:
        """`extra` has the shape of `properties.toml`; `reads` is that of our own entry. `brought`
        are the facts of rule packs.

        Raises InputError for a fact that there is not, or an entry without a list of names;
        ValueError for a brought one that is there already or is read in no known way.
        """
        own = dict(_own())
        for more in brought:
            own[more.name] = _entry(more, own)
        self._in_set: dict[tuple[str, str], WantedFact] = {}
        self._anywhere: dict[str, WantedFact] = {}
        self._read: dict[tuple[bytes, bytes], WantedFact | None] = {}
        for fact, entry in (extra or {}).items():
            self._add(fact, _checked(fact, entry, own), -MOST_NAMES)
        for fact, entry in own.items():
            self._add(fact, entry, 0)

    def _add(self, fact: str, entry: Mapping[str, Any], first: int) -> None:
        for rank, name in enumerate(entry["from"], first):
            wanted = WantedFact(fact, entry["reads"], rank, entry.get("zero", False))
            owner, _, prop = name.rpartition(".")
            if owner:
                self._in_set.setdefault((owner.casefold(), plain_name(prop)), wanted)
            else:
                self._anywhere.setdefault(plain_name(prop), wanted)

    def wanted(self, set_name: bytes, name: bytes) -> WantedFact | None:
        """Which fact a property of a set tells, if any; the names as they are written."""
        key = (set_name, name)
        if key not in self._read:
            set_text, name_text = string(b"'" + set_name + b"'"), string(b"'" + name + b"'")
            unitless = IN_POWER.sub("", IN_UNIT.sub("", name_text))
            plain = IN_SHARES.sub("", plain_name(AS_RUN.sub("", unitless)))
            want = self._in_set.get((set_text.casefold(), plain)) or self._anywhere.get(plain)
            basis = Basis(f"{clean(set_text)}.{clean(name_text)}")
            self._read[key] = want and replace(want, basis=basis)
        return self._read[key]


def is_ours(fact: str) -> bool:
    """Whether a fact is one of properties.toml, and not of a rule pack."""
    return fact in _own()


@lru_cache(maxsize=1)
def _own() -> dict[str, Any]:
    text = files("ifclint.ifc.facts").joinpath("properties.toml").read_text("utf-8")
    return tomllib.loads(text)


def _entry(fact: PropertyFact, known: Mapping[str, Any]) -> dict[str, Any]:
    """A fact of a rule pack in the shape of `properties.toml`."""
    if fact.name in known:
        raise ValueError(f"the reader has a fact {fact.name} already")
    if fact.reads not in {entry["reads"] for entry in _own().values()}:
        raise ValueError(f"the fact {fact.name} is read as {fact.reads!r}, which is none")
    return {"reads": fact.reads, "from": list(fact.names), "zero": fact.zero}


def _checked(fact: str, entry: object, own: Mapping[str, Any]) -> Mapping[str, Any]:
    """An entry of the job file, completed by the known one of that fact."""
    if fact not in own:
        said = f'There is no [reading.vocabulary.property.{fact}]: no fact is called "{fact}"'
        raise InputError(f"{said}; {told_instead(fact, own)}")
    names = entry.get("from") if isinstance(entry, Mapping) else None
    if not isinstance(names, list) or not all(isinstance(n, str) and n.strip() for n in names):
        raise InputError(
            f"The properties of {fact} in the job file need a list of names: "
            f'[reading.vocabulary.property.{fact}] from = ["Set.Property"].'
        )
    return {**own[fact], "from": names}


@lru_cache(maxsize=65536)
def plain_name(name: str) -> str:
    """A name as it is compared: without case, accents, spaces and underscores."""
    return "".join(
        words(name.replace("_", " ").replace("%", " percent ").replace("‰", " promille "))
    )


def told_instead(given: str, known: Iterable[str]) -> str:
    """What may be meant by a word that is none of those known."""
    listed = sorted(known)
    if near := get_close_matches(given, listed, 3):
        quoted = ", ".join(f'"{word}"' for word in near)
        return f"did you mean {quoted}?"
    return f"known are: {', '.join(listed)}."
