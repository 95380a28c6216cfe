"""The words of names: whole-word phrases that tell role and kind, system, or material.

The phrases are data (`vocabulary.toml`); a job file can add its own in the same shape, and names
of properties in that of `properties.toml`, under the key `property`.
"""

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from typing import Any, Generic, NamedTuple, TypeVar

from ifclint.errors import InputError
from ifclint.ifc.elements import PropertyFact, Role, System
from ifclint.ifc.facts.languages import further_languages
from ifclint.ifc.facts.property_names import PropertyNames
from ifclint.ifc.step.text import words

T = TypeVar("T")
KEYS = frozenset({"element", "system", "layer", "material", "distribution_system", "property"})
OF_FIXTURES = frozenset({"faucet", "mixing"})  # valves that come with a fixture
APART = re.compile(r"[,;(]|\s[-–]\s")  # before what else is said of the same thing
BESIDE = frozenset({"with", "w", "mit", "avec", "con", "met", "com"})  # what else is part of it
COATED = frozenset({  # of what a pipe is of on its surface
    "coated", "lined", "jacketed", "wrapped", "covered", "ummantelt", "umhullt", "beschichtet",
    "revetu", "enrobe", "recubierto", "revestido", "bekleed",
})  # fmt: skip
COATED_WITH = frozenset({*BESIDE, "in", "by", "de"})  # "revetu de polyethylene"
OF_PLUMBING = ("p",)  # the discipline, before the mark of a service: P-SAN
ADDED_TO_MARKS = frozenset({"pipe", "piping"})
BEGINS = 2
PARTS = {"common_endings": 1, "beginnings": BEGINS, "endings": 3}
SHORTEST_COMPOUND = 9  # letters of a word that is looked into
_NOUN_FIRST = re.compile(r"\s*([^\W\d_]+)\s*[-_,]\s*([^\W\d_]+)\b")
_SIZED = re.compile(r"dn[\s\d-]|[øØ∅⌀]", re.I)  # a number that follows is a size


class Meaning(NamedTuple):
    role: Role
    kind: str
    general: bool = False  # a word like "sink" or "bend": a later text may tell which
    sharpens: frozenset[str] = frozenset()  # kinds that go by a longer phrase of the same text


@dataclass
class Phrases(Generic[T]):
    """Phrases and what they mean. The longest phrase found wins, then the one listed first; where
    none is found, the longest part that a compound word ends or else begins with, or else ends
    with as words of many services do: "Regenfallleitung" is of rain."""

    by_first_word: dict[str, list[tuple[tuple[str, ...], int, T]]] = field(default_factory=dict)
    size: int = 0
    parts: list[tuple[str, int, T]] = field(default_factory=list)  # with their rank

    def add(self, phrase: str, meaning: T) -> None:
        key = words(phrase)
        if not key:
            return
        self.size += 1
        self.by_first_word.setdefault(key[0], []).append((key, self.size, meaning))

    def add_part(self, part: str, rank: int, meaning: T) -> None:
        """A part of compound words: German and Dutch write them as one."""
        self.parts.append(("".join(words(part)), rank, meaning))

    def phrases(self) -> Iterator[tuple[str, ...]]:
        """The words of every phrase."""
        return (key for entries in self.by_first_word.values() for key, _, _ in entries)

    def find(self, text: str, accept: Callable[[T], bool] | None = None) -> T | None:
        """What the best accepted phrase in the text means."""
        return self.located(words(text), accept)[0]

    def located(
        self, given: tuple[str, ...], accept: Callable[[T], bool] | None = None
    ) -> tuple[T | None, slice]:
        """What the best accepted phrase among some words means, and where it stands there."""
        found: T | None = None
        best, where = (0, 0), slice(0, 0)
        for i, word in enumerate(given):
            for key, order, meaning in self.by_first_word.get(word, ()):
                rank = (len(key), -order)
                if rank <= best or given[i : i + len(key)] != key:
                    continue
                if accept is None or accept(meaning):
                    found, best, where = meaning, rank, slice(i, i + len(key))
        if found is None and self.parts:
            return self._in_compounds(given, accept)
        return found, where

    def _in_compounds(
        self, given: tuple[str, ...], accept: Callable[[T], bool] | None
    ) -> tuple[T | None, slice]:
        found: T | None = None
        best, where = (0, 0), slice(0, 0)
        for i, word in enumerate(given):
            for part, kind, meaning in self.parts if len(word) >= SHORTEST_COMPOUND else ():
                rank = (kind, len(part))
                fits = word.startswith(part) if kind == BEGINS else word.endswith(part)
                if fits and rank > best and (accept is None or accept(meaning)):
                    found, best, where = meaning, rank, slice(i, i + 1)
        return found, where


