"""Every limit that the rules about heaters read, and every bound of theirs, from both sides.

What lies on a limit, or past it by less than the project's tolerance, passes; what lies farther
past it does not.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

import ifclint.rules.heaters
from ifclint.engineering.thermal import expansion_tank_m3, expansion_volume_m3
from ifclint.engineering.tolerance import slack
from ifclint.findings import Answer, Outcome
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import finders_of, make_pack
from ifclint.plumbing.crawl_spaces import HEADROOM_M
from ifclint.plumbing.floors import SILL_M
from ifclint.testing import context_of

CASES = Path(__file__).parents[1] / "packs/heaters"
NETWORKS: dict[str, str] = {
    name: text
    for file in ("relief.toml", "pans.toml", "flues.toml")
    for name, text in tomllib.loads((CASES / file).read_text())["networks"].items()
}
PACK = make_pack("heaters", ifclint.rules.heaters)
FINDERS = finders_of([PACK], PACK)
RULES = {rule.name: rule for rule in PACK.rules}
PASS, VIOLATION, ADVISORY = Outcome.PASS, Outcome.VIOLATION, Outcome.ADVISORY
UNVERIFIED, EXCUSED = Outcome.UNVERIFIED, Outcome.NOT_APPLICABLE
FT, IN, PSI, KBTUH = 0.3048, 0.0254, 6894.757293168, 293.0710702
CODES = ("upc-2021", "ipc-2021", "irc-2021")


def changed(name: str, *changes: tuple[str, str], add: str = "") -> str:
    text = NETWORKS[name]
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text + add


def said(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> list[Answer]:
    """All that a rule says of one subject, the gravest first."""
    asked = answers(RULES[rule], context_of(network, code, Job.model_validate(job)), FINDERS)
    return next(given for s, given in asked if s.element_ids[0] == subject)


def outcome(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> Outcome:
    return said(rule, network, subject, code, job)[0].outcome


def limit(
    answer: Callable[[float], Outcome], value: float, unit: str, at_most: bool = False,
    wrong: Outcome = VIOLATION, right: Outcome = PASS,
) -> None:  # fmt: skip
    """A limit of the code: met at it, and within the tolerance past it."""
    past = slack(value, unit) * (1 if at_most else -1)
    found = [answer(value + share * past) for share in (-3, 0, 0.9, 1.1)]
    assert found == [right, right, right, wrong]


def bound(
    answer: Callable[[float], Outcome], value: float, within: Outcome, beyond: Outcome
) -> None:
    """A bound (feet) of what counts as near, level and so on: within it, and beyond it."""
    assert [answer(value * 0.99), answer(value * 1.01)] == [within, beyond]


# -- relief --------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", CODES)
def test_setting_of_a_relief_valve(code: str) -> None:
    def answer(psi: float) -> Outcome:
        network = changed(
            "house", ("relief_pressure_pa=1034000", f"relief_pressure_pa={psi * PSI}")
        )
        return outcome("relief-setting", network, "R1", code)

    limit(answer, 150.0, "psi", at_most=True)


def relief_of(size: object = 0.75, outlet: object = 0.75, end: str = "23.3 6 0.4") -> str:
    return changed(
        "house",
        ("relief 0.75 RV", f"relief {outlet} RV"),
        ("pipe 0.75 R1", f"pipe {size} R1"),
        ("23.3 6 0.4", end),
    )


def test_size_of_a_relief_line() -> None:
    limit(lambda size: outcome("relief-line-size", relief_of(size), "R1"), 0.75, "in")
    limit(lambda size: outcome("relief-line-size", relief_of(size, 1.0), "R1"), 1.0, "in")


@pytest.mark.parametrize(
    ("code", "size", "outlet", "least", "most"),
    [
        ("upc-2021", 0.75, 0.75, 1.0, None),  # 801.2, however large the line
        ("upc-2021", 2, 0.75, 1.0, None),
        ("ipc-2021", 0.75, 0.75, 1.5, 6.0),
        ("ipc-2021", 0.75, 2, 4.0, 6.0),  # two diameters of the outlet
        ("ipc-2021", 2, 0.75, 4.0, 6.0),  # the air gap of the line
        ("ipc-2021", 0.375, "", 1.5, 6.0),  # a valve is taken as 3/4 in
        ("irc-2021", 0.75, 0.75, 1.5, 6.0),
    ],
)
def test_height_of_a_relief_line_over_a_receptor(
    code: str, size: object, outlet: object, least: float, most: float | None
) -> None:
    def answer(inches: float) -> Outcome:
        network = relief_of(size, outlet, f"23.3 6 {inches / 12!r}")
        return outcome("relief-line-end", network, "R1", code)

    limit(answer, least, "in")
    if most is None:
        assert answer(24.0) is PASS
        assert answer(25.0) is Outcome.ADVISORY  # it splashes, and is seen by nobody
    else:
        limit(answer, most, "in", at_most=True)


@pytest.mark.parametrize("code", ["ipc-2021", "irc-2021"])
def test_height_of_a_relief_line_over_the_floor(code: str) -> None:
    def answer(inches: float) -> Outcome:
        network = changed("house", ("23.3 6 0.4", f"30 20 {inches / 12!r}"))
        return outcome("relief-line-end", network, "R1", code)

    limit(answer, 1.5, "in")
    limit(answer, 6.0, "in", at_most=True)


GROUND = {"building": {"grade_elevation": "0 ft"}}


@pytest.mark.parametrize(
    ("code", "least", "most"), [("upc-2021", 6, 24), ("ipc-2021", 1.5, 6), ("irc-2021", 1.5, 6)]
)
def test_height_of_a_relief_line_outdoors(code: str, least: float, most: float) -> None:
    def answer(inches: float) -> Outcome:
        network = changed("house", ("23.3 6 0.4", f"23.3 -0.5 {inches / 12!r}"))
        return outcome("relief-line-end", network, "R1", code, GROUND)

    limit(answer, least, "in")
    limit(answer, most, "in", at_most=True)


def test_outdoors_of_a_model_without_storeys_the_height_is_not_known() -> None:
    network = changed("house", ("storey Ground 0\n", ""), ("23.3 6 0.4", "23.3 -0.5 1"))
    assert outcome("relief-line-end", network, "R1") is UNVERIFIED
    pan = changed("pan", ("storey Ground 0\n", ""), ("10 4.8 -0.17", "23 -1 -0.17"))
    assert outcome("pan-drain-end", pan, "PN", "ipc-2021") is UNVERIFIED


def led_over(point: str) -> str:
    """A relief line that goes by a pipe R0 to a point, and from there to the floor drain."""
    first = f"pipe 0.75 R0 system=relief_discharge  23.3 6 4.6 > {point}\n"
    return changed(
        "house",
        ("pipe 0.75 R1 system=relief_discharge  23.3 6 4.6",
         f"{first}pipe 0.75 R1 system=relief_discharge  {point}"),
    )  # fmt: skip


def test_rise_of_a_relief_line() -> None:
    def answer(inches: float) -> Outcome:
        z = 4.6 + inches / 12
        return outcome("relief-line-falls", led_over(f"23 6 {z!r}"), "R0")

    limit(answer, 0.0, "in", at_most=True)


def level(length_ft: float, fall: float) -> Outcome:
    end = f"{23.3 - length_ft!r} 6 {4.6 - fall * length_ft!r}"
    return outcome("relief-line-falls", led_over(end), "R0")


def test_a_short_pipe_may_lie_level_and_a_long_one_falls() -> None:
    bound(lambda feet: level(feet, 0.0), 0.3 / FT, PASS, ADVISORY)
    bound(lambda fall: level(5.0, fall), 0.001, ADVISORY, PASS)


TWO_WRONG = """
pipe 0.75 R2 system=relief_discharge  23.3 6 3 > 23.3 6 2.8
isolating 0.75 X1 system=relief_discharge  23.3 6 2.8 > 23.3 6 2.6
pipe 0.75 R3 system=relief_discharge  23.3 6 2.6 > 23.3 6 2.4
p-trap 0.75 X2 system=relief_discharge  23.3 6 2.4 > 23.3 6 2.2
pipe 0.75 R4 system=relief_discharge  23.3 6 2.2 > 23.3 6 0.4
cap 0.75 K system=relief_discharge  23.3 6 0.4
"""


def about(given: list[Answer]) -> list[tuple[str, Outcome]]:
    return [(answer.elements[0], answer.outcome) for answer in given if answer.message]


def test_each_fault_of_a_relief_line_is_found_by_itself() -> None:
    network = changed("house", ("23.3 6 0.4", "23.3 6 3"), add=TWO_WRONG)
    given = said("relief-line-clear", network, "R1")
    assert about(given) == [("X1", VIOLATION), ("X2", VIOLATION), ("K", VIOLATION)]
    assert len({answer.about for answer in given if answer.message}) == 3


def test_each_rise_and_each_level_pipe_is_found_by_itself() -> None:
    line = """
