"""Corrections of sizes: one line is one correction, one pipe gets one size, none is made larger
than what comes before it, and what does not do is widened or told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from ifclint import codes
from ifclint.corrections import agreed, corrections
from ifclint.corrections.targets import Targets, adjoining, changed, targets_of
from ifclint.findings import Change, Correction, Finding, Outcome, ReviewedAgain
from ifclint.ifc.elements import Model
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.network import Network, connect
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.report.arrange import raised
from ifclint.testing import read_network

WATER = {
    "static_pressure": "60 psi", "residual_pressure": "50 psi", "meter_loss": "0 psi",
    "main_elevation": "0 ft",
}  # fmt: skip

# Feet. A service with a meter and a valve in it, a tee, and a short branch to each of two closets
# with flushometer valves.
SERVICE = """
system=cold_water material=copper
pipe {size} P1  0 0 0 > 20 0 0
{device}
pipe {size} P2  21 0 0 > 60 0 0
isolating {size} V  60 0 0 > 61 0 0
pipe {size} P3  61 0 0 > {far} 0 0
tee 1 T  {far} 0 0 > {past} 0 0 > {far} 1 0
pipe {branch} B1  {far} 1 0 > {far} 3 0
pipe {branch} B2  {past} 0 0 > {past} 3 0
water-closet W1 flush_type=flushometer-valve  cold {far} 3 0
water-closet W2 flush_type=flushometer-valve  cold {past} 3 0
"""
METER = "water-meter 1 M  in 20 0 0 > out 21 0 0"
FILTER = "water-filter F  in 20 0 0 > out 21 0 0"


def service(size: str = "0.75", branch: str = "1", device: str = METER, far: int = 120) -> Network:
    said = {"size": size, "branch": branch, "device": device, "far": far, "past": far + 1}
    return read_network(SERVICE.format(**said))


def reviewed(net: Network, code: str = "upc-2021") -> tuple[list[Finding], tuple[Correction, ...]]:
    """The violations that the supply pack finds, and their corrections."""
    packs = [pack for pack in load_packs().loaded if pack.name == "supply"]
    adopted, job = codes.load(code), Job.model_validate({"water": WATER})

    def again(model: Model) -> list[Finding]:
        return judge(packs, Context(adopted, build(connect(model)), job)).findings

    findings = again(net.model)
    wrong = [f for f in findings if f.outcome is Outcome.VIOLATION and _of_size(f)]
    return wrong, corrections(wrong, net, again, {})


def _of_size(finding: Finding) -> bool:
    return finding.change is not None and finding.change.what == "size"


def sizes(made: Sequence[Correction]) -> dict[str, set[object]]:
    told: dict[str, set[object]] = {}
    for change in (change for correction in made for change in correction.changes):
        for guid in change.element_ids:
            told.setdefault(guid, set()).add(change.value)
    return told


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
@pytest.mark.parametrize("device", [METER, FILTER])
def test_a_small_service_is_one_correction_past_meter_filter_and_valve(
    code: str, device: str
) -> None:
    wrong, made = reviewed(service(device=device), code)
    assert any(f.rule == "pressure-at-fixture" for f in wrong)
    own = next(c for c in made if "P1" in c.element_ids)
    assert {"P1", "P2", "P3"} <= set(own.element_ids)
    assert own.reviewed_again is not None
    assert set(own.finding_ids) <= set(own.reviewed_again.clears)
    told = sizes(made)
    assert {len(values) for values in told.values()} == {1}
    assert told["P1"] == told["P2"] == told["P3"]


def test_a_service_large_enough_asks_for_nothing() -> None:
    wrong, made = reviewed(service(size="2"))
    assert (wrong, made) == ([], ())


@pytest.mark.parametrize("branch", ["0.5", "0.75"])
def test_where_service_and_branches_are_too_small_each_correction_clears_its_own(
    branch: str,
) -> None:
    _, made = reviewed(service(size="1", branch=branch, far=200))
    assert {"P1"} & {guid for c in made for guid in c.element_ids}
    for correction in made:
        assert correction.reviewed_again is not None
        assert set(correction.finding_ids) <= set(correction.reviewed_again.clears)
        assert raised(correction) == ""


def test_nothing_is_larger_than_what_comes_before_it() -> None:
    for size in ("0.5", "0.75", "1"):
        for branch in ("0.5", "0.75", "1"):
            _, made = reviewed(service(size=size, branch=branch))
            told = {guid: max(map(float, map(str, v))) for guid, v in sizes(made).items()}
            main = told.get("P3", float(size))
            assert all(told.get(b, 0.0) <= main for b in ("B1", "B2")), (size, branch)


def _asks(like: Finding, name: str, *parts: tuple[str, float]) -> Finding:
    (first, size), *more = parts
    also = tuple(Change("size", (guid,), value, "") for guid, value in more)
    change = Change("size", (first,), size, f"Make {first} {size:g} in.", also=also)
    return replace(like, id=name, rule=name, change=change, remedy=change.text)


def _sized(model: Model) -> dict[str, float | None]:
    return {element.guid: element.size_in for element in model.elements}


@pytest.fixture
def like() -> Finding:
    return reviewed(service())[0][0]


def _made(
    net: Network, found: Callable[[dict[str, float | None]], list[Finding]]
) -> list[Correction]:
    return [*corrections(found(_sized(net.model)), net, lambda m: found(_sized(m)), {})]


def test_a_finding_that_asks_for_two_lines_joins_them(like: Finding) -> None:
    """P1 and B1 are drawn in two sizes; only both clear the finding."""
    net = service()

    def found(size: dict[str, float | None]) -> list[Finding]:
        done = size["P1"] == 2 and size["B1"] == 1.5
        return [] if done else [_asks(like, "both", ("P1", 2), ("B1", 1.5))]

    (made,) = _made(net, found)
    assert {change.value: set(change.element_ids) for change in made.changes} == {
        2: {"P1"}, 1.5: {"B1"},
    }  # fmt: skip
    assert made.reviewed_again == ReviewedAgain(("both",), ())


def test_lines_that_each_clear_their_own_stay_apart(like: Finding) -> None:
    net = service()

    def found(size: dict[str, float | None]) -> list[Finding]:
        one = [] if size["P1"] == 2 else [_asks(like, "one", ("P1", 2))]
        return one + ([] if size["B1"] == 1.5 else [_asks(like, "other", ("B1", 1.5))])

    assert sorted(c.finding_ids for c in _made(net, found)) == [("one",), ("other",)]


def test_a_line_that_does_nothing_alone_is_widened_by_what_follows_it(like: Finding) -> None:
    """The second review asks for the next line: the first alone clears nothing."""
    net = service()

    def found(size: dict[str, float | None]) -> list[Finding]:
        if size["P3"] != 2:
            return [_asks(like, "flow", ("P3", 2))]
        return [] if size["B1"] == 2 else [_asks(like, "flow", ("B1", 2))]

    (made,) = _made(net, found)
    assert set(made.element_ids) == {"P3", "B1"}
    assert made.reviewed_again == ReviewedAgain(("flow",), ())


def test_what_no_size_clears_is_told_to_not_do(like: Finding) -> None:
    net = service()
    (made,) = _made(net, lambda size: [_asks(like, "flow", ("P3", 2))])
    assert raised(made) == "This alone does not do: its finding stays."
    proof = made.reviewed_again
    assert proof is not None
    assert proof.clears == ()
    assert raised(replace(made, reviewed_again=replace(proof, clears=("flow",)))) == ""


def test_the_remedies_of_findings_agree_in_every_part(like: Finding) -> None:
    net = service()
    asked = [_asks(like, "a", ("P1", 1), ("B1", 1.5)), _asks(like, "b", ("P1", 2))]
    told = agreed(asked, corrections(asked, net, lambda m: [], {}))
    assert [f.change.value for f in told if f.change] == [2, 2]
    assert told[0].remedy != asked[0].remedy
    assert told[1] == asked[1]


@pytest.mark.parametrize(("device", "groups"), [(METER, 1), (FILTER, 1), ("bend 0.5 X  0 9 0", 2)])
def test_a_device_in_line_does_not_end_a_run(device: str, groups: int) -> None:
    net = service(device=device)
    assert len(adjoining(net, {"P1", "P2", "P3"}, {})) == groups


FAR = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 20 0 0
water-heater WH  cold 20 0 0 > hot 20 1 0
system=hot_water
pipe 0.5 H  20 1 0 > {first} 1 0
tee 0.5 T  {first} 1 0 > {past} 1 0 > {first} 2 0
pipe 0.5 H1  {first} 2 0 > {first} 9 0
pipe 0.5 H2  {past} 1 0 > {past} 9 0
lavatory L1  hot {first} 9 0
lavatory L2  hot {past} 9 0
"""


