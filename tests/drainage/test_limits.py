"""Each limit of the drainage rules from both sides: what lies exactly at it passes."""

from __future__ import annotations

from math import cos, hypot, radians, sin

import pytest

from ifclint.engineering.open_channel import velocity_m_per_s
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.job import Job
from ifclint.rules.drainage import (
    drains,
    fittings,
    fixtures,
    slopes,
    stack_bases,
    stacks,
    to_outlet,
)
from ifclint.testing import ask

FT_PER_MM = 0.001 / M_PER_FT


def outcome(rule, subject: str, network: str, code: str = "upc-2021", **job) -> str:
    return ask(rule, network, code, Job.model_validate(job))[subject].outcome.value


def loaded(size: float, dfu: float, in_per_ft: float, code: str, approved: bool = False) -> str:
    """What is said of a horizontal drain with a bathtub (2 DFU) and continuous flow."""
    network = f"""
    bathtub T  0 0 0
    lavatory L  0 1 0
    wye {size} W  0 0 0 > 0 1 0 > 0.5 0 0
    pipe {size} P  0.5 0 0 > 10.5 0 {-in_per_ft * 10 / 12}
    sewer-connection S  10.5 0 {-in_per_ft * 10 / 12}
    """
    flow = {"element": "W", "flow": f"{(dfu - 3) / 2} gpm"}
    return outcome(drains.drain_capacity, "P", network, code, drainage={
        "continuous_flow": [flow], "eighth_inch_slope_approved": approved,
    })  # fmt: skip


@pytest.mark.parametrize(
    ("code", "size", "in_per_ft", "most"),
    [
        ("upc-2021", 2, 0.25, 8),
        ("upc-2021", 3, 0.25, 35),
        ("upc-2021", 3, 0.125, 35),  # which falls too little, and is to get 1/4 in
        ("ipc-2021", 2, 0.25, 21),
        ("ipc-2021", 3, 0.125, 36),
        ("ipc-2021", 3, 0.5, 50),
    ],
)
def test_load_of_a_drain(code: str, size: float, in_per_ft: float, most: float) -> None:
    said = [loaded(size, most + more, in_per_ft, code) for more in (-0.5, 0, 0.5)]
    assert said == ["pass", "pass", "violation"]


def test_load_of_a_drain_whose_slope_of_an_eighth_is_approved() -> None:
    said = [loaded(4, dfu, 0.125, "upc-2021", approved=True) for dfu in (172.5, 172.8, 173.5)]
    assert said == ["pass", "pass", "violation"]  # 0.8 of 216


def horizontal(size: float, fixture: str, in_per_ft: float) -> str:
    return f"""
    {fixture} T  0 0 0
    {fixture} U  0 1 0
    wye {size} W  0 0 0 > 0 1 0 > 0.5 0 0
    pipe {size} P  0.5 0 0 > 40.5 0 {-in_per_ft * 40 / 12}
    sewer-connection S  40.5 0 {-in_per_ft * 40 / 12}
    """


@pytest.mark.parametrize(
    ("code", "size", "least"),
    [("upc-2021", 2, 0.24), ("ipc-2021", 2.5, 0.24), ("ipc-2021", 3, 0.12), ("ipc-2021", 8, 0.06)],
)
def test_slope_within_what_the_code_takes_as_equal(code: str, size: float, least: float) -> None:
    """1/4, 1/8 and 1/16 in per ft, less 4 %."""
    said = [
        outcome(slopes.drain_slope, "P", horizontal(size, "bathtub", least * share), code)
        for share in (0.997, 1.0, 1.003)
    ]
    assert said == ["violation", "pass", "pass"]


@pytest.mark.parametrize(("size", "said"), [(3.9, "violation"), (4, "pass")])
def test_the_flatter_slope_is_approved_from_4_in(size: float, said: str) -> None:
    network = horizontal(size, "bathtub", 0.125)
    approved = {"eighth_inch_slope_approved": True}
    assert outcome(slopes.drain_slope, "P", network, drainage=approved) == said


