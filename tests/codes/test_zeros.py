"""A zero in a table is a value: neither a blank nor "no limit"."""

from __future__ import annotations

from pathlib import Path

from ifclint.codes import Table
from ifclint.codes.tables import read_table
from ifclint.rules.venting.groups import row_for_load


def _table(tmp_path: Path, text: str) -> Table:
    path = tmp_path / "sample.csv"
    path.write_text(text, encoding="utf-8")
    return read_table(path, title="t", clause="Table 1", status="complete")


def test_the_next_row_up_may_be_the_row_of_zero(tmp_path: Path) -> None:
    table = _table(tmp_path, "rise_ft,value,source,note\n0,1,a,\n,9,a,\n2,3,a,\n")
    at_zero, below, beyond = (table.next_row("rise_ft", v) for v in (0.0, -1.0, 2.5))
    assert at_zero is not None
    assert at_zero.number("value") == 1.0
    assert below is at_zero
    assert beyond is None


def test_a_limit_of_zero_units_carries_nothing_and_a_blank_one_anything(tmp_path: Path) -> None:
    head = "size_in,max_dfu,source,note\n1.25,0,a,\n2,4,a,\n"
    listed = _table(tmp_path, head).rows
    first, second = row_for_load(listed, 0.0), row_for_load(listed, 1.0)
    assert first is listed[0]
    assert second is listed[1]
    assert row_for_load(listed, 5.0) is None
    unlimited = _table(tmp_path, f"{head}3,,a,\n").rows
    assert row_for_load(unlimited, 1e12) is unlimited[2]