pipe 0.75 R2 system=relief_discharge  22 6 5 > 20 6 5
pipe 0.75 R3 system=relief_discharge  20 6 5 > 19 6 4
pipe 0.75 R4 system=relief_discharge  19 6 4 > 18 6 4.5
pipe 0.75 R5 system=relief_discharge  18 6 4.5 > 17 6 4.6
pipe 0.75 R6 system=relief_discharge  17 6 4.6 > 17 6 0.4
"""
    network = changed("house", ("> 23.3 6 0.4", "> 22 6 5"), add=line)
    assert about(said("relief-line-falls", network, "R1")) == [
        ("R1", VIOLATION), ("R4", VIOLATION), ("R2", ADVISORY),
    ]  # fmt: skip


def test_a_line_with_pipes_too_small_and_without_a_size() -> None:
    more = "pipe R2 system=relief_discharge  23.3 6 2 > 23.3 6 0.4\n"
    network = changed(
        "house", ("pipe 0.75 R1", "pipe 0.5 R1"), ("23.3 6 0.4", "23.3 6 2"), add=more
    )
    given = said("relief-line-size", network, "R1")
    assert about(given) == [("R1", VIOLATION), ("R2", UNVERIFIED)]
    assert given[0].change is not None
    assert (given[0].change.element_ids, given[0].change.value) == (("R1",), 0.75)


def test_a_line_shared_by_three_valves_is_told_of_each_other() -> None:
    lines = """
