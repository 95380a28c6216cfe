"""Every limit that the supply rules read, from both sides: what lies on it, or past it by less than
the project's tolerance, passes; what lies farther past it does not."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import pi

import pytest

import ifclint.rules.supply
from ifclint import codes
from ifclint.engineering.tolerance import slack
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_FT, PA_PER_PSI
from ifclint.findings import Answer, Outcome
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import finders_of, make_pack
from ifclint.rules.supply.dead_legs import DEAD_LEG_FT
from ifclint.rules.supply.hammer import _arrester
from ifclint.rules.supply.pipe_location import NEAR_M, ON_GROUND_M
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.shutoff import BURIED_M
from ifclint.rules.supply.static_pressure import LEAST_PSI
from ifclint.rules.supply.table_method import table_units
from ifclint.testing import context_of

PACK = make_pack("supply", ifclint.rules.supply)
RULES = {rule.name: rule for rule in PACK.rules}
MAIN = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 10 0 0
isolating 0.75 V  10 0 0 > 10.5 0 0
pipe 0.75 P2  10.5 0 0 > 20 0 0
"""
LAVATORY = MAIN + "pipe 0.5 B  20 0 0 > 30 0 0\nlavatory L  cold 30 0 0\n"
PASS, VIOLATION, ADVISORY = Outcome.PASS, Outcome.VIOLATION, Outcome.ADVISORY


