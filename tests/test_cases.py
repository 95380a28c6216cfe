"""Cases say what they mean: misspelt keys are refused, amendments of their job are made."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.packs import make_pack
from ifclint.rules import drainage
from ifclint.testing import read_cases, wrong_with

FLAT = """
[[case]]
rule = "drain-slope"
name = "1/8 in per ft, where an ordinance lets it be"
subject = "P1"
answer = "pass"
network = '''
lavatory L   0 0 0
pipe 2 P1    0 0 0 > 12 0 -0.125
sewer-connection S  12 0 -0.125
'''
"""
AMENDED = """
job = { amendments = [ { table = "minimum_slope", row = { applies_to = "trap arm", \
size_from_in = 1.25, size_to_in = 12 }, column = "min_in_per_ft", value = 0.125, \
reason = "Ordinance 3" } ] }
"""


def _case(tmp_path: Path, text: str):
    (tmp_path / "c.toml").write_text(text, encoding="utf-8")
    (case,) = read_cases(tmp_path)
    return case


def test_amendments_of_a_case_are_made(tmp_path: Path) -> None:
    pack = make_pack("drainage", drainage)
    assert "violation instead of pass" in wrong_with(_case(tmp_path, FLAT), pack)
    assert wrong_with(_case(tmp_path, FLAT + AMENDED), pack) == ""


def test_a_misspelt_key_of_a_case_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"c\.toml, .*: no case has requird"):
        _case(tmp_path, FLAT + "requird = 99\n")