tee 0.75 T system=relief_discharge  23.3 6 2 > 23.5 6 2 > 23.1 6 2 > 23.3 6 1.8
pipe 0.75 R9 system=relief_discharge  23.3 6 1.8 > 23.3 6 0.4
water-heater WH2 energy=gas  cold 34 6 5 > hot 34.5 6 5 > 33 6 4
relief 0.75 RV2 system=relief_discharge  33 6 4 > 32.8 6 3.8
pipe 0.75 R2 system=relief_discharge  32.8 6 3.8 > 23.5 6 2
water-heater WH3 energy=gas  cold 14 6 5 > hot 14.5 6 5 > 13 6 4
relief 0.75 RV3 system=relief_discharge  13 6 4 > 13.2 6 3.8
pipe 0.75 R3 system=relief_discharge  13.2 6 3.8 > 23.1 6 2
"""
    network = changed("house", ("23.3 6 0.4", "23.3 6 2"), add=lines)
    given = [a for a in said("relief-line-own", network, "R1", "ipc-2021") if a.message]
    assert [(a.about, a.outcome) for a in given] == [("RV2", VIOLATION), ("RV3", VIOLATION)]


# -- where lines end -----------------------------------------------------------------------------


def ends(end: str, *changes: tuple[str, str], code: str = "ipc-2021") -> str:
    """Where a relief line ends, by what the rule says of it (with a bare floor, 36 in over it)."""
    network = changed("house", *changes, ("23.3 6 0.4", end))
    answer = said("relief-line-end", network, "R1", code)[0]
    if answer.outcome is UNVERIFIED:
        return "unknown"
    told = re.search(r"(?:above|below|in) the (receptor|floor|ground|pan)", answer.message)
    return told[1] if told else "right"


def test_a_receptor_catches_what_falls_near_it() -> None:
    out = 0.45 / FT
    assert ends(f"{23.3 + out - 0.01!r} 6 1") == "receptor"
    assert ends(f"{23.3 + out + 0.01!r} 6 1") == "floor"
    boxed = ("at=23.3,6,0", "at=23.3,6,0 box=23,5.5,-0.3,24,6.5,0")
    assert ends(f"{24 + out - 0.01!r} 6 1", boxed) == "receptor"
    assert ends(f"{24 + out + 0.01!r} 6 1", boxed) == "floor"


def test_a_receptor_far_below_or_above_catches_nothing() -> None:
    below, above = 1.5 / FT, 0.3 / FT
    lower = ("at=23.3,6,0", f"at=23.3,6,{3 - below + 0.01}")
    assert ends("23.3 6 3", lower) == "receptor"
    assert ends("23.3 6 3", ("at=23.3,6,0", f"at=23.3,6,{3 - below - 0.01}")) == "floor"
    higher = ("at=23.3,6,0", f"at=23.3,6,{1 + above - 0.01}")
    assert ends("23.3 6 1", higher) == "receptor"
    assert ends("23.3 6 1", ("at=23.3,6,0", f"at=23.3,6,{1 + above + 0.01}")) == "floor"


def test_a_floor_is_near_below() -> None:
    assert ends(f"30 20 {1.5 / FT - 0.01!r}") == "floor"
    assert ends(f"30 20 {1.5 / FT + 0.01!r}") == "unknown"
    assert ends(f"30 20 {-0.03 / FT + 0.005!r}") == "floor"
    assert ends(f"30 20 {-0.03 / FT - 0.005!r}") == "unknown"


def in_pan(x_ft: float, above_ft: float, *, box: str) -> str:
    pan = f"pan-drain 1 PN system=sanitary_drainage {box}at=30,20,0  30 20 -0.1\n"
    network = changed("house", ("23.3 6 0.4", f"{x_ft!r} 20 {above_ft!r}"), add=pan)
    message = said("relief-line-end", network, "R1", "upc-2021")[0].message
    return "pan" if "in the pan" in message else "floor"


def test_a_pan_holds_what_ends_in_it() -> None:
    edge, box = 31 + 0.05 / FT, "box=29,19,0,31,21,0.2 "
    assert [in_pan(edge + d, 0.1, box=box) for d in (-0.01, 0.01)] == ["pan", "floor"]
    assert [in_pan(30 + 0.6 / FT + d, 0.1, box="") for d in (-0.01, 0.01)] == ["pan", "floor"]
    assert [in_pan(30, 0.3 / FT + d, box="") for d in (-0.01, 0.01)] == ["pan", "floor"]


def test_a_line_that_ends_below_its_pan_is_not_in_it() -> None:
    def under(below_ft: float) -> str:
        pan = f"pan-drain 1 PN system=sanitary_drainage at=30,20,{0.5 + below_ft!r}  30 20 0.4\n"
        network = changed("house", ("23.3 6 0.4", "30 20 0.5"), add=pan)
        return said("relief-line-end", network, "R1", "upc-2021")[0].message

    assert "in the pan" in under(0.1 / FT - 0.01)
    assert "over the floor" in under(0.1 / FT + 0.01)


# -- pans ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", CODES)
def test_size_of_a_pan_drain(code: str) -> None:
    def answer(size: float, outlet: object) -> Outcome:
        network = changed(
            "pan", ("pipe 1 PD", f"pipe {size!r} PD"), ("pan-drain 1", f"pan-drain {outlet}")
        )
        return outcome("pan-drain-size", network, "PN", code)  # fmt: skip

    limit(lambda size: answer(size, 0.75), 0.75, "in")
    limit(lambda size: answer(size, ""), 0.75, "in")
    limit(lambda size: answer(size, 1.0), 1.0, "in", wrong=ADVISORY)
    assert answer(0.7, 1.0) is VIOLATION


def test_rise_of_a_pan_drain() -> None:
    def answer(inches: float) -> Outcome:
        network = changed("pan", ("10 4.8 -0.17", f"10 4.8 {0.1 + inches / 12!r}"))
        return outcome("pan-drain-falls", network, "PN")

    limit(answer, 0.0, "in", at_most=True)


@pytest.mark.parametrize(("code", "least"), [("upc-2021", 1.0), ("ipc-2021", 2.0)])
def test_height_of_a_pan_drain_over_its_receptor(code: str, least: float) -> None:
    def answer(inches: float) -> Outcome:
        network = changed("pan", ("at=10,4.8,-0.4", f"at=10,4.8,{-0.17 - inches / 12!r}"))
        return outcome("pan-drain-end", network, "PN", code)

    limit(answer, least, "in")


def test_height_of_a_pan_drain_outdoors() -> None:
    def answer(inches: float, code: str = "ipc-2021", serves: str = "WH") -> Outcome:
        network = changed("pan", ("10 4.8 -0.17", f"23 -1 {inches / 12!r}"))
        if serves != "WH":
            network = network.replace("water-heater WH", f"thing X\n{serves} WH")
        return outcome("pan-drain-end", network, "PN", code, GROUND)

    limit(answer, 6.0, "in")
    limit(answer, 24.0, "in", at_most=True)
    assert answer(40.0, "upc-2021") is PASS
    assert answer(40.0, serves="clothes-washer-appliance") is PASS


def test_each_branch_of_a_pan_drain_is_found_by_itself() -> None:
    lines = """
