"""The whole supply against EPANET, through the wntr package: the same flows, Hazen and Williams.

Probable demands are no conserved flows: two branches of 3 gpm may share a main of 5. EPANET is
therefore given, at the end of every line, the difference between what the line carries and what
the lines below it carry (which may be negative). Where they are conserved, with steady flows alone
and in loops, it is given what the fixtures or branches draw and nothing else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import pytest

from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.ifc.elements import Model
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.rules.supply.losses import coefficient_c
from ifclint.rules.supply.pressure_model import branch_demand, solution
from ifclint.rules.supply.solved_supply import Solution
from ifclint.testing.questions import context_of as context_of_text
from tests.supply.trees import Branch, context_of, tree

PA_PER_M = pressure_of_head_pa(1.0)


@pytest.fixture(scope="module", autouse=True)
def _with_epanet() -> None:
    pytest.importorskip("wntr", reason="needs the wntr package (EPANET)")


def epanet_heads_m(solved: Solution, demands: dict[int, float], path: Path) -> dict[int, float]:
    """Head at the far end of every line, by EPANET."""
    import wntr  # takes a second: not of every worker that collects

    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss = "H-W"
    net.options.hydraulic.accuracy = 1e-6
    assert solved.flowing_pa is not None
    head = solved.flowing_pa / PA_PER_M + solved.main_z_m
    net.add_reservoir("main", base_head=head)
    for line in solved.supply.segments:
        name = f"n{line.number}"
        net.add_junction(name, base_demand=demands.get(line.number, 0.0), elevation=0.0)
        above = "main" if line.above is None else f"n{line.above.number}"
        found, c = solved.loss[line.number], coefficient_c(line.material)
        if line.pipes and found.inside_m is not None:
            net.add_pipe(
                f"p{line.number}", above, name, length=found.equivalent_m,
                diameter=found.inside_m, roughness=c,
            )  # fmt: skip
        else:  # a meter or fitting alone: a metre of wide pipe
            net.add_pipe(f"p{line.number}", above, name, length=0.01, diameter=0.5, roughness=150)
    for number, loop in enumerate(solved.supply.distribution.loops):
        if loop.shared:
            continue
        ends = [solved.supply.segment_of[p[-1]].number for p in (loop.one_path, loop.other_path)]
        names = [f"n{end}" for end in ends]
        net.add_pipe(f"r{number}", *names, length=0.01, diameter=0.5, roughness=150)
    results = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(path / "supply"))
    heads = results.node["head"].iloc[0]
    return {line.number: float(heads[f"n{line.number}"]) for line in solved.supply.segments}


def shared_demands(solved: Solution) -> dict[int, float]:
    flows = solved.demand.flow_m3_per_s
    return {
        line.number: (flows[line.number] or 0.0)
        - sum(flows[below.number] or 0.0 for below in line.below)
        for line in solved.supply.segments
    }


def compare(solved: Solution, heads: dict[int, float]) -> int:
    """Every head loss from the main within 1 % (and 2 mm); how many were compared."""
    assert solved.flowing_pa is not None
    main = solved.flowing_pa / PA_PER_M + solved.main_z_m
    for line in solved.supply.segments:
        head = solved.heads[line.number].flowing_pa
        assert head is not None
        ours, theirs = main - head / PA_PER_M, main - heads[line.number]
        assert ours == pytest.approx(theirs, rel=0.01, abs=0.002), line.label
    return len(solved.supply.segments)


def test_demo_house(
    house: Callable[[], Model], in_context: Callable[..., Context], tmp_path: Path
) -> None:
    """Without regulator and meter loss, which EPANET would want as curves."""
    context = in_context(
        house(), meter_loss="0 psi", regulator_setting="300 psi", regulator_falloff="0 psi"
    )
    solved = solution(context)
    heads = epanet_heads_m(solved, shared_demands(solved), tmp_path)
    assert compare(solved, heads) >= 60


BRANCHES = [
    Branch(-1, 60, 1.5), Branch(0, 20, 1.0), Branch(0, 35, 1.25), Branch(1, 12, 0.75, rise_ft=9),
    Branch(1, 8, 0.5), Branch(2, 25, 1.0), Branch(5, 14, 0.75), Branch(5, 30, 0.5, rise_ft=20),
    Branch(6, 9, 0.5), Branch(6, 11, 0.5), Branch(3, 6, 0.5), Branch(3, 16, 0.5),
]  # fmt: skip
TAPS = [(4, "ice-maker"), (7, "ice-maker"), (8, "ice-maker"), (9, "ice-maker"), (10, "ice-maker"),
        (11, "ice-maker")]  # fmt: skip


@pytest.mark.parametrize("material", ["copper", "pex", "cpvc", "steel"])
def test_steady_flows(material: str, tmp_path: Path) -> None:
    """Conserved flows: EPANET is told of the fixtures alone and finds the flow of every line."""
    model = tree(BRANCHES, TAPS)
    for element in model.elements:
        element.material = material
    steady = [
        {"element": f"F{k}", "flow": f"{gpm} gpm"} for k, gpm in enumerate((2, 3, 1.5, 2.5, 4, 1))
    ]
    context = context_of(
        model, static_pressure="70 psi", residual_pressure="60 psi", meter_loss="0 psi",
        continuous_flow=steady,
    )  # fmt: skip
    solved = solution(context)
    taken = {
        f.taps[0].segment.number: solved.demand.flow_m3_per_s[f.taps[0].segment.number]
        for f in solved.supply.fixtures
    }
    assert compare(solved, epanet_heads_m(solved, taken, tmp_path)) == len(BRANCHES)


def test_probable_demand_of_a_tree(tmp_path: Path) -> None:
    kinds = ["lavatory", "bathtub", "shower", "kitchen-sink", "water-closet", "clothes-washer"]
    fixtures = [(pipe, kind) for (pipe, _), kind in zip(TAPS, kinds, strict=True)]
    context = context_of(
        tree(BRANCHES, fixtures), static_pressure="70 psi", residual_pressure="60 psi",
        meter_loss="0 psi",
    )  # fmt: skip
    solved = solution(context)
    heads = epanet_heads_m(solved, shared_demands(solved), tmp_path)
    assert compare(solved, heads) == len(BRANCHES)


LOOP = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P2  1 0 0 > 20 0 0
pipe 0.5 R1  20 0 0 > 40 0 0
pipe {size} R2  20 0 0 > 20 10 0
pipe 0.5 R3  20 10 0 > 40 10 0
pipe {size} R4  40 0 0 > 40 10 0
bathtub L1  cold 40 0 0
pipe 0.5 B2  20 10 0 > 20 15 0
lavatory L2  cold 20 15 0
pipe 0.5 B3  40 10 0 > 40 20 0
pipe 0.5 B4  40 20 0 > 40 20 4
pipe 0.5 B5  40 20 0 > 50 20 0
shower L3  cold 40 20 4
water-closet L4  cold 50 20 0
"""
NESTED = """
pipe 0.5 R5  40 0 0 > 60 0 0
pipe 0.75 R6  40 10 0 > 60 10 0
pipe 0.5 R7  60 0 0 > 60 10 0
kitchen-sink K  cold 60 10 0
"""
IN_LINE = """
pipe 0.5 S1  20 0 0 > 20 -20 0
pipe 0.5 S2  20 -20 0 > 40 -20 0
pipe 0.5 S3  20 -20 0 > 20 -40 0
pipe 0.5 S4  20 -40 0 > 40 -40 0
pipe 0.5 S5  40 -40 0 > 40 -20 0
kitchen-sink K  cold 40 -20 0
dishwasher D  cold 20 -40 0
"""


