"""What the rules of venting count, take from a table row by row, or take as near or level: from
both sides."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from ifclint import codes
from ifclint.findings import Outcome
from ifclint.testing import context_of
from tests.venting.test_vent_limits import (
    ADVISORY,
    EXCUSED,
    IPC,
    PACK,
    PASS,
    UNVERIFIED,
    UPC,
    VIOLATION,
    changed,
    outcome,
    said,
)

ARM_ROWS = [
    (code, row.number("size_in"), row.number("max_length_ft"))
    for code in (UPC, IPC)
    for row in codes.load(code).table("trap_arms").rows
]


@pytest.mark.parametrize(("code", "size", "most"), ARM_ROWS)
@pytest.mark.parametrize(("past", "wanted"), [(0.0, PASS), (0.03, VIOLATION)])
def test_arm_as_long_as_its_row(
    code: str, size: float, most: float, past: float, wanted: Outcome
) -> None:
    edge = 1.5 / 24 if code == UPC else 0.0  # the UPC measures to the edge of the 1-1/2 in vent
    x = f"-{most + edge + past:.6f}"
    flat = changed(
        "arms.lavatory",
        ("-2 0 ", f"-{most + 1} 0 "),
        ("-1.7 0 1.535", f"{x} 0 1.5"),
        ("-0.1 0 1.502", "-0.1 0 1.5"),
        ("pipe 1.25", f"pipe {size}"),
        ("p-trap 1.25", f"p-trap {size}"),
    )
    assert outcome("trap-arm-length", flat, "T", code) is wanted


def bent(size: float, turn_deg: float) -> str:
    """An arm that turns once by an angle before its vent, and a cleanout elsewhere."""
    x, y = cos(radians(turn_deg)), sin(radians(turn_deg))
    near, tee = f"{0.1 * x:.5f} {0.1 * y:.5f}", f"{x:.5f} {y:.5f}"
    end = f"{0.9 * x:.5f} {0.9 * y:.5f}"
    return f"""