tee 1 T1 system=relief_discharge  18 4.8 0 > 17.8 4.8 0 > 17.9 5 0.02
pipe 1 X1 system=relief_discharge  17.9 5 0.02 > 17.9 9 0.2
pipe 1 PE system=relief_discharge  17.8 4.8 0 > 15 4.8 -0.1
tee 1 T2 system=relief_discharge  15 4.8 -0.1 > 14.8 4.8 -0.1 > 14.9 5 -0.08
pipe 1 X2 system=relief_discharge  14.9 5 -0.08 > 14.9 9 0
pipe 1 PF system=relief_discharge  14.8 4.8 -0.1 > 10 4.8 -0.17
"""
    network = changed("pan", ("> 10 4.8 -0.17", "> 18 4.8 0"), add=lines)
    given = said("pan-drain-falls", network, "PN")
    assert about(given) == [("T1", VIOLATION), ("T2", VIOLATION)]


def test_a_level_a_little_above_the_lowest_has_no_rooms_below() -> None:
    def answer(feet: float) -> Outcome:
        lower = f"""
wall LN  0 29.5 {-feet!r} > 40 30 -1
wall LS  0 0 {-feet!r} > 40 0.5 -1
pan-drain 1 OTHER system=condensate  90 90 0
"""
        levels = ("storey Ground 0\n", f"storey Upper 0\nstorey Ground {-feet!r}\n")
        return outcome("heater-pan", changed("house", levels, add=lower), "WH")

    bound(answer, (HEADROOM_M - SILL_M) / FT, EXCUSED, VIOLATION)


# -- where a heater stands -----------------------------------------------------------------------

GARAGE = ("WH space=Utility", "WH space=Garage")


@pytest.mark.parametrize("code", CODES)
def test_height_of_the_flame_in_a_garage(code: str) -> None:
    def answer(inches: float) -> Outcome:
        network = changed("house", GARAGE, ("box=23,5,0,", f"box=23,5,{inches / 12!r},"))
        return outcome("heater-ignition-height", network, "WH", code)

    limit(answer, 18.0, "in")


def test_by_its_gas_connection_a_flame_is_known_to_be_low_and_not_to_be_high() -> None:
    def answer(inches: float) -> Outcome:
        network = changed(
            "house", GARAGE, ("box=23,5,0,25,7,5 ", ""), ("gas 24 5 1", f"gas 24 5 {inches / 12!r}")
        )
        return outcome("heater-ignition-height", network, "WH")  # fmt: skip

    limit(answer, 18.0, "in", right=UNVERIFIED)


@pytest.mark.parametrize(
    ("rule", "thing", "found", "not_found"),
    [
        ("heater-vehicles", "called=Steel_bollard", PASS, ADVISORY),
        ("heater-attic-access", "called=Service_platform", PASS, VIOLATION),
    ],
)
def test_what_counts_as_close_to_a_heater(
    rule: str, thing: str, found: Outcome, not_found: Outcome
) -> None:
    def answer(at: str) -> Outcome:
        network = changed(
            "house", ("WH space=Utility", "WH space=Garage_attic"), add=f"thing T {thing} at={at}\n"
        )
        return outcome(rule, network, "WH")  # fmt: skip

    bound(lambda feet: answer(f"24,{6 - feet!r},2.5"), 1.5 / FT, found, not_found)
    bound(lambda feet: answer(f"24,6,{2.5 + feet!r}"), 2.5 / FT, found, not_found)
    bound(lambda feet: answer(f"24,6,{2.5 - feet!r}"), 2.5 / FT, found, not_found)


@pytest.mark.parametrize("code", ["ipc-2021", "irc-2021"])
def test_working_space_of_a_heater(code: str) -> None:
    def wall(feet: float, low: float = 0.0) -> Outcome:
        add = f"wall X 20 1 {low!r} > 28 {5 - feet!r} 9\n"
        return outcome("heater-working-space", changed("house", add=add), "WH", code)

    assert [wall(2.5 - 0.01), wall(2.5 + 0.01)] == [VIOLATION, PASS]

    def beside(feet: float) -> Outcome:
        add = f"wall X {24 + feet!r} 3 0 > 28 4 9\n"
        return outcome("heater-working-space", changed("house", add=add), "WH", code)

    assert [beside(1.25 - 0.01), beside(1.25 + 0.01)] == [VIOLATION, PASS]

    def lies(top: float) -> Outcome:
        add = f"wall X 20 1 0 > 28 4 {top!r}\n"
        return outcome("heater-working-space", changed("house", add=add), "WH", code)

    bound(lies, 0.3 / FT, PASS, VIOLATION)

    def touches(feet: float) -> Outcome:
        add = f"wall X 20 {5 - feet!r} 0 > 28 5 9\n"
        return outcome("heater-working-space", changed("house", add=add), "WH", code)

    bound(touches, 0.02 / FT, PASS, VIOLATION)


def test_everything_in_the_working_space_is_found_by_itself() -> None:
    network = changed("house", add="wall X 23 3 0 > 24 4 9\nwall Y 24.2 3 0 > 25 4 9\n")
    given = said("heater-working-space", network, "WH", "ipc-2021")
    assert [a.about for a in given if a.outcome is VIOLATION] == ["X", "Y"]


def test_controls_of_a_heater_without_gas_may_be_on_any_side() -> None:
    network = """
