"""Every limit that the rules about cleanouts read, from both sides: what lies on it, or past it by
less than the project's tolerance, passes; what lies farther past it does not."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from math import cos, radians, sin, tan
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest

import ifclint.rules.cleanouts
from ifclint import codes
from ifclint.engineering.tolerance import slack
from ifclint.findings import Answer, Outcome
from ifclint.job import job_of
from ifclint.judge import answers
from ifclint.packs import finders_of, make_pack
from ifclint.rules.cleanouts import access, clearance, openings
from ifclint.rules.cleanouts.rodding import reach
from ifclint.rules.cleanouts.section import CleanoutsSection
from ifclint.testing import context_of

if TYPE_CHECKING:
    from ifclint.plumbing import Cleanout

CASES = Path(__file__).parents[1] / "packs/cleanouts"
NETWORKS: dict[str, str] = {
    name: text
    for file in ("openings.toml", "where.toml", "rodding.toml")
    for name, text in tomllib.loads((CASES / file).read_text())["networks"].items()
}
PACK = make_pack("cleanouts", ifclint.rules.cleanouts)
RULES = {rule.name: rule for rule in PACK.rules}
ELSEWHERE = (
    "pipe 2 ELSE 90 50 -1 > 99 50 -1.2\ncleanout 2 CO9 90 50 -1\nsewer-connection S9 99 50 -1.2\n"
)
PASS, VIOLATION, ADVISORY = Outcome.PASS, Outcome.VIOLATION, Outcome.ADVISORY
EXCUSED = Outcome.NOT_APPLICABLE
FT = 0.3048


def changed(name: str, *changes: tuple[str, str], add: str = "") -> str:
    text = NETWORKS[name]
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text + add


def said(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> list[Answer]:
    """All that a rule says of one subject."""
    context = context_of(network, code, job_of(dict(job), {"cleanouts": CleanoutsSection}))
    asked = answers(RULES[rule], context, finders_of([PACK], PACK))
    return next(given for s, given in asked if s.element_ids[0] == subject)


def outcome(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> Outcome:
    return said(rule, network, subject, code, job)[0].outcome


def both_sides(
    answer: Callable[[float], Outcome], limit: float, unit: str, at_most: bool,
    wrong: Outcome = VIOLATION, right: Outcome = PASS,
) -> None:  # fmt: skip
    past = slack(limit, unit) * (1 if at_most else -1)
    assert answer(limit) is right
    assert answer(limit + 0.9 * past) is right
    assert answer(limit + 1.1 * past) is wrong
    assert answer(limit - 3 * past) is right


# -- the opening itself --------------------------------------------------------------------------


@pytest.mark.parametrize(("code", "limit"), [("upc-2021", 3.5), ("ipc-2021", 4), ("irc-2021", 4)])
def test_size_on_a_4_in_drain(code: str, limit: float) -> None:
    def answer(size_in: float) -> Outcome:
        network = changed("floor", ("cleanout 4 CO", f"cleanout {size_in!r} CO"))
        return outcome("cleanout-size", network, "CO", code)

    both_sides(answer, limit, "in", at_most=False)


@pytest.mark.parametrize(("code", "limit"), [("upc-2021", 1.5), ("ipc-2021", 1.5)])
def test_size_in_a_2_in_stack(code: str, limit: float) -> None:
    """UPC: what Table 707.1 lists for 2 in; IPC: one size smaller than 2 in."""

    def answer(size_in: float) -> Outcome:
        network = changed("wall", ("cleanout 2 CO", f"cleanout {size_in!r} CO"))
        return outcome("cleanout-size", network, "CO", code)

    both_sides(answer, limit, "in", at_most=False)


def test_direction() -> None:
    """The cable enters a stack through a branch that rises toward it by a few tenths of a degree,
    so that it is led against the flow."""

    def answer(degrees: float) -> Outcome:
        rise = radians(degrees - 90)
        x, z = repr(0.5 * cos(rise)), repr(1 - 0.5 * sin(rise))
        network = changed("wall", ("> 0.5 0 1", f"> {x} 0 {z}"), ("CO 0.5 0 1", f"CO {x} 0 {z}"))
        return outcome("cleanout-direction", network, "CO")

    assert openings.RIGHT_ANGLE_DEG == 90
    both_sides(answer, 90, "deg", at_most=True)


CLEARANCES = [
    ("upc-2021", 2, 18),
    ("upc-2021", 2.03, 18),
    ("upc-2021", 2.05, 24),
    ("ipc-2021", 6, 18),
    ("ipc-2021", 6.06, 36),
    ("irc-2021", 6, 18),
    ("irc-2021", 6.06, 36),
]


@pytest.mark.parametrize(("code", "pipe_in", "limit"), CLEARANCES)
def test_clearance(code: str, pipe_in: float, limit: float) -> None:
    def answer(inches: float) -> Outcome:
        near = 0.5 + inches / 12
        heater = f"water-heater WH system=cold_water box={near!r},-1,0,9,1,5 9 0 1\n"
        network = changed("wall", ("pipe 2 D2", f"pipe {pipe_in!r} D2"), add=heater)
        return outcome("cleanout-clearance", network, "CO", code)

    both_sides(answer, limit, "in", at_most=False)


@pytest.mark.parametrize(("beside_in", "expected"), [(1.5, VIOLATION), (1.7, PASS)])
def test_what_stands_beside_the_opening_is_not_before_it(
    beside_in: float, expected: Outcome
) -> None:
    """The opening of a 2 in pipe, 1 in wider all around, less a centimetre: 1.6 in off."""
    low = beside_in / 12
    heater = f"water-heater WH system=cold_water box=0.8,{low!r},0,3,3,5 2 0 1\n"
    assert outcome("cleanout-clearance", changed("wall", add=heater), "CO") is expected


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_behind_the_face_of_the_wall(code: str) -> None:
    def answer(inches: float) -> Outcome:
        x = repr(0.5 - inches / 12)
        network = changed("wall", ("> 0.5 0 1", f"> {x} 0 1"), ("CO 0.5 0 1", f"CO {x} 0 1"))
        return outcome("cleanout-access", network, "CO", code)

    both_sides(answer, 1.5, "in", at_most=True)


@pytest.mark.parametrize(("off_m", "expected"), [(0.29, PASS), (0.31, VIOLATION)])
def test_an_access_panel_before_it(off_m: float, expected: Outcome) -> None:
    assert access.PANEL_M == 0.3
    x = 0.1 + off_m / FT
    network = changed(
        "wall", ("> 0.5 0 1", "> 0.1 0 1"), ("CO 0.5 0 1", "CO 0.1 0 1"),
        add=f"door PANEL {x!r} -0.5 0.5 > {x + 0.1!r} 0.5 1.5\n",
    )  # fmt: skip
    assert outcome("cleanout-access", network, "CO") is expected


OUTDOORS = ("slab SLAB -6 -6 -0.5 > 30 6 0", "slab SLAB 3 -6 -0.5 > 30 6 0")


def test_under_the_slab() -> None:
    """The opening lies at 0; the slab so much above it."""

    def answer(metres: float) -> Outcome:
        low = metres / FT
        slab = f"slab SLAB -6 -6 {low!r} > 30 6 {low + 0.5!r}"
        return outcome("cleanout-access", changed("floor", (OUTDOORS[0], slab)), "CO")

    both_sides(answer, 0, "m", at_most=True)


def test_a_hand_below_grade() -> None:
    def answer(metres: float) -> Outcome:
        job = {"building": {"grade_elevation": f"{metres!r} m"}}
        return outcome("cleanout-access", changed("floor", OUTDOORS), "CO", job=job)

    assert openings.HAND_M == 0.15
    both_sides(answer, 0.15, "m", at_most=True)


def test_outdoors_without_a_grade() -> None:
    """The lowest floor lies so much above the opening."""

    def answer(metres: float) -> Outcome:
        storey = ("storey L1 0", f"storey L1 {metres / FT!r}")
        return outcome("cleanout-access", changed("floor", OUTDOORS, storey), "CO")

    assert access.NEAR_GRADE_M == 0.6
    both_sides(answer, 0.6, "m", at_most=True, wrong=Outcome.UNVERIFIED)


# -- where one is wanted ---------------------------------------------------------------------------

NO_CLEANOUT = ("cleanout 2 CO", "cap 2 CO")


def on_the_line(feet: float) -> str:
    """The kitchen drain with its only cleanout so far from its upper end."""
    x, z = feet, -1 - feet * 0.0208
    line = (
        f"pipe 2 LINE 0.1 0 -1.002 > {x - 0.1!r} 0 {z!r}\n"
        f"wye W at={x!r},0,{z!r} {x - 0.1!r} 0 {z!r} > {x + 0.1!r} 0 {z!r} > "
        f"{x - 0.1!r} 0.1 {z + 0.1!r}\n"
        f"cleanout 2 CO2 {x - 0.1!r} 0.1 {z + 0.1!r}\n"
        f"pipe 2 LINE2 {x + 0.1!r} 0 {z!r} > 12 0 -1.25"
    )
    return changed("sink", NO_CLEANOUT, ("pipe 2 LINE 0.1 0 -1.002 > 12 0 -1.25", line))


@pytest.mark.parametrize(("feet", "expected"), [(0.98, PASS), (1.02, VIOLATION)])
def test_at_the_upper_end(feet: float, expected: Outcome) -> None:
    assert outcome("upper-end-cleanout", on_the_line(feet), "LINE") is expected


def test_a_short_line() -> None:
    """From the middle of the sweep at x = 0 to the sewer, level."""

    def answer(feet: float) -> Outcome:
        network = changed(
            "sink", NO_CLEANOUT, ("kitchen-sink K", "lavatory K"), ("-1.002", "-1"),
            ("12 0 -1.25", f"{feet!r} 0 -1"), add=ELSEWHERE,
        )  # fmt: skip
        return outcome("upper-end-cleanout", network, "LINE")

    assert answer(5.0) is VIOLATION  # shorter than 5 ft is excused, and 5 ft is not shorter
    assert answer(5.0 - 0.9 * slack(5, "ft")) is VIOLATION
    assert answer(5.0 - 1.1 * slack(5, "ft")) is EXCUSED
    assert answer(5.1) is VIOLATION


@pytest.mark.parametrize("serves", ["kitchen-sink", "urinal"])
def test_a_short_line_that_wants_one(serves: str) -> None:
    network = changed(
        "sink", NO_CLEANOUT, ("kitchen-sink K", f"{serves} K"), ("12 0 -1.25", "3 0 -1.06"),
        add=ELSEWHERE,
    )  # fmt: skip
    assert outcome("upper-end-cleanout", network, "LINE") is VIOLATION


def test_interval() -> None:
    """The line below its last cleanout, with all its falls left out."""

    def answer(feet: float) -> Outcome:
        line = f"""