sink S -2 0 2
pipe {size} TAIL -2 0 2 > -2 0 1.6
p-trap {size} T -2 0 1.6 > -1.7 0 1.5
pipe {size} A1 -1.7 0 1.5 > -0.1 0 1.48
fitting B at=0,0,1.478 -0.1 0 1.48 > {near} 1.476
pipe {size} A2 {near} 1.476 > {end} 1.46
sanitary-tee TEE at={tee.replace(" ", ",")},1.458 {end} 1.46 > {tee} 1.3 > {tee} 1.6
pipe 4 DROP {tee} 1.3 > {tee} -1
sewer-connection SEWER {tee} -1
pipe 2 VENT system=vent {tee} 1.6 > {tee} 13
vent-through-roof VTR system=vent {tee} 13
pipe 2 ELSE 90 50 -1 > 99 50 -1.2
cleanout 2 CO 90 50 -1
sewer-connection S9 99 50 -1.2
"""


@pytest.mark.parametrize(
    ("size", "turn", "wanted"),
    [(2, 90, PASS), (2, 91, VIOLATION), (2.5, 91, VIOLATION), (3, 91, PASS), (3, 135, PASS),
     (3, 136, VIOLATION)],
)  # fmt: skip
def test_arm_turns_as_far_as_a_cable_passes(size: float, turn: float, wanted: Outcome) -> None:
    assert outcome("trap-arm-turns", bent(size, turn), "T") is wanted


@pytest.mark.parametrize(("weir", "is_s_trap"), [("-4.25", True), ("-4.256", False)])
def test_a_turn_down_within_two_diameters_makes_an_s_trap(weir: str, is_s_trap: bool) -> None:
    """A 1-1/2 in arm that turns down in a bend at -4."""
    text = changed("arms.turned_down", ("-5.7 0 -0.5\n", f"{weir} 0 -0.53\n"),
                   ("ARM -5.7 0 -0.5 ", f"ARM {weir} 0 -0.53 "))  # fmt: skip
    answer = said("trap-vented", text, "T")[0]
    assert answer.outcome is VIOLATION
    assert ("S-trap" in answer.message) is is_s_trap


def tall(storeys: int, reliefs: tuple[int, ...] = ()) -> str:
    """A stack with a closet on each of so many storeys 10 ft apart, and relief vents above some."""
    lines = ["sewer-connection SEWER 0 0 -4", "pipe 4 S0 0 0 -4 > 0 0 -1.1"]
    for n in range(storeys):
        z = 10 * n
        lines += [
            f"storey L{n} {z}",
            f"water-closet F{n} storey=L{n} -2 0 {z}",
            f"pipe 3 A{n} -2 0 {z} > -0.1 0 {z - 0.95}",
            f"combination E{n} at=0,0,{z - 1} -0.1 0 {z - 0.95} > 0 0 {z - 1.1} > 0 0 {z - 0.9}",
        ]
        if n + 1 == storeys:
            lines.append(f"pipe 4 V system=vent 0 0 {z - 0.9} > 0 0 {z + 20}")
            lines.append(f"vent-through-roof 4 R system=vent 0 0 {z + 20}")
        elif n in reliefs:
            lines += [
                f"pipe 4 S{n + 1} 0 0 {z - 0.9} > 0 0 {z + 3}",
                f"wye Y{n} at=0,0,{z + 3.1} 0 0 {z + 3} > 0 0 {z + 3.2} > 0.1 0 {z + 3.2}",
                f"pipe 3 Y{n}V system=vent 0.1 0 {z + 3.2} > 3 0 {z + 6.1}",
                f"pipe 3 Y{n}W system=vent 3 0 {z + 6.1} > 3 {n + 1} 300",
                f"vent-through-roof 3 R{n} system=vent 3 {n + 1} 300",
                f"pipe 4 S{n + 1}B 0 0 {z + 3.2} > 0 0 {z + 8.9}",
            ]
        else:
            lines.append(f"pipe 4 S{n + 1} 0 0 {z - 0.9} > 0 0 {z + 8.9}")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("code", "storeys", "wanted"),
    [(IPC, 4, EXCUSED), (IPC, 5, VIOLATION), (UPC, 9, EXCUSED), (UPC, 10, EXCUSED),
     (UPC, 11, VIOLATION)],
)  # fmt: skip
def test_a_stack_from_how_tall(code: str, storeys: int, wanted: Outcome) -> None:
    """Above the highest branch, 1 ft below a floor, nothing is stack: 11 floors, 10 storeys."""
    assert outcome("tall-stack-vented", tall(storeys), "S0", code) is wanted


@pytest.mark.parametrize(
    ("code", "storeys", "reliefs", "wanted"),
    [(IPC, 10, (), EXCUSED), (IPC, 11, (), VIOLATION), (IPC, 11, (5,), PASS),
     (IPC, 20, (5,), PASS), (IPC, 21, (5,), VIOLATION), (IPC, 21, (5, 15), PASS),
     (UPC, 10, (), EXCUSED), (UPC, 11, (), VIOLATION), (UPC, 11, (5,), PASS),
     (UPC, 12, (5,), VIOLATION), (UPC, 12, (5, 8), PASS)],
)  # fmt: skip
def test_relief_vents_for_so_many(
    code: str, storeys: int, reliefs: tuple[int, ...], wanted: Outcome
) -> None:
    assert outcome("stack-relief", tall(storeys, reliefs), "S0", code) is wanted


@pytest.mark.parametrize(("foot", "wanted"), [("89.02", VIOLATION), ("89.01", EXCUSED)])
def test_a_stack_rises_to_a_floor_that_it_ends_near(foot: str, wanted: Outcome) -> None:
    """UPC: 30 cm below the tenth floor, at 90 ft."""
    text = tall(10).replace("0 0 88.9", f"0 0 {foot}")
    assert outcome("tall-stack-vented", text, "S0") is wanted


@pytest.mark.parametrize("size", ["pipe 4 S", "pipe S"])  # 4 in is usual where none is told
@pytest.mark.parametrize(("code", "storeys"), [(IPC, 5), (UPC, 11)])
@pytest.mark.parametrize(("away", "wanted"), [(3.33, PASS), (3.35, VIOLATION)])
def test_a_vent_stack_joins_within_ten_diameters_of_the_base(
    size: str, code: str, storeys: int, away: float, wanted: Outcome
) -> None:
    """4 in: 40 in of the drain that the stack turns into, from centre to centre."""
    x = away - 0.1
    base = f"""pipe 4 S0 0 0 -3.9 > 0 0 -1.1
