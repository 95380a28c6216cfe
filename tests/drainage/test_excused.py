"""What the drainage rules excuse, what they do not, and the sizes that their remedies ask for."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.amendments import amended
from ifclint.findings import Answer
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.drainage import drains, fittings, fixtures, stack_bases, to_outlet, whole
from ifclint.testing import ask, read_network


def said(rule, subject: str, network: str, code: str = "upc-2021") -> Answer:
    return ask(rule, network, code)[subject]


def bathtubs(count: int) -> str:
    """Bathtubs, and the ends of a fitting that takes them all."""
    return "\n".join(f"bathtub T{k}  0 {k} 0" for k in range(count))


def ends(count: int) -> str:
    return " > ".join(f"0 {k} 0" for k in range(count))


def test_the_size_asked_for_holds_at_any_slope_where_the_slope_is_not_known():
    """8 DFU: 2 in carries them at 1/4 in per ft, but not at 1/8."""
    network = f"""
    {bathtubs(4)}
    wye 1.5 W  {ends(4)} > 1 0 0
    pipe 1.5 P  1 0 0 > 10 0 0
    sewer-connection S  10 0 0
    """
    assert said(drains.drain_capacity, "P", network).change.value == 2.5


def test_the_size_asked_for_narrows_nothing():
    network = f"""
    {bathtubs(3)}
    wye 4 W  {ends(3)} > 1 0 -0.1
    pipe 4 A  1 0 -0.1 > 5 0 -0.2
    pipe 1.5 P  5 0 -0.2 > 10 0 -0.4
    sewer-connection S  10 0 -0.4
    """
    assert said(drains.drain_capacity, "P", network).change.value == 4


@pytest.mark.parametrize(("size", "outcome"), [(1.75, "violation"), (14, "unverified")])
def test_a_size_between_those_listed_is_wrong_and_one_beyond_them_a_question(size, outcome):
    network = f"""
    {bathtubs(3)}
    wye {size} W  {ends(3)} > 1 0 0
    pipe {size} P  1 0 0 > 5 0 -0.2
    sewer-connection S  5 0 -0.2
    """
    assert said(drains.drain_capacity, "P", network).outcome == outcome


BRANCH = """
lavatory L  -3 0 3
p-trap 1.25 T  -3 0 3 > -3 0 2
pipe 1.25 ARM  -3 0 2 > {to} 0 1.9
sanitary-tee 1.25 ST  {to} 0 1.9 > {to} 0 1.7 > {to} 0 2.1
pipe 1.25 V system=vent  {to} 0 2.1 > {to} 0 20
pipe 1.25 D  {to} 0 1.7 > {to} 0 1
long-sweep 1.25 LS  {to} 0 1 > -1.8 0 0.9
pipe 1.25 B  -1.8 0 0.9 > -0.2 0 0.85
water-closet C  0 0 12
pipe 3 S2  0 0 12 > 0 0 1
sanitary-tee 3 W  0 0 1 > -0.2 0 0.85 > 0 0 0.7
pipe 3 S1  0 0 0.7 > 0 0 -9
sewer-connection X  0 0 -9
"""


def test_a_fixture_drain_as_small_as_its_trap_may_lead_to_a_stack():
    """The IPC lists no branch of 1-1/4 in, but a building drain, for 1 DFU."""
    assert said(drains.drain_capacity, "B", BRANCH.format(to=-2), "ipc-2021").outcome == "pass"


def test_a_trap_arm_that_ends_at_a_vent_has_no_capacity_however_long():
    network = BRANCH.replace("-3 0", "-30 0").format(to=-2)
    assert said(drains.drain_capacity, "ARM", network).outcome == "not-applicable"


@pytest.mark.parametrize(("closets", "outcome"), [(1, "pass"), (2, "violation")])
def test_a_closet_bend_takes_one_closet_onto_3_in(closets, outcome):
    more = "water-closet D  1 0 0" if closets == 2 else "lavatory D  1 0 0"
    network = f"""
    water-closet C  0 0 0
    {more}
    wye 4 W  0 0 0 > 1 0 0 > 0 0 -0.3
    pipe 4 P  0 0 -0.3 > 0 0 -1
    closet-bend 3 B  0 0 -1 > 0.3 0 -1.3
    pipe 3 Q  0.3 0 -1.3 > 10 0 -1.6
    sewer-connection S  10 0 -1.6
    """
    assert said(drains.drain_not_reduced, "P", network, "ipc-2021").outcome == outcome


@pytest.mark.parametrize(
    ("fixture", "outcome"), [("water-closet", "violation"), ("clinical-sink", "pass")]
)
def test_of_trap_arms_only_that_of_a_closet_is_held_to_its_size(fixture, outcome):
    network = f"""
    {fixture} C  0 0 0
    pipe 2 P  0 0 0 > 3 0 -0.07
    pipe 3 Q  3 0 -0.07 > 3 0 -7
    sewer-connection S  3 0 -7
    """
    assert said(drains.fixtures_allowed_on_drain, "P", network).outcome == outcome


def test_a_quarter_bend_takes_one_fixture():
    network = """
    lavatory L  0 0 0
    lavatory M  1 0 0
    wye 2 W  0 0 0 > 1 0 0 > 0 0 -1
    pipe 2 P  0 0 -1 > 0 0 -5
    quarter-bend 2 F  0 0 -5 > 0.3 0 -5.3
    pipe 2 Q  0.3 0 -5.3 > 10 0 -5.6
    sewer-connection S  10 0 -5.6
    """
    assert said(fittings.fitting_for_direction, "F", network, "ipc-2021").outcome == "violation"


def test_a_dishwasher_on_the_trap_of_a_sink_has_none_of_its_own():
    network = """
    kitchen-sink K  0 0 3
    dishwasher D  1 0 2.5
    tee 1.5 TP  0 0 3 > 0 0 2 > 1 0 2.5
    p-trap 1.25 T  0 0 2 > 0.5 0 1.5
    pipe 2 P  0.5 0 1.5 > 9 0 1.3
    sewer-connection S  9 0 1.3
    """
    assert said(fixtures.fixture_trap_size, "D", network).outcome == "not-applicable"
    assert said(fixtures.fixture_trap_size, "K", network).outcome == "violation"


def test_a_household_disposer_asks_for_no_trap():
    network = """
    disposer D  0 0 3
    p-trap 1.5 T  0 0 3 > 0.5 0 1.5
    pipe 2 P  0.5 0 1.5 > 9 0 1.3
    sewer-connection S  9 0 1.3
    """
    assert said(fixtures.fixture_trap_size, "D", network).outcome == "not-applicable"


def test_a_washer_that_stands_alone_on_a_stack_is_judged_by_the_stack():
    network = """
    clothes-washer W  0 0 14
    p-trap 2 T  0 0 14 > 0.5 0 13.5
    pipe 2 A  0.5 0 13.5 > 3 0 13.4
    pipe 2 S1  3 0 13.4 > 3 0 0
    sewer-connection X  3 0 0
    """
    answer = said(fixtures.fixture_branch_size, "W", network, "ipc-2021")
    assert (answer.outcome, answer.elements[0]) == ("violation", "S1")


BASE = """
water-closet A  0 0 12
pipe 3 S1  0 0 12 > 0 0 0.3
long-sweep 3 L  0 0 0.3 > 0.3 0 0
pipe 3 B1  0.3 0 0 > 1.3 0 -0.021
{joining}
wye 3 W  1.3 0 -0.021 > 1.3 0.2 -0.01 > 1.5 0 -0.025
pipe 3 B2  1.5 0 -0.025 > 1.9 0 -0.033
bathtub U  -3 -3 0.1
pipe 2 PC  -3 -3 0.1 > 1.9 -0.2 -0.03
wye 3 V  1.9 0 -0.033 > 1.9 -0.2 -0.03 > 2.1 0 -0.04
pipe 3 B3  2.1 0 -0.04 > 11.6 0 -0.236
sewer-connection X  11.6 0 -0.236
"""
OTHER_STACK = """
water-closet D  -9 3 12
water-closet E  -9 4 12
wye 3 N  -9 3 12 > -9 4 12 > -9 3 11.8
pipe 3 S2  -9 3 11.8 > -9 3 0.4
long-sweep 3 M  -9 3 0.4 > -8.8 3 0.2
pipe 3 PB  -8.8 3 0.2 > 1.3 0.2 -0.01
"""
DROP = "bathtub T  1.3 0.2 3\npipe 3 PB  1.3 0.2 3 > 1.3 0.2 -0.01"
BATHTUB = "bathtub T  -3 3 0.1\npipe 2 PB  -3 3 0.1 > 1.3 0.2 -0.01"


@pytest.mark.parametrize(
    ("joining", "outcome"), [(BATHTUB, "violation"), (OTHER_STACK, "pass"), (DROP, "pass")]
)
def test_past_the_drain_of_other_stacks_no_branch_is_near_the_base(joining, outcome):
    network = BASE.format(joining=joining)
    assert said(stack_bases.stack_base_connection, "S1", network, "ipc-2021").outcome == outcome


OLDER = [
    {
        "table": "drain_restrictions",
        "row": {"size_in": 3, "orientation": orientation},
        "column": "max_count",
        "value": most,
        "reason": "the code of the state",
    }
    for orientation, most in (("horizontal", 3), ("vertical", 4))
]


@pytest.mark.parametrize(("closets", "outcome"), [(3, "pass"), (4, "unverified"), (5, "violation")])
def test_how_many_closets_is_not_known_where_the_orientation_is_not(closets, outcome):
    """In older editions a 3 in horizontal takes three, a vertical four."""
    lines = "\n".join(f"water-closet C{k}  0 {k} 0" for k in range(closets))
    network = read_network(f"""
    {lines}
    wye 3 W  {ends(closets)} > 1 0 -1
    pipe 3 P  1 0 -1 > 1 0 -7
    sewer-connection S  1 0 -7
    """)
    for element in network.elements:
        for end in element.ends:
            end.position = None
    job = Job.model_validate({"amendments": OLDER})
    context = Context(amended(codes.load("upc-2021"), job), build(network), job)
    ((drain, given),) = answers(drains.fixtures_allowed_on_drain, context, finders())
    assert (drain.orientation, given[0].outcome) == (None, outcome)


TWO_BOWLS = """
kitchen-sink K  -2 0 2.4 > -3 0 2.4
pipe 1.5 TP1  -2 0 2.4 > -2 0 1.9
pipe 1.5 TP2  -3 0 2.4 > -3 0 2
quarter-bend 1.5 Q  -3 0 2 > -2.9 0 1.9
pipe 1.5 CW  -2.9 0 1.9 > -2.1 0 1.85
tee 1.5 CT  -2 0 1.9 > -2.1 0 1.85 > -2 0 1.8
p-trap 1.5 T  -2 0 1.8 > -1.7 0 1.6
pipe 2 D  -1.7 0 1.6 > 10 0 1.3
sewer-connection S  10 0 1.3
"""


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_a_sink_of_two_outlets_is_no_ring(code):
    assert ask(whole.drain_ring, TWO_BOWLS, code) == {}


TWO_TRAPS = """
kitchen-sink K  -2 0 2.4 > -3 0 2.4
pipe 1.5 TP1  -2 0 2.4 > -2 0 1.7
p-trap 1.5 T1  -2 0 1.7 > -1.7 0 1.5
pipe 2 A1  -1.7 0 1.5 > 0 0 1.46
pipe 1.5 TP2  -3 0 2.4 > -3 0 1.7
p-trap 1.5 T2  -3 0 1.7 > -3 0.3 1.5
pipe 2 A2  -3 0.3 1.5 > 0 1 1.42
wye 2 W  0 0 1.46 > 0 1 1.42 > 1 0 1.4
pipe 2 D  1 0 1.4 > 10 0 1.2
sewer-connection S  10 0 1.2
"""


def test_a_second_trap_of_a_fixture_is_asked_about():
    said_of = ask(to_outlet.fixture_reaches_outlet, TWO_TRAPS)["K"]
    assert (said_of.outcome, said_of.about) == ("unverified", "T2")
    assert said(to_outlet.fixture_reaches_outlet, "K", TWO_BOWLS).outcome == "pass"


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_the_hose_of_a_dishwasher_may_turn_as_it_will(code: str):
    """Up to an air gap on the counter and down to the sink's tailpiece; below it, a tee."""
    network = """
    kitchen-sink KS  0 0 3
    wye 1.5 TP  0 0 3 > 0 0 2.6 > 0.3 0 2.9
    pipe 1.5 TL  0 0 2.6 > 0 0 1.4
    p-trap 1.5 T  0 0 1.4 > 0.5 0 1.33
    pipe 1.5 A  0.5 0 1.33 > 1.9 0 1.3
    sanitary-tee 1.5 ST  1.9 0 1.3 > 2 0 1.1 > 2 0 1.5
    pipe 2 D  2 0 1.1 > 2 0 -1
    sewer-connection S  2 0 -1
    dishwasher-appliance DW at=0,3,0  0 3 0.3
    pipe 0.75 H  0 3 0.3 > 0 3 3.2
    air-gap 0.75 AG 0 3 3.2 > 0.3 2.8 3.2
    pipe 0.75 H1  0.3 2.8 3.2 > 0.3 1 3
    quarter-bend 0.75 Q 0.3 1 3 > 0.3 0.9 2.9
    pipe 0.75 H2  0.3 0.9 2.9 > 0.3 0 2.9
    """
    assert {"AG", "Q"} & ask(fittings.fitting_for_direction, network, code).keys() == set()
    assert "ST" in ask(fittings.fitting_for_direction, network, code)
