"""The rule that every fixture has pressure enough while water runs."""

from collections.abc import Iterator

from ifclint.checks import Fact, advise, given, not_known, require
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Measure, Outcome, Settles
from ifclint.ifc.elements import WATER_SUPPLY, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.facts import JOIN_ENDS
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.rules.supply.budget import Needed, budget, needed
from ifclint.rules.supply.larger_pipe import remedy_of
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.readings import heaviest_reading, other_reading
from ifclint.rules.supply.solved_supply import NOT_FED, Pressure, psi

FLUSHED = frozenset({"water-closet", "urinal", "irrigation"})  # what water of lesser quality is for
NO_PRESSURE_NEEDED = frozenset({"floor-drain", "floor-sink"})  # a trap primer

NOT_JOINED = Fact(
    "No water piping is joined to {}, so nothing is known of its pressure, and its demand is "
    "counted in no pipe.",
    "Connect the fixture's water ports to their branches, or draw the branches and stops up to the "
    "fixture.",
)
PIPE_NEAR = Fact(
    "No water piping is joined to {}: {} ends {} from it. Nothing is known of its pressure, and "
    "its demand is counted in no pipe.",
    JOIN_ENDS,
)
OTHER_WATER = Fact(
    "{} takes non-potable water; whether it may, and the pressure of that water, are not known.",
    "Lead potable water to it; closets, urinals and irrigation alone are flushed with other water.",
)


@rule(
    title="Pressure enough at every fixture",
    clauses={"upc": "608.1", "ipc": "604.3 and E103.1", "irc": "P2903.1"},
    needs=("known_kind",),
    applies=lambda fixture: fixture.kind not in NO_PRESSURE_NEEDED,
    settles=Settles.PRESSURE,
    of_load=True,
)
def pressure_at_fixture(fixture: WaterFixture, context: Context) -> Iterator[Answer]:
    """A shower that dribbles, and scalds when a closet flushes, for want of pressure.

    The residual pressure at each connection at the probable demand: the main at that flow, less
    meter, backflow preventer and other devices, regulator fall-off, friction in pipe and fittings,
    and height; against what the fixture needs (IPC: by fixture; UPC: 15 psi anywhere; an emergency
    shower or eyewash its standard's 30 psi at the 20 gpm and less that it takes). Where a loss is
    not known the pressure is an upper bound: too low is then wrong all the same. The larger pipe
    that would do is named: the fewest runs for the critical fixture, then what the next needs more,
    none larger than what is made larger before it. What a tankless heater, a softener or a filter
    takes is counted where the job file tells it; else it is asked where the upper end of the usual
    range would leave too little. Behind a pump or tank the pressure begins anew. Too little that
    would be enough if fixtures flush the other way, where they do not state how, is asked about
    too. That the pressure of non-potable water at closets and urinals is not judged is told once.
    """
    want = needed(fixture, context)
    if want is None:
        return
    if not fixture.joined:
        others = _on_other_water(context)
        if fixture not in others or fixture.kind not in FLUSHED:
            yield _not_joined(fixture, want, fixture in others, context)
        elif fixture is _flushed_so(context)[0]:
            yield _other_water(_flushed_so(context))
        return
    said = [
        _connection(fixture, tap, pressure, want, context)
        for tap, pressure in solution(context).by_branch(fixture)
    ]
    unknown = [answer for answer in said if answer.outcome is Outcome.UNVERIFIED]
    yield from (answer for answer in said if answer.outcome is not Outcome.UNVERIFIED)
    yield from unknown[:1]  # what is missing is mostly missing for both connections


def _connection(
    fixture: WaterFixture, tap: Tap, pressure: Pressure, want: Needed, context: Context
) -> Answer:
    solved, need = solution(context), Measure(want.psi, "psi", "at least")
    pressure = _with_unlisted(tap, pressure, want, context)
    residual = pressure.residual_psi
    if residual is None:
        return left_open(
            f"The residual pressure at {_place(fixture, tap)} is not known",
            pressure.missing or NOT_FED, context, fixture.element_ids,
            steps=budget(tap, pressure, want, context), required=need,
        )  # fmt: skip
    measured = Measure(residual, "psi", "at most" if pressure.missing else "")
    if pressure.missing and at_least(residual, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi; how much less is not "
            "known",
            pressure.missing, context, fixture.element_ids,
            steps=budget(tap, pressure, want, context), measured=measured, required=need,
        )  # fmt: skip
    asked = _if_read_otherwise(fixture, tap, pressure, want, context)
    if asked is not None:
        return asked
    left = residual - psi(pressure.unstated_pa)
    if at_least(residual, want.psi, "psi") and not at_least(left, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi, and may have as little "
            f"as {number_text(not_below_zero(left), 3)}",
            Unknown(Reason.DEVICE), context, fixture.element_ids,
            steps=budget(tap, pressure, want, context),
            measured=Measure(residual, "psi", "at most"), required=need,
        )  # fmt: skip
    return require(
        at_least(residual, want.psi, "psi"),
        message=_short_of(fixture, tap, residual, want.psi),
        measured=measured,
        required=need,
        remedy=lambda: remedy_of(fixture, solved, tap, want.psi - residual),
        steps=lambda: budget(tap, pressure, want, context),
        about=tap.segment.key if tap.segment is not None else "",
        clause=want.limit.clause,
        provenance=want.limit.provenance,
    )