long-sweep SW at=0,0,-4 0 0 -3.9 > 0.1 0 -4
pipe 4 D1 0.1 0 -4 > {x} 0 -4.05
combination C at={x + 0.1},0,-4.05 {x} 0 -4.05 > {x + 0.2} 0 -4.06 > {x + 0.1} 0 -3.9
pipe 4 D2 {x + 0.2} 0 -4.06 > 20 0 -4.5
sewer-connection SEWER 20 0 -4.5
pipe 3 VS system=vent {x + 0.1} 0 -3.9 > {x + 0.1} 0 99
vent-through-roof 3 R9 system=vent {x + 0.1} 0 99"""
    foot = "sewer-connection SEWER 0 0 -4\npipe 4 S0 0 0 -4 > 0 0 -1.1"
    text = tall(storeys).replace(foot, base).replace("pipe 4 S", size)
    assert outcome("tall-stack-vented", text, "S0", code) is wanted


@pytest.mark.parametrize(
    ("low", "code", "wanted"),
    [("2.66", UPC, UNVERIFIED), ("2.64", UPC, VIOLATION), ("3.965", IPC, PASS),
     ("3.95", IPC, UNVERIFIED)],
)  # fmt: skip
def test_a_rim_that_is_not_told_lies_between_outlet_and_what_is_usual(
    low: str, code: str, wanted: Outcome
) -> None:
    """The outlet at 2.15 ft, the rim no more than 0.4 m above it, and the vent 6 in above."""
    text = changed("pipes.lavatory", ("box=-2.8,-1,2.2,-1.2,1,2.75 ", ""), ("0 0 3.9", "0 0 2.5"),
                   ("0,0,4 ", "0,0,2.6 "), ("4.002", low), ("0 4.2", f"0 {low}"))  # fmt: skip
    assert outcome("vent-above-rim", text, "LEVEL", code) is wanted


@pytest.mark.parametrize(("other", "wanted"), [("8.98", UNVERIFIED), ("8.99", VIOLATION)])
def test_an_open_end_within_thirty_centimetres_may_be_the_other_side(
    other: str, wanted: Outcome
) -> None:
    broken = f"0 0 1.6 > 0 0 8\npipe 2 V2 system=vent 0 0 {other} > 0 0 12"
    text = changed("terminals.lavatory", ("0 0 1.6 > 0 0 12", broken))
    assert outcome("vent-reaches-outdoors", text, "VENT") is wanted


@pytest.mark.parametrize("away", [(0.9, 0, 0), (-0.9, 0, 0), (0, 0.9, 0), (0, -0.9, 0)])
def test_another_open_end_may_lie_on_any_side(away: tuple[float, float, float]) -> None:
    x, y, z = (start + by for start, by in zip((0.0, 0.0, 8.0), away, strict=True))
    broken = f"0 0 1.6 > 0 0 8\npipe 2 V2 system=vent {x} {y} {z} > {4 * x} {4 * y} 12"
    text = changed("terminals.lavatory", ("0 0 1.6 > 0 0 12", broken), ("VTR system=vent 0 0 12",
                   f"VTR system=vent {4 * x} {4 * y} 12"))  # fmt: skip
    assert outcome("vent-reaches-outdoors", text, "VENT") is UNVERIFIED


@pytest.mark.parametrize(("foot", "wanted"), [("15.27", VIOLATION), ("15.29", PASS)])
def test_a_wall_that_begins_a_metre_above_a_terminal_is_not_beside_it(
    foot: str, wanted: Outcome
) -> None:
    text = changed(
        "terminals.lavatory", ("WALL -5 -5 0 > 5 -4.5 9", f"WALL 0.5 -5 {foot} > 5 5 20")
    )
    assert outcome("terminal-from-walls", text, "VTR") is wanted


@pytest.mark.parametrize(("face", "wanted"), [("0.032", UNVERIFIED), ("0.034", PASS)])
def test_a_valve_within_a_centimetre_of_a_wall_stands_in_it(face: str, wanted: Outcome) -> None:
    text = changed("terminals.valve", ("WALL -1 1 0", f"WALL -1 {face} 0"))
    assert outcome("admittance-valve-access", text, "AAV", IPC) is wanted
    above = changed("terminals.valve", ("WALL -1 1 0", f"WALL -1 -1 {2.2 + float(face)}"))
    assert outcome("admittance-valve-access", above, "AAV", IPC) is wanted
    for low, high in ((face, 9), (-9, -float(face))):
        wall = ("-1 1 0 > 5 2 9", f"{low} -1 0 > {high} 2 9")
        beside = changed("terminals.valve", wall)
        assert outcome("admittance-valve-access", beside, "AAV", IPC) is wanted
    below = changed("terminals.valve", ("-1 1 0 > 5 2 9", f"-1 -1 0 > 5 2 {2.2 - float(face)}"))
    assert outcome("admittance-valve-access", below, "AAV", IPC) is wanted


@pytest.mark.parametrize(
    ("code", "height", "wanted"),
    [(IPC, "13.25", PASS), (IPC, "13.24", VIOLATION), (UPC, "13.25", PASS),
     (UPC, "13.24", ADVISORY)],
)  # fmt: skip
def test_a_valve_on_a_stack_stands_above_the_rims(code: str, height: str, wanted: Outcome) -> None:
    """Two sinks on a stack, the upper with its rim at 12.75 ft."""
    text = changed(
        "methods.waste_stack",
        ("kitchen-sink A ", "kitchen-sink A box=-3,-1,12,-1,1,12.75 "),
        ("0 0 23", f"0 0 {height}"),
        ("vent-through-roof", "air-admittance-valve"),
    )
    assert outcome("admittance-valve-height", text, "VTR", code) is wanted


def shared(*at: float) -> str:
    """Lavatories on one trap, below one fitting, so far beside it."""
    lines = ["sewer-connection SEWER 2 0 1.5", "p-trap 1.5 T 0.1 0 1.7 > 0.4 0 1.53"]
    lines.append("pipe 1.5 ARM 0.4 0 1.53 > 2 0 1.5")
    for n, x in enumerate(at):
        lines += [f"lavatory L{n} {-x} 0 2.5", f"pipe 1.5 P{n} {-x} 0 2.5 > {-x} 0 1.9"]
    inlets = " > ".join(f"{-x} 0 1.9" for x in at)
    lines.append(f"fitting W at=0,0,1.8 {inlets} > 0.1 0 1.7")
    return "\n".join(lines)


@pytest.mark.parametrize("code", [UPC, IPC])
@pytest.mark.parametrize(("count", "wanted"), [(1, EXCUSED), (3, PASS), (4, VIOLATION)])
def test_fixtures_on_one_trap(code: str, count: int, wanted: Outcome) -> None:
    places = sorted([0, 1, -1, 2][:count])  # the trap is at 0, the middle one of three
    assert outcome("shared-trap", shared(*places), "T", code) is wanted


@pytest.mark.parametrize(("third", "wanted"), [(2.5, PASS), (2.6, VIOLATION)])
def test_each_fixture_on_a_trap_is_near_another(third: float, wanted: Outcome) -> None:
    assert outcome("shared-trap", shared(-1, 0, third), "T") is wanted


THIRD = """lavatory C 0 -2 2.15
pipe 1.25 TC 0 -2 2.15 > 0 -2 1.7
p-trap 1.25 T3 0 -2 1.7 > 0 -1.7 1.535
pipe 1.25 A3 0 -1.7 1.535 > 0 -0.1 1.502
"""


@pytest.mark.parametrize("code", [UPC, IPC])
def test_two_fixtures_breathe_through_a_common_vent_and_no_third(code: str) -> None:
    text = changed("methods.back_to_back", ("> 0.1 0 1.502\npipe 2 DROP",
                   "> 0.1 0 1.502 > 0 -0.1 1.502\npipe 2 DROP"), add=THIRD)  # fmt: skip
    answer = said("common-vent", text, "VENT", code)[0]
    assert answer.outcome is VIOLATION
    assert (answer.measured and answer.measured.value) == 3


def circuit(count: int, closets: int = 0, others: str = "shower", fall: float = 0.06) -> str:
    """So many fixtures on a branch under one vent, `closets` of them closets; it falls by `fall`
    between two of them, 4 ft apart."""
    lines, z = [], -1.0
    for n in range(count):
        x, kind = 4.0 * n, "water-closet" if n < closets else others
        lines.append(f"{kind} C{n} storey=L1 {x} 3 0")
        if kind == others:
            lines += [
                f"pipe 2 P{n} {x} 3 0 > {x} 3 -0.4",
                f"p-trap 2 T{n} {x} 3 -0.4 > {x} 2.7 -0.6",
            ]
            lines.append(f"pipe 2 A{n} {x} 2.7 -0.6 > {x} 0.1 {z:.3f}")
        else:
            lines += [
                f"pipe 3 P{n} {x} 3 0 > {x} 3 -0.9",
                f"closet-bend B{n} {x} 3 -0.9 > {x} 2.9 -0.95",
            ]
            lines.append(f"pipe 3 A{n} {x} 2.9 -0.95 > {x} 0.1 {z:.3f}")
        start = "" if n == 0 else f"{x - 0.1} 0 {z:.3f} > "
        lines.append(f"wye W{n} at={x},0,{z:.3f} {start}{x + 0.1} 0 {z:.3f} > {x} 0.1 {z:.3f}")
        lower = z - fall
        if n == 0:
            lines += [
                f"pipe 4 R0 0.1 0 {z} > 1.9 0 {z - fall / 2}",
                f"combination V at=2,0,{z - fall / 2} 1.9 0 {z - fall / 2} > "
                f"2.1 0 {z - fall / 2} > 2 0 {z + 0.1}",
                f"pipe 2 VENT system=vent 2 0 {z + 0.1} > 2 0 13",
                "vent-through-roof VTR system=vent 2 0 13",
                f"pipe 4 R0B 2.1 0 {z - fall / 2} > 3.9 0 {lower:.3f}",
            ]
        elif n + 1 < count:
            lines.append(f"pipe 4 R{n} {x + 0.1} 0 {z:.3f} > {x + 3.9} 0 {lower:.3f}")
        z = lower if n + 1 < count else z
    x = 4.0 * (count - 1)
    lines += [
        f"pipe 4 END {x + 0.1} 0 {z:.3f} > {x + 9.9} 0 {z - 0.1:.3f}",
        f"sanitary-tee ST at={x + 10},0,{z - 0.1:.3f} {x + 9.9} 0 {z - 0.1:.3f} > "
        f"{x + 10} 0 -3 > {x + 10} 0 0",
        f"pipe 4 DOWN {x + 10} 0 -3 > {x + 10} 0 -12",
        f"sewer-connection SEWER {x + 10} 0 -12",
    ]
    return "\n".join(lines)


UPPER = """water-closet U storey=L2 {x2} 0 10
pipe 3 UA {x2} 0 10 > {x3} 0 9.05
combination UE at={x},0,9 {x3} 0 9.05 > {x} 0 8.9 > {x} 0 9.1
pipe 4 UP {x} 0 8.9 > {x} 0 0
pipe 4 UV system=vent {x} 0 9.1 > {x} 0 30
vent-through-roof 4 UR system=vent {x} 0 30
"""


def upper(count: int) -> str:
    x = 4.0 * (count - 1) + 10
    return "\n" + UPPER.format(x=x, x2=x - 2, x3=x - 0.1)


@pytest.mark.parametrize("code", [UPC, IPC])
@pytest.mark.parametrize(("count", "wanted"), [(8, PASS), (9, VIOLATION)])
def test_fixtures_on_a_circuit_vent(code: str, count: int, wanted: Outcome) -> None:
    assert outcome("circuit-vent", circuit(count, closets=2), "VENT", code) is wanted


@pytest.mark.parametrize("code", [UPC, IPC])
@pytest.mark.parametrize(("closets", "wanted"), [(3, PASS), (4, VIOLATION)])
def test_closets_on_a_circuit_vent_below_branches(code: str, closets: int, wanted: Outcome) -> None:
    text = circuit(5, closets) + upper(5)
    assert outcome("circuit-vent", text, "VENT", code) is wanted
    assert outcome("circuit-vent", circuit(5, closets), "VENT", code) is PASS


STEEP = 0.4  # ft in 3.8: 1.26 in per ft


def test_a_steep_circuit_passes_as_what_else_it_is() -> None:
    """IPC: as the wet vent of two bathroom groups; a combination waste and vent is flatter."""
    assert outcome("circuit-vent", circuit(4, 2, fall=STEEP), "VENT", IPC) is PASS
    assert outcome("circuit-vent", circuit(3, 0, "sink", STEEP), "VENT", IPC) is VIOLATION
    assert outcome("circuit-vent", circuit(3, 0, "sink", STEEP), "VENT", UPC) is VIOLATION
    assert outcome("circuit-vent", circuit(5, 3, fall=STEEP), "VENT", IPC) is VIOLATION


def test_more_than_a_bathroom_passes_as_a_circuit() -> None:
    """UPC: three showers are no bathroom group, and may be on a circuit vent that is not steep."""
    assert outcome("circuit-vent", circuit(3), "VENT") is PASS
    assert outcome("circuit-vent", circuit(3, fall=STEEP), "VENT") is VIOLATION


SECOND = """system=sanitary_drainage
lavatory M 12 0 2.15
pipe 1.25 TAIL2 12 0 2.15 > 12 0 1.7
p-trap 1.25 T2 12 0 1.7 > 11.7 0 1.535
pipe 1.25 ARM2 11.7 0 1.535 > 10.1 0 1.502
sanitary-tee TEE2 at=10,0,1.5 10.1 0 1.502 > 10 0 1.4 > 10 0 1.6
pipe 2 DROP2 10 0 1.4 > 10 0 -1
sewer-connection SEWER2 10 0 -1
pipe 1.25 VENT2 system=vent 10 0 1.6 > 10 0 4.1
"""


def test_the_load_of_a_vent_is_what_breathes_through_it_and_no_more() -> None:
    """A kitchen sink's vent runs level to that of a lavatory, and both go up together."""
    text = changed("pipes.lavatory", ("lavatory L", "kitchen-sink L"), ("pipe 1.5", "pipe 1.25"),
                   ("9.9 0 4.2 > 10 0 4.3", "9.9 0 4.2 > 10 0 4.3 > 10 0 4.1"),
                   ("quarter-bend BEND2", "tee BEND2"), add=SECOND)  # fmt: skip
    alone, both = (said("vent-capacity", text, name)[0] for name in ("LEVEL", "UP"))
    assert [(s.text, s.value) for s in alone.steps[:2]] == [("L", 2), ("Load on the vent", 2)]
    assert [(s.text, s.value) for s in both.steps[:3]] == [
        ("L", 2), ("M", 1), ("Load on the vent", 3),
    ]  # fmt: skip


