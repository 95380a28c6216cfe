"""The one reader of CSV tables: what it reads, and that its errors name file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.engineering.data import CsvTable, read_csv


def _read(tmp_path: Path, text: str | bytes) -> CsvTable:
    path = tmp_path / "losses.csv"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return read_csv(path)


def test_cells_are_read_by_column_and_a_blank_is_no_number(tmp_path: Path) -> None:
    table = _read(tmp_path, 'device,max_gpm\nmeter, 0 \n\n"filter, wide",\n')
    assert table.columns == ("device", "max_gpm")
    assert [row.text("device") for row in table.rows] == ["meter", "filter, wide"]
    assert [row.number_or_none("max_gpm") for row in table.rows] == [0.0, None]
    assert [row.place for row in table.rows] == ["losses.csv line 2", "losses.csv line 4"]


def test_a_byte_order_mark_is_no_part_of_the_first_column(tmp_path: Path) -> None:
    table = _read(tmp_path, b"\xef\xbb\xbfdevice,max_gpm\r\nmeter,20\r\n")
    assert table.columns[0] == "device"
    assert table.rows[0].number("max_gpm") == 20.0


def test_a_table_of_more_than_10_megabytes_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "losses.csv"
    with path.open("wb") as file:
        file.truncate(10_100_000)
    with pytest.raises(ValueError, match="larger than 10 MB"):
        read_csv(path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "losses.csv is empty"),
        ("a,b\n1\n", "losses.csv line 2: 1 cells for 2 columns"),
        ("a,a\n1,2\n", "losses.csv: two columns have the same name"),
        (b"a\n\xff\n", "losses.csv is not written in UTF-8"),
    ],
)
def test_what_is_no_table_is_refused_with_its_place(
    tmp_path: Path, text: str | bytes, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        _read(tmp_path, text)


@pytest.mark.parametrize(
    ("cell", "said"), [("many", "b is not a number: many"), ("inf", "b is not a finite number")]
)
def test_a_cell_that_is_no_number_is_named(tmp_path: Path, cell: str, said: str) -> None:
    (row,) = _read(tmp_path, f"a,b\n1,{cell}\n").rows
    with pytest.raises(ValueError, match=f"losses.csv line 2: {said}"):
        row.number("b")