@pytest.mark.parametrize("size", ["0.5", "0.75", "1"])
@pytest.mark.parametrize(("more", "mains"), [("", 1), (NESTED, 1), (IN_LINE, 2)])
def test_loops_of_small_pipe(size: str, more: str, mains: int, tmp_path: Path) -> None:
    """Every branch of every looped main at its own demand: the heads where it leaves, and what
    EPANET finds in each line."""
    job = Job.model_validate({"water": {"residual_pressure": "60 psi", "meter_loss": "0 psi"}})
    solved = solution(context_of_text(LOOP.replace("{size}", size) + more, "upc-2021", job))
    looped = {id(main): main for main in solved.looped.values()}.values()
    assert len(looped) == mains
    assert {n for main in looped for n in main.leaves} == set(solved.toward)
    for main in looped:
        known = branch_demand(solved.demand, main)
        assert known is not None
        for branch, leaves in main.leaves.items():
            demands: dict[int, float] = defaultdict(float)
            for n, flow in main.drawn(branch, known).items():
                demands[main.leaves[n]] += flow
            heads = epanet_heads_m(solved, demands, tmp_path)
            lost_m = heads[main.feed] - heads[leaves]
            path = (s.number for s in main.paths[branch])
            ours_pa = sum(solved.toward[branch][n].loss.total_pa for n in path)
            assert ours_pa / PA_PER_M == pytest.approx(lost_m, rel=0.01, abs=0.002)


PARALLEL = """
system=cold_water material=copper
water-meter 2 M  in 0 0 0 > out 1 0 0
pipe 2 P1  1 0 0 > 20 0 0
pipe {size} A1  20 0 0 > 20 10 0
pipe {size} A2  20 10 0 > 40 10 0
pipe {size} A3  40 10 0 > 40 0 0
pipe 0.5 B  20 0 0 > 40 0 0
pipe 2 P2  40 0 0 > 50 0 0
bathtub T1  cold 50 0 0
bathtub T2  cold 50 0 0
"""


@pytest.mark.parametrize("size", ["0.5", "0.75", "1", "1.5"])
def test_two_pipes_to_one_point(size: str, tmp_path: Path) -> None:
    """What goes on from there is shared as EPANET shares it, whatever their sizes and lengths."""
    import wntr  # takes a second: not of every worker that collects

    job = Job.model_validate({"water": {"residual_pressure": "60 psi", "meter_loss": "0 psi"}})
    solved = solution(context_of_text(PARALLEL.replace("{size}", size), "upc-2021", job))
    a, b, fed = (
        next(s for s in solved.supply.segments if s.elements[0].guid == name)
        for name in ("A1", "B", "P2")
    )
    assert solved.shared == {a.number, b.number}
    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss, net.options.hydraulic.accuracy = "H-W", 1e-6
    net.add_reservoir("begin", base_head=50.0)
    net.add_junction("end", base_demand=solved.flow_m3_per_s[fed.number], elevation=0.0)
    for line in (a, b):
        found, c = solved.loss[line.number], coefficient_c(line.material)
        net.add_pipe(
            f"p{line.number}", "begin", "end", length=found.equivalent_m,
            diameter=found.inside_m, roughness=c,
        )  # fmt: skip
    results = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(tmp_path / "supply"))
    for line in (a, b):
        theirs = float(results.link["flowrate"].iloc[0][f"p{line.number}"])
        assert solved.flow_m3_per_s[line.number] == pytest.approx(theirs, rel=0.002)
    lost_m = 50.0 - float(results.node["head"].iloc[0]["end"])
    for line in (a, b):
        assert solved.loss[line.number].total_pa / PA_PER_M == pytest.approx(lost_m, rel=0.01)