@pytest.mark.parametrize(("between", "wanted"), [(56, UNVERIFIED), (57, VIOLATION)])
def test_a_trap_sixty_elements_below_is_none_of_its_own(between: int, wanted: Outcome) -> None:
    """A lavatory, the fitting where a tub's drain joins, so many pipes and a trap."""
    lines = ["lavatory L 0 0 9", "pipe 2 P 0 0 9 > 0 0 8", "bathtub B 1 0 9"]
    lines += ["pipe 2 Q 1 0 9 > 1 0 8", "wye W at=0,0,7.9 0 0 8 > 1 0 8 > 0.1 0 7.8"]
    for n in range(between):
        lines.append(f"pipe 2 R{n} {0.1 + n} 0 {7.8 - n / 50} > {1.1 + n} 0 {7.78 - n / 50}")
    x, z = 0.1 + between, 7.8 - between / 50
    lines += [f"running-trap 2 T {x} 0 {z} > {x + 1} 0 {z - 0.02}"]
    lines += [f"pipe 2 S {x + 1} 0 {z - 0.02} > {x + 2} 0 {z - 0.04}"]
    lines += [f"sewer-connection SEWER {x + 2} 0 {z - 0.04}"]
    assert outcome("fixture-trapped", "\n".join(lines), "L") is wanted


