"""What lies exactly at a limit passes wherever the building stands and however it is turned."""

from __future__ import annotations

from math import cos, radians, sin
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint import codes, network
from ifclint.ifc.elements import Point
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context, Rule, finders_of, load_packs
from ifclint.plumbing import build
from ifclint.review import review
from ifclint.testing.networks import read_network

HOSTILE = Path(__file__).parents[3] / "shared" / "hostile"
PACKS = load_packs().loaded
FINDERS = finders_of(PACKS)
RULES = {rule.name: rule for pack in PACKS for rule in pack.rules}


def drain(
    size: float, fall_in_per_ft: float, length: float = 10.0, fixture: str = "bathtub"
) -> str:
    """Two fixtures on a drain that falls evenly."""
    fall = fall_in_per_ft * length / 12
    return f"""
    {fixture} T  0 0 0
    {fixture} U  0 1 0
    wye {size} W  0 0 0 > 0 1 0 > 0.5 0 0
    pipe {size} P  0.5 0 0 > {0.5 + length} 0 {-fall}
    sewer-connection S  {0.5 + length} 0 {-fall}
    """


def stack(height_ft: float) -> str:
    return f"""
    bathtub T  -1 0 {height_ft}
    pipe 2 A  -1 0 {height_ft} > 0 0 {height_ft}
    bathtub T2  -1 1 {height_ft / 2}
    pipe 2 S1  0 0 {height_ft} > 0 0 {height_ft / 2}
    pipe 2 A2  -1 1 {height_ft / 2} > 0 0 {height_ft / 2}
    pipe 2 S2  0 0 {height_ft / 2} > 0 0 0
    sewer-connection S  0 0 0
    cleanout 2 CO  9 9 9
    """


def line(length_ft: float) -> str:
    """A drain with a cleanout at its head, and none for so far."""
    return f"""
    bathtub T  0 0 0
    pipe 3 DROP  0 0 0 > 0 0 -1
    cleanout 3 CO  -1 0 -1
    wye 3 W at=0,0,-1  0 0 -1 > -1 0 -1 > 0.1 0 -1
    pipe 3 LINE  0.1 0 -1 > {length_ft} 0 {-1 - length_ft / 48}
    sewer-connection S  {length_ft} 0 {-1 - length_ft / 48}
    """


def turned_drain(degrees: float) -> str:
    x, y = 10 * cos(radians(degrees)), 10 * sin(radians(degrees))
    return f"""
    bathtub T  -20 0 0
    pipe 3 LINE  -20 0 0 > -0.1 0 -0.398
    bend 3 B at=0,0,-0.4  -0.1 0 -0.398 > {x / 100} {y / 100} -0.402
    pipe 3 LINE2  {x / 100} {y / 100} -0.402 > {x} {y} -0.6
    sewer-connection S  {x} {y} -0.6
    cleanout 3 CO  9 9 9
    """


AT_THE_LIMIT = {  # rule, subject, code, network, what is said
    "2 %, which is 1/4 in/ft": ("drain-slope", "P", "upc-2021", drain(2, 0.24), "pass"),
    "1/4 in/ft": ("drain-slope", "P", "ipc-2021", drain(2, 0.25), "pass"),
    "2 % over 4 in of pipe": ("drain-slope", "P", "upc-2021", drain(2, 0.24, 0.33), "pass"),
    "1 %, which is 1/8 in/ft": (
        "drain-slope", "P", "ipc-2021", drain(3, 0.12, 10, "water-closet"), "pass",
    ),
    "1.9 %": ("drain-slope", "P", "irc-2021", drain(2, 0.228), "violation"),
    "level": ("drain-backfall", "P", "upc-2021", drain(2, 0.0) + drain(2, 0.25).replace(
        "T ", "TT ").replace("U ", "UU ").replace(" 0 0 0", " 0 30 0"), "pass"),
    "a stack of 8 ft": ("stack-capacity", "S2", "ipc-2021", stack(8.0), "pass"),
    "100 ft between cleanouts": ("cleanout-interval", "LINE", "upc-2021", line(100.0), "pass"),
    "a turn of 45 degrees": ("cleanout-turns", "LINE", "ipc-2021", turned_drain(45), "pass"),
    "a turn of 135 degrees": ("cleanout-turns", "LINE", "upc-2021", turned_drain(135), "pass"),
    "a turn of 47 degrees": ("cleanout-turns", "LINE", "irc-2021", turned_drain(47), "violation"),
}  # fmt: skip


def asked_of(rule: Rule, subject: str, code: str, text: str, turn: float, by: Point) -> str:
    """What a rule says of a network that is turned about the vertical and moved, in metres."""
    model = read_network(text).model

    def moved(point: Point | None) -> Point | None:
        if point is None:
            return None
        x, y, z = point
        c, s = cos(radians(turn)), sin(radians(turn))
        return (x * c - y * s + by[0], x * s + y * c + by[1], z + by[2])

    for element in model.elements:
        element.position = moved(element.position)
        for end in element.ends:
            end.position = moved(end.position)
    context = Context(codes.load(code), build(network.connect(model)), Job())
    said = {s.element_ids[0]: given[0] for s, given in answers(rule, context, FINDERS)}
    return said[subject].outcome.value if subject in said else "no such subject"


@pytest.mark.parametrize("name", AT_THE_LIMIT)
@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    turn=st.floats(0, 360),
    by=st.tuples(st.floats(-5e5, 5e5), st.floats(-5e5, 5e5), st.floats(-200, 3000)),
)
def test_the_same_wherever_it_stands(name: str, turn: float, by: Point) -> None:
    rule, subject, code, text, expected = AT_THE_LIMIT[name]
    assert asked_of(RULES[rule], subject, code, text, 0.0, (0.0, 0.0, 0.0)) == expected
    assert asked_of(RULES[rule], subject, code, text, turn, by) == expected


@pytest.mark.parametrize("height", ["0.5", "0.7"])
def test_two_percent_at_any_height_in_a_file(height: str) -> None:
    model = HOSTILE / f"slope_2pct_{height}.ifc"
    if not model.exists():
        pytest.skip("the file is not at hand")
    done = review([model], code="upc-2021")
    [slope] = [c for c in done.coverage if c.rule == "drain-slope"]
    assert (slope.passed, slope.violations) == (1, 0)
