"""The rules and the single values they read: none is missing from an edition, none is unread."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import ifclint
from ifclint.codes import AdoptedCode, load
from ifclint.codes.editions import editions
from ifclint.packs import Rule, load_packs

FOLDERS = [Path(folder) for folder in ifclint.__path__]
OURS = [edition for edition in editions() if edition.partition("-")[0] in ("upc", "ipc", "irc")]


def _keys(edition: str) -> set[str]:
    return {row.text("key") for row in load(edition).table("limits").rows}


FIXED = 10  # letters of a key that a module writes out, at the least


ALL = set().union(*map(_keys, OURS))


def _texts(tree: ast.AST) -> Iterator[str]:
    """Every text of a module as a pattern; what is put into one in braces may be any word."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield re.escape(node.value)
        elif isinstance(node, ast.JoinedStr):
            parts = (
                re.escape(str(part.value)) if isinstance(part, ast.Constant) else r"\w+"
                for part in node.values
            )
            yield "".join(parts)


@cache
def keys_read() -> frozenset[str]:
    """The keys of limits that our modules name."""
    found: set[str] = set()
    for path in (p for folder in FOLDERS for p in folder.rglob("*.py")):
        for text in set(_texts(ast.parse(path.read_text(encoding="utf-8")))):
            if len(text.replace(r"\w+", "")) >= FIXED:
                found |= {key for key in ALL if re.fullmatch(text, key)}
    return frozenset(found)


@pytest.mark.parametrize("edition", OURS)
def test_every_limit_that_is_read_stands_in_every_edition_of_its_family(edition: str) -> None:
    family = load(edition).family
    of_family = set().union(*(_keys(e) for e in OURS if load(e).family == family))
    missing = (of_family & keys_read()) - _keys(edition)
    assert not missing, f"{edition} has no row, filled or blank, for {', '.join(sorted(missing))}"


def test_a_limit_that_does_not_apply_is_blank_and_says_why() -> None:
    for code in map(load, OURS):
        for row in code.table("limits").rows:
            if row.number_or_none("value") is None:
                assert row.note.startswith("Blank: "), row.values
                assert code.limit_or_none(row.text("key")) is None
                with pytest.raises(KeyError):
                    code.limit(row.text("key"))


def _our_rules() -> list[Rule]:
    return [rule for pack in load_packs().loaded for rule in pack.rules]


@pytest.mark.parametrize("rule", _our_rules(), ids=lambda rule: rule.name)
def test_no_rule_cites_a_sister_code(rule: Rule) -> None:
    """Under the IRC a rule cites the IRC, or practice, or is silent; never an IPC section."""
    clause = rule.clause(load("irc-2021"))
    assert clause is None or not clause.startswith(("IPC", "UPC")), clause


def test_an_edition_based_on_another_is_given_its_clauses() -> None:
    city = AdoptedCode(
        id="larkspur-2024", family="ipc", short="Larkspur 2024", title="", edition="2024",
        publisher="", based_on="irc-2021",
    )  # fmt: skip
    vars(city)["lineage"] = ("larkspur-2024", "irc-2021", "ipc-2021")
    cited = {rule.name: rule.clause(city) for rule in _our_rules()}
    assert cited["drain-slope"] == "IRC P3005.3"
    assert cited["branch-interval-load"] is None
    assert load("ipc-2024").lineage == ("ipc-2024", "ipc-2021")


@pytest.mark.parametrize("topic", ["cleanouts", "drainage", "traps", "venting", "water heaters"])
def test_no_limit_is_carried_that_nothing_reads(topic: str) -> None:
    rows = [row for edition in OURS for row in load(edition).table("limits").where(topic=topic)]
    unread = {row.text("key") for row in rows} - keys_read()
    assert not unread, f"no rule reads {', '.join(sorted(unread))}"


@pytest.mark.parametrize("edition", OURS)
def test_no_value_stands_twice_in_a_file(edition: str) -> None:
    keys = [row.text("key") for row in load(edition).table("limits").rows]
    assert sorted(keys) == sorted(set(keys))