@pytest.mark.parametrize(
    ("tee", "made_larger"), [("1.5", ("T", "ARM", "TEE")), ("3", ("T", "ARM")), ("", ("T", "ARM"))]
)
def test_a_larger_arm_leaves_the_larger_fitting_it_ends_in(
    tee: str, made_larger: tuple[str, ...]
) -> None:
    long = changed("arms.lavatory", ("-2 0 ", "-4.3 0 "), ("-1.7 0 1.535", "-4 0 1.583"),
                   ("sanitary-tee TEE", f"sanitary-tee {tee} TEE"))  # fmt: skip
    change = said("trap-arm-length", long, "T")[0].change
    assert change is not None
    assert (change.what, change.value, change.element_ids) == ("size", 2.0, made_larger)


def test_a_finding_tells_the_arm_piece_by_piece() -> None:
    long = changed("arms.lavatory", ("-2 0 ", "-6.5 0 "), ("-1.7 0 1.535", "-6.1 0 1.5"),
                   ("-0.1 0 1.502", "-0.1 0 1.5"))  # fmt: skip
    answer = said("trap-arm-length", long, "T")[0]
    steps = answer.steps
    assert answer.change is not None  # 3 in may be 6 ft, 4 in 10 ft; no lavatory has such a trap
    assert answer.change.what == "move"
    assert answer.remedy == "Bring the vent 3 ft 6-1/2 in nearer to the trap."
    assert [(s.text, round(s.value or 0, 3)) for s in steps] == [
        ("From the weir (outlet) of T", 0),
        ("through ARM", 6),
        ("to the centre of TEE", 0.1),
        ("Developed length", 6.1),
        ("to the inner edge of the vent, half its size less", 6.037),
        ("1-1/4 in arm, at most", 2.5),
    ]


