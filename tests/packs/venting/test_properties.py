"""What must hold of the venting rules whatever the layout: vents help, distance hurts, and how
many pieces a pipe is drawn in says nothing."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint.findings import Outcome
from ifclint.judge import answers
from ifclint.packs import Rule, load_packs
from ifclint.plumbing import TrapArm, VentGroup, VentSegment
from ifclint.plumbing.subjects import finders
from ifclint.testing import context_of

CODES = ("upc-2021", "ipc-2021")
FIXTURES = {"lavatory": 1.25, "kitchen-sink": 1.5, "shower": 2.0, "floor-drain": 2.0}


@cache
def rules(pack: str) -> tuple[Rule, ...]:
    return next(p.rules for p in load_packs().loaded if p.name == pack)


def outcomes(text: str, code: str, pack: str) -> list[tuple[Rule, str, Outcome]]:
    """The gravest that each rule of a pack says of each subject."""
    context = context_of(text, code)
    return [
        (rule, subject.element_ids[0], given[0].outcome)
        for rule in rules(pack)
        for subject, given in answers(rule, context, finders())
        if given
    ]


def violations(text: str, code: str, pack: str = "venting") -> Counter[str]:
    """How often each rule of a pack is violated."""
    said = outcomes(text, code, pack)
    return Counter(rule.name for rule, _, outcome in said if outcome is Outcome.VIOLATION)


def point(*numbers: float) -> str:
    return " ".join(f"{n:.6f}" for n in numbers)


def pipe(
    size: float, name: str, a: tuple[float, ...], b: tuple[float, ...], pieces: int = 1
) -> str:
    """A pipe in so many pieces, as lines of the notation."""
    lines = []
    for n in range(pieces):
        ends = [
            point(*(p + (q - p) * share for p, q in zip(a, b, strict=True)))
            for share in (n / pieces, (n + 1) / pieces)
        ]
        system = " system=vent" if name.startswith("VENT") else ""
        suffix = f"_{n}" if n else ""
        lines.append(f"pipe {size} {name}{suffix}{system} {ends[0]} > {ends[1]}")
    return "\n".join(lines)


def house(kinds: list[str], reach: list[float], vented: list[bool], pieces: int = 1) -> str:
    """Fixtures along a horizontal drain, each on a wall drop of its own, with or without a vent."""
    lines = ["storey L1 0", "storey=L1", "sewer-connection SEWER -6 0 -2"]
    lines.append(pipe(4, "MAIN", (-0.1, 0, -1.875), (-6, 0, -2), pieces))
    for n, (kind, away, vent) in enumerate(zip(kinds, reach, vented, strict=True)):
        x, size, z = 10.0 * n, FIXTURES[kind], -1.875 + 10 * n / 48
        lines += [
            f"{kind} F{n} {point(x, away + 0.3, 2.2)}",
            pipe(size, f"TAIL{n}", (x, away + 0.3, 2.2), (x, away + 0.3, 1.75)),
            f"p-trap {size} T{n} {point(x, away + 0.3, 1.75)} > {point(x, away, 1.5 + away / 48)}",
            pipe(size, f"ARM{n}", (x, away, 1.5 + away / 48), (x, 0.1, 1.5 + 0.1 / 48), pieces),
            pipe(2, f"DROP{n}", (x, 0, 1.4), (x, 0, z + 0.1), pieces),
        ]
        tee = f"{point(x, 0.1, 1.5 + 0.1 / 48)} > {point(x, 0, 1.4)}"
        lines.append(f"sanitary-tee TEE{n} at={x},0,1.5 {tee} > {point(x, 0, 1.6)}")
        if vent:
            lines.append(pipe(2, f"VENT{n}", (x, 0, 1.6), (x, 0, 14), pieces))
            lines.append(f"vent-through-roof 2 R{n} system=vent {point(x, 0, 14)}")
        below, above = point(x - 0.1, 0, z - 0.1 / 48), point(x + 0.1, 0, z + 0.1 / 48)
        ends = [point(x, 0, z + 0.1), below] + ([above] if n + 1 < len(kinds) else [])
        lines.append(f"combination C{n} at={x},0,{z:.6f} " + " > ".join(ends))
        if n:
            start, stop = (x - 0.1, 0.0, z - 0.1 / 48), (x - 9.9, 0.0, z - 9.9 / 48)
            lines.append(pipe(4, f"MAIN{n}", start, stop, pieces))
    return "\n".join(lines)


layouts = st.lists(
    st.tuples(
        st.sampled_from(sorted(FIXTURES)),
        st.sampled_from([0.5, 1.0, 2.0, 3.0, 5.5, 9.0]),
        st.booleans(),
    ),
    min_size=1,
    max_size=4,
)


def wanting(text: str, code: str) -> set[str]:
    """The traps and vents that some rule objects to, or cannot judge."""
    return {
        subject
        for rule, subject, outcome in outcomes(text, code, "venting")
        if rule.subject in (TrapArm, VentGroup, VentSegment)
        and outcome in (Outcome.VIOLATION, Outcome.UNVERIFIED)
    }


@settings(max_examples=40, deadline=None)
@given(layouts, st.data())
def test_a_vent_more_makes_nothing_worse(
    layout: list[tuple[str, float, bool]], data: st.DataObject
) -> None:
    """A trap or vent that nothing was wrong with stays so; where no vent was drawn at all, every
    trap was unverified before."""
    kinds, reach, vented = (list(column) for column in zip(*layout, strict=True))
    n = data.draw(st.integers(0, len(layout) - 1))
    with_it, without = [*vented], [*vented]
    with_it[n], without[n] = True, False
    for code in CODES:
        before = wanting(house(kinds, reach, without), code)
        after = wanting(house(kinds, reach, with_it), code)
        assert after <= before, code


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(sorted(FIXTURES)), st.floats(0.5, 9.0), st.floats(0.0, 6.0))
def test_farther_from_the_vent_is_never_better(kind: str, away: float, more: float) -> None:
    for code in CODES:
        near = violations(house([kind], [away], [True]), code)
        far = violations(house([kind], [away + more], [True]), code)
        assert not near - far, code


@settings(max_examples=15, deadline=None)
@given(layouts, st.integers(2, 4))
@pytest.mark.parametrize("pack", ["venting", "cleanouts"])
def test_pieces_of_pipe_change_nothing(
    pack: str, layout: list[tuple[str, float, bool]], pieces: int
) -> None:
    kinds, reach, vented = (list(column) for column in zip(*layout, strict=True))
    for code in CODES:
        whole = violations(house(kinds, reach, vented), code, pack)
        cut = violations(house(kinds, reach, vented, pieces), code, pack)
        assert whole == cut, code
