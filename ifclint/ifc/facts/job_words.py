"""The words a job file adds, checked before they are used: an entry that could mean nothing is
refused, so that no misspelling goes by in silence."""

from collections.abc import Iterator, Mapping
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.elements import Role, System
from ifclint.ifc.facts.classify import class_rows
from ifclint.ifc.facts.property_names import told_instead
from ifclint.ifc.facts.vocabulary import Vocabulary

WORDED = {"element": "role", "system": "system", "material": "material"}


def check_words(extra: Mapping[str, Any], known: Vocabulary) -> None:
    """Raises InputError, naming the entry, where one cannot be used. `known` are our own words."""
    for table, key in WORDED.items():
        entries = extra.get(table, [])
        if not isinstance(entries, list):
            raise InputError(f"[[reading.vocabulary.{table}]] in the job file is a list of tables.")
        for number, entry in enumerate(entries, 1):
            where = f"Entry {number} of [[reading.vocabulary.{table}]] in the job file"
            if not isinstance(entry, Mapping) or key not in entry:
                raise InputError(f"{where} needs a {key} and a list of words.")
            words = entry.get("words")
            if not isinstance(words, list) or not words or not all(map(_is_word, words)):
                raise InputError(f'{where} needs words, a list of names: words = ["…"].')
            _check_meaning(entry, table, where, known)


def _check_meaning(entry: Mapping[str, Any], table: str, where: str, known: Vocabulary) -> None:
    if table == "system":
        _one_of(str(entry["system"]), {str(system) for system in System}, where, "system")
    if table == "element":
        _one_of(str(entry["role"]), {str(role) for role in Role}, where, "role")
        if kind := str(entry.get("kind", "")):
            _one_of(kind, set(_kinds(Role(str(entry["role"])), known)), where, "kind")


def _is_word(text: object) -> bool:
    return isinstance(text, str) and any(letter.isalnum() for letter in text)


def _kinds(role: Role, known: Vocabulary) -> Iterator[str]:
    """The kinds that elements of a role can be."""
    for entries in known.elements.by_first_word.values():
        yield from (m.kind for _, _, m in entries if m.role is role and m.kind)
    yield from (row.kind for row in class_rows().values() if row.role is role and row.kind)


def _one_of(given: str, known: set[str], where: str, key: str) -> None:
    if given not in known:
        raise InputError(f'{where}: there is no {key} "{given}"; {told_instead(given, known)}')
