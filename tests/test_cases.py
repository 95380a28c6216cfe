"""Cases say what they mean: misspelt keys are refused, amendments of their job are made."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.ifc.elements import Role
from ifclint.ifc.facts.vocabulary import kinds_of
from ifclint.packs import make_pack
from ifclint.rules import drainage
from ifclint.testing import read_cases, read_network, wrong_with
from ifclint.testing.near import near_cases
from ifclint.testing.networks import known_words

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


STEEP = FLAT.replace("12 0 -0.125", "12 0 -0.25").replace("1/8", "1/4")
NEAR = """
near = [ { limit = 0.25, draw = [["12 0 -0.25", "12 0 {-d}"]], \
answers = ["violation", "pass", "pass"] } ]
"""


def test_a_case_is_drawn_just_below_at_and_just_above_a_limit(tmp_path: Path) -> None:
    (tmp_path / "c.toml").write_text(STEEP + "measured = 9\n" + NEAR, encoding="utf-8")
    _, *three = read_cases(tmp_path)
    assert [case.answer for case in three] == ["violation", "pass", "pass"]
    assert [case.name.rpartition(": ")[2] for case in three] == [
        "just below 0.25", "at 0.25", "just above 0.25",
    ]  # fmt: skip
    assert "P1    0 0 0 > 12 0 -0.2425\n" in three[0].network
    assert "S  12 0 -0.2575\n" in three[2].network
    assert "measured" not in three[1].stated
    # 2 % is taken for 1/4 in per ft, so that 3 % less is still enough
    assert "pass instead of violation" in wrong_with(three[0], make_pack("drainage", drainage))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("12 0 -0.25", "12 0 -9", "'12 0 -9' to draw anew"),
        ("{-d}", "{-e}", "'-e' is no arithmetic of d"),
        ("limit", "at", "there is no at"),
        ('"pass", "pass"', '"pass"', "near: zip"),
    ],
)
def test_a_limit_that_cannot_be_drawn_is_told(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    (tmp_path / "c.toml").write_text(STEEP + NEAR.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ValueError, match=rf"c\.toml, 1/4 in per ft.*{said}"):
        read_cases(tmp_path)


def test_a_case_is_drawn_otherwise_once(tmp_path: Path) -> None:
    draw = 'draw = [["12 0 -0.25", "12 0 -0.1"]]'
    near = f'near = [ {{ name = "flat", {draw}, answer = "violation" }} ]'
    (tmp_path / "c.toml").write_text(STEEP + near, encoding="utf-8")
    _, case = read_cases(tmp_path)
    assert case.name.endswith(": flat")
    assert wrong_with(case, make_pack("drainage", drainage)) == ""


def test_a_dimension_is_also_drawn_by_steps_and_in_the_job_file() -> None:
    near = {"limit": [1, 2, 3], "draw": [["pipe A", "pipe {d} A"]], "answers": ["a", "b", "c"],
            "job": {"water": {"pressure": "{10 * d} psi", "count": "{(d + 1) / 2}"}}}  # fmt: skip
    first, _, last = near_cases({"name": "n", "code": "c", "network": "pipe A 0", "near": [near]})
    assert first["network"] == "pipe 1 A 0"
    assert last["job"]["water"] == {"pressure": "30 psi", "count": 2.0}


def test_each_drawing_may_say_its_remedy() -> None:
    near = {"limit": 1, "answers": ["a", "b", "c"], "remedies": ["x", "y", "z"]}
    case = {"name": "n", "code": "c", "network": "", "remedy": "w", "near": [near]}
    assert [one["remedy"] for one in near_cases(case)] == ["x", "y", "z"]
    without = {key: value for key, value in near.items() if key != "remedies"}
    assert not any("remedy" in one for one in near_cases(case | {"near": [without]}))
    with pytest.raises(ValueError, match="zip"):
        near_cases(case | {"near": [near | {"remedies": ["x"]}]})


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("shutoff-valve V", '"shutoff-valve".*write '),
        ("vent-terminal V", '"vent-terminal"'),
        ("lavatorry L", "lavatory"),
    ],
)
def test_a_word_that_names_nothing_is_refused_with_the_nearest(written: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_network(f"pipe 2 P1  0 0 0 > 1 0 0\n{written}  1 0 0\n")


def test_every_kind_of_fixture_can_be_drawn() -> None:
    assert {"lavatory", "roof-drain", "hose-bibb", "pipe", "water-meter", "wall"} <= known_words()
    for kind in kinds_of(Role.FIXTURE) - {""}:
        (element,) = read_network(f"{kind} X  0 0 0").elements
        assert (element.role, element.kind) == (Role.FIXTURE, kind)