@cache
def phrases_of(listed: tuple[str, ...]) -> Phrases[bool]:
    """Some phrases to be found in a text."""
    made: Phrases[bool] = Phrases()
    for phrase in listed:
        made.add(phrase, True)
    return made


def _is_number(part: tuple[str, ...]) -> bool:
    return len(part) == 1 and part[0].isdigit()


@dataclass
class Vocabulary:
    elements: Phrases[Meaning] = field(default_factory=Phrases)
    systems: Phrases[System] = field(default_factory=Phrases)
    layers: Phrases[System] = field(default_factory=Phrases)  # told by the name of a layer alone
    marks: dict[tuple[str, ...], System] = field(default_factory=dict)  # told by a whole name
    tags: dict[tuple[str, ...], Meaning] = field(default_factory=dict)  # the same, of elements
    hints: Phrases[System] = field(default_factory=Phrases)  # told by a series of pipe alone
    short: dict[str, str] = field(default_factory=dict)  # words as they are shortened, spelled out
    any_drain: set[tuple[str, ...]] = field(default_factory=set)  # phrases of drains of any water
    materials: Phrases[str] = field(default_factory=Phrases)
    enumerated_systems: dict[str, System] = field(default_factory=dict)
    properties: PropertyNames = field(default_factory=PropertyNames)

    def material(self, text: str) -> str | None:
        """The material told by a text; of pipe coated or lined with another, that of the pipe."""
        given = words(text)
        at = next((i for i, word in enumerate(given) if word in COATED), None)
        if at is None:
            return self.materials.find(text)
        with_what = not COATED_WITH.isdisjoint(given[at + 1 : at + 2])
        rest = (
            given[:at] + given[at + 3 :] if with_what else given[: max(at - 1, 0)] + given[at + 1 :]
        )
        return self.materials.located(rest)[0] or self.materials.find(text)

    def without_pattern(self, text: str) -> str:
        """The name of a fitting without the words that tell its pattern: a sanitary tee may stand
        in a rain leader."""
        given = words(text)
        _, where = self.elements.located(given, lambda m: m.role is Role.FITTING)
        return " ".join([*given[: where.start], *given[where.stop :]])

    def mark(self, text: str) -> System | None:
        """What a text means that is the mark of a service and no more: "V", "P-SAN-1"."""
        given = words(text)
        if given and (given[-1].isdigit() or given[-1] in ADDED_TO_MARKS):
            given = given[:-1]  # a serial number; two are a size, as in "G 1/2"
        if given[:1] == OF_PLUMBING:
            return self._whole_mark(given) or self._whole_mark(given[1:])
        return self._whole_mark(given)

    def _whole_mark(self, given: tuple[str, ...]) -> System | None:
        found, where = self.layers.located(given)
        return self.marks.get(given) or (found if where == slice(0, len(given)) else None)

    def is_any_drain(self, text: str) -> bool:
        """Whether a text says that something drains, and not what: sewage or rain."""
        given = words(text)
        _, where = self.systems.located(given)
        return given[where] in self.any_drain

    def fold(self, text: str) -> str:
        """A text without its serial numbers, so that names alike but for them are one.

        A serial number ends the text or stands before a comma or the like, is no size and in no
        phrase of the vocabulary: "branch 3 in, level 12" is "branch 3 in, level #".
        """
        sized = _SIZED.search(text) if not text.isascii() or "dn" in text.lower() else None
        return text if sized else self._serial.sub(" #", text)

    @cached_property
    def _serial(self) -> re.Pattern[str]:
        spoken_of = (self.elements, self.systems, self.materials)
        known = {w for p in spoken_of for key in p.phrases() for w in key if w.isdigit()}
        spoken = "|".join(sorted(known)) or "x"
        return re.compile(rf"[\s:_#(-](?=\d)(?!(?:{spoken})(?!\d))\d+(?=$|[,;:)\]](?!\d))")

    def element(
        self, texts: Iterable[str], accept: Callable[[Meaning], bool] | None = None
    ) -> tuple[Meaning, int] | None:
        """The meaning of the first text that tells one, and which text that was.

        A general meaning gives way to a particular one of the same role in a later text.
        """
        first: tuple[Meaning, int] | None = None
        for i, text in enumerate(texts):
            found = self._found(text, accept) if text else None
            if found is None and (spelled := self._spelled(text)):
                found = self._found(spelled, accept)
            if found is None:
                continue
            found = self._sharpened(found, text, accept)
            if not found.general and (first is None or found.role is first[0].role):
                return found, i
            first = first or (found, i)
        return first

    def _spelled(self, text: str) -> str:
        """A text with its shortened words written out, "FLR DRN"; "" where it has none."""
        given = words(text)
        if self.short.keys().isdisjoint(given):
            return ""
        return " ".join(self.short.get(word, word) for word in given)

    def _found(self, text: str, accept: Callable[[Meaning], bool] | None) -> Meaning | None:
        """What a text means; a noun before its qualifier, as families are named ("Sink-Mop",
        "Valve, Ball"), is turned where that tells more."""
        given = words(text)
        found, where = self.elements.located(given, accept)
        beside = next((n for n, word in enumerate(given) if word in BESIDE), None)
        if beside and where.start > beside:  # "wye with cleanout" is a wye, "BT-1 w/ shower" a tub
            head = self.elements.located(given[:beside], accept)[0]
            tag = None if head is not None else self._tagged(" ".join(given[:beside]))
            found = head or (tag if tag is not None and (not accept or accept(tag)) else found)
        if found is not None and found.kind in OF_FIXTURES:  # "lavatory, faucet of brass"
            head = self.elements.find(APART.split(text)[0], accept)
            found = head if head is not None and head.role is Role.FIXTURE else found
        tagged = None if found is not None else self._tagged(text)
        if tagged is not None and (accept is None or accept(tagged)):
            return tagged
        turned = _NOUN_FIRST.match(text)
        if turned is None or (found is not None and found.kind and not found.general):
            return found
        told = self.elements.find(f"{turned[2]} {turned[1]}{text[turned.end() :]}", accept)
        is_more = told is not None and bool(told.kind) and not told.general
        same = found is None or (told is not None and told.role is found.role)
        return told if is_more and same else found

    def _tagged(self, text: str) -> Meaning | None:
        """What a name means that is the tag of a schedule and no more: "KS-1", "FD-2A"; also where
        family and type are called so, "UR-1:UR-1:100084"."""
        parts = {part for part in map(words, text.split(":")) if not _is_number(part)}
        given = parts.pop() if len(parts) == 1 else ()
        is_numbered = len(given) == 2 and given[1][:1].isdigit()
        return self.tags.get(given[:1] if is_numbered else given)

    def _sharpened(
        self, found: Meaning, text: str, accept: Callable[[Meaning], bool] | None
    ) -> Meaning:
        """What a word beside it makes of a kind: a "long sweep 1/4 bend" is a long sweep."""

        def sharper(meaning: Meaning) -> bool:
            return found.kind in meaning.sharpens and (accept is None or accept(meaning))

        return self.elements.find(text, sharper) or found