def _with_unlisted(tap: Tap, pressure: Pressure, want: Needed, context: Context) -> Pressure:
    """The pressure with all that small takers may draw which no table lists, where it is then
    still enough; else as it is without."""
    if pressure.missing is None or pressure.missing.reason is not Reason.UNITS:
        return pressure
    heaviest = heaviest_reading(context)
    if heaviest is None:
        return pressure
    with_them = solution(heaviest).at(tap)
    residual, same = with_them.residual_psi, with_them.missing == pressure.missing
    is_enough = residual is not None and at_least(residual, want.psi, "psi")
    return with_them if is_enough and not same else pressure


def _if_read_otherwise(
    fixture: WaterFixture, tap: Tap, pressure: Pressure, want: Needed, context: Context
) -> Answer | None:
    """The question left where too little is enough, if fixtures that do not state how they flush
    flush the other way; None where it is not."""
    residual, reading = given(pressure.residual_psi), other_reading(context)
    if reading is None or at_least(residual, want.psi, "psi"):
        return None
    other = solution(reading.context).at(tap).residual_psi
    need = needed(reading.of[fixture], reading.context)
    if other is None or need is None or not at_least(other, need.psi, "psi"):
        return None
    return reading.asked(
        _short_of(fixture, tap, residual, want.psi),
        f"flushed the other way it would have {number_text(other, 3)} psi, and need "
        f"{number_text(need.psi)}.",
        fixture.element_ids, about=tap.segment.key if tap.segment is not None else "",
        measured=Measure(residual, "psi"), required=Measure(want.psi, "psi", "at least"),
        steps=budget(tap, pressure, want, context),
    )  # fmt: skip


def _place(fixture: WaterFixture, tap: Tap) -> str:
    """A fixture, or the side of it that no source reaches, where one reaches the other."""
    others = {each.service for each in fixture.fed} - {tap.service}
    is_one_side = tap.segment is None and tap.service and others
    return f"the {tap.service} side of {fixture.label}" if is_one_side else fixture.label


def _short_of(fixture: WaterFixture, tap: Tap, residual: float, want: float) -> str:
    """What is left at a fixture; a negative figure is none: the piping would lose more than the
    pressure there is."""
    if residual < 0.0:
        return (
            f"Nothing is left for {fixture.label} on its {tap.service} side while water runs: the "
            f"piping to it would lose {number_text(-residual, 3)} psi more than there is. It needs "
            f"{number_text(want)} psi."
        )
    return (
        f"{fixture.label} has {apart_text(residual, want, 'psi')} on its {tap.service} side while "
        f"water runs and needs {number_text(want)}."
    )


@derived
def _on_other_water(context: Context) -> dict[WaterFixture, None]:
    """The fixtures that non-potable water alone is led to: that piping is set aside."""
    network = context.plumbing.network
    unjoined = [f for f in context.plumbing.supply.fixtures if not f.joined]
    beside = {f: [network.elements[i] for i in network.neighbours(f.index)] for f in unjoined}
    return {f: None for f in unjoined if any(e.system is System.NON_POTABLE for e in beside[f])}


@derived
def _flushed_so(context: Context) -> list[WaterFixture]:
    """Those of them that such water is for."""
    return [fixture for fixture in _on_other_water(context) if fixture.kind in FLUSHED]


def _other_water(fixtures: list[WaterFixture]) -> Answer:
    """Told once: what is set aside is judged by nobody, and keeps no building from a pass."""
    first, *more = fixtures
    others = f" and {len(more)} more" if more else ""
    return advise(
        f"{first.label}{others} take non-potable water, whose piping is set aside: its sizes and "
        "pressures are not judged.",
        "Have the piping of non-potable water sized by itself, from its own pump or service.",
        elements=tuple(guid for fixture in fixtures for guid in fixture.element_ids),
        about="non-potable water",
    )


def _not_joined(
    fixture: WaterFixture, want: Needed, on_other_water: bool, context: Context
) -> Answer:
    """No potable water is led to a fixture, or its pipe ends at a small gap before it."""
    network, least = context.plumbing.network, Measure(want.psi, "psi", "at least")
    if on_other_water:
        return not_known(OTHER_WATER, fixture, required=least)
    for near in network.near_at(fixture.index):
        pipe = network.elements[near.b[0]]
        if pipe.system in WATER_SUPPLY:
            ids = (*fixture.element_ids, pipe.guid)
            return not_known(PIPE_NEAR, fixture, pipe, near.apart, elements=ids, required=least)
    return not_known(NOT_JOINED, fixture, required=least)
