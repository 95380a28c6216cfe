"""What emergency showers and eyewashes take, in the piping that serves them alone.

They run when nothing else matters, and are no part of what is probable: a line that serves other
fixtures too is not sized for them. One runs at a time (our reading), with all it takes.
"""

from collections.abc import Mapping

from ifclint.codes import Limit
from ifclint.engineering.data import Cell, rows_of
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, sum_up
from ifclint.plumbing.words import says
from ifclint.rules.supply.mixed import COLD_SHARE
from ifclint.rules.supply.units import EMERGENCY

STANDARD = "ISEA Z358.1"
HOT_SHARE = 0.6  # of 85 F at most, a heater at 120 F and cold water at 40 F. Ours, by mixing
CALLED = {
    "emergency shower": (
        "shower", "ducha", "douche", "notdusche*", "korpernotdusche*", "nooddouche*",
    ),
    "eye and face wash": ("eye face wash", "eye and face", "face wash", "facewash"),
    "eyewash": (
        "eye wash", "eyewash", "lavaojo*", "lave yeux", "lave oeil", "rince oeil", "augen*", "oog*",
        "noodoogdouche",
    ),
}  # fmt: skip


def listed(fixture: WaterFixture) -> Mapping[str, Cell] | None:
    """The row of an emergency fixture, by what it is called; None where that tells no kind."""
    if fixture.kind not in EMERGENCY:
        return None
    device = next((d for d, words in CALLED.items() if says(fixture.element, words)), None)
    return next((row for row in rows_of("emergency_flows") if row["device"] == device), None)


def pressure_needed(fixture: WaterFixture, context: Context) -> Limit | None:
    """The flowing pressure an emergency fixture needs; the codes but the IRC adopt its standard."""
    row = listed(fixture) if context.code.family in ("upc", "ipc") else None
    if row is None or not isinstance(psi := row["flow_psi"], float):
        return None
    return Limit("emergency_flow_psi", psi, "psi", STANDARD, str(row["source"]))


def emergency_m3_per_s(context: Context, supply: Supply) -> list[float]:
    """By line: the most that one emergency fixture takes of it, where it serves no others."""
    found = [0.0] * len(supply.segments)
    stated = {flow.element for flow in context.job.water.continuous_flow}
    rows = {f: row for f in supply.fixtures if (row := listed(f)) and f.element.guid not in stated}
    if not rows:
        return found
    others = {t.connection.up: 1.0 for f in supply.fixtures if f not in rows for t in f.taps}
    serves_others = sum_up(supply, others)
    for fixture, row in rows.items():
        gpm = row["flow_gpm"]
        flow = gpm * M3_PER_S_PER_GPM if isinstance(gpm, float) else 0.0
        for tap in fixture.taps:
            for number, carried in _carried(supply, tap, flow).items():
                if not serves_others[number]:
                    found[number] = max(found[number], carried)
    return found


def _carried(supply: Supply, tap: Tap, flow: float) -> dict[int, float]:
    """By line: what it carries of the flow of a connection, each inlet of its mixing valve a
    part."""
    if tap.segment is None:
        return {}
    path = [line.number for line in tap.segment.to_source]
    mixer = next(iter(supply.mixers(tap)), None)
    if mixer is None:
        return dict.fromkeys(path, flow)
    mixed, cold = supply.segment_of[mixer], supply.segment_of[supply.cold_inlets[mixer]]
    carried = dict.fromkeys(path, flow)
    carried.update((line, HOT_SHARE * flow) for line in _above(mixed))
    carried.update((line, COLD_SHARE * flow) for line in (cold.number, *_above(cold)))
    both = {*_above(mixed)} & {cold.number, *_above(cold)}
    return carried | dict.fromkeys(both, flow)


def _above(line: WaterSegment) -> list[int]:
    return [each.number for each in line.to_source[:-1]]