@pytest.mark.parametrize(
    ("size", "most_ft", "code"),
    [(1.5, 3.5, "upc-2021"), (2, 5, "upc-2021"), (1.7, 5, "upc-2021"), (1.5, 6, "ipc-2021")],
)
def test_pipe_no_longer_than_a_trap_arm_may_be(size: float, most_ft: float, code: str) -> None:
    """A longer one without a vent is a drain, and has a capacity (or is not in its table)."""
    said = []
    for length in (0.99 * most_ft, most_ft, 1.01 * most_ft):
        level = length / hypot(1, 1 / 48)
        network = f"""
        kitchen-sink K  0 0 0
        p-trap {size} T  0 0 0 > 0 0 -1
        pipe {size} P  0 0 -1 > {level} 0 {-1 - level / 48}
        sewer-connection S  {level} 0 {-1 - level / 48}
        """
        said.append(outcome(drains.drain_capacity, "P", network, code))
    assert said[:2] == ["not-applicable", "not-applicable"]
    assert said[2] != "not-applicable"


@pytest.mark.parametrize(("closets", "said"), [(4, "pass"), (5, "pass"), (6, "violation")])
def test_closets_on_a_3_in_vertical(closets: int, said: str) -> None:
    lines = [f"water-closet C{k}  0 {k} 0" for k in range(closets)]
    ends = " > ".join(f"0 {k} 0" for k in range(closets))
    network = "\n".join(
        [*lines, f"wye 3 W  {ends} > 1 0 -1", "pipe 3 P  1 0 -1 > 1 0 -7",
         "sewer-connection S  1 0 -7"]
    )  # fmt: skip
    assert outcome(drains.fixtures_allowed_on_drain, "P", network) == said


@pytest.mark.parametrize(("size", "said"), [(2.95, "violation"), (3, "pass"), (3.05, "pass")])
@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_drain_of_a_closet(code: str, size: float, said: str) -> None:
    network = f"""
    water-closet C  0 0 0
    pipe {size} P  0 0 0 > 0 0 -7
    sewer-connection S  0 0 -7
    """
    assert outcome(drains.fixtures_allowed_on_drain, "P", network, code) == said
    assert outcome(fixtures.fixture_drain_size, "C", network, code) == said


@pytest.mark.parametrize(("gallons", "said"), [(1.0, "pass"), (1.1, "violation")])
def test_no_trap_of_six_units_on_2_in(gallons: float, said: str) -> None:
    """A urinal gives 5 units in assembly use, a larger one 6."""
    network = f"""
    urinal U flush_volume_gal={gallons}  0 0 0
    pipe 2 P  0 0 0 > 0 0 -7
    sewer-connection S  0 0 -7
    """
    rule = drains.fixtures_allowed_on_drain
    assert outcome(rule, "P", network, building={"occupancy": "assembly"}) == said


@pytest.mark.parametrize(("occupancy", "said"), [("private", "pass"), ("public", "violation")])
def test_no_sink_of_more_than_one_unit_on_a_vertical_of_1_1_2_in(occupancy: str, said: str) -> None:
    """A bar sink gives 1 unit in private use, 2 in public use."""
    network = """
    bar-sink B  0 0 0
    pipe 1.5 P  0 0 0 > 0 0 -7
    sewer-connection S  0 0 -7
    """
    rule = drains.fixtures_allowed_on_drain
    assert outcome(rule, "P", network, building={"occupancy": occupancy}) == said


@pytest.mark.parametrize(("size", "said"), [(1.95, "violation"), (2, "pass"), (2.05, "pass")])
def test_sizes_that_follow_or_are_asked_for(size: float, said: str) -> None:
    reduced = f"""
    bathtub T  0 0 0
    pipe 2 A  0 0 0 > 5 0 -0.1
    lavatory L  4.8 0.2 0
    wye 2 W  5 0 -0.1 > 4.8 0.2 0 > 5.2 0 -0.104
    pipe {size} B  5.2 0 -0.104 > 10 0 -0.2
    sewer-connection S  10 0 -0.2
    """
    assert outcome(drains.drain_not_reduced, "A", reduced) == said
    shower = f"""
    shower F  0 0 0
    p-trap {size} T  0 0 0 > 0.5 0 -0.5
    pipe 2 P  0.5 0 -0.5 > 5 0 -0.6
    sewer-connection S  5 0 -0.6
    """
    assert outcome(fixtures.fixture_trap_size, "F", shower) == said
    drain = f"""
    shower F  0 0 0
    p-trap 2 T  0 0 0 > 0.5 0 -0.5
    pipe {size} P  0.5 0 -0.5 > 5 0 -0.6
    sewer-connection S  5 0 -0.6
    """
    assert outcome(fixtures.fixture_drain_size, "F", drain) == said
    kitchen = f"""
    kitchen-sink F  0 0 2
    p-trap 1.5 TR  0 0 2 > 0.5 0 1.5
    pipe 1.5 ARM  0.5 0 1.5 > 2 0 1.46875
    sanitary-tee 2 ST  2 0 1.46875 > 2 0 1 > 2 0 2
    pipe 2 V system=vent  2 0 2 > 2 0 20
    pipe {size} D  2 0 1 > 2 0 0
    sewer-connection S  2 0 0
    """
    assert outcome(fixtures.fixture_branch_size, "F", kitchen) == said


