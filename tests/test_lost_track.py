"""What a rule misses where the piping it follows is lost is asked about, and not found wrong."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.findings import Finding, Outcome
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.testing import read_network

DRAIN = """
lavatory 1.25         L     0 0 2
pipe 1.25             TAIL  0 0 2 > 0 0 1.2
{trap}
pipe 1.5              ARM   0.5 0 1 > {arm_end}
pipe 1.5              DROP  {drop_start} > 3 0 0
sanitary-tee 1.5      TEE   3 0 0 > 3 0 -0.3 > 3.2 0 0
pipe 1.5              DOWN  3 0 -0.3 > 3 0 -3
long-sweep 1.5        SWEEP 3 0 -3 > 3.2 0 -3.2
pipe 1.5              OUT   3.2 0 -3.2 > 20 0 -3.6
cleanout 1.5          CO    3.2 0 0
sewer-connection      SEWER 20 0 -3.6
lavatory 1.25         L2    40 0 2
p-trap 1.5            T2    40 0 2 > 40.5 0 1
pipe 1.5              A2    40.5 0 1 > 43 0 0.95
pipe 1.5 V2 system=vent  43 0 0.95 > 43 0 9
vent-through-roof 1.5 R2 system=vent 43 0 9
pipe 1.5              D2    43 0 0.95 > 43 0 -4
sewer-connection      S2    43 0 -4
"""
TRAP = "p-trap 1.5            TRAP  0 0 1.2 > 0.5 0 1"


def findings(text: str, rule: str, about: str) -> list[Finding]:
    context = Context(codes.load("upc-2021"), build(read_network(text)), Job())
    found = judge(load_packs().loaded, context).findings
    return [f for f in found if f.rule == rule and about in f.element_ids]


def drain(gap_ft: float = 0.0, more: str = "", trap: str = TRAP) -> str:
    end, start = f"{3 - gap_ft} 0 0.95", f"3 0 {0.95 - gap_ft}"
    return DRAIN.format(trap=trap, arm_end=end, drop_start=start) + more


MM = 1 / 304.8


@pytest.mark.parametrize(
    ("gap_mm", "rule", "outcome"),
    [
        (42.0, "fixture-reaches-outlet", Outcome.UNVERIFIED),  # 59.4 mm from end to end
        (43.0, "fixture-reaches-outlet", Outcome.VIOLATION),
        (20.0, "trap-vented", Outcome.UNVERIFIED),
        (300.0, "trap-vented", Outcome.VIOLATION),
        (0.0, "trap-vented", Outcome.VIOLATION),
    ],
)
def test_a_drain_that_ends_at_a_gap_may_go_on_there(gap_mm, rule, outcome):
    (said,) = findings(drain(gap_mm * MM), rule, "ARM")
    assert said.outcome is outcome
    assert ("a joint may be missing" in said.message) is (outcome is Outcome.UNVERIFIED)


def test_the_gap_is_told_with_both_ends_and_what_to_set():
    (said,) = findings(drain(20 * MM), "fixture-reaches-outlet", "L")
    assert "ARM ends open 1.1 in (28 mm) from DROP, which it points to" in said.message
    assert said.element_ids[:2] == ("ARM", "DROP")
    assert "reading.joining_tolerance" in said.remedy


@pytest.mark.parametrize(
    ("end", "outcome"),
    [
        ("2.9 0 0.95 > 9 0 0.9", Outcome.UNVERIFIED),  # in line with the arm
        ("2.9 0.03 0.95 > 9 0.03 0.9", Outcome.UNVERIFIED),  # 9 mm beside it
        ("2.9 0.04 0.95 > 9 0.04 0.9", Outcome.VIOLATION),  # 12 mm beside it
        ("2.9 0 0.95 > -3 0 0.9", Outcome.VIOLATION),  # it looks the same way
        ("system=cold_water 2.9 0 0.95 > 9 0 0.9", Outcome.VIOLATION),
    ],
)
def test_only_what_points_at_the_end_and_drains_may_be_its_other_half(end, outcome):
    text = drain(1.0).replace("pipe 1.5              ARM   0.5 0 1 > 2.0 0 0.95",
                              "pipe 1.5              ARM   0.5 0 0.95 > 2.8 0 0.95")  # fmt: skip
    text = text.replace("0 0 1.2 > 0.5 0 1\n", "0 0 1.2 > 0.5 0 0.95\n")
    (said,) = findings(text + f"\npipe 1.5 OTHER {end}", "fixture-reaches-outlet", "L")
    assert said.outcome is outcome


def unplaced(system: str, joined: str = "") -> str:
    return f"\npipe 1.5 LOST unplaced=yes system={system} {joined or '90 0 0 > 95 0 0'}"


@pytest.mark.parametrize(
    ("more", "rule", "outcome"),
    [
        ("", "trap-vented", Outcome.VIOLATION),
        (unplaced("vent"), "trap-vented", Outcome.UNVERIFIED),
        (unplaced("sanitary_drainage"), "trap-vented", Outcome.UNVERIFIED),
        (unplaced("none"), "trap-vented", Outcome.UNVERIFIED),
        (unplaced("cold_water"), "trap-vented", Outcome.VIOLATION),
        # it is joined, and so what it leads to is known
        (unplaced("vent", "43 0 9 > 43 0 10"), "trap-vented", Outcome.VIOLATION),
    ],
)
def test_a_vent_may_stand_where_a_pipe_of_unknown_place_does(more, rule, outcome):
    (said,) = findings(drain(more=more), rule, "ARM")
    assert said.outcome is outcome
    assert ("Where LOST run is not known" in said.message) is (outcome is Outcome.UNVERIFIED)


@pytest.mark.parametrize(("system", "open_"), [("sanitary_drainage", True), ("vent", False)])
def test_a_trap_may_stand_in_a_drain_of_unknown_place(system, open_):
    trapless = "pipe 1.5              TRAP  0 0 1.2 > 0.5 0 1"
    (said,) = findings(drain(trap=trapless, more=unplaced(system)), "fixture-trapped", "L")
    assert said.outcome is (Outcome.UNVERIFIED if open_ else Outcome.VIOLATION)


WATER = """
system=cold_water
water-meter 0.75   M   in 0 0 0 > out 1 0 0
pipe 0.75          P1  1 0 0 > {end}
pipe 0.75          P2  {start} > 9 3 0
isolating 0.75     V   9 3 0 > 9.3 3 0
pipe 0.75          P3  9.3 3 0 > 14 3 0
hose-bibb          H   cold 14 3 0
"""


@pytest.mark.parametrize(
    ("end", "start", "more", "outcome"),
    [
        ("8.9 0 0", "9 0.1 0", "", Outcome.UNVERIFIED),
        ("8 0 0", "9 1 0", "", Outcome.VIOLATION),
        ("8 0 0", "9 1 0", "pipe 1 LOST unplaced=yes 90 0 0 > 91 0 0", Outcome.UNVERIFIED),
        ("8 0 0", "9 1 0", "pipe 1 LOST unplaced=yes system=fuel_gas 90 0 0 > 91 0 0",
         Outcome.VIOLATION),
    ],
)  # fmt: skip
def test_the_valve_of_the_building_may_stand_behind_a_gap(end, start, more, outcome):
    text = WATER.format(end=end, start=start) + more
    (said,) = findings(text, "main-shutoff-valve", "M")
    assert said.outcome is outcome


def test_an_end_over_one_that_looks_up_is_an_air_gap():
    pipes = """
    pipe 2 OVER  0 0 5 > 0 0 {low}
    pipe 2 INTO  0 0 0 > 0 0 -5
    pipe 2 LEVEL 9 0 0 > 9.9 0 0
    pipe 2 NEXT  10 0 0 > 12 0 0
    """
    network = read_network(pipes.format(low=0.1))
    near, elements = network.near_ends, network.elements
    assert [(elements[n.a[0]].guid, elements[n.b[0]].guid) for n in near] == [("LEVEL", "NEXT")]
    assert near[0].apart_m == pytest.approx(0.1 * 0.3048)


def test_ends_that_lie_as_far_apart_all_through_the_drawing_are_one_question():
    pipes = "".join(
        f"pipe 2 {k}a 0 {y} 0 > 9 {y} 0\npipe 2 {k}b {9 + gap_mm * MM} {y} 0 > 20 {y} 0\n"
        for k, (y, gap_mm) in enumerate([(0, 20), (50, 20), (100, 20), (150, 35)])
    )
    context = Context(codes.load("upc-2021"), build(read_network(pipes)), Job())
    said = [f for f in judge(load_packs().loaded, context).findings if f.rule == "ends-are-joined"]
    told = {f.message: f.element_ids for f in said}
    assert len(told) == 2
    (one,) = (f for f in said if "(20 mm)" in f.message)
    assert "one at x 2.74, y 0.00, z 0.00 m, 0.79 in (20 mm) from 0b, which it points to" in (
        one.message
    )
    assert one.message.endswith("So it is with 5 more.")
    assert set(one.element_ids) == {"0a", "0b", "1a", "1b", "2a", "2b"}
    assert "reading.joining_tolerance" in one.remedy


def test_nothing_has_no_near_ends():
    assert read_network("").near_ends == []


SHORT = """
lavatory 1.25         L     0 0 2
pipe 1.25             TAIL  0 0 2 > 0 0 1.2
p-trap 1.5            TRAP  {trap}
pipe 1.5              ARM   {arm} > 3 0 0.95
pipe 1.5 V system=vent  3 0 0.95 > 3 0 9
vent-through-roof 1.5 R system=vent 3 0 9
pipe 1.5              DOWN  3 0 0.95 > 3 0 -3
sewer-connection      SEWER 3 0 -3
lavatory 1.25         L2    40 0 2
p-trap 1.5            T2    40 0 2 > 40.5 0 1
pipe 1.5              A2    40.5 0 1 > 43 0 0.95
sewer-connection      S2    43 0 0.95
"""


def test_a_trap_joined_to_nothing_beside_the_end_of_a_drain_is_asked_about():
    text = SHORT.format(trap="at=0.1,0,1.1 0.1 0 1.2 > 0.5 0 1", arm="0.6 0 1")
    (said,) = findings(text, "fixture-reaches-outlet", "L")
    assert said.outcome is Outcome.UNVERIFIED
    assert "TAIL ends open beside TRAP, of which no joint to it is drawn" in said.message


@pytest.mark.parametrize(("x", "outcome"), [(0.97, Outcome.UNVERIFIED), (1.0, Outcome.VIOLATION)])
def test_one_that_stands_farther_off_is_not(x, outcome):
    """0.30 m from the middle of the trap to the end of the tailpiece."""
    text = SHORT.format(trap=f"at={x},0,1.1 {x} 0 1.2 > {x + 0.4} 0 1", arm="2 0 1")
    (said,) = findings(text, "fixture-reaches-outlet", "L")
    assert said.outcome is outcome


def test_one_that_is_joined_at_one_side_alone_is_asked_about_too():
    text = SHORT.format(trap="at=0.2,0,1.1 0 0 1.2 > 0.4 0 1", arm="0.6 0 1")
    (said,) = findings(text, "fixture-reaches-outlet", "L")
    assert said.outcome is Outcome.UNVERIFIED
    assert {"TRAP", "ARM"} <= set(said.element_ids)


BASIN = """
system=sanitary_drainage
lavatory 1.25 L  {outlet} > cold 0.3 0 1.5
pipe 1.25 TAIL  0 0 1 > 0 0 -3
sewer-connection S  0 0 -3
pipe 0.5 C1 system=cold_water  {cold} > 0.3 5 1.5
water-meter 0.5 M system=cold_water  0.3 5 1.5 > 0.3 5.5 1.5
"""


@pytest.mark.parametrize(
    ("gap_mm", "near"),
    [(12.0, True), (58.0, True), (62.0, False)],
)
def test_a_drain_or_supply_that_points_at_a_fixture_across_a_gap_is_named(gap_mm, near):
    gap = gap_mm * MM
    text = BASIN.format(outlet=f"0 0 {1 + gap}", cold=f"0.3 {gap} 1.5")
    (drained,) = findings(text, "fixture-reaches-outlet", "L")
    (fed,) = findings(text, "pressure-at-fixture", "L")
    (joined,) = findings(text, "fixture-is-joined", "L")
    assert {f.outcome for f in (drained, fed, joined)} == {Outcome.UNVERIFIED}
    assert (" TAIL ends " in drained.message) is near
    assert (" C1 ends " in fed.message) is near
    assert (" ends " in joined.message) is near


def test_what_points_down_at_a_fixture_or_beside_it_is_not_named():
    gap = 20 * MM
    over = BASIN.format(outlet="0 0 0.9", cold=f"0.3 {gap} 1.5").replace(
        "pipe 0.5 C1 system=cold_water  0.3", "pipe 0.5 C1 system=cold_water  0.5"
    )
    (fed,) = findings(over, "pressure-at-fixture", "L")
    assert " ends " not in fed.message
    poured = f"""
