"""Defects put into the corrected demo house, one at a time: each is found on the right element,
and no rule of the pack finds anything else that it did not find before."""

from __future__ import annotations

from collections.abc import Callable

import pytest

import ifclint.rules.supply
from ifclint.findings import Finding, Outcome
from ifclint.ifc.elements import Element, Model, Role, System
from ifclint.judge import judge
from ifclint.packs import Context, make_pack
from ifclint.rules.supply import ifclint_rules

PACK = make_pack("supply", ifclint.rules.supply)
Change = Callable[[Model, dict[str, int]], None]


def wrong(context: Context) -> list[Finding]:
    found = judge([PACK], context)
    assert not found.failures
    return [f for f in found.findings if f.outcome in (Outcome.VIOLATION, Outcome.ADVISORY)]


def by_tag(model: Model) -> dict[str, int]:
    return {e.tag: i for i, e in enumerate(model.elements)}


def set_size(size_in: float, *tags: str) -> Change:
    def change(model: Model, at: dict[str, int]) -> None:
        for tag in tags:
            model.elements[at[tag]].size_in = size_in

    return change


def set_fact(tag: str, **facts: float | str | bool) -> Change:
    def change(model: Model, at: dict[str, int]) -> None:
        model.elements[at[tag]].properties.update(facts)

    return change


def plain(*tags: str) -> Change:
    """A valve that is none: a coupling."""

    def change(model: Model, at: dict[str, int]) -> None:
        for tag in tags:
            model.elements[at[tag]].role, model.elements[at[tag]].kind = Role.FITTING, "coupling"

    return change


def crossed(tag: str) -> Change:
    def change(model: Model, at: dict[str, int]) -> None:
        for end in model.elements[at[tag]].ends:
            swap = {System.COLD_WATER: System.HOT_WATER, System.HOT_WATER: System.COLD_WATER}
            end.system = swap.get(end.system, end.system)

    return change


def longer(tag: str, feet: float) -> Change:
    def change(model: Model, at: dict[str, int]) -> None:
        element = model.elements[at[tag]]
        element.length_m = (element.length_m or 0.0) + feet * 0.3048

    return change


def unplugged(tag: str) -> Change:
    """The fixture taken away: its branch ends at nothing."""

    def change(model: Model, at: dict[str, int]) -> None:
        gone = at[tag]
        model.joints = [j for j in model.joints if gone not in (j.a, j.b)]

    return change


