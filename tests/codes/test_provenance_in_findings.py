"""Where a value comes from stands where it is used: in the finding, in its steps, on the page."""

from __future__ import annotations

import pickle

import pytest

from ifclint.codes import load
from ifclint.codes.provenance import SourceKind
from ifclint.engineering.arithmetic import Source, kind_of
from ifclint.findings import Finding
from ifclint.judge import judge
from ifclint.packs import load_packs
from ifclint.testing.questions import context_of

SMALL = """
water-closet A  0 0 0
water-closet B  0 1 0
wye 2 W  0 0 0 > 0 1 0 > 0.5 0 0
pipe 2 P  0.5 0 0 > 10.5 0 -0.05
sewer-connection S  10.5 0 -0.05
"""


def found(code: str) -> dict[str, Finding]:
    packs = [pack for pack in load_packs().loaded if pack.name == "drainage"]
    return {f.rule: f for f in judge(packs, context_of(SMALL, code)).findings}


def test_a_finding_tells_where_its_limit_was_read() -> None:
    slope = found("irc-2021")["drain-slope"]
    assert slope.provenance == "inspectors' forum quoting IRC P3005.3"
    assert slope.source_kind == SourceKind.SECOND_HAND
    [least] = [step for step in slope.steps if step.text == "Least slope"]
    assert kind_of(least.source) == SourceKind.SECOND_HAND
    assert slope.check == ""


def test_a_finding_that_rests_on_memory_says_what_to_check() -> None:
    closets = found("ipc-2024")["fixtures-allowed-on-drain"]
    assert closets.source_kind == SourceKind.FROM_MEMORY
    assert closets.check == (
        "Check IPC 2024 Table 710.1(1) footnote a in the code book: its value is from memory."
    )


def test_a_section_from_memory_is_asked_for_by_its_number() -> None:
    """Its kind is that of where the value was read, and only the number is to be looked up."""
    drain = found("irc-2021")["fixture-drain-size"]
    assert drain.source_kind == SourceKind.DERIVED
    assert drain.check == "Check IRC 2021 P3005.4 in the code book: its number is from memory."


def test_a_practice_says_that_it_is_one() -> None:
    flat = found("ipc-2021")["self-cleansing-velocity"]
    assert (flat.clause, flat.source_kind) == ("common practice", SourceKind.COMMON_PRACTICE)


def test_a_step_from_memory_is_checked_too() -> None:
    """The units of the fixtures may be recalled where the capacity is read."""
    for code in ("upc-2021", "ipc-2021", "irc-2021"):
        for finding in found(code).values():
            recalled = [s for s in finding.steps if kind_of(s.source) == SourceKind.FROM_MEMORY]
            assert all(step.source in finding.check for step in recalled)


@pytest.mark.parametrize("edition", ["upc-2024", "ipc-2024"])
def test_what_was_carried_over_unseen_is_to_be_checked(edition: str) -> None:
    assert load(edition).limit("slope_tolerance").clause.kind == SourceKind.FROM_MEMORY


def test_a_source_is_a_text_that_survives_a_journey() -> None:
    source = load("upc-2021").limit("water_closet_drain_in").clause
    again = pickle.loads(pickle.dumps(source))
    assert (again, again.kind, again.read_in) == (source, source.kind, source.read_in)
    assert isinstance(again, Source)
    assert kind_of("Manning's formula") == ""