def stack(storeys: list[list[str]], size: float = 2) -> str:
    """A stack of so many storeys of 9 ft, with the fixtures of each on one branch."""
    lines, height = [], 9.0 * len(storeys)
    for storey, kinds in enumerate(storeys):
        z = height - 9 * storey
        joined = [f"-4 {k} {z + 0.2}" for k in range(len(kinds))]
        lines += [f"{kind} F{storey}.{k}  {joined[k]}" for k, kind in enumerate(kinds)]
        lines.append(f"wye 2 J{storey}  {' > '.join(joined)} > -3.8 0 {z + 0.2}")
        lines.append(f"pipe 2 B{storey}  -3.8 0 {z + 0.2} > -0.2 0 {z + 0.1}")
        above = f"0 0 {z + 0.3} > " if storey else ""
        lines.append(f"sanitary-tee {size} ST{storey}  {above}-0.2 0 {z + 0.1} > 0 0 {z - 0.1}")
        lines.append(f"pipe {size} S{storey}  0 0 {z - 0.1} > 0 0 {z - 8.7}")
    lines.append("sewer-connection X  0 0 0.3")
    return "\n".join(lines)


BATHTUB, LAVATORY = "bathtub", "lavatory"


@pytest.mark.parametrize(
    ("storeys", "said"),
    [
        ([[BATHTUB] * 2, [BATHTUB], [BATHTUB] * 2], "pass"),  # 10 of 10 DFU
        ([[BATHTUB] * 2, [BATHTUB], [BATHTUB] * 2 + [LAVATORY]], "violation"),  # 11 of 10
        ([[BATHTUB] * 3] * 4, "pass"),  # 24 of 24 on more than three branch intervals
        ([[BATHTUB] * 3] * 3 + [[BATHTUB] * 3 + [LAVATORY]], "violation"),
    ],
)
def test_load_of_a_stack_by_its_branch_intervals(storeys: list[list[str]], said: str) -> None:
    subject = f"S{len(storeys) - 1}"
    assert outcome(stacks.stack_capacity, subject, stack(storeys), "ipc-2021") == said


@pytest.mark.parametrize(
    ("kinds", "said"),
    [
        ([BATHTUB, BATHTUB, LAVATORY], "pass"),
        ([BATHTUB] * 3, "pass"),  # 6 of 6 DFU
        ([BATHTUB] * 3 + [LAVATORY], "violation"),
    ],
)
def test_load_of_a_branch_interval(kinds: list[str], said: str) -> None:
    assert outcome(stacks.branch_interval_load, "B0", stack([kinds, kinds]), "ipc-2021") == said


@pytest.mark.parametrize(("size", "said"), [(1.45, "violation"), (1.5, "pass"), (1.55, "pass")])
def test_top_of_a_stack(size: float, said: str) -> None:
    """24 DFU over two branch intervals need 3 in, and half of that at the top."""
    network = stack([[LAVATORY], [BATHTUB] * 11 + [LAVATORY]], 3)
    network = network.replace("pipe 3 S0", f"pipe {size} S0")
    assert outcome(stacks.stack_top_size, "S1", network, "ipc-2021") == said


@pytest.mark.parametrize(("feet", "said"), [(44.9, "pass"), (45, "pass"), (45.1, "violation")])
def test_length_of_a_stack(feet: float, said: str) -> None:
    network = f"""
    lavatory A  0 0 {feet}
    pipe 1.25 S1  0 0 {feet} > 0 0 0
    sewer-connection X  0 0 0
    """
    assert outcome(stacks.stack_length, "S1", network) == said


@pytest.mark.parametrize(("feet", "said"), [(2.49, "violation"), (2.5, "pass"), (2.51, "pass")])
def test_branch_at_the_base_of_a_stack(feet: float, said: str) -> None:
    """Ten diameters of 3 in are 2.5 ft."""
    network = f"""
    water-closet A  0 0 12
    pipe 3 S1  0 0 12 > 0 0 0.3
    long-sweep 3 L at=0,0,0  0 0 0.3 > 0.3 0 0
    pipe 3 B1  0.3 0 0 > {feet - 0.2} 0 0
    bathtub T  -3 3 0.1
    pipe 2 PB  -3 3 0.1 > {feet - 0.2} 0.2 0.05
    wye 3 W at={feet},0,0  {feet - 0.2} 0 0 > {feet - 0.2} 0.2 0.05 > 3.6 0 -0.07
    pipe 3 B2  3.6 0 -0.07 > 13.6 0 -0.28
    sewer-connection X  13.6 0 -0.28
    """
    assert outcome(stack_bases.stack_base_connection, "S1", network, "ipc-2021") == said