storey L1 0
floor-drain F -1 0 0
pipe 2 TF -1 0 0 > -1 0 -0.6
p-trap 2 T -1 0 -0.6 > -0.7 0 -0.8
pipe 2 A -0.7 0 -0.8 > -0.1 0 -0.81
combination V at=0,0,-0.812 -0.1 0 -0.81 > 0.1 0 -0.812 > 0 0 -0.7
pipe 2 VENT system=vent 0 0 -0.7 > 0 0 13
vent-through-roof VTR system=vent 0 0 13
pipe 3 L1 0.1 0 -0.812 > {feet!r} 0 -0.812
sewer-connection SEWER {feet!r} 0 -0.812
"""
        return outcome("cleanout-interval", line + ELSEWHERE, "L1")

    for code in ("upc-2021", "ipc-2021", "irc-2021"):
        assert codes.load(code).limit("cleanout_interval_ft").value == 100
    both_sides(answer, 100, "ft", at_most=True)


def bent(*corners: tuple[float, float], cleanouts: tuple[float, ...] = ()) -> str:
    """A level 3 in drain from a floor drain through corners (x, y in ft), with cleanouts at places
    (x) on its first stretch; the legs of its fittings are 0.1 ft long."""
    text = NETWORKS["long"].split("pipe 3 L1")[0].replace("-0.814", "-0.812")
    places = [*((x, 0.0) for x in cleanouts), *corners]
    start = (0.1, 0.0)
    for n, (x, y) in enumerate(places[:-1], 1):
        (before, after), following = _legs(start, (x, y), places[n]), ""
        text += f"pipe 3 L{n} {_at(start)} > {_at(before)}\n"
        if n <= len(cleanouts):
            side = f"{x - 0.1!r} 0.1 -0.7"
            text += f"wye 3 W{n} at={x!r},{y!r},-0.812 {_at(before)} > {_at(after)} > {side}\n"
            following = f"cleanout 3 CO{n} {side}\n"
        else:
            text += f"fitting 3 BEND{n} at={x!r},{y!r},-0.812 {_at(before)} > {_at(after)}\n"
        text, start = text + following, after
    text += f"pipe 3 L{len(places)} {_at(start)} > {_at(places[-1])}\n"
    return text + f"sewer-connection SEWER {_at(places[-1])}\n" + ELSEWHERE


def _at(place: tuple[float, float]) -> str:
    return f"{place[0]!r} {place[1]!r} -0.812"


def _legs(
    start: tuple[float, float], corner: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    """The ends of a fitting at a corner."""
    legs = []
    for x, y in (start, end):
        share = 0.1 / ((x - corner[0]) ** 2 + (y - corner[1]) ** 2) ** 0.5
        legs.append((corner[0] + (x - corner[0]) * share, corner[1] + (y - corner[1]) * share))
    return legs


def one_turn(degrees: float) -> tuple[tuple[float, float], tuple[float, float]]:
    turn = radians(degrees)
    return (30.0, 0.0), (30 + 20 * cos(turn), 20 * sin(turn))


@pytest.mark.parametrize("code", ["ipc-2021", "irc-2021"])
def test_a_turn(code: str) -> None:
    def answer(degrees: float) -> Outcome:
        return outcome("cleanout-turns", bent(*one_turn(degrees)), "L1", code)

    both_sides(answer, 45, "deg", at_most=True)


def test_turns_added_up() -> None:
    """UPC: a turn of 90° and a second one, together."""

    def answer(degrees: float) -> Outcome:
        second = radians(degrees)
        end = 30 + 20 * cos(second), 20 + 20 * sin(second)
        return outcome("cleanout-turns", bent((30, 0), (30, 20), end), "L1")

    both_sides(answer, 135, "deg", at_most=True)


def test_a_cleanout_above_a_turn() -> None:
    """IPC: 2 ft above it still counts as at it."""

    def answer(feet: float) -> Outcome:
        network = bent(*one_turn(90), cleanouts=(30 - feet,))
        return outcome("cleanout-turns", network, "L1", "ipc-2021")

    both_sides(answer, 2, "ft", at_most=True)


def test_one_cleanout_serves_40_ft() -> None:
    """IPC: of two turns, the first with a cleanout, the second farther down."""

    def answer(feet: float) -> Outcome:
        network = bent((30, 0), (30, feet), (60, feet), cleanouts=(29,))
        return outcome("cleanout-turns", network, "L1", "ipc-2021")

    both_sides(answer, 40, "ft", at_most=True)


def test_each_turn_that_wants_a_cleanout() -> None:
    """IPC: two turns 60 ft apart. UPC: four turns of 90°, of which two and two are too many."""
    far = bent((30, 0), (30, 60), (60, 60))
    found = [
        a.about for a in said("cleanout-turns", far, "L1", "ipc-2021") if a.outcome is VIOLATION
    ]
    assert found == ["BEND1", "BEND2"]
    four = bent((30, 0), (30, 10), (40, 10), (40, 20), (50, 20))
    given = [a for a in said("cleanout-turns", four, "L1") if a.outcome is VIOLATION]
    assert [(a.about, a.measured and round(a.measured.value)) for a in given] == [
        ("BEND2", 180), ("BEND3", 180), ("BEND4", 180),
    ]  # fmt: skip


def test_each_stretch_that_is_too_long() -> None:
    network = bent((230, 0), cleanouts=(110,))
    given = [a for a in said("cleanout-interval", network, "L1") if a.outcome is VIOLATION]
    assert {a.about for a in given} == {"L1", "CO1"}


def stack_cleanout(feet: float) -> str:
    """A cleanout so high above the foot of the stack, at z = -0.9."""
    z = feet - 0.9
    return changed(
        "stack", ("> 0 0 1.1", f"> 0 0 {z + 0.1!r}"),
        ("at=0,0,1 0 0 1.1 > 0 0 0.9 > -0.2 0 1",
         f"at=0,0,{z!r} 0 0 {z + 0.1!r} > 0 0 {z - 0.1!r} > -0.2 0 {z!r}"),
        ("CO -0.2 0 1", f"CO -0.2 0 {z!r}"), ("S2 0 0 0.9", f"S2 0 0 {z - 0.1!r}"),
    )  # fmt: skip


def test_base_of_a_stack() -> None:
    """Counted from the lowest floor, where the foot lies in the ground; else from the foot."""
    ground = (
        "storey L1 0\nslab SLAB -6 -6 -0.5 > 18 8 0",
        "storey L1 -3\nslab SLAB -6 -6 -3.5 > 18 8 -3",
    )

    def answer(feet: float) -> Outcome:
        return outcome("stack-base-cleanout", stack_cleanout(feet), "S1", "ipc-2021")

    def above_floor(feet: float) -> Outcome:
        network = stack_cleanout(feet)
        assert ground[0] in network
        return outcome("stack-base-cleanout", network.replace(*ground), "S1", "ipc-2021")

    both_sides(lambda feet: answer(feet + 0.9), 4, "ft", at_most=True, wrong=ADVISORY)
    both_sides(above_floor, 4, "ft", at_most=True, wrong=ADVISORY)


JUNCTIONS = [("upc-2021", 2, 10, 5), ("ipc-2021", 2.5, 10, 5), ("irc-2021", 2.5, 10, 5)]


@pytest.mark.parametrize(("code", "beyond", "upstream", "past"), JUNCTIONS)
def test_sewer_junction(code: str, beyond: float, upstream: float, past: float) -> None:
    """The drain, level here, leaves the slab at x = 20; the junction lies `beyond` it."""

    def answer(x: float) -> Outcome:
        network = changed(
            "sewer", ("-1.456", "-1.044"), ("-1.458", "-1.044"), ("-1.46", "-1.044"),
            ("-2.25", "-1.044"), ("21.9 0", f"{x!r} 0"), ("at=22,0", f"at={x + 0.1!r},0"),
            ("22.1 0", f"{x + 0.2!r} 0"), ("22 0 -", f"{x + 0.1!r} 0 -"),
        )  # fmt: skip
        return outcome("sewer-junction-cleanout", network, "D2", code)

    junction = 20 + beyond
    # a fitting lies where its centre is, 0.1 ft below where it is entered
    both_sides(lambda d: answer(junction - d - 0.1), upstream, "ft", at_most=True)
    both_sides(lambda d: answer(junction + d - 0.1), past, "ft", at_most=True)


def test_unreached() -> None:
    """A cable that ends so many feet short of the sewer."""
    short = context_of(
        NETWORKS["drain"], job=job_of(CABLE_OF_60_FT, {"cleanouts": CleanoutsSection})
    )
    line = next(line for line in short.plumbing.lines if line.key == "L1")
    left = sum(reach(short).unreached_m(i) for s in line.segments for i in s.indexes) / FT

    def answer(feet: float) -> Outcome:
        job = {"cleanouts": {"cable_length": f"{60 + left - feet!r} ft"}}
        return outcome("drain-reached", NETWORKS["drain"], "L1", job=job)

    both_sides(answer, 5, "ft", at_most=True, wrong=ADVISORY)


CABLE_OF_60_FT = {"cleanouts": {"cable_length": "60 ft"}}


def test_steep_lines_are_excused() -> None:
    """As far as 72° from the vertical, what a fifth bend turns: all of the line."""
    limit = codes.load("upc-2021").limit("cleanout_steep_deg").value
    assert limit == 72

    def answer(degrees: float, level_ft: float = 0.0) -> Outcome:
        low, end = -1.002 - 11.9 * tan(radians(90 - degrees)), 12 + level_ft
        network = changed(
            "sink",
            NO_CLEANOUT,
            (
                "12 0 -1.25\nsewer",
                f"12 0 {low!r}\npipe 2 ON 12 0 {low!r} > {end} 0 {low - 0.2}\nsewer",
            ),
            ("SEWER 12 0 -1.25", f"SEWER {end} 0 {low - 0.2}"),
            add=ELSEWHERE,
        )
        return outcome("upper-end-cleanout", network, "LINE")

    assert answer(46) is answer(limit - 1) is answer(limit) is EXCUSED
    assert answer(limit + 1) is answer(89) is VIOLATION
    assert answer(60, level_ft=10) is VIOLATION


def test_each_thing_in_the_way() -> None:
    both = "".join(
        f"water-heater WH{n} system=cold_water box={x},-1,0,9,1,5 9 0 1\n"
        for n, x in ((1, 1), (2, 1.5))
    )
    given = said("cleanout-clearance", changed("wall", add=both), "CO")
    assert [(a.about, a.outcome) for a in given[:2]] == [("WH1", VIOLATION), ("WH2", VIOLATION)]


def test_each_kitchen_sink_on_a_line() -> None:
    second = """
