"""Corrections: one change to the building each, reviewed again in memory."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from ifclint import codes, ifc
from ifclint.as_findings import apart
from ifclint.corrections import DrainRun, agreed, corrections
from ifclint.corrections.wording import title
from ifclint.findings import Acceptance, Change, Correction, Finding, Outcome, Review, Severity
from ifclint.ifc.elements import Element, Model, Role, System
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.network import Network, connect
from ifclint.packs import Context, load_packs
from ifclint.plumbing import Service, build
from ifclint.testing import read_network
from models.dwelling.mistakes import MISTAKES
from tests.effort import calls
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"

# A kitchen sink's drain of two pipes, a cleanout tee between, and a water closet's branch: all
# reach the building drain. Feet; a 1-1/2 in drain may not carry a sink's 2 fixture units (UPC 2021
# table 703.2, footnote), nor a closet anything under 3 in (same table).
DRAINS = """
kitchen-sink K  0 0 3
pipe {kitchen} K1  0 0 3 > 0 0 0
bend {kitchen} B  0 0 0 > 0.2 0 -0.005
pipe {kitchen} K2  0.2 0 -0.005 > 10 0 {fall}
wye 4 W  10 0 {fall} > 10 1 {fall} > 10 -1 {fall}
pipe 4 D1  10 5 {above} > 10 1 {fall}
bend 4 B2  9.8 5 {above} > 10 5 {above}
water-closet WC  4 5 {wc}
pipe {closet} C1  4 5 {wc} > 9.8 5 {above}
pipe 4 D2  10 -1 {fall} > 10 -20 -2.5
sewer-connection S  10 -20 -2.5
"""


def network(kitchen: str = "2", closet: str = "3", fall: float = -0.25) -> Network:
    return read_network(
        DRAINS.format(kitchen=kitchen, closet=closet, fall=fall, above=fall + 0.2, wc=fall + 0.4)
    )


def reviewed(net: Network, but: str = "") -> tuple[list[Finding], tuple[Correction, ...]]:
    """The violations of the drainage pack, and their corrections where a variance accepts all of
    them but those of one rule."""
    packs = [pack for pack in load_packs().loaded if pack.name == "drainage"]
    code, job = codes.load("upc-2021"), Job()

    def again(model: Model) -> list[Finding]:
        return judge(packs, Context(code, build(connect(model)), job)).findings

    findings = again(net.model)
    plumbing = build(net)
    runs = {
        pipe.element.key: DrainRun(
            pipe.up, System.VENT if s.service is Service.VENT else System.SANITARY
        )
        for s in plumbing.segments
        for pipe in s.pipes
    }
    wrong = [f for f in findings if f.outcome is Outcome.VIOLATION]
    if but:
        variance = Acceptance("as built", "AHJ", "")
        findings = [f if f.rule == but else replace(f, variance=variance) for f in findings]
    return wrong, corrections(findings, net, again, runs)


def test_nothing_wrong_needs_no_correction() -> None:
    assert reviewed(network()) == ([], ())


def test_one_drain_too_small_is_one_correction_that_clears_all_its_findings() -> None:
    wrong, (made,) = reviewed(network(kitchen="1.5"))
    assert len({f.rule for f in wrong}) > 1
    assert set(made.finding_ids) == {f.id for f in wrong}
    assert made.reviewed_again is not None
    assert set(made.reviewed_again.clears) == set(made.finding_ids)
    assert made.reviewed_again.raises == ()
    assert made.title == 'Make "K2" 2 in.'  # K1 falls to the first turn: the tailpiece


def test_two_drains_too_small_are_two_corrections() -> None:
    _, made = reviewed(network(kitchen="1.5", closet="2"))
    assert sorted(c.changes[0].value for c in made) == [2, 3]
    assert all(c.reviewed_again and not c.reviewed_again.raises for c in made)


def test_each_violation_is_in_one_correction() -> None:
    wrong, made = reviewed(network(kitchen="1.5", closet="2", fall=-0.1))
    held = [id_ for c in made for id_ in c.finding_ids]
    assert sorted(held) == sorted(f.id for f in wrong)


def test_a_slope_is_given_in_memory_and_clears_the_finding() -> None:
    wrong, (made,) = reviewed(network(fall=-0.1))
    assert {f.rule for f in wrong} == {"drain-slope"}
    assert made.reviewed_again is not None
    assert (made.reviewed_again.clears, made.reviewed_again.raises) == (made.finding_ids, ())
    assert "a fall of 1/4 in/ft" in made.title


def test_what_a_variance_accepts_is_no_correction() -> None:
    net = network(kitchen="1.5")
    wrong, _ = reviewed(net)
    accepted = [replace(f, variance=Acceptance("as built", "AHJ", "")) for f in wrong]
    assert corrections(accepted, net, lambda model: [], {}) == ()


def test_what_a_variance_accepts_is_asked_of_no_other_correction() -> None:
    net = network(kitchen="1.5", fall=-0.1)
    wrong, made = reviewed(net)
    assert "2 in" in made[0].title
    _, made = reviewed(net, but="drain-slope")
    assert {c.what for m in made for c in m.changes} == {"slope"}
    assert [id_ for m in made for id_ in m.finding_ids] == [
        f.id for f in wrong if f.rule == "drain-slope"
    ]


def test_what_a_variance_accepts_is_not_raised_by_another_change() -> None:
    net = network(kitchen="1.5", closet="2")
    wrong, _ = reviewed(net)
    closet = {f.id for f in wrong if "C1" in f.message}
    assert closet
    given = [
        replace(f, variance=Acceptance("as built", "AHJ", "")) if f.id in closet else f
        for f in wrong
    ]
    left = [f for f in wrong if f.id in closet]
    made = corrections(given, net, lambda model: left, {})
    assert all(c.reviewed_again is None or c.reviewed_again.raises == () for c in made)
    assert made


def test_what_does_not_clear_is_said() -> None:
    """A change that a second review still finds wanting clears nothing, and says what it raises."""
    net = network(kitchen="1.5")
    wrong, _ = reviewed(net)
    other = replace(wrong[0], id="new", rule="new", title="Another matter", message="Found anew.")
    (made,) = corrections(wrong, net, lambda model: [*wrong, other], {})
    assert made.reviewed_again is not None
    assert made.reviewed_again.clears == ()
    assert made.reviewed_again.raises == ("Another matter: Found anew.",)


def test_rules_that_ask_for_two_sizes_of_one_pipe_are_told_as_one() -> None:
    net = network(kitchen="1.5")
    wrong, _ = reviewed(net)
    asked = wrong[0].change
    assert asked is not None
    less = replace(asked, value=1.75, text="Make it 1-3/4 in.")
    given = [replace(wrong[0], id="less", rule="less", change=less, remedy=less.text), *wrong]
    made = corrections(given, net, lambda model: [], {})
    told = agreed(given, made)
    asked_of = [(guid, f.change.value) for f in told if f.change for guid in f.change.element_ids]
    assert len(set(asked_of)) == len(dict(asked_of)) > 0
    assert told[0].remedy == made[0].changes[0].text
    assert told[0].remedy != less.text


def test_one_move_that_two_rules_ask_for_is_one_correction_as_far_as_both_need() -> None:
    net = network(kitchen="1.5")
    (first, *_), _ = reviewed(net)

    def asks(name: str, trap: str, metres: float) -> Finding:
        change = Change("move", (trap,), metres, f"Bring the vent {metres} m nearer.")
        return replace(first, id=name, rule=name, change=change, remedy=change.text)

    given = [asks("length", "T1", 0.9), asks("fall", "T1", 1.4), asks("length2", "T2", 0.3)]
    made = corrections(given, net, lambda model: [], {})
    titles = [c.title for c in made]
    assert titles == ["Bring the vent 1.4 m nearer.", "Bring the vent 0.3 m nearer."]
    assert made[0].finding_ids == ("length", "fall")
    assert made[0].reviewed_again is None


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        ({"a": 1.0}, 'Make "Main A" 1 in.'),
        ({"a": 1.0, "b": 1.0, "c": 1.0}, 'Make "Main A" and 2 more pieces 1 in.'),
        ({"a": 1.0, "b": 0.75, "c": 1.0},
         'Make "Main A" and 1 more piece 1 in, and make "Main B" 3/4 in.'),
        ({"a": 1.0, "b": 0.75, "c": 1.25}, 'Make "Main A" and 2 more pieces 3/4 in to 1-1/4 in.'),
        ({"d": 2.0}, 'Make the 1-1/2 in drain "Pipe Types:PVC:346760" 2 in.'),
        ({"e": 1.0, "f": 1.25, "g": 1.25},
         'Make "Gas Pipe" 1 in, and make another piece of that name and 1 more piece 1-1/4 in.'),
    ],
)  # fmt: skip
def test_a_title_says_what_becomes_of_each_piece(sizes: dict[str, float], said: str) -> None:
    pipes = [
        Element(guid=g, name=f"Main {g.upper()}", role=Role.PIPE, system=System.COLD_WATER)
        for g in "abc"
    ]
    pipes.append(
        Element(
            guid="d", name="Pipe Types:PVC:346760", role=Role.PIPE, system=System.SANITARY,
            size_in=1.5,
        )
    )  # fmt: skip
    pipes += [Element(guid=g, name="Gas Pipe", role=Role.PIPE, system=System.GAS) for g in "efg"]
    assert title(pipes, sizes, {}) == said


# Mistakes that no violation tells: a size that is not stated is a question, the pan an advisory.
NO_VIOLATION = {"floor_drain_size_stated", "washer_pan_drained"}


@pytest.fixture(scope="module")
def early() -> Review:
    return reviewed_demo("dwelling_early")[0]


def test_every_seeded_mistake_is_one_correction(early: Review) -> None:
    """None is split, none merges two: each correction is about one mistake's element, or what is
    joined to it."""
    made = connect(ifc.read([MODELS / "dwelling_early.ifc"]))
    at = {element.tag: index for index, element in enumerate(made.elements)}
    by_id = {finding.id: finding for finding in early.findings}
    about = [
        {guid for f in c.finding_ids for guid in (*c.element_ids, *by_id[f].element_ids)}
        for c in early.corrections
    ]
    found = {}
    for mistake in MISTAKES:
        index = at[mistake.element]
        own = {made.elements[index].guid}
        near = own | {made.elements[i].guid for i in made.neighbours(index)}
        found[mistake.field] = [n for n, guids in enumerate(about) if guids & own] or [
            n for n, guids in enumerate(about) if guids & near
        ]
    assert {field for field, numbers in found.items() if not numbers} == NO_VIOLATION
    numbers = [n for numbers in found.values() for n in numbers]
    assert sorted(numbers) == list(range(len(early.corrections)))


def test_every_change_of_size_or_slope_clears_what_it_answers_and_raises_nothing(
    early: Review,
) -> None:
    proofs = [(c, c.reviewed_again) for c in early.corrections if c.reviewed_again]
    assert len(proofs) >= 8
    for correction, proof in proofs:
        assert set(correction.finding_ids) <= set(proof.clears), correction.title
        assert proof.raises == (), correction.title


def test_those_that_can_hurt_someone_come_first(early: Review) -> None:
    ranks = [list(Severity).index(c.severity) for c in early.corrections]
    assert ranks == sorted(ranks)
    assert early.corrections[0].system == System.GAS


def calls_of_apart(count: int) -> int:
    """For so many drains apart, each to be made larger, and another thing wrong at each, all of
    which are reviewed again together."""
    points = [(float(n), 0.0, 0.0) for n in range(count)]
    pipes = [
        Element(f"P{n}", role=Role.PIPE, size_in=2.0, position=points[n]) for n in range(count)
    ]
    net = connect(Model(elements=pipes))
    template = next(f for f in reviewed(network(kitchen="1.5"))[0] if f.change is not None)
    small = [
        replace(
            template,
            id=f"small {n}",
            element_ids=(f"P{n}",),
            change=Change("size", (f"P{n}",), 3.0, "Make it larger."),
        )
        for n in range(count)
    ]
    other = [replace(f, id=f"other {f.id}", rule="other", change=None) for f in small]

    def work() -> None:
        made = corrections([*small, *other], net, lambda model: [], {})
        assert len(made) == count
        assert sum(len(c.finding_ids) for c in made) == 2 * count
        for correction in made:
            proof = correction.reviewed_again
            assert proof
            assert proof.together
            assert proof.clears == correction.finding_ids

    return calls(work)


def test_work_grows_with_the_corrections_and_not_faster() -> None:
    assert calls_of_apart(1200) < 1.5 * 4 * calls_of_apart(300)


def test_no_two_corrections_have_one_id() -> None:
    _, (made,) = reviewed(network(kitchen="1.5"))
    told = [made, replace(made, title="another"), made]
    assert [c.id.removeprefix(made.id) for c in apart(told)] == ["", "-2", "-3"]
    finding = replace(reviewed(network(kitchen="1.5"))[0][0], change=None)
    both = [replace(finding, element_ids=("S",), message=m) for m in ("one", "two")]
    net = network()
    found = corrections(apart(both), net, lambda model: [], {})
    assert len({c.id for c in found}) == len(found) == 2