@pytest.mark.parametrize(("speed", "said"), [(1.945, "advisory"), (1.955, "pass"), (2.1, "pass")])
@pytest.mark.parametrize(("material", "n"), [("PVC", 0.010), ("cast_iron", 0.013)])
def test_velocity_to_one_decimal(speed: float, said: str, material: str, n: float) -> None:
    slope = (speed * M_PER_FT / velocity_m_per_s(2 * M_PER_IN, 1.0, n, 0.5)) ** 2
    network = horizontal(2, "bathtub", 12 * slope).replace("P  ", f"P material={material}  ")
    assert outcome(slopes.self_cleansing_velocity, "P", network) == said


@pytest.mark.parametrize(("rise_mm", "said"), [(-1, "pass"), (0.9, "pass"), (1.1, "violation")])
def test_rise_of_a_pipe(rise_mm: float, said: str) -> None:
    """A millimetre is what drawing may cost; a pipe so drawn does not pass for steep enough."""
    z = rise_mm * FT_PER_MM
    network = f"""
    bathtub T  0 0 0
    pipe 2 P  0 0 0 > 10 0 {z}
    long-sweep 2 B  10 0 {z} > 10 1 {z - 0.1}
    pipe 2 Q  10 1 {z - 0.1} > 10 11 {z - 0.4}
    sewer-connection S  10 11 {z - 0.4}
    """
    assert outcome(slopes.drain_backfall, "P", network) == said
    slope = "not-applicable" if said == "violation" else "violation"
    assert outcome(slopes.drain_slope, "P", network) == slope


def test_a_stated_gradient_that_rises_is_not_steep_enough() -> None:
    network = horizontal(2, "bathtub", 0).replace("P  ", "P slope=-0.01  ")
    assert outcome(slopes.drain_slope, "P", network) == "violation"


@pytest.mark.parametrize(("rise_mm", "said"), [(9.8, "pass"), (10.0, "pass"), (10.2, "violation")])
def test_rise_of_a_fitting(rise_mm: float, said: str) -> None:
    z = -0.2 + rise_mm * FT_PER_MM
    network = f"""
    bathtub T  0 0 0
    pipe 2 P  0 0 0 > 5 0 -0.2
    bend 2 B  5 0 -0.2 > 5.2 0.2 {z}
    pipe 2 Q  5.2 0.2 {z} > 5.2 10 {z - 0.3}
    sewer-connection S  5.2 10 {z - 0.3}
    """
    assert outcome(slopes.drain_backfall, "P", network) == said


def bent(kind: str, angle_deg: float, size: float = 3, fixture: str = "water-closet") -> str:
    """From vertical through a fitting into pipe so many degrees from straight down."""
    x, z = sin(radians(angle_deg)), -cos(radians(angle_deg))
    return f"""
    {fixture} C  0 0 0
    pipe {size} P  0 0 0 > 0 0 -5
    {kind} {size} F  0 0 -5 > {0.1 * x} 0 {-5 + 0.1 * z}
    pipe {size} Q  {0.1 * x} 0 {-5 + 0.1 * z} > {5 * x} 0 {-5 + 5 * z}
    sewer-connection S  {5 * x} 0 {-5 + 5 * z}
    """


@pytest.mark.parametrize(
    ("kind", "angle", "said"),
    [
        ("eighth-bend", 59.5, "pass"),
        ("eighth-bend", 60.5, "unverified"),  # turns more than its name by 15 degrees
        ("sixth-bend", 74.5, "advisory"),  # on approval: its name stands
        ("sixth-bend", 75.5, "unverified"),
        ("bend", 49.5, "pass"),  # an eighth bend
        ("bend", 50.5, "advisory"),  # a sixth bend
        ("bend", 74.5, "advisory"),
        ("bend", 75.5, "unverified"),  # a quarter bend or a long sweep
    ],
)
def test_bends_by_their_angle(kind: str, angle: float, said: str) -> None:
    assert outcome(fittings.fitting_for_direction, "F", bent(kind, angle)) == said