def said(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> list[Answer]:
    """All that a rule says of one subject."""
    context = context_of(network, code, Job.model_validate(job))
    asked = answers(RULES[rule], context, finders_of([PACK], PACK))
    return next(given for s, given in asked if s.element_ids[0] == subject)


def outcome(
    rule: str, network: str, subject: str, code: str = "upc-2021", job: Mapping[str, object] = {}
) -> Outcome:
    return said(rule, network, subject, code, job)[0].outcome


def both_sides(
    answer: Callable[[float], Outcome], limit: float, unit: str, wrong: Outcome, at_most: bool
) -> None:
    past = slack(limit, unit) * (1 if at_most else -1)
    assert answer(limit) is PASS
    assert answer(limit + 0.9 * past) is PASS
    assert answer(limit + 1.1 * past) is wrong
    assert answer(limit - 5 * past) is PASS


def water(**given: str) -> dict[str, object]:
    return {"water": {"main_elevation": "0 ft", "meter_loss": "0 psi", **given}}


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_static_pressure(code: str) -> None:
    limit = codes.load(code).limit("supply_static_max_psi").value

    def answer(psi: float) -> Outcome:
        job = water(static_pressure=f"{psi!r} psi")
        return outcome("static-pressure-limit", LAVATORY, "M", code, job)

    assert limit == 80
    both_sides(answer, limit, "psi", VIOLATION, at_most=True)


def test_household_pressure() -> None:
    def answer(psi: float) -> Outcome:
        job = water(static_pressure=f"{psi!r} psi")
        return outcome("household-pressure", LAVATORY, "M", "upc-2021", job)

    assert LEAST_PSI == 40
    both_sides(answer, 40, "psi", ADVISORY, at_most=False)


@pytest.mark.parametrize(
    ("limit", "wrong", "at_most"), [(80, VIOLATION, True), (40, ADVISORY, False)]
)
def test_regulator_setting(limit: float, wrong: Outcome, at_most: bool) -> None:
    network = LAVATORY.replace("isolating", "pressure-reducing")

    def answer(psi: float) -> Outcome:
        job = water(regulator_setting=f"{psi!r} psi")
        return outcome("regulator-setting", network, "M", "upc-2021", job)

    both_sides(answer, limit, "psi", wrong, at_most)


@pytest.mark.parametrize(("code", "limit"), [("upc-2021", 15), ("ipc-2021", 8)])
def test_residual_pressure(code: str, limit: float) -> None:
    """The pressure of the main is set so that what remains at the lavatory is as wanted."""
    context = context_of(LAVATORY, code, Job.model_validate(water(residual_pressure="50 psi")))
    pressure = solution(context).worst(context.plumbing.supply.fixtures[0])[1]
    assert pressure.residual_pa is not None
    lost = 50 - pressure.residual_pa / PA_PER_PSI
    assert lost > 0

    def answer(psi: float) -> Outcome:
        job = water(residual_pressure=f"{psi + lost!r} psi")
        return outcome("pressure-at-fixture", LAVATORY, "L", code, job)

    both_sides(answer, limit, "psi", VIOLATION, at_most=False)


VELOCITIES = [
    ("upc-2021", "copper", False, 8, VIOLATION),
    ("upc-2021", "copper", True, 5, VIOLATION),
    ("upc-2021", "galvanized_steel", True, 5, ADVISORY),
    ("upc-2021", "pex", False, 10, ADVISORY),
    ("upc-2021", "pex", True, 8, ADVISORY),
    ("ipc-2021", "copper", True, 8, ADVISORY),
    ("irc-2021", "pex", False, 8, ADVISORY),
]


@pytest.mark.parametrize(("code", "material", "is_hot", "limit", "wrong"), VELOCITIES)
def test_velocity(code: str, material: str, is_hot: bool, limit: float, wrong: Outcome) -> None:
    """A steady flow through pipe of 20 mm bore, and nothing else that takes water."""
    cold = f"pipe 1 B inside_diameter_m=0.02 material={material} 20 0 0 > 30 0 0\n"
    heater = "water-heater WH  cold 20 0 0 > hot 20 1 0\nsystem=hot_water\n"
    hot = heater + cold.replace("20 0 0 > 30 0 0", "20 1 0 > 30 1 0")
    network = MAIN + (
        hot + "floor-drain F  hot 30 1 0\n" if is_hot else cold + "floor-drain F  cold 30 0 0\n"
    )
    square_m = pi / 4 * 0.02**2

    def answer(ft_per_s: float) -> Outcome:
        gpm = ft_per_s * M_PER_FT * square_m / M3_PER_S_PER_GPM
        job = {"water": {"continuous_flow": [{"element": "F", "flow": f"{gpm!r} gpm"}]}}
        return outcome("supply-velocity", network, "B", code, job)

    both_sides(answer, limit, "ft/s", wrong, at_most=True)


@pytest.mark.parametrize(("code", "limit"), [("upc-2021", 0.5), ("ipc-2021", 0.375)])
def test_branch_size(code: str, limit: float) -> None:
    def answer(size_in: float) -> Outcome:
        network = LAVATORY.replace("pipe 0.5 B", f"pipe {size_in!r} B")
        return outcome("supply-branch-size", network, "L", code)

    both_sides(answer, limit, "in", VIOLATION, at_most=False)


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_building_supply_size(code: str) -> None:
    def answer(size_in: float) -> Outcome:
        network = LAVATORY.replace("pipe 0.75 P1", f"pipe {size_in!r} P1")
        return outcome("building-supply-size", network, "M", code)

    both_sides(answer, 0.75, "in", VIOLATION, at_most=False)


def test_hot_water_length() -> None:
    def answer(feet: float) -> Outcome:
        network = (
            MAIN + "water-heater WH  cold 20 0 0 > hot 20 1 0\nsystem=hot_water\n"
            f"pipe 0.5 H  20 1 0 > {20 + feet!r} 1 0\nlavatory L  hot {20 + feet!r} 1 0\n"
        )
        return outcome("hot-water-length", network, "L", "ipc-2021")

    both_sides(answer, 50, "ft", VIOLATION, at_most=True)


def test_dead_leg() -> None:
    def answer(feet: float) -> Outcome:
        return outcome("dead-leg", LAVATORY + f"pipe 0.5 D  20 0 0 > 20 {feet!r} 0\n", "D")

    assert DEAD_LEG_FT == 2
    both_sides(answer, 2, "ft", ADVISORY, at_most=True)


def test_main_shutoff_within_reach() -> None:
    """The valve lies at 0; the lowest floor so much above it."""

    def answer(metres: float) -> Outcome:
        return outcome("main-shutoff-valve", f"storey L1 {metres / M_PER_FT!r}\n" + LAVATORY, "M")

    assert BURIED_M == 0.5
    both_sides(answer, 0.5, "m", ADVISORY, at_most=True)


def test_a_curb_valve_may_be_buried_where_another_is_within_reach() -> None:
    buried = "isolating 0.75 V2  9 0 0 > 9.5 0 0\npipe 0.75 P9  9.5 0 0 > 10 0 0\n"
    low = "storey L1 2\n" + LAVATORY.replace("> 10 0 0", "> 9 0 0") + buried
    assert outcome("main-shutoff-valve", low, "M") is ADVISORY
    high = low.replace("10.5 0 0", "10.5 0 2")
    assert outcome("main-shutoff-valve", high, "M") is PASS


@pytest.mark.parametrize(("lavatories", "expected"), [(0, PASS), (1, PASS), (2, ADVISORY)])
def test_supply_by_table(lavatories: int, expected: Outcome) -> None:
    """Four tubs, 16 WSFU, and lavatories of 1 each: 17 is the most."""
    network = MAIN + "pipe 0.75 B  20 0 0 > 85 0 0\n"
    network += "".join(f"bathtub T{n}  cold 85 0 0\n" for n in range(4))
    network += "".join(f"lavatory L{n}  cold 85 0 0\n" for n in range(lavatories))
    job = water(static_pressure="60 psi", residual_pressure="50 psi")
    assert outcome("supply-by-table", network, "M", "upc-2021", job) is expected


def test_pressure_with_the_table() -> None:
    """80 % of a regulator's 60 psi, less 0.5 psi a foot for 10 ft."""
    network = MAIN.replace("isolating", "pressure-reducing") + "pipe 0.75 B  20 0 0 > 20 0 10\n"
    network += "".join(f"bathtub T{n}  cold 20 0 10\n" for n in range(20))
    job = water(static_pressure="90 psi", regulator_setting="60 psi")
    steps = [step.value for step in said("supply-by-table", network, "M", job=job)[0].steps]
    assert steps[:3] == pytest.approx([90, 48, 43])


@pytest.mark.parametrize(("feet", "column"), [(99, 100), (100, 100), (100.09, 100), (100.12, 150)])
def test_the_column_of_the_table(feet: float, column: float) -> None:
    rows = codes.load("upc-2021").table("meter_and_supply").rows
    found = table_units(rows[0], feet)
    assert found is not None
    assert found[0] == column


@pytest.mark.parametrize(
    ("units", "size"), [(3, "AA"), (3.1, "A"), (11, "A"), (11.1, "B"), (330, "F"), (331, "F")]
)
def test_arrester_sizes(units: float, size: str) -> None:
    assert _arrester(units) == size


@pytest.mark.parametrize(("off_m", "expected"), [(NEAR_M - 0.01, PASS), (NEAR_M + 0.01, VIOLATION)])
def test_a_sleeve_near_its_pipe(off_m: float, expected: Outcome) -> None:
    assert NEAR_M == 0.3
    network = f"""
system=cold_water material=copper
water-meter 0.75 M  in 0 0 -2 > out 1 0 -2
pipe 0.75 B  1 0 -2 > 1 0 3
lavatory L  cold 1 0 3
slab S  -50 -50 -0.5 > 100 50 0
thing SL called=Pipe_sleeve at={1 + off_m / M_PER_FT!r},0,-0.25
"""
    assert outcome("joint-below-slab", network, "B") is expected


@pytest.mark.parametrize(
    ("higher_m", "expected"), [(ON_GROUND_M - 0.01, ADVISORY), (ON_GROUND_M + 0.01, PASS)]
)
def test_slabs_on_the_ground(higher_m: float, expected: Outcome) -> None:
    """An elbow below a slab somewhat higher than the lowest, of another part of the building."""
    assert ON_GROUND_M == 0.5
    top = higher_m / M_PER_FT
    network = (
        MAIN
        + f"""
pipe 0.5 B  20 0 0 > 20 0 -2
quarter-bend 0.5 Q  20 0 -2 > 20.1 0 -2
pipe 0.5 C  20.1 0 -2 > 25 0 -2
lavatory L  cold 25 0 -2
slab LOW  -90 -90 -0.5 > -80 -80 0
slab S  -50 -50 {top - 0.3!r} > 100 50 {top!r}
"""
    )
    assert outcome("joint-below-slab", network, "B") is expected


# -- several answers about one subject ------------------------------------------------------------


def wrong(given: list[Answer]) -> list[tuple[str, Outcome]]:
    return sorted((a.about, a.outcome) for a in given if a.outcome is not PASS)


def test_each_bad_regulator() -> None:
    network = (
        MAIN.replace("isolating", "pressure-reducing")
        + """
pressure-reducing 0.75 R2 downstream_pressure_pa=620528.1  20 0 0 > 20.5 0 0
pressure-reducing 0.75 R3 downstream_pressure_pa=206842.7  20 0 0 > 20 0.5 0
lavatory L  cold 20.5 0 0
lavatory L2  cold 20 0.5 0
"""
    )
    given = said("regulator-setting", network, "M")
    assert wrong(given) == [
        ("R2", VIOLATION), ("R3", ADVISORY), ("V", Outcome.UNVERIFIED),
    ]  # fmt: skip


HOT_AND_COLD = (
    MAIN
    + """
pipe 0.375 C  20 0 0 > 30 0 0
water-heater WH  cold 20 0 0 > hot 20 1 0
system=hot_water
pipe 0.375 H  20 1 0 > 30 1 0
lavatory L  cold 30 0 0 > hot 30 1 0
"""
)


def test_each_branch_too_small() -> None:
    assert wrong(said("supply-branch-size", HOT_AND_COLD, "L")) == [
        ("C", VIOLATION), ("H", VIOLATION),
    ]  # fmt: skip


def test_each_connection_short_of_pressure() -> None:
    given = said("pressure-at-fixture", HOT_AND_COLD, "L", job=water(residual_pressure="10 psi"))
    assert wrong(given) == [("C", VIOLATION), ("H", VIOLATION)]


def test_what_is_missing_for_both_connections_is_said_once() -> None:
    given = said("pressure-at-fixture", HOT_AND_COLD, "L")
    assert [a.outcome for a in given] == [Outcome.UNVERIFIED]


def test_each_narrow_part_of_the_building_supply() -> None:
    network = LAVATORY.replace("pipe 0.75 P1", "pipe 0.5 P1").replace("pipe 0.75 P2", "pipe P2")
    assert wrong(said("building-supply-size", network, "M")) == [
        ("P1", VIOLATION), ("P2", Outcome.UNVERIFIED),
    ]  # fmt: skip


def test_each_valve_of_unknown_kind() -> None:
    network = LAVATORY.replace("isolating", "valve").replace(
        "water-meter 0.75 M  in 0 0 0 > out 1 0 0",
        "water-meter 0.75 M  in 0 0 0 > out 0.5 0 0\nvalve 0.75 V2  0.5 0 0 > 1 0 0",
    )
    assert wrong(said("main-shutoff-valve", network, "M")) == [
        ("V", Outcome.UNVERIFIED), ("V2", Outcome.UNVERIFIED),
    ]  # fmt: skip


def test_each_cold_place() -> None:
    network = (
        MAIN
        + """
pipe 0.5 A insulated=no space=Garage  20 0 0 > 25 0 0
pipe 0.5 B space=Attic  25 0 0 > 30 0 0
lavatory L  cold 30 0 0
"""
    )
    given = said("frost-protection", network, "A", job={"building": {"freezing": True}})
    assert wrong(given) == [("A", VIOLATION), ("B", Outcome.UNVERIFIED)]


def test_joints_and_a_pipe_without_sleeve() -> None:
    network = (
        MAIN
        + """
pipe 0.5 B  20 0 0 > 20 0 -2
quarter-bend 0.5 Q  20 0 -2 > 20.1 0 -2
pipe 0.5 C  20.1 0 -2 > 25 0 -2
lavatory L  cold 25 0 -2
slab S  -50 -50 -0.5 > 100 50 0
"""
    )
    assert [a.outcome for a in said("joint-below-slab", network, "B")][:2] == [
        Outcome.UNVERIFIED, ADVISORY,
    ]  # fmt: skip
