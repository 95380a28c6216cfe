"""Numbers taken from eight signs at once are those that stand there."""

from __future__ import annotations

import re

import numpy as np
import pytest

from ifclint.ifc.step.digits import number_at_end, number_at_start

SIGNS = [b"12345678", b"00000000", b"99999999", b"#1234567", b"1234567,", b"7,#12,$)", b"$,#4,*,9"]
OTHERS = [bytes([sign]) * 7 for sign in (0, 47, 58, 127, 128, 185, 255)]


@pytest.mark.parametrize("text", SIGNS + [b"5" + o for o in OTHERS] + [o + b"5" for o in OTHERS])
def test_the_number_at_either_end(text: bytes) -> None:
    eight = np.frombuffer(text, dtype="<u8")
    for read, pattern in ((number_at_start, rb"^[0-9]*"), (number_at_end, rb"[0-9]*$")):
        written = re.search(pattern, text)
        assert written is not None
        number, digits = read(eight)
        assert (int(number[0]), int(digits[0])) == (int(written[0] or b"0"), len(written[0]))