@pytest.mark.parametrize(("angle", "said"), [(37, "pass"), (38, "unverified")])
def test_a_sixteenth_bend_on_the_flat_by_its_angle(angle: float, said: str) -> None:
    x, y = cos(radians(angle)), sin(radians(angle))
    network = f"""
    bathtub T  -5 0 0.1
    pipe 2 P  -5 0 0.1 > 0 0 0
    sixteenth-bend 2 F  0 0 0 > {0.1 * x} {0.1 * y} -0.002
    pipe 2 Q  {0.1 * x} {0.1 * y} -0.002 > {5 * x} {5 * y} -0.1
    sewer-connection S  {5 * x} {5 * y} -0.1
    """
    assert outcome(fittings.fitting_for_direction, "F", network) == said


@pytest.mark.parametrize(
    ("kind", "size", "fixture", "said"),
    [
        ("quarter-bend", 1.95, "lavatory", "pass"),
        ("quarter-bend", 2, "lavatory", "pass"),  # a fixture drain of 2 in or smaller
        ("quarter-bend", 2.05, "lavatory", "violation"),
        ("short-sweep", 2.95, "water-closet", "violation"),
        ("short-sweep", 3, "water-closet", "pass"),  # or pipe of 3 in and larger
        ("short-sweep", 3.05, "water-closet", "pass"),
    ],
)
def test_sizes_that_a_sharp_bend_may_have(kind: str, size: float, fixture: str, said: str) -> None:
    network = bent(kind, 88.8, size, fixture)
    assert outcome(fittings.fitting_for_direction, "F", network, "ipc-2021") == said


def test_a_sharp_bend_in_pipe_of_unknown_size_is_no_violation() -> None:
    network = bent("quarter-bend", 88.8).replace(" 3 ", " ")
    assert outcome(fittings.fitting_for_direction, "F", network, "ipc-2021") == "unverified"


@pytest.mark.parametrize(("barrel", "said"), [(3, "violation"), (3.5, "violation"), (4, "pass"),
                                              (4.5, "pass"), (3.9, "unverified")])  # fmt: skip
def test_barrel_of_a_double_sanitary_tee(barrel: float, said: str) -> None:
    """UPC: two trade sizes larger than its inlets of 3 in."""
    network = f"""
    water-closet L  -3 0 0.0625
    pipe 3 A  -3 0 0.0625 > -0.2 0 0
    water-closet M  3 0 0.0625
    pipe 3 B  3 0 0.0625 > 0.2 0 0
    double-sanitary-tee {barrel} DT  -0.2 0 0 > 0.2 0 0 > 0 0 -0.3
    pipe {barrel} C  0 0 -0.3 > 0 0 -5
    sewer-connection S  0 0 -5
    """
    assert outcome(fittings.fitting_for_direction, "DT", network) == said


@pytest.mark.parametrize(("closets", "said"), [(1, "pass"), (2, "violation")])
def test_closets_back_to_back_on_a_double_sanitary_tee(closets: int, said: str) -> None:
    network = f"""
    water-closet L  -1 0 0.0208
    pipe 3 A  -1 0 0.0208 > -0.2 0 0
    {"water-closet" if closets == 2 else "lavatory"} M  1 0 0.0208
    pipe 3 B  1 0 0.0208 > 0.2 0 0
    double-sanitary-tee 3 DT  -0.2 0 0 > 0.2 0 0 > 0 0 -0.3
    pipe 3 C  0 0 -0.3 > 0 0 -5
    sewer-connection S  0 0 -5
    """
    assert outcome(fittings.fitting_for_direction, "DT", network, "ipc-2021") == said


@pytest.mark.parametrize(("pipes", "told"), [(7, 8), (8, 9), (9, 9), (10, 9)])
def test_the_path_of_a_drain_that_reaches_no_outlet_is_shortened(pipes: int, told: int) -> None:
    """Nine elements are told in full; of more, the first four and the last four."""
    drain = [f"pipe 2 P{k}  {k} 0 {-0.02 * k} > {k + 1} 0 {-0.02 * k - 0.02}" for k in range(pipes)]
    network = "\n".join(
        ["bathtub T  0 0 0", *drain, "bathtub U  0 9 0", "pipe 2 Q  0 9 0 > 9 9 -0.2",
         "sewer-connection S  9 9 -0.2"]
    )  # fmt: skip
    answer = ask(to_outlet.fixture_reaches_outlet, network)["T"]
    assert answer.outcome.value == "violation"
    assert len(answer.steps) == told
    assert ("more" in " ".join(step.text for step in answer.steps)) == (pipes + 1 > 9)