def test_no_arm_is_shorter_than_nothing() -> None:
    """The edge of a 4 in vent lies before the weir."""
    text = changed(
        "arms.lavatory", ("-1.7 0 1.535", "-0.11 0 1.503"), ("pipe 1.5 VENT", "pipe 4 VENT")
    )
    answer = said("trap-arm-minimum", text, "T", UPC)[0]
    assert (answer.measured and answer.measured.value) == 0


FAR_VENT = """pipe 2 VENT system=vent 0 0 9.1 > 0 0 20
tee VT system=vent at=0,0,20.1 0 0 20 > 0 0 20.2 > 0.1 0 20.1
pipe 2 VENT2 system=vent 0 0 20.2 > 0 0 33
lavatory L {beyond} 0 12.15
pipe 1.25 TL {beyond} 0 12.15 > {beyond} 0 11.7
p-trap 1.25 T {beyond} 0 11.7 > {weir} 0 11.535
pipe 1.25 AL {weir} 0 11.535 > {at} 0 11.502
sanitary-tee TT at={x},0,11.5 {at} 0 11.502 > {x} 0 11.4 > {x} 0 11.6
pipe 2 DROP {x} 0 11.4 > {x} 0 5
sewer-connection SEWER2 {x} 0 5
pipe 1.25 RISE system=vent {x} 0 11.6 > {x} 0 20
quarter-bend BEND system=vent at={x},0,20.1 {x} 0 20 > {before} 0 20.1
pipe 1.25 LEVEL system=vent {before} 0 20.1 > 0.1 0 20.1
"""