system=cold_water
lavatory 1.25 L  cold 0 0 1
pipe 0.5 C1  0 0 {1 + gap} > 0 0 5
water-meter 0.5 M  0 0 5 > 0 0 5.5
"""
    (fed,) = findings(poured, "pressure-at-fixture", "L")
    assert " ends " not in fed.message


def in_pieces(pipes: int, joined: int = 0) -> str:
    """Pipes between which no fittings are drawn, and others that all are joined."""
    apart = [f"pipe 2 APART{n} {60 + 3 * n} 0 0 > {62 + 3 * n} 0 -0.04" for n in range(pipes)]
    run = [f"pipe 2 RUN{n} {n} 50 {-n / 48} > {n + 1} 50 {-(n + 1) / 48}" for n in range(joined)]
    return "\n" + "\n".join(apart + run)


@pytest.mark.parametrize(
    ("more", "outcome"),
    [
        ("", Outcome.VIOLATION),
        (in_pieces(4), Outcome.VIOLATION),  # 9 ends joined to nothing, with that of the arm
        (in_pieces(8), Outcome.UNVERIFIED),  # 17, and as many of the drawing's are joined
        (in_pieces(8, joined=9), Outcome.VIOLATION),
    ],
)
def test_what_is_missing_in_a_drawing_in_pieces_is_asked_about(more: str, outcome: Outcome) -> None:
    (said,) = findings(drain(300 * MM, more), "trap-vented", "ARM")
    assert said.outcome is outcome
    assert ("the file that has the fittings" in said.remedy) is (outcome is Outcome.UNVERIFIED)


def test_what_hangs_together_in_a_drawing_in_pieces_is_judged() -> None:
    """A second lavatory, all joined, whose vent stands elsewhere."""
    vent = "43 0 0.95 > 43 0 9\nvent-through-roof 1.5 R2 system=vent 43 0 9"
    text = drain(300 * MM, in_pieces(12))
    assert vent in text
    (said,) = findings(text.replace(vent, vent.replace("43", "243")), "trap-vented", "A2")
    assert said.outcome is Outcome.VIOLATION