kitchen-sink K2 5 0 2.4
pipe 1.5 TK2 5 0 2.4 > 5 0 1.7
p-trap 1.5 T2 5 0 1.7 > 5.3 0 1.535
pipe 1.5 A2 5.3 0 1.535 > 5.9 0 1.52
sanitary-tee TEE2 at=6,0,1.518 5.9 0 1.52 > 6 0 1.4 > 6 0 1.6
pipe 1.5 VENT2 system=vent 6 0 1.6 > 6 0 13
vent-through-roof VTR2 system=vent 6 0 13
pipe 2 D3 6 0 1.4 > 6 0 -1
"""
    line = (
        "pipe 2 LINE 0.1 0 -1.002 > 5.9 0 -1.12\n"
        "combination W at=6,0,-1.122 5.9 0 -1.12 > 6.1 0 -1.124 > 6 0 -1\n"
        "pipe 2 LINE2 6.1 0 -1.124 > 12 0 -1.25"
    )
    network = changed("sink", NO_CLEANOUT, ("pipe 2 LINE 0.1 0 -1.002 > 12 0 -1.25", line),
                      add=second + ELSEWHERE)  # fmt: skip
    given = said("kitchen-drain-rodded", network, "LINE", "ipc-2021")
    assert sorted(a.about for a in given) == ["K", "K2"]


def _before(inward: tuple[float, float, float]) -> list[tuple[float, float]]:
    """The box before an opening of 2 in at (10, 20, 3), 0.5 m deep, as its span along each axis."""
    drawn = SimpleNamespace(point=(10.0, 20.0, 3.0), inward=inward, pipe_in=2.0, size_in=1.5)
    low, high = clearance._space(cast("Cleanout", drawn), 0.5)
    return list(zip(low, high, strict=True))


def test_the_space_before_an_opening_is_as_wide_as_its_rim() -> None:
    """Half of 2 in and the rim, less the skin, on both sides; the floor below a level opening is
    not in its way, and what it opens into is no part of the space."""
    half, skin = 0.0254 + clearance.RIM_M - openings.SKIN_M, openings.SKIN_M
    beside = [(10 - half, 10 + half), (20 - half, 20 + half)]
    assert _before((0.0, 0.0, -1.0)) == [
        *map(pytest.approx, beside), pytest.approx((3 + skin, 3.5)),
    ]  # fmt: skip
    level = pytest.approx((3 - skin, 3 + half))
    assert _before((1.0, 0.0, 0.0)) == [
        pytest.approx((9.5, 10 - skin)), pytest.approx(beside[1]), level,
    ]  # fmt: skip
    assert _before((0.0, -1.0, 0.0)) == [
        pytest.approx(beside[0]), pytest.approx((20 + skin, 20.5)), level,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("x", "y", "axis", "behind"),
    [(0.95, 5.0, 0, True), (0.95, 5.0, 1, False), (1.1, 4.98, 0, False), (1.1, 4.98, 1, True)],
)
def test_a_panel_is_before_an_opening_along_its_axis_alone(
    x: float, y: float, axis: int, behind: bool
) -> None:
    """A door from (1, 5) to (1.2, 6) m: the opening lies short of it along x, or along y."""
    feet = [v / FT for v in (1.0, 5.0, 0.0, 1.2, 6.0, 2.0)]
    door = "door D  {!r} {!r} {!r} > {!r} {!r} {!r}".format(*feet)
    assert access._is_behind_panel((x, y, 1.0), axis, context_of(door)) == behind
