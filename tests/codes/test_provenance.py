"""What kind of source each value rests on: by examples, and over all tables."""

from __future__ import annotations

import pytest

from ifclint.codes import AmendedCell, SourceKind, editions, load
from ifclint.codes.provenance import source_kind


@pytest.mark.parametrize(
    ("source", "kind"),
    [
        ("from memory", SourceKind.FROM_MEMORY),
        ("IPC Table E103.3(3), from memory (flushometer)", SourceKind.FROM_MEMORY),
        ("common practice, no source", SourceKind.COMMON_PRACTICE),
        ("computed: the equation behind the table", SourceKind.DERIVED),
        ("2018 IRC P2903.3.1 (the IRC's twin rule)", SourceKind.DERIVED),
        ("Chicago Municipal Code 18-29-903, derived from the IPC", SourceKind.STATE_ADOPTION),
        ("Washington Administrative Code 51-56-0700", SourceKind.STATE_ADOPTION),
        ("King County WA, excerpt of UPC Table 703.2", SourceKind.STATE_ADOPTION),
        ("Larkspur plumbing code 12-4, amending the UPC", SourceKind.STATE_ADOPTION),
        ("forum quoting IPC 909.2", SourceKind.SECOND_HAND),
        ("2005 home repair forum listing the IRC's twin table", SourceKind.SECOND_HAND),
        ("California Plumbing Code 2013 706.2, quoted on a trade forum", SourceKind.SECOND_HAND),
        ("2018 IPC page 68, Table 710.1(1)", SourceKind.PUBLISHED),
        ("IAPMO code commentary of 2024-10-10, UPC 2024 804.1", SourceKind.PUBLISHED),
        ("National Standard Plumbing Code, Table B.5.4", SourceKind.PUBLISHED),
        ("Copper Tube Handbook, Table 14.2", SourceKind.PUBLISHED),
        ("Acme standard sheet 4, 2023", SourceKind.PUBLISHED),
        ("2018 IPC page 68; from memory (number)", SourceKind.FROM_MEMORY),
        ("2018 IPC page 68; section from memory", SourceKind.PUBLISHED),
        ("from memory (rest); 2018 IPC page 68; section from memory", SourceKind.FROM_MEMORY),
        ("section from memory", SourceKind.FROM_MEMORY),
        ("2018 IPC page 68; Chicago Municipal Code 18-29-711", SourceKind.STATE_ADOPTION),
        ("amended: ordinance 7; from memory", SourceKind.AMENDED),
    ],
)
def test_the_words_of_a_source_tell_its_kind(source: str, kind: SourceKind) -> None:
    assert source_kind(source) is kind


def test_what_is_carried_over_rests_on_memory_and_an_amendment_on_the_job_file() -> None:
    assert source_kind("2018 IPC page 68", carried_from="ipc-2021") is SourceKind.FROM_MEMORY
    code = load("ipc-2021")
    row = code.table("drain_restrictions").rows[0]
    assert row.source_kind is SourceKind.PUBLISHED
    assert row.provenance == row.source == "2018 IPC page 68, Table 710.1(1)"
    limit = code.limit("shared_trap_spacing_in")
    amended = code.amended([AmendedCell.of_limit(limit.key, 3, "ordinance 7")]).limit(limit.key)
    assert amended.source_kind is SourceKind.AMENDED
    carried = load("ipc-2024").table("drain_restrictions").rows[0]
    assert carried.source_kind is SourceKind.FROM_MEMORY
    assert carried.provenance == f"{row.source}, carried over from ipc-2021"


@pytest.mark.parametrize("edition", editions())
def test_memory_is_told_the_same_by_both_names(edition: str) -> None:
    code = load(edition)
    rows = [row for key in code.tables for row in code.table(key).rows]
    assert rows
    for row in rows:
        if row.source_kind is SourceKind.COMMON_PRACTICE:  # weaker, carried over or not
            assert "common practice" in row.source
        else:
            assert row.from_memory == (row.source_kind is SourceKind.FROM_MEMORY), row.source


def test_every_kind_but_an_amendment_stands_in_the_tables() -> None:
    codes = [load(edition) for edition in editions()]
    met = {row.source_kind for c in codes for key in c.tables for row in c.table(key).rows}
    assert met == set(SourceKind) - {SourceKind.AMENDED}
