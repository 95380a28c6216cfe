"""Pipe dimensions and losses: sourced, ordered, and as the fluids library has them."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import fluids.piping
import pytest

from ifclint.engineering.data import (
    fitting_length_m,
    inside_diameter_m,
    outside_diameter_m,
    rows_of,
)
from ifclint.engineering.units import M_PER_IN

TABLES = (
    "pipe_dimensions",
    "fitting_lengths",
    "hazen_williams_c",
    "roughness",
    "device_losses",
    "hammer_arresters",
    "emergency_flows",
    "manning_n",
)
MATERIALS = sorted({str(r["material"]) for r in rows_of("pipe_dimensions") if r["material"]})


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_a_source(name: str) -> None:
    rows = rows_of(name)
    assert rows
    assert all(row["source"] for row in rows)
    assert all(list(row)[-2:] == ["source", "note"] for row in rows)


@pytest.mark.parametrize("material", MATERIALS)
def test_larger_pipe_is_larger_in_and_out(material: str) -> None:
    rows = [row for row in rows_of("pipe_dimensions") if row["material"] == material]
    for small, large in pairwise(rows):
        for column in ("size_in", "outside_in", "inside_in"):
            a, b = small[column], large[column]
            assert a is None or (isinstance(a, float) and isinstance(b, float) and a < b)
    for row in rows:
        inside, outside = row["inside_in"], row["outside_in"]
        assert isinstance(inside, float)
        assert outside is None or (isinstance(outside, float) and inside < outside)


# fluids 1.x, ASME B36.10M
@pytest.mark.parametrize("size_in", [0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10])
def test_steel_as_in_fluids(size_in: float) -> None:
    _, inside_m, outside_m, _ = fluids.piping.nearest_pipe(NPS=size_in, schedule="40")
    ours_in, ours_out = inside_diameter_m("steel", size_in), outside_diameter_m("steel", size_in)
    assert ours_in is not None
    assert ours_out is not None
    assert ours_in / M_PER_IN == pytest.approx(inside_m / M_PER_IN, abs=0.006)
    assert ours_out / M_PER_IN == pytest.approx(outside_m / M_PER_IN, abs=0.006)


def test_pvc_schedule_40_as_in_fluids() -> None:
    compared = 0
    for size, inside_mm in zip(fluids.piping.NPS_D1785, fluids.piping.S40i_D1785, strict=False):
        ours = inside_diameter_m("pvc", size)
        if ours is not None:
            compared += 1
            assert ours * 1000 == pytest.approx(inside_mm, rel=2e-3)
    assert compared == 14


# Copper Tube Handbook, Table 14.2: inside is outside less two walls (type L 1/2 in: 0.040 in)
@pytest.mark.parametrize(
    ("material", "size_in", "wall_in"),
    [
        ("copper-l", 0.5, 0.040),
        ("copper-l", 2, 0.070),
        ("copper-l", 6, 0.140),
        ("copper-k", 1, 0.065),
    ],
)
def test_copper_walls(material: str, size_in: float, wall_in: float) -> None:
    inside, outside = inside_diameter_m(material, size_in), outside_diameter_m(material, size_in)
    assert inside is not None
    assert outside is not None
    assert (outside - inside) / M_PER_IN / 2 == pytest.approx(wall_in, abs=0.0005)


# Standard dimension ratio: the least wall is the outside diameter over 9 (PEX) or 11 (CPVC)
@pytest.mark.parametrize(("material", "ratio"), [("pex", 9), ("cpvc", 11)])
def test_plastic_tube_walls(material: str, ratio: float) -> None:
    for row in rows_of("pipe_dimensions"):
        inside, outside = row["inside_in"], row["outside_in"]
        if row["material"] != material:
            continue
        assert isinstance(inside, float)
        assert isinstance(outside, float)
        if outside >= 0.75:  # smaller tube has a thicker wall than the ratio asks
            assert (outside - inside) / 2 == pytest.approx(outside / ratio, abs=0.0021)


def test_types_of_copper_in_order_of_wall() -> None:
    for size in (0.5, 0.75, 1, 2, 3, 4):
        k, l_, m = (inside_diameter_m(f"copper-{t}", size) for t in "klm")
        assert k is not None
        assert l_ is not None
        assert m is not None
        assert k < l_ < m


def test_hammer_arresters_leave_no_gap() -> None:
    rows = rows_of("hammer_arresters")
    assert [row["arrester"] for row in rows] == ["AA", "A", "B", "C", "D", "E", "F"]
    for a, b in pairwise(rows):
        top, bottom = a["wsfu_to"], b["wsfu_from"]
        assert isinstance(top, float)
        assert bottom == top + 1


def test_what_is_not_listed_is_none() -> None:
    assert inside_diameter_m("bamboo", 1) is None
    assert inside_diameter_m("copper-l", 7) is None
    assert outside_diameter_m("pe-gas", 7) is None
    assert fitting_length_m("pvc", "globe-valve", 1) is None


# Ounces of water in a foot of tube, IPC 2009 Table E202.1 (web page)
@pytest.mark.parametrize(
    ("material", "size_in", "ounces"),
    [
        ("multilayer", 0.5, 1.31), ("multilayer", 0.75, 3.39), ("multilayer", 2, 21.48),
        ("copper-l", 0.75, 3.22), ("pex", 1, 3.91),
    ],
)  # fmt: skip
def test_tube_holds_what_is_published(material: str, size_in: float, ounces: float) -> None:
    inside = inside_diameter_m(material, size_in)
    assert inside is not None
    held_in3 = pi / 4 * (inside / M_PER_IN) ** 2 * 12
    assert held_in3 / 1.8046875 == pytest.approx(ounces, rel=0.025)