@pytest.mark.parametrize(("x", "wanted"), [(31.4, PASS), (31.5, VIOLATION)])
def test_a_branch_vent_is_measured_to_the_stack_vent(x: float, wanted: Outcome) -> None:
    """IPC: 8.6 ft up and so many over, and 12.9 ft more to the open air."""
    far = FAR_VENT.format(x=x, at=x + 0.1, weir=x + 1.7, beyond=x + 2, before=x - 0.1)
    text = changed(
        "pipes.stack", ("pipe 2 VENT system=vent 0 0 9.1 > 0 0 35\n", far), ("0 0 35", "0 0 33")
    )
    assert outcome("vent-capacity", text, "RISE", IPC) is wanted


@pytest.mark.parametrize(("size", "wanted"), [("1.5", PASS), ("1.25", VIOLATION)])
def test_a_vent_is_half_the_largest_drain_its_fixtures_ask_for(size: str, wanted: Outcome) -> None:
    """IPC: a lavatory, a tub and a closet, which asks for 3 in."""
    text = changed("methods.bathroom", ("pipe 1.5 VENT", f"pipe {size} VENT"))
    assert outcome("vent-least-size", text, "VENT", IPC) is wanted


def test_the_smallest_pipe_of_a_wet_vent_is_the_one_to_click() -> None:
    text = changed("methods.two_levels", ("pipe 2 WET 0 0 1.4 > 0 0 -0.4",
                   "pipe 2 WET 0 0 1.4 > 0 0 1\npipe 1.5 NARROW 0 0 1 > 0 0 -0.4"))  # fmt: skip
    answer = said("vertical-wet-vent", text, "VENT")[0]
    assert answer.elements[0] == "NARROW"
    assert answer.change
    assert answer.change.value == 2