DEFECTS: list[tuple[str, Change, dict[str, str], str, dict[str, object]]] = [
    # what, the change, rule -> tag of its element (first of each is the defect), code, [water]
    ("main shutoff left out", plain("cold/shutoff"), {"main-shutoff-valve": "cold/meter"},
     "upc-2021", {}),
    ("no regulator", plain("cold/prv"), {"static-pressure-limit": "cold/shutoff"}, "upc-2021", {}),
    ("regulator set to 95 psi", set_fact("cold/prv", downstream_pressure_pa=655002.0),
     {"regulator-setting": "cold/prv", "static-pressure-limit": "cold/prv"}, "ipc-2021", {}),
    ("regulator set to 30 psi", set_fact("cold/prv", downstream_pressure_pa=206842.7),
     {"regulator-setting": "cold/prv", "household-pressure": "sh1",
      "pressure-at-fixture": "many", "supply-by-table": "cold/meter"}, "upc-2021", {}),
    ("hot and cold crossed at the shower", crossed("sh1"), {"not-crossed": "sh1"}, "upc-2021", {}),
    ("hot and cold crossed at the kitchen sink", crossed("k1"), {"not-crossed": "k1"},
     "ipc-2021", {}),
    ("no stop at WC-1", plain("wc1/cold-stop"), {"fixture-stop": "wc1"}, "upc-2021", {}),
    ("no stops at L-2", plain("l2/cold-stop", "l2/hot-stop"), {"fixture-stop": "l2"},
     "ipc-2021", {}),
    ("3/8 in branch to the tub", set_size(0.375, "pipe/b1/cold-tee>b1/cold-elbow",
     "pipe/b1/cold-elbow>b1"),
     {"supply-branch-size": "pipe/b1/cold-tee>b1/cold-elbow"}, "upc-2021", {}),
    ("1/2 in hot main", set_size(0.5, "pipe/hot/kitchen-tee>hot/west"),
     {"supply-velocity": "pipe/hot/kitchen-tee>hot/west"}, "upc-2021", {}),
    ("1/2 in service at the meter", set_size(0.5, "pipe/cold/meter>cold/meter-reducer"),
     {"building-supply-size": "pipe/cold/meter>cold/meter-reducer",
      "supply-velocity": "pipe/cold/meter>cold/meter-reducer"}, "upc-2021", {}),
    ("3/4 in cold main after the laundry", set_size(0.75, "pipe/cold/kitchen-tee>cold/west"),
     {"supply-velocity": "pipe/cold/kitchen-tee>cold/west"}, "upc-2021", {}),
    ("hot branch to L-1 30 ft longer", longer("pipe/l1/hot-tee>l1/hot-elbow", 30),
     {"hot-water-length": "l1"}, "ipc-2021", {}),
    ("front hose bibb taken off its branch", unplugged("hb1"),
     {"dead-leg": "pipe/wc1/cold-tee>hb1/top"}, "upc-2021", {}),
    ("weak street", lambda model, at: None, {"pressure-at-fixture": "many"}, "upc-2021",
     {"residual_pressure": "25 psi", "flow_at_residual": "18 gpm"}),
    ("a softener of 35 psi", lambda model, at: None, {"pressure-at-fixture": "many"}, "upc-2021",
     {"devices": "cold/heater-tee"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "expected", "code", "water"),
    [d[1:] for d in DEFECTS], ids=[d[0] for d in DEFECTS],
)  # fmt: skip
def test_defect(
    change: Change, expected: dict[str, str], code: str, water: dict[str, object],
    house: Callable[[], Model], in_context: Callable[..., Context],
) -> None:  # fmt: skip
    model = house()
    at = by_tag(model)
    before = {f.id for f in wrong(in_context(model, code))}
    changed = house()
    change(changed, at)
    if "devices" in water:
        guid = changed.elements[at[str(water["devices"])]].guid
        water = {"devices": [{"element": guid, "loss": "35 psi"}]}
    new = [f for f in wrong(in_context(changed, code, **water)) if f.id not in before]
    assert {f.rule for f in new} == set(expected)
    for rule, tag in expected.items():
        mine = [f for f in new if f.rule == rule]
        if tag != "many":
            assert len(mine) == 1, [f.subject for f in mine]
            assert _tag(changed, mine[0].element_ids[0]) == tag


def _tag(model: Model, guid: str) -> str:
    found: Element = next(e for e in model.elements if e.guid == guid)
    return found.tag


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021", "upc-2024", "ipc-2024"])
def test_corrected_house_has_no_violation(
    code: str, house: Callable[[], Model], in_context: Callable[..., Context]
) -> None:
    found = wrong(in_context(house(), code))
    assert [f.message for f in found if f.outcome is Outcome.VIOLATION] == []
    assert len(list(ifclint_rules())) == len(PACK.rules)


def test_the_pressure_budget_adds_up(
    house: Callable[[], Model], in_context: Callable[..., Context]
) -> None:
    """From the last pressure given (the regulator's) every step leads to the residual."""
    schedule = next(
        s
        for s in ifclint.rules.supply.ifclint_schedules(in_context(house()))
        if s.key == "pressure-budget"
    )
    steps = [(str(r["step"]), float(str(r["psi"]))) for r in schedule.rows]
    start = max(k for k, (words, _) in enumerate(steps) if "then gives" in words)
    end = next(k for k, (words, _) in enumerate(steps) if words == "Residual pressure")
    assert steps[start][1] == pytest.approx(45.0)
    assert sum(value for _, value in steps[start:end]) == pytest.approx(steps[end][1])
    assert len(schedule.rows) > 15