storey Ground 0
system=cold_water material=copper storey=Ground
wall W  -2 2 0 > 2 2.2 9
{wall}
pipe 0.75 C  0 -9 3 > 0 0 3
water-heater WH energy=electric box=-0.75,0,0,0.75,1.5,5 at=0,0.75,2.5  cold 0 0 3 > hot 0 1 5
"""
    before = "wall X  -2 -1 0 > 2 -0.8 9\n"
    beside = "wall Y  -1.5 -1 0 > -1.2 3 9\nwall Z  1.2 -1 0 > 1.5 3 9\n"
    answers = [
        outcome("heater-working-space", network.format(wall=wall), "WH", "ipc-2021")
        for wall in ("", before, before + beside)
    ]
    assert answers == [PASS, PASS, UNVERIFIED]  # it is set with its controls to the free side


@pytest.mark.parametrize("code", CODES)
def test_size_of_a_platform(code: str) -> None:
    def answer(inches: float, across: float = 4.0) -> Outcome:
        box = f"box=23,3,0,{23 + inches / 12!r},{3 + across!r},0.1"
        add = f"thing PL called=Service_platform at=24,4,0 {box}\n"
        network = changed("house", ("WH space=Utility", "WH space=Attic"), add=add)
        return outcome("heater-attic-access", network, "WH", code)

    limit(answer, 30.0, "in")
    limit(lambda inches: answer(60.0, inches / 12), 30.0, "in")


@pytest.mark.parametrize("code", CODES)
def test_two_straps(code: str) -> None:
    found = []
    for number in range(4):
        straps = [
            f"thing S{n} called=Seismic_strap at=24,6,{(4, 1, 2)[n]}\n" for n in range(number)
        ]
        network = changed("house", add="".join(straps))
        job = {"building": {"seismic": True}}
        found.append(outcome("heater-seismic", network, "WH", code, job))
    assert found == [UNVERIFIED, VIOLATION, PASS, PASS]


# -- the water side ------------------------------------------------------------------------------

OTHER_BREAKER = "vacuum-breaker 0.75 OTHER system=cold_water  90 90 3 > 90.3 90 3\n"


def test_height_of_a_heater_above_the_lowest_fixture() -> None:
    def answer(feet: float) -> Outcome:
        low = f"30 6 {0.0 - feet!r}"
        network = changed("house", ("30 6 5", low), add=OTHER_BREAKER)
        return outcome("heater-vacuum-relief", network, "WH")

    limit(answer, 0.0, "ft", at_most=True, wrong=ADVISORY, right=EXCUSED)


@pytest.mark.parametrize("code", ["ipc-2021", "irc-2021"])
def test_where_a_heater_is_fed(code: str) -> None:
    def answer(feet: float) -> Outcome:
        z = f"24 6 {5 - feet!r}"
        network = changed(
            "house", ("24 6 5 ", f"{z} "), ("> 24 6 5\n", f"> {z}\n"), add=OTHER_BREAKER
        )
        return outcome("heater-vacuum-relief", network, "WH", code)  # fmt: skip

    bound(answer, 0.3 / FT, EXCUSED, VIOLATION)


def test_size_of_an_expansion_tank() -> None:
    """0.189 m3 from 50 to 140 F (10 to 60 C), from 60 to 80 psi."""
    needed = expansion_tank_m3(expansion_volume_m3(0.189, 10.0, 60.0), 60 * PSI, 80 * PSI)

    def answer(share: float) -> Outcome:
        network = changed(
            "house", ("storage_volume_m3=0.03", f"storage_volume_m3={needed * share!r}")
        )
        job = {"water": {"static_pressure": "60 psi", "main_elevation": "4 ft"}}
        return outcome("heater-thermal-expansion", network, "WH", "upc-2021", job)

    assert [answer(share) for share in (1.002, 1.0, 0.9995, 0.998)] == [PASS, PASS, PASS, ADVISORY]


def test_water_stored_behind_the_valve_and_no_other_is_taken_up() -> None:
    def needed(heater: str) -> float:
        add = f"pipe 0.75 C5  24 6 5 > 30 9 5\n{heater}  cold 30 9 5 > hot 30 12 5\n"
        network = changed("house", ("storage_volume_m3=0.03", "storage_volume_m3=0.001"), add=add)
        job = {"water": {"static_pressure": "60 psi"}}
        given = said("heater-thermal-expansion", network, "WH", "upc-2021", job)[0]
        assert given.required is not None
        return given.required.value

    alone = needed("tankless-heater TH storage_volume_m3=0.189")
    assert needed("water-heater W2 storage_volume_m3=0.189") == pytest.approx(2 * alone)


@pytest.mark.parametrize(
    ("valve", "code", "expected"),
    [
        ("vacuum-breaker 0.75 VB  24 6 0.5 > 24 6 9", "ipc-2021", PASS),  # at the heater
        ("vacuum-breaker 0.75 VB  20.3 2 3 > 20.3 2 9", "ipc-2021", PASS),  # on its cold water
        ("vacuum-relief 0.75 VB  20.3 2 3 > 20.3 2 9", "ipc-2021", PASS),
        (
            "pipe 0.75 N  20.3 2 3 > 20.3 2 5\nvacuum-breaker 0.75 VB  20.3 2 5 > 20.3 2 9",
            "ipc-2021",
            PASS,
        ),
        ("vacuum-breaker 0.75 VB  30 6 5 > 30 6 9", "ipc-2021", VIOLATION),  # on its hot water
        ("vacuum-breaker 0.75 VB  10 2 3 > 10 2 9", "ipc-2021", VIOLATION),  # on the main
        (  # on the branch of a fixture
            "vacuum-breaker 0.75 VB  20.3 2 3 > 20.3 2 9\nhose-bibb HB  cold 20.3 2 9",
            "ipc-2021",
            VIOLATION,
        ),
    ],
)
def test_where_a_vacuum_relief_valve_counts(valve: str, code: str, expected: Outcome) -> None:
    network = changed("house", ("24 6 5 ", "24 6 0.5 "), ("> 24 6 5\n", "> 24 6 0.5\n"))
    network += f"system=cold_water\n{valve}\n{OTHER_BREAKER}"
    assert outcome("heater-vacuum-relief", network, "WH", code) is expected


def test_of_a_heater_without_a_hot_port_the_bottom_is_not_known() -> None:
    network = changed("house", ("> hot 24.5 6 5 ", ""))
    assert outcome("heater-vacuum-relief", network, "WH", "ipc-2021") is UNVERIFIED


@pytest.mark.parametrize("code", CODES)
def test_a_pressure_too_high_is_no_matter_of_the_tank(code: str) -> None:
    def answer(psi: float) -> Outcome:
        job = {"water": {"static_pressure": f"{psi} psi", "main_elevation": "4 ft"}}
        return outcome("heater-thermal-expansion", changed("house"), "WH", code, job)

    assert [answer(psi) for psi in (79.8, 79.95, 80.0, 84.0)] == [
        ADVISORY, EXCUSED, EXCUSED, EXCUSED,
    ]  # fmt: skip


def test_a_regulator_set_to_nothing_is_believed() -> None:
    network = changed("house", ("check 1 CK", "pressure-reducing 1 CK downstream_pressure_pa=0.0"))
    job = {"water": {"static_pressure": "90 psi"}}
    assert outcome("heater-thermal-expansion", network, "WH", "upc-2021", job) is PASS


# -- vents of what burns fuel --------------------------------------------------------------------


@pytest.mark.parametrize("code", CODES)
def test_height_of_a_vent(code: str) -> None:
    def answer(feet: float) -> Outcome:
        top = f"27 6 {5.2 + feet!r}"
        return outcome("gas-vent-height", changed("vent", ("27 6 20", top)), "F5", code)

    limit(answer, 5.0, "ft")


def test_a_vent_above_the_roof_and_beside_the_building() -> None:
    def answer(z: float) -> Outcome:
        return outcome("heater-vented", changed("roof", ("27 6 20", f"27 6 {z!r}")), "A")

    roof = [answer(z) for z in (16.0, 16 - 0.9e-3 / FT, 16 - 1.1e-3 / FT, 15.0, 14.99)]
    assert roof == [PASS, PASS, UNVERIFIED, UNVERIFIED, VIOLATION]


def test_a_vent_both_short_and_under_the_roof() -> None:
    network = changed("roof", ("27 6 20", "27 6 9.2"))
    given = said("gas-vent-height", network, "F5")
    assert [(a.outcome, a.about) for a in given] == [(VIOLATION, ""), (VIOLATION, "CAP")]


@pytest.mark.parametrize("code", CODES)
def test_area_of_a_common_vent(code: str) -> None:
    def answer(ratio: float) -> Outcome:
        network = changed("vent", ("pipe 5 F5", f"pipe {4 * ratio**0.5!r} F5"))
        return outcome("common-vent-proportion", network, "F5", code)

    limit(answer, 7.0, "ratio", at_most=True)


def test_a_common_vent_is_not_smaller_than_its_connectors_nor_than_the_largest() -> None:
    def answer(size: float) -> Outcome:
        return outcome(
            "common-vent-proportion", changed("vent", ("pipe 5 F5", f"pipe {size!r} F5")), "F5"
        )

    limit(answer, 4.0, "in")


def test_a_common_vent_too_small_for_one_and_too_wide_for_another() -> None:
    network = changed(
        "vent", ("heater 4 A", "heater 1 A"), ("pipe 4 F4", "pipe 6 F4"), ("pipe 4 F3", "pipe 6 F3")
    )
    given = said("common-vent-proportion", network, "F5")  # fmt: skip
    assert [(a.outcome, a.about) for a in given] == [(VIOLATION, "B"), (VIOLATION, "A")]


@pytest.mark.parametrize("code", CODES)
def test_slope_of_a_connector(code: str) -> None:
    def answer(in_per_ft: float) -> Outcome:
        rise = in_per_ft / 12 * 2.7
        network = changed(
            "vent",
            ("24.2 6 7\n", f"24.2 6 {7.1 - rise!r}\n"),
            ("F2  24.2 6 7 ", f"F2  24.2 6 {7.1 - rise!r} "),
        )
        return outcome("vent-connector-slope", network, "F1", code)  # fmt: skip

    limit(answer, 0.25, "in/ft")


def test_each_pipe_of_a_connector_that_sags_is_found_by_itself() -> None:
    network = changed(
        "vent", ("24.2 6 7\n", "24.2 6 7.1\n"),
        ("pipe 4 F2  24.2 6 7 > 26.9 6 7.1", "pipe 4 F2  24.2 6 7.1 > 25 6 7.1\n"
         "coupling 4 FC  25 6 7.1 > 25.2 6 7.11\npipe 4 F6  25.2 6 7.11 > 26.9 6 7.1"),
    )  # fmt: skip
    assert about(said("vent-connector-slope", network, "F1")) == [
        ("F2", VIOLATION),
        ("F6", VIOLATION),
    ]


def test_a_stub_has_no_slope() -> None:
    def answer(feet: float) -> Outcome:
        end = f"{24.2 + feet!r} 6 7"
        bend = f"pipe 4 F2  24.2 6 7 > {end}\nbend 4 FB9  {end} > 26.9 6 7.1"
        network = changed("vent", ("pipe 4 F2  24.2 6 7 > 26.9 6 7.1", bend))
        return outcome("vent-connector-slope", network, "F1")

    bound(answer, 0.05 / FT, EXCUSED, VIOLATION)


def test_size_of_a_connector_on_its_outlet() -> None:
    def answer(size: float) -> Outcome:
        return outcome(
            "vent-connector-outlet", changed("vent", ("pipe 4 F1", f"pipe {size!r} F1")), "F1"
        )

    limit(answer, 4.0, "in")


def draws(kind: str, a_kbtuh: float, b_kbtuh: float = 30.0, *changes: tuple[str, str]) -> str:
    """The example with both heaters of a draft and inputs in thousands of Btu/h."""
    rated = "energy=gas input_rating_w="
    return changed(
        "vent", *changes,
        (f"4 A {rated}11722.8", f"4 A draft={kind} {rated}{a_kbtuh * KBTUH!r}"),
        (f"4 B {rated}11722.8", f"4 B draft={kind} {rated}{b_kbtuh * KBTUH!r}"),
    )  # fmt: skip


UP_15, UP_20 = ("27 6 20", "27 6 20.2"), ("27 6 20", "27 6 25.2")


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize(
    ("kind", "top", "most"),
    [
        ("natural", UP_15, 144.0), ("natural", UP_20, 160.0), ("fan", UP_15, 195.0),
        ("natural", ("27 6 20", "27 6 22.7"), 152.0),  # half way between 15 and 20 ft
        ("natural", ("27 6 20", "27 6 60"), 185.0),  # beyond the tallest row, that row
    ],
)  # fmt: skip
def test_load_of_a_common_vent(code: str, kind: str, top: tuple[str, str], most: float) -> None:
    def answer(load: float) -> Outcome:
        return outcome("common-vent-size", draws(kind, load - 30.0, 30.0, top), "F5", code)

    limit(answer, most, "kBtu/h", at_most=True)


def test_fan_and_natural_draft_on_one_vent() -> None:
    def answer(load: float) -> Outcome:
        network = draws("fan", load - 30.0, 30.0, UP_15).replace(
            "4 B draft=fan", "4 B draft=natural"
        )
        return outcome("common-vent-size", network, "F5")

    limit(answer, 164.0, "kBtu/h", at_most=True)


def test_the_remedy_of_a_common_vent_is_the_smallest_size_that_carries_its_load() -> None:
    given = said("common-vent-size", draws("natural", 130.0, 76.0, UP_15), "F5")[0]
    assert given.change is not None
    assert given.change.value == 6.0  # carries 206, and the load is 206
    assert said("common-vent-size", draws("natural", 131.0, 76.0, UP_15), "F5")[0].change is None


def test_no_table_holds_a_vent_lower_than_its_first_row() -> None:
    def answer(feet: float) -> Outcome:
        network = draws("natural", 30.0, 30.0, ("27 6 20", f"27 6 {5.2 + feet!r}"))
        return outcome("common-vent-size", network, "F5")

    limit(answer, 6.0, "ft", wrong=UNVERIFIED)


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize(("kind", "least", "most"), [("natural", None, 63.0), ("fan", 35.0, 96.0)])
def test_load_of_a_connector(code: str, kind: str, least: float | None, most: float) -> None:
    """4 in, type B, 2 ft of rise, 15 ft of vent."""

    def answer(load: float) -> Outcome:
        network = draws(kind, load, 40.0, UP_15)
        return outcome("vent-connector-size", network, "F1", code)

    limit(answer, most, "kBtu/h", at_most=True)
    if least is not None:
        limit(answer, least, "kBtu/h")


def test_rise_of_a_connector() -> None:
    def answer(feet: float) -> Outcome:
        z = 7.4 - feet
        network = draws("natural", 30.0, 30.0, UP_15).replace("24 6 5.2", f"24 6 {z!r}")
        return outcome("vent-connector-size", network, "F1")

    limit(answer, 1.0, "ft")


def test_one_elbow_and_a_little_length_more_take_off() -> None:
    """Of 63: 10 % for each elbow beyond two, 10 % for each multiple beyond 1-1/2 ft for each in."""

    def most(*changes: tuple[str, str]) -> float:
        given = said("vent-connector-size", draws("natural", 300.0, 30.0, UP_15, *changes), "F1")[0]
        assert given.required is not None
        return given.required.value

    def long(feet: float) -> float:
        network = draws("natural", 300.0, 30.0, UP_15)
        network = network.replace("24.2 6", f"{27.2 - feet!r} 6").replace(
            "24 6", f"{27 - feet!r} 6"
        )
        given = said("vent-connector-size", network, "F1")[0]
        assert given.required is not None
        return given.required.value

    assert most() == pytest.approx(63.0)
    elbow = "bend 4 E1  24 6 5.2 > 24 6 5.4\n"
    pipe = ("pipe 4 F1  24 6 5.2", f"{elbow}pipe 4 F1  24 6 5.4")
    assert most(pipe) == pytest.approx(63.0)
    two = f"{elbow}bend 4 E2  24 6 5.4 > 24 6 5.6\n"
    assert most(("pipe 4 F1  24 6 5.2", f"{two}pipe 4 F1  24 6 5.6")) == pytest.approx(63.0 * 0.9)
    past = 1.1 * slack(6.0, "ft")
    assert [long(6.0), long(6.0 + past)] == pytest.approx([63.0, 63.0 * 0.9])
    assert [long(12.0), long(12.0 + past)] == pytest.approx([63.0 * 0.9, 63.0 * 0.8])


def test_inputs_that_a_question_asks_about_are_each_answered() -> None:
    what_if = [
        {"name": "larger A", "element": "A", "input": "199000 Btu/hour"},
        {"name": "larger B", "element": "B", "input": "199000 Btu/hour"},
        {"name": "as it is", "element": "B", "input": "40000 Btu/hour"},
    ]
    given = said(
        "common-vent-what-if", changed("vent"), "F5", "upc-2021", {"gas": {"what_if": what_if}}
    )
    assert [a.outcome for a in given] == [ADVISORY, ADVISORY, PASS]
    assert len({a.about for a in given}) == 3


def test_each_appliance_that_may_not_share_is_found_by_itself() -> None:
    given = said("common-vent-size", draws("other", 40.0, 40.0), "F5")
    assert sorted(about(given)) == [("A", VIOLATION), ("B", VIOLATION)]


@pytest.mark.parametrize("code", CODES)
def test_condensate_over_a_receptor(code: str) -> None:
    def answer(inches: float) -> Outcome:
        network = f"""
slab S  0 0 -0.5 > 40 30 0
air-conditioner AC at=5,5,3  5 5 3
pipe 0.75 CD system=condensate  5 5 3 > 6 5 {inches / 12!r}
floor-drain FD system=sanitary_drainage at=6,5,0  6 5 -0.2
"""
        return outcome("condensate-disposal", network, "AC", code)

    limit(answer, 1.0 if code == "upc-2021" else 1.5, "in")