def test_where_no_roof_covers_an_end_the_highest_tells() -> None:
    """Roofs at 7 and 11 ft beside a vent that ends at 8 ft, within the walls."""
    roofs = "roof LOW 3 -5 6 > 5 5 7\nroof HIGH -5 -5 10 > -3 5 11"
    inside = ("0 0 1.6 > 0 0 12\nvent-through-roof 2 VTR system=vent 0 0 12", "0 0 1.6 > 0 0 8")
    text = changed("terminals.lavatory", ("roof ROOF -5 -5 10 > 5 5 11", roofs), inside)
    answer = said("vent-reaches-outdoors", text, "VENT")[0]
    assert answer.outcome is VIOLATION
    assert (answer.measured and answer.measured.value) == -3


@pytest.mark.parametrize(("kind", "wanted"), [("bathtub", PASS), ("kitchen-sink", VIOLATION)])
def test_a_fixture_that_a_method_does_not_list_is_not_vented_by_it(
    kind: str, wanted: Outcome
) -> None:
    text = changed("methods.bathroom", ("bathtub B", f"{kind} B"))
    assert outcome("horizontal-wet-vent", text, "VENT") is wanted
    asked_there = PASS if wanted is PASS else Outcome.NOT_APPLICABLE
    assert outcome("trap-vented", text, "T2") is asked_there


def test_a_method_without_a_list_of_fixtures_vents_them_all() -> None:
    assert outcome("trap-vented", changed("methods.two_levels"), "T2") is PASS
    assert outcome("trap-vented", circuit(4, 3), "T3") is PASS


def test_a_finding_tells_what_may_be_a_vent() -> None:
    stub = "pipe 1.5 VENT 0 0 1.6 > 0 0 5\npipe 1.5 ELSE system=vent 90 0 0 > 90 0 9\n"
    vent = "pipe 1.5 VENT system=vent 0 0 1.6 > 0 0 13\nvent-through-roof VTR system=vent 0 0 13\n"
    answer = said("trap-vented", changed("arms.lavatory", (vent, stub)), "T")[0]
    assert answer.elements == ("T", "VENT")


def test_a_finding_tells_how_tall_a_standpipe_is() -> None:
    tall_one = changed("traps.washer", ("0.1,2.9 -2", "0.1,4.05 -2"))
    steps = said("standpipe-height", tall_one, "T")[0].steps
    assert [round(s.value or 0, 2) for s in steps] == [48.6, 12.6, 18, 30]


def test_a_finding_names_the_roof() -> None:
    low = changed("terminals.lavatory", ("0 0 12", "0 0 11.4"))
    assert said("terminal-above-roof", low, "VTR")[0].message == "VTR ends 4.8 in above ROOF."


def test_the_schedules_tell_every_arm_and_vent() -> None:
    context = context_of(changed("pipes.lavatory"))
    fixtures, traps, vents = PACK.schedules(context)
    assert [(row["fixture"], row["vent_in"]) for row in fixtures.rows] == [("lavatory", 1.5)]
    (arm,) = traps.rows
    assert arm["fixture"] == "L"
    assert (arm["trap_in"], arm["arm_in"], arm["vent_in"], arm["allowed_ft"]) == (
        1.25,
        1.25,
        1.5,
        2.5,
    )
    assert arm["fall_in"] == pytest.approx((1.535 - 1.5) * 12)
    assert arm["method"] == "individual vent"
    by_name = {row["vent"]: row for row in vents.rows}
    assert (by_name["LEVEL"]["course"], by_name["UP"]["course"]) == ("horizontal", "vertical")
    assert (by_name["UP"]["dfu"], by_name["UP"]["drain_in"]) == (1, 2)
