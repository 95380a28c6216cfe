"""What the header of a file tells: when it was written."""

from __future__ import annotations

import pytest

from ifclint.ifc.step.opening import written


@pytest.mark.parametrize(
    ("header", "date"),
    [
        (b"FILE_NAME('a''b, (x)','2026-03-04T05:06:07',(''));", "2026-03-04T05:06:07"),
        (b"FILE_NAME ( '' ,\n'2026-03-04T05:06:07+01:00',(''));", "2026-03-04T05:06:07"),
        (b"FILE_NAME('a','2026-13-04T05:06:07',(''));", ""),
        (b"FILE_NAME('a','',(''));", ""),
        (b"", ""),
    ],
)
def test_the_date_is_the_header_s_where_it_is_one(header: bytes, date: str) -> None:
    assert written(b"ISO-10303-21;\nHEADER;\n" + header + b"ENDSEC;") == date
