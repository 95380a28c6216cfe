"""Each listed mistake is in the early revision and not in the corrected one."""

from __future__ import annotations

from collections.abc import Callable

import networkx as nx
import pytest

from models.build import draw
from models.dwelling.mistakes import MISTAKES, Mistake, with_mistakes
from tests.models.conftest import MODELS
from tests.models.drawn import Drawn

RIM_FT, SIX_INCHES_FT = 2.75, 0.5  # flood rim of a lavatory above its floor


def smaller(tag: str, size_in: float) -> Callable[[Drawn], bool]:
    def check(drawn: Drawn) -> bool:
        found = drawn.size_in(tag)
        assert found is not None
        return found < size_in

    return check


def slope(drawn: Drawn, tag: str) -> float:
    run, fall = drawn.fall(tag)
    return fall / run


def is_a(tag: str, words: str) -> Callable[[Drawn], bool]:
    return lambda drawn: drawn.type_name(tag).startswith(words)


def lacks(tag: str) -> Callable[[Drawn], bool]:
    return lambda drawn: tag not in drawn.elements


def height(drawn: Drawn, tag: str) -> float:
    ports = drawn.ports[tag].values()
    return float(sum(port.at[2] for port in ports) / len(ports))


def arm_ft(drawn: Drawn, tag: str) -> float:
    pipe = drawn.joined(tag, "outlet")
    assert pipe is not None
    return drawn.fall(pipe.part)[0]


def refrigerator_blocks_cleanout(drawn: Drawn) -> bool:
    place = drawn.elements["rf1"].ObjectPlacement.RelativePlacement.Location.Coordinates
    apart = drawn.feet(place[1]) - drawn.ports["k1/foot-cleanout"]["neck"].at[1]
    return bool(abs(apart) < 1.4)


def crossed(drawn: Drawn) -> bool:
    pipe = drawn.joined("l4", "hot")
    return pipe is not None and drawn.system_of[pipe.part] == "Domestic cold water"


def drains(drawn: Drawn, tag: str) -> bool:
    return "sewer/main" in nx.descendants(drawn.downstream, tag)


def vent_reaches_roof(drawn: Drawn, tag: str) -> bool:
    graph = drawn.graph("VENT")
    return bool({"s1/vtr", "s2/vtr"} & nx.node_connected_component(graph, tag))


PRESENT: dict[str, Callable[[Drawn], bool]] = {
    "powder_branch_in": smaller("pipe/wc1/vent>main/wc1", 3.0),
    "kitchen_drain_in": smaller("pipe/k1/return>main/kitchen", 2.0),
    "standpipe_trap_in": smaller("sp1/trap", 2.0),
    "bath2_branch_slope": lambda d: slope(d, "pipe/bath2/l2>s1/bath2") < 0.011,
    "laundry_branch_slope": lambda d: slope(d, "pipe/ls1/sweep>s2/sink") < 0.0,
    "sewer_in": smaller("pipe/main/two-way>sewer/main", 4.0),
    "waste_stack_junction": is_a("main/s3", "Sanitary tee"),
    "closet_fitting": is_a("s1/closets", "Double sanitary tee"),
    "powder_lavatory_gap": lambda d: not drains(d, "l1"),
    "shower_trap_in": smaller("sh1/trap", 2.0),
    "lavatory3_trap_in": smaller("l3/trap", 1.25),
    "floor_drain_size_stated": lambda d: d.size_in("pipe/fd1/bend>fd1/wye") is None,
    "tub_vented": lambda d: all(p.system != "VENT" for p in d.ports["b1/tee"].values()),
    "laundry_sink_x": lambda d: arm_ft(d, "ls1/trap") > 3.5,
    "powder_vent_level": lambda d: height(d, "l1/vent-bend") < RIM_FT + SIX_INCHES_FT,
    "floor_drain_vent_to_stack": lambda d: not vent_reaches_roof(d, "fd1/vent"),
    "laundry_cleanout": lacks("s2/head/plug"),
    "refrigerator_y": refrigerator_blocks_cleanout,
    "main_cleanout_in": smaller("main/head/plug", 4.0),
    "pressure_reducing_valve": lacks("cold/prv"),
    "lavatory4_crossed": crossed,
    "upper_cold_main_in": smaller("pipe/cold/west>b1/cold-tee", 1.0),
    "relief1_rises": lambda d: height(d, "wh1/relief/turn-0") > height(d, "wh1/relief"),
    "relief2_in": smaller("pipe/wh2/relief>wh2/relief/turn-0", 0.75),
    "washer_pan_drained": lambda d: d.joined("cw1/pan", "outlet") is None,
    "gas_trunk_in": smaller("pipe/gas/corner>gas/furnace-tee", 1.0),
    "furnace_sediment_trap": lacks("f1/gas-cap"),
}


def by_field(mistake: Mistake) -> str:
    return mistake.field


@pytest.mark.parametrize("mistake", MISTAKES, ids=by_field)
def test_in_the_early_revision_only(mistake: Mistake, early: Drawn, corrected: Drawn) -> None:
    present = PRESENT[mistake.field]
    assert present(early)
    assert not present(corrected)
    assert mistake.element in early.elements


@pytest.mark.parametrize("mistake", MISTAKES, ids=by_field)
def test_each_can_be_made_alone(mistake: Mistake) -> None:
    plan, right = draw(with_mistakes(mistake.field)), draw(with_mistakes())
    assert mistake.element in plan.parts
    different = plan.parts.keys() ^ right.parts.keys() or [
        tag for tag in plan.parts if repr_of(plan.parts[tag]) != repr_of(right.parts[tag])
    ]
    assert different


def repr_of(part: object) -> str:
    """What a part is, without walking from its ends back to it."""
    ends = [(e.name, e.at, e.size_in) for e in part.ends]  # type: ignore[attr-defined]
    return f"{part.trade} {part.centre} {part.size_in} {ends}"  # type: ignore[attr-defined]


def test_the_list_is_complete() -> None:
    assert PRESENT.keys() == {mistake.field for mistake in MISTAKES}
    assert len({mistake.element for mistake in MISTAKES}) == len(MISTAKES)


def test_every_mistake_is_told_in_the_readme() -> None:
    text = " ".join((MODELS / "README.md").read_text().split())
    for mistake in MISTAKES:
        assert f"`{mistake.element}`" in text, mistake.element
        assert mistake.wrong in text, mistake.wrong
