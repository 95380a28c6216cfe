"""Every limit that the rules of venting read, from both sides: what lies on it passes, what lies
past it by more than the project's tolerance does not."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import pytest

import ifclint.rules.venting
from ifclint.findings import Answer, Outcome
from ifclint.job import job_of
from ifclint.judge import answers
from ifclint.packs import finders_of, make_pack
from ifclint.plumbing.surroundings.obstacles import Surroundings
from ifclint.plumbing.surroundings.roofs import RoofOver
from ifclint.rules.venting.section import VentingSection
from ifclint.testing import context_of

CASES = Path(__file__).parents[1] / "packs/venting"
NETWORKS: dict[str, str] = {
    f"{path.stem}.{name}": text
    for path in sorted(CASES.glob("*.toml"))
    for name, text in tomllib.loads(path.read_text(encoding="utf-8")).get("networks", {}).items()
}
PACK = make_pack("venting", ifclint.rules.venting)
RULES = {rule.name: rule for rule in PACK.rules}
UPC, IPC = "upc-2021", "ipc-2021"
PASS, VIOLATION, ADVISORY = Outcome.PASS, Outcome.VIOLATION, Outcome.ADVISORY
UNVERIFIED, EXCUSED = Outcome.UNVERIFIED, Outcome.NOT_APPLICABLE
Job = Mapping[str, Mapping[str, object]]
NO_JOB: Job = MappingProxyType({})


def changed(name: str, *changes: tuple[str, str], add: str = "") -> str:
    text = NETWORKS[name]
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text + add


def said(rule: str, network: str, subject: str, code: str = UPC, job: Job = NO_JOB) -> list[Answer]:
    """All that a rule says of one subject, the gravest first."""
    context = context_of(network, code, job_of(dict(job), {"venting": VentingSection}))
    asked = answers(RULES[rule], context, finders_of([PACK], PACK))
    return next(given for s, given in asked if s.element_ids[0] == subject)


def outcome(rule: str, network: str, subject: str, code: str = UPC, job: Job = NO_JOB) -> Outcome:
    return said(rule, network, subject, code, job)[0].outcome


# Rule, network, subject, what is changed in it ({v} is a value), value at the limit and past it:
# in feet of the notation where nothing else is said. Both codes unless one is named.
FREEZES: Job = {"venting": {"frost_closure": True}}
ON_THE_ROOF = [("0 0 12", "0 0 {v}")]
FLAT_ARM = [("-1.7 0 1.535", "{v} 0 1.5"), ("-0.1 0 1.502", "-0.1 0 1.5")]
LEVEL_VENT = [("4.002", "{v}"), ("0 4.2", "0 {v}"), ("0,4.2", "0,{v}")]
TABLE = [
    # a fixture above its trap (24 in over a weir at 1.53), beside it (30 in), and beside another
    ("outlet-above-weir", "traps.lavatory", "T", [("-2 0 2.15", "-2 0 {v}")], 3.53, 3.54, "", {}),
    ("outlet-beside-trap", "traps.lavatory", "T",
     [("TAIL -2 0 2.15", "TAIL {v} 0 2.15"), ("2.75 -2 0 2.15", "2.75 {v} 0 2.15")],
     -4.5, -4.51, IPC, {}),
    ("shared-trap", "traps.shared", "T",
     [("A -4 0 2.15", "A {v} 0 2.15")], -4.5, -4.51, "", {}),
    # a standpipe 18 to 30 (42) in above its weir at 1.05, and that 6 to 18 in above the floor
    ("standpipe-height", "traps.washer", "T", [("0.1,2.9 -2", "0.1,{v} -2")], 2.55, 2.54, "", {}),
    ("standpipe-height", "traps.washer", "T", [("0.1,2.9 -2", "0.1,{v} -2")], 3.55, 3.56, UPC, {}),
    ("standpipe-height", "traps.washer", "T", [("0.1,2.9 -2", "0.1,{v} -2")], 4.55, 4.56, IPC, {}),
    ("standpipe-trap-height", "traps.washer", "T", [("L1 0", "L1 {v}")], 0.55, 0.56, UPC, {}),
    ("standpipe-trap-height", "traps.washer", "T", [("L1 0", "L1 {v}")], -0.45, -0.46, UPC, {}),
    # a closet 6 ft from the edge of its 2 in vent; a vent two diameters of 1-1/4 in from the weir
    ("closet-to-vent", "arms.closet", "W",
     [("-3 0 ", "{v} 0 "), ("at=-3,0,", "at={v},0,"), ("-2.9 0 -1", "-1 0 -1"),
      ("-1.062", "-1"), ("-1.06\n", "-1\n"), ("-1.06 ", "-1 "), ("-1.064", "-1")],
     -5.0833333, -5.1, UPC, {}),
    ("trap-arm-minimum", "arms.lavatory", "T", FLAT_ARM, -0.2083334, -0.203, IPC, {}),
    ("trap-arm-minimum", "arms.lavatory", "T", FLAT_ARM, -0.2708334, -0.265, UPC, {}),
    # an arm falls one diameter of 1-1/4 in to the centre of its vent at 1.5
    ("trap-arm-fall", "arms.lavatory", "T", [("-1.7 0 1.535", "-1.7 0 {v}")],
     1.6041666, 1.609, "", {}),
    # sizes of vents
    ("vent-least-size", "pipes.lavatory", "VENT", [("pipe 1.5", "pipe {v}")], 1.25, 1, "", {}),
    ("vent-least-size", "pipes.closet", "VENT", [("pipe 2 V", "pipe {v} V")], 2, 1.5, UPC, {}),
    ("vent-least-size", "pipes.lavatory", "VENT", [("2 DROP", "{v} DROP")], 3, 3.5, UPC, {}),
    # UPC: a third of 45 ft level, IPC: 40 ft from the drain to the open air, a 2 in stack vent
    # of 35 ft above a 4 in stack of 6 DFU
    ("vent-capacity", "pipes.lavatory", "UP",
     [("9.9 0 4.2", "{v} 0 4.2"), ("10 0", "{v} 0"), ("10,0", "{v},0"), ("pipe 1.5", "pipe 1.25")],
     15, 15.03, UPC, {}),
    ("vent-capacity", "pipes.stack", "VENT", [("0 0 35", "0 0 {v}")], 44, 44.2, IPC, {}),
    # 6 in above a rim of 2.75
    ("vent-above-rim", "pipes.lavatory", "LEVEL",
     [*LEVEL_VENT, ("0 0 3.9", "0 0 3"), ("0,0,4 ", "0,0,3.1 ")], 3.25, 3.24, "", {}),
    # level within 2 mm; 5 mm above the centre of the drain
    ("vent-grade", "pipes.lavatory", "LEVEL",
     [("> 9.9 0 4.2", "> 9.9 0 {v}"), ("BEND2 at=10,0,4.2 9.9 0 4.2", "BEND2 at=10,0,4 9.9 0 {v}")],
     3.9956, 3.9952, "", {}),
    ("vent-takeoff", "pipes.closet", "VENT", [("0 0 -0.96", "0 0 {v}")], -1.045, -1.046, "", {}),
    # a terminal above a roof at 11: 6 in, 10 in where it freezes, 7 ft where it is used, 18 in
    ("terminal-above-roof", "terminals.lavatory", "VTR", ON_THE_ROOF, 11.5, 11.49, "",
     {"building": {"freezing": False}}),
    ("terminal-above-roof", "terminals.lavatory", "VTR", ON_THE_ROOF, 11.83334, 11.82, UPC,
     FREEZES),
    ("terminal-above-roof", "terminals.lavatory", "VTR", ON_THE_ROOF, 18, 17.98, "",
     {"venting": {"roof_in_use": True}}),
    ("terminal-above-roof", "terminals.lavatory", "VTR", ON_THE_ROOF, 12.5, 12.49, "",
     {"venting": {"above_roof": "18 in"}}),
    ("terminal-frost-size", "terminals.lavatory", "VTR", [("roof 2", "roof {v}")], 2, 1.5, UPC,
     FREEZES),
    ("terminal-frost-size", "terminals.lavatory", "VTR", [("roof 2", "roof {v}")], 3, 2.5, IPC,
     FREEZES),
    # a window 10 ft off, or its head 3 ft below; a wall 12 in off
    ("terminal-from-openings", "terminals.lavatory", "VTR",
     [("WINDOW 1 -5 3 > 4 -4.5 7", "WINDOW {v} -5 8 > 14 4.5 11")], 10, 9.98, "", {}),
    ("terminal-from-openings", "terminals.lavatory", "VTR",
     [("WINDOW 1 -5 3 > 4 -4.5 7", "WINDOW 1 -5 3 > 4 4.5 {v}")], 9, 9.01, "", {}),
    ("terminal-from-walls", "terminals.lavatory", "VTR",
     [("WALL -5 -5 0 > 5 -4.5 9", "WALL {v} -5 0 > 5 5 14")], 1, 0.99, UPC, {}),
    # an air admittance valve 4 in above the crown of the arm at 1.5541
    ("admittance-valve-height", "terminals.valve", "AAV", [("0 0 2.2", "0 0 {v}")],
     1.8874167, 1.879, IPC, {}),
    # two fixtures 6 ft apart on a vertical wet vent, in 2 in
    ("vertical-wet-vent", "methods.two_levels", "VENT",
     [("-0.4", "-4.4"), ("-0.5 2", "{v} 2"), ("-0.6", "-4.6"), ("4 0 -0.2", "4 0 -4.2"),
      ("0 0 -2", "0 0 -7")], -4.5, -4.52, UPC, {}),
    # the drain between a kitchen sink and a tub below, a waste stack of 4 DFU
    ("common-vent", "methods.two_levels", "VENT",
     [("lavatory A", "kitchen-sink A"), ("pipe 2 WET", "pipe {v} WET")], 2, 1.5, IPC, {}),
    ("waste-stack-vent", "methods.waste_stack", "VENT", [("pipe 3 S", "pipe {v} S")], 2, 1.5, IPC,
     {}),
    ("waste-stack-vent", "methods.waste_stack", "VENT", [("pipe 3 VENT", "pipe {v} VENT")], 3, 2.5,
     IPC, {}),
    ("horizontal-wet-vent", "methods.bathroom", "VENT", [("pipe 2 WET2", "pipe {v} WET2")], 2, 1.5,
     IPC, {}),
    # a circuit vent's branch that falls 1 in per ft; the loop of an island vent up to its rim
    ("circuit-vent", "methods.circuit", "VENT",
     [("7.9 3 -1.16", "7.9 3 {v}"), ("at=8,3,-1.162", "at=8,3,-1.42"), ("-1.164", "-1.44"),
      ("20 3 -1.42", "20 3 -1.8")], -1.4006666, -1.406, "", {}),
    ("island-vent", "methods.island", "UP", [("box=-3,-1,2.4,-1,1,3 ", "box=-3,-1,2.4,-1,1,{v} ")],
     3.1, 3.11, UPC, {}),
]  # fmt: skip
SIDES = [
    (rule, network, subject, changes, value, code, job, wanted)
    for rule, network, subject, changes, at, past, only, job in TABLE
    for code in ([only] if only else [UPC, IPC])
    for value, wanted in ((at, PASS), (past, VIOLATION))
]


@pytest.mark.parametrize(
    ("rule", "network", "subject", "changes", "value", "code", "job", "wanted"),
    SIDES,
    ids=[f"{s[0]}-{s[5]}-{s[4]}" for s in SIDES],
)
def test_at_a_limit_and_past_it(
    rule: str,
    network: str,
    subject: str,
    changes: list[tuple[str, str]],
    value: float,
    code: str,
    job: Job,
    wanted: Outcome,
) -> None:
    text = changed(network, *((old, new.format(v=value)) for old, new in changes))
    assert outcome(rule, text, subject, code, job) is wanted


@pytest.mark.parametrize(("top_m", "wanted"), [(3.2, PASS), (3.6, UNVERIFIED)])
def test_a_roof_with_a_valley_lies_no_higher_than_its_hull(
    top_m: float, wanted: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    roof = RoofOver("ROOF", 3.0, top_m, is_exact=False)
    monkeypatch.setattr(Surroundings, "roof_over", lambda self, point: roof)
    job = {"building": {"freezing": False}}
    assert outcome("terminal-above-roof", NETWORKS["terminals.lavatory"], "VTR", IPC, job) is wanted