def vocabulary(extra: Mapping[str, Any], brought: Sequence[PropertyFact] = ()) -> Vocabulary:
    """The project's vocabulary, after the extra one where that is given, with the facts that rule
    packs bring. What is given is shared, and not to be changed."""
    own = own_vocabulary()
    if not extra:
        return replace(own, properties=PropertyNames(brought=brought)) if brought else own
    _refuse_unknown(extra)
    built = Vocabulary(properties=PropertyNames(_table(extra.get("property", {})), brought))
    _add(built, extra, "the vocabulary of the job file")
    _add_own(built)
    return built


def kinds_of(role: Role) -> frozenset[str]:
    """The kinds of a role that words tell."""
    entries = _own()["element"]
    return frozenset(entry["kind"] for entry in entries if entry["role"] == role.value)


@lru_cache(maxsize=1)
def own_vocabulary() -> Vocabulary:
    """The project's vocabulary alone."""
    built = Vocabulary()
    _add_own(built)
    return built


@lru_cache(maxsize=1)
def _own() -> dict[str, Any]:
    text = files("ifclint.ifc.facts").joinpath("vocabulary.toml").read_text("utf-8")
    return tomllib.loads(text)


def _add_own(built: Vocabulary) -> None:
    _add(built, _own(), "vocabulary.toml")
    _add(built, further_languages(), "languages.csv")


