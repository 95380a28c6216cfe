"""Drainage fixture units: what each code says of a fixture, and what is said where it is silent."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.codes import OCCUPANCIES, FixtureUnits, editions, load
from ifclint.codes.fixture_units import choose_row, holds
from ifclint.errors import InputError

UPC, IPC = load("upc-2021"), load("ipc-2021")
MODEL_CODES = ["upc-2021", "ipc-2021", "upc-2024", "ipc-2024"]  # the IRC lists houses only


def units(
    edition: str, kind: str, occupancy: str = "private", **facts: float | str | bool
) -> FixtureUnits:
    found = load(edition).fixture_units(kind, occupancy, facts)
    assert found is not None
    return found


# King County WA, "Drainage and venting fixture unit values", excerpt of UPC Table 702.1
KING_COUNTY = [
    ("bar-sink", 1.5, 1),
    ("bathtub", 1.5, 2),
    ("clothes-washer", 2, 3),
    ("dishwasher", 1.5, 2),
    ("kitchen-sink", 1.5, 2),
    ("laundry-sink", 1.5, 2),
    ("lavatory", 1.25, 1),
    ("shower", 2, 2),
    ("water-closet", 3, 3),
]


@pytest.mark.parametrize(("kind", "trap_in", "dfu"), KING_COUNTY)
def test_upc_household_fixtures(kind: str, trap_in: float, dfu: float) -> None:
    found = units("upc-2021", kind)
    assert (found.trap_in, found.dfu) == (trap_in, dfu)
    assert found.clause == "UPC 2021 Table 702.1"
    assert not found.from_memory
    assert "King County" in found.source


# 2005 home repair forum, list of the IRC's values; the IPC's are the same for private use
IRC_TWIN = [
    ("lavatory", 1),
    ("bathtub", 2),
    ("shower", 2),
    ("kitchen-sink", 2),
    ("clothes-washer", 2),
    ("laundry-sink", 2),
    ("water-closet", 3),
]


@pytest.mark.parametrize(("kind", "dfu"), IRC_TWIN)
def test_ipc_household_fixtures(kind: str, dfu: float) -> None:
    assert units("ipc-2021", kind).dfu == dfu
    assert units("ipc-2021", "water-closet", flush_volume_gal=3.5).dfu == 4


@pytest.mark.parametrize(
    ("kind", "upc", "ipc"),
    [("clothes-washer", 3, 2), ("mop-sink", 3, 2), ("lavatory", 1, 1), ("bathtub", 2, 2)],
)
def test_where_the_two_codes_differ_in_load(kind: str, upc: float, ipc: float) -> None:
    assert (units("upc-2021", kind).dfu, units("ipc-2021", kind).dfu) == (upc, ipc)


def test_where_the_two_codes_differ_in_traps() -> None:
    assert (units("upc-2021", "shower").trap_in, units("ipc-2021", "shower").trap_in) == (2, 1.5)
    assert units("ipc-2021", "water-closet").trap_in is None  # as large as the fixture outlet


@pytest.mark.parametrize(
    ("edition", "occupancy", "small", "large"),
    [
        ("upc-2021", "private", 3, 4),
        ("upc-2021", "public", 4, 6),
        ("upc-2021", "assembly", 6, 8),
        ("ipc-2021", "private", 3, 4),
        ("ipc-2021", "public", 4, 6),
        ("ipc-2021", "assembly", 4, 6),
    ],
)
def test_closets_by_flush_volume(edition: str, occupancy: str, small: float, large: float) -> None:
    assert units(edition, "water-closet", occupancy, flush_volume_gal=1.28).dfu == small
    assert units(edition, "water-closet", occupancy, flush_volume_gal=1.6).dfu == small
    assert units(edition, "water-closet", occupancy, flush_volume_gal=3.5).dfu == large


def test_an_unstated_flush_volume_is_told() -> None:
    assert units("upc-2021", "water-closet").basis == (
        "flush volume not stated: 1.6 gal or less taken",
    )
    assert units("upc-2021", "water-closet", flush_volume_gal=1.28).basis == ()


def test_ipc_flushometer_tank_closet_counts_four_in_every_use() -> None:
    found = units("ipc-2021", "water-closet", flush_volume_gal=1.6, flush_type="Flushometer tank")
    assert found.dfu == 4


def test_upc_shower_adds_one_for_each_further_head() -> None:
    assert units("upc-2021", "shower", shower_heads=1).dfu == 2
    assert units("upc-2021", "shower", shower_heads=3).dfu == 4
    assert units("upc-2021", "shower").basis == ("number of shower heads not stated: 1 taken",)


@pytest.mark.parametrize(
    ("gpm", "dfu", "trap_in"), [(2.5, 2, 1.5), (5.7, 2, 1.5), (8, 3, 2), (20, 5, 3), (40, 6, 4)]
)
def test_ipc_shower_goes_by_its_flow(gpm: float, dfu: float, trap_in: float) -> None:
    found = units("ipc-2021", "shower", shower_flow_gpm=gpm)
    assert (found.dfu, found.trap_in) == (dfu, trap_in)


@pytest.mark.parametrize("edition", MODEL_CODES)
def test_floor_drains(edition: str) -> None:
    assert units(edition, "floor-drain", trap_in=2.0).dfu == 2
    assert units(edition, "floor-drain", "public", emergency=True).dfu == 0
    larger = units(edition, "floor-drain", trap_in=3.0)
    unlisted = load(edition).unlisted_fixture_units(3.0)
    assert unlisted is not None
    by_size = load(edition).family == "upc"  # the IPC prints one row without a size
    assert larger.dfu == (unlisted.dfu if by_size else 2)
    assert ("702.2" if by_size else "709.1") in larger.clause


@pytest.mark.parametrize("edition", MODEL_CODES)
def test_a_receptor_is_loaded_by_what_drains_into_it(edition: str) -> None:
    found = units(edition, "floor-sink")
    assert found.dfu is None
    assert "the load is that of the fixtures that drain into it" in found.basis
    assert units("ipc-2021", "floor-sink", clear_water=True).dfu == 0.5


def test_no_value_for_the_occupancy_takes_the_largest_and_says_so() -> None:
    assert units("upc-2021", "kitchen-sink", "assembly").dfu == 2
    assert (
        "no value listed for assembly use" in units("upc-2021", "kitchen-sink", "assembly").basis[0]
    )
    assert units("upc-2021", "clinical-sink").dfu == 6


def test_urinals() -> None:
    assert units("upc-2021", "urinal", "assembly", flush_volume_gal=0.5).dfu == 5
    assert units("upc-2021", "urinal", "assembly", flush_volume_gal=1.5).dfu == 6
    assert units("upc-2021", "urinal", flush_volume_gal=0.5, trap_exposed=True).trap_in == 1.5
    assert units("ipc-2021", "urinal", nonwater="yes").dfu == 0.5
    assert units("upc-2021", "urinal", "public", nonwater="yes").dfu == 1
    assert units("ipc-2021", "urinal", flush_volume_gal=1.5).dfu == 4


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize(
    "kind", ["pan-drain", "roof-drain", "hose-bibb", "ice-maker", "unheard-of"]
)
def test_a_kind_the_code_does_not_list_has_no_units(edition: str, kind: str) -> None:
    assert load(edition).fixture_units(kind) is None


def test_memory_is_told_by_occupancy() -> None:
    assert not units("ipc-2021", "water-closet", flush_volume_gal=3.5).from_memory
    old = units("ipc-2021", "water-closet", "assembly", flush_volume_gal=3.5)
    assert old.source == "from memory (public, assembly)"
    assert units("irc-2021", "bidet").from_memory
    assert not units("upc-2021", "bidet").from_memory
    assert not units("ipc-2021", "clothes-washer").from_memory


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize("occupancy", OCCUPANCIES)
def test_every_value_has_a_source_in_every_occupancy(edition: str, occupancy: str) -> None:
    for row in load(edition).table("drainage_fixture_units").rows:
        found = load(edition).fixture_units(row.text("fixture"), occupancy)
        assert found is not None
        assert found.source
        assert found.source in row.source or found.row is not row


def test_a_wrong_occupancy_is_an_input_error() -> None:
    with pytest.raises(InputError, match="private, public or assembly"):
        UPC.fixture_units("lavatory", "dwelling")


# ASPE Plumbing Engineering Design Handbook vol. 2 (2004) Table 1-1, UPC trap loadings
@pytest.mark.parametrize(("trap_in", "dfu"), [(1.25, 1), (1.5, 3), (2, 4), (3, 6), (4, 8)])
def test_upc_unlisted_fixtures(trap_in: float, dfu: float) -> None:
    found = UPC.unlisted_fixture_units(trap_in)
    assert found is not None
    assert found.dfu == dfu
    assert found.basis == (f"not listed by the code: loaded by its {trap_in:g} in trap",)


def test_unlisted_sizes_between_and_beyond_the_rows() -> None:
    between = UPC.unlisted_fixture_units(2.5)
    assert between is not None
    assert between.dfu == 6
    assert UPC.unlisted_fixture_units(6.0) is None
    assert IPC.unlisted_fixture_units(2.5).dfu == 4  # type: ignore[union-attr]


def test_continuous_flow() -> None:
    assert [code.limit("continuous_flow_dfu_per_gpm").value for code in (UPC, IPC)] == [2, 2]


def test_branch_minimums_differ_by_code() -> None:
    kitchen = UPC.branch_minimum("kitchen-sink")
    washer = IPC.branch_minimum("clothes-washer")
    assert kitchen is not None
    assert washer is not None
    assert kitchen.number("minimum_in") == 2
    assert (washer.number("minimum_in"), washer.clause) == (3, "IPC 2021 406.2")
    assert IPC.branch_minimum("kitchen-sink") is None
    assert UPC.branch_minimum("clothes-washer") is None


def test_a_private_bar_sink_needs_no_larger_branch() -> None:
    assert UPC.branch_minimum("bar-sink", "private") is None
    assert UPC.branch_minimum("bar-sink", "public") is not None


def test_conditions() -> None:
    assert holds("", {}) is True
    assert holds("emergency", {}) is None
    assert holds("emergency", {"emergency": "no"}) is False
    assert holds("trap_in > 2", {"trap_in": 3.0}) is True
    assert holds("trap_in > 2", {"trap_in": "three"}) is None
    assert holds("trap_in > 2", {"trap_in": math.nan}) is None
    assert holds("flush_type = flushometer-tank", {"flush_type": 1.6}) is None
    assert holds("flush_type = flushometer-tank", {"flush_type": "Flushometer  Tank"}) is True
    with pytest.raises(ValueError, match="not a condition"):
        holds("trap_in > 2 in", {})


anything = st.one_of(
    st.floats(), st.sampled_from(["", "yes", "1.6 gal", "Flushometer tank"]), st.booleans()
)
facts = st.dictionaries(
    st.sampled_from(["flush_volume_gal", "flush_type", "trap_in", "shower_heads", "emergency"]),
    anything,
)
listed_kinds = st.sampled_from(
    sorted({r.text("fixture") for c in (UPC, IPC) for r in c.table("drainage_fixture_units").rows})
)


@given(st.sampled_from(editions()), listed_kinds, st.sampled_from(OCCUPANCIES), facts)
def test_any_facts_give_an_answer_that_is_finite(
    edition: str, kind: str, occupancy: str, given_facts: dict[str, float | str | bool]
) -> None:
    found = load(edition).fixture_units(kind, occupancy, given_facts)
    if found is not None and found.dfu is not None:
        assert 0 <= found.dfu < math.inf
        assert found.source


@given(facts)
def test_a_row_is_always_chosen_among_those_offered(
    given_facts: dict[str, float | str | bool],
) -> None:
    rows = UPC.table("drainage_fixture_units").where(fixture="floor-drain")
    assert choose_row(rows, given_facts)[0] in rows