@pytest.mark.parametrize(("first", "subjects"), [(30, []), (90, ["L1 and L2"])])
def test_hot_water_too_far_is_one_correction_for_all_that_one_heater_feeds(
    first: int, subjects: list[str]
) -> None:
    net = read_network(FAR.format(first=first, past=first + 1))
    packs = [pack for pack in load_packs().loaded if pack.name == "supply"]
    context = Context(codes.load("ipc-2021"), build(net), Job())
    found = [f for f in judge(packs, context).findings if f.rule == "hot-water-length"]
    made = corrections(found, net, lambda m: found, {})
    assert [c.subject for c in made] == subjects
    assert sum(len(c.finding_ids) for c in made) == 2 * len(subjects)


@pytest.mark.parametrize(
    ("pipe", "asked", "made"),
    [
        ("material=pvc", 2.5, 3.0),
        ("material=cast_iron", 3.5, 4.0),
        ("", 4.5, 5.0),
        ("system=vent", 2.5, 3.0),
        ("system=storm_drainage", 2.5, 3.0),
        ("material=galvanized_steel", 2.5, 2.5),
        ("system=cold_water", 2.5, 2.5),
        ("material=pvc", 3.0, 3.0),
    ],
)
def test_a_size_that_drains_are_not_made_in_is_rounded_up(
    like: Finding, pipe: str, asked: float, made: float
) -> None:
    targets = targets_of(read_network(f"pipe 2 P {pipe}  0 0 0 > 9 0 -0.2"))
    assert targets.grow([_asks(like, "a", ("P", asked))])
    assert targets.sizes == {"P": made}
    assert not targets.grow([_asks(like, "a", ("P", asked))])


def test_the_plug_of_a_cleanout_keeps_the_size_that_the_code_lists(like: Finding) -> None:
    targets = targets_of(read_network("cleanout 3 CO material=pvc  0 0 0"))
    assert targets.grow([_asks(like, "a", ("CO", 3.5))])
    assert targets.sizes == {"CO": 3.5}


def test_a_relief_valve_keeps_its_size_where_its_line_grows() -> None:
    """Its line is measured against it: it would grow from size to size. Other valves grow."""
    net = read_network("""
system=relief_discharge material=pex
relief 0.75 RV  0 0 5 > 0 0 4.8
pipe 0.75 R1  0 0 4.8 > 0 0 4
isolating 0.75 V  0 0 4 > 0 0 3.8
pipe 0.75 R2  0 0 3.8 > 0 0 0.4
""")
    grown = changed(net, Targets({}, sizes={"R1": 1.0, "R2": 1.0}), {}).model
    assert _sized(grown) == {"RV": 0.75, "R1": 1.0, "V": 1.0, "R2": 1.0}