def _refuse_unknown(extra: Mapping[str, Any]) -> None:
    unknown = sorted(set(extra) - KEYS)
    if unknown:
        raise InputError(
            f"The vocabulary of the job file has the key {unknown[0]}, but its keys are: "
            f"{', '.join(sorted(KEYS))}."
        )


def _table(extra: object) -> Mapping[str, Any]:
    if not isinstance(extra, Mapping):
        raise InputError(
            "The property names of the job file are a table by fact: "
            '[reading.vocabulary.property.size] from = ["Set.Property"].'
        )
    return extra


def _add(built: Vocabulary, data: Mapping[str, Any], where: str) -> None:
    try:
        for entry in data.get("element", ()):
            kind = str(entry.get("kind", ""))
            general, sharpens = bool(entry.get("general", False)), entry.get("sharpens", ())
            meaning = Meaning(Role(entry["role"]), kind, general, frozenset(sharpens))
            _add_all(built.elements, entry, meaning)
            for text in entry.get("marks", ()):
                built.tags.setdefault(words(text), meaning)
        for entry in data.get("system", ()):
            _add_all(built.systems, entry, System(entry["system"]))
        for entry in data.get("layer", ()):
            _add_all(built.layers, entry, System(entry["system"]))
            for text in entry.get("marks", ()):
                built.marks.setdefault(words(text), System(entry["system"]))
        for entry in data.get("hint", ()):
            _add_all(built.hints, entry, System(entry["system"]))
        for entry in data.get("material", ()):
            _add_all(built.materials, entry, str(entry["material"]))
        built.short |= data.get("abbreviations", {})
        built.any_drain |= {words(text) for text in data.get("any_drain", {}).get("words", ())}
        for literal, system in data.get("distribution_system", {}).items():
            built.enumerated_systems.setdefault(literal, System(system))
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise InputError(
            f"An entry of {where} cannot be used ({error}): each needs a list of words and a known "
            f"role, system or material, as in ifclint's own vocabulary file."
        ) from error


def _add_all(phrases: Phrases[T], entry: Mapping[str, Any], meaning: T) -> None:
    for text in entry["words"]:
        phrases.add(text, meaning)
    for key, rank in PARTS.items():
        for part in entry.get(key, ()):
            phrases.add_part(part, rank, meaning)
