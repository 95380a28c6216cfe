"""Packs that do what no pack should: each is named, and none costs another's findings."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from ifclint.checks import PASS, advise, violation
from ifclint.drawings import Riser
from ifclint.findings import (
    Answer,
    Change,
    Column,
    Measure,
    Outcome,
    Schedule,
    Verdict,
)
from ifclint.guard import Guard
from ifclint.ifc.elements import Location
from ifclint.packs import Packs, ReportFormat, hookimpl, load_packs, make_pack, rule
from ifclint.plumbing import Fixture
from ifclint.plumbing.subjects import finders
from ifclint.report import write_reports
from ifclint.review import review

SMALLEST = Path(__file__).parent.parent / "models" / "smallest.ifc"
SECONDS = 0.3  # that a pack has here


def judging(said: Callable[[], Any]) -> dict[str, Any]:
    """A pack whose one rule does this, and another that goes on."""

    @rule(title="Nasty", subject=Fixture, clauses={"any": "our own"})
    def nasty(fixture: Fixture, context: object) -> Any:
        return said()

    @rule(title="Goes on", subject=Fixture, clauses={"any": "our own"})
    def goes_on(fixture: Fixture, context: object) -> Answer:
        return advise(message="The pack goes on.", remedy="None.")

    return {"ifclint_rules": lambda: [nasty, goes_on], "ifclint_subjects": lambda: finders(Fixture)}


class Unforeseen(BaseException):
    """No Exception, as what cancels a task is none."""


class Mute(Exception):
    def __str__(self) -> str:
        raise ValueError("no words")


class Odd:
    """A subject without label, key or place."""


def odd(**but: object) -> Odd:
    """A subject that is sound but for this."""
    made = Odd()
    sound = {
        "key": "k",
        "label": "Odd",
        "system": "",
        "element_ids": ("a",),
        "location": Location(),
    }
    made.__dict__.update(sound | but)
    return made


def finding(finder: Callable[[object], Any]) -> dict[str, Any]:
    @rule(title="Odd", subject=Odd, clauses={"any": "our own"})  # type: ignore[type-var]
    def odd(subject: Odd, context: object) -> Any:
        return advise(message="Odd.", remedy="None.")

    return {"ifclint_rules": lambda: [odd], "ifclint_subjects": lambda: {Odd: finder}}


def raising(error: BaseException) -> Callable[..., Any]:
    def do(*_: object, **__: object) -> Any:
        raise error

    return do


def forever() -> Any:
    while True:
        time.sleep(0.01)


def deep() -> Any:
    return deep()


def printing() -> Answer:
    print("\x1b[31mhello\nfrom a pack")
    return PASS


def yielding() -> Iterator[Any]:
    yield PASS
    yield "a text"


OVER = threading.Event()


@pytest.fixture(scope="module", autouse=True)
def threads_end() -> Iterator[None]:
    yield
    OVER.set()


def leaving_a_thread() -> Answer:
    threading.Thread(target=OVER.wait, args=(600.0,)).start()
    return PASS


RULES: dict[str, Callable[[], Any]] = {
    "raises": raising(ValueError("broken\nin two lines")),
    "ends the program": raising(SystemExit(0)),
    "ends the process": lambda: os._exit(0),
    "is interrupted": raising(KeyboardInterrupt()),
    "has no memory": raising(MemoryError()),
    "raises what is no Exception": raising(Unforeseen()),
    "leaves a generator": raising(GeneratorExit()),
    "raises what has no words": raising(Mute()),
    "has no end": deep,
    "does not return": forever,
    "returns nothing": lambda: None,
    "returns a text": lambda: "violation",
    "returns a number": lambda: 7,
    "returns texts": yielding,
    "returns the class": lambda: Answer,
    "an outcome that is none": lambda: Answer("bad"),  # type: ignore[arg-type]
    "a message that is no text": lambda: Answer(Outcome.VIOLATION, 5),  # type: ignore[arg-type]
    "elements that are no texts": lambda: Answer(Outcome.VIOLATION, "x", elements=(1, 2)),  # type: ignore[arg-type]
    "one element": lambda: Answer(Outcome.VIOLATION, "x", elements=7),  # type: ignore[arg-type]
    "measures that are none": lambda: Answer(Outcome.VIOLATION, "x", measured=3),  # type: ignore[arg-type]
    "steps that are none": lambda: Answer(Outcome.VIOLATION, "x", steps=("a",)),  # type: ignore[arg-type]
    "a change that is none": lambda: Answer(Outcome.VIOLATION, "x", change="bigger"),  # type: ignore[arg-type]
    "a size that is none": lambda: Answer(
        Outcome.VIOLATION, "x", change=Change("size", ("nothing here",), float("nan"), "y")
    ),
    "a severity that is none": lambda: Answer(Outcome.VIOLATION, "x", severity="fatal"),  # type: ignore[arg-type]
    "measures no number": lambda: violation(
        message="x", remedy="y", measured=Measure(float("nan"), "in")
    ),
    "has nothing to say": lambda: violation(message=" ", remedy="y"),
    "changes the working folder": lambda: (os.chdir("/"), PASS)[1],
    "prints": printing,
    "leaves a thread running": leaving_a_thread,
    "closes what it prints to": lambda: (print("x"), sys.stdout.close(), PASS)[2],
}
HOOKS: dict[str, dict[str, Any]] = {
    "finders that raise": finding(raising(OSError("gone"))),
    "subjects that are none": finding(lambda context: [Odd()]),
    "a place that is none": finding(lambda context: [odd(location=(1.0, 2.0, 3.0))]),
    "no place": finding(lambda context: [odd(location=None)]),
    "a label that is none": finding(lambda context: [odd(label=7)]),
    "a key that is none": finding(lambda context: [odd(key=("a", 1))]),
    "a system that is none": finding(lambda context: [odd(system=None)]),
    "GlobalIds that are none": finding(lambda context: [odd(element_ids=(1, 2))]),
    "one GlobalId": finding(lambda context: [odd(element_ids="a")]),
    "a finder that is none": finding([odd()]),  # type: ignore[arg-type]
    "subjects that never come": finding(lambda context: forever()),
    "schedules that raise": {"ifclint_schedules": raising(RuntimeError("no"))},
    "schedules that are none": {"ifclint_schedules": lambda context: ["a table"]},
    "rows that are no data": {
        "ifclint_schedules": lambda context: [
            Schedule("k", "t", (Column("a", "A"),), ({"element_id": "x", "a": object()},))
        ]
    },
    "drawings that never come": {"ifclint_drawings": lambda context: forever()},
    "drawings of nothing": {"ifclint_drawings": lambda context: [Riser("k", 3, (4,), ())]},
    "reports that raise": {
        "ifclint_report_formats": lambda: [ReportFormat("a.txt", raising(ValueError("no")))]
    },
    "reports that are no bytes": {
        "ifclint_report_formats": lambda: [ReportFormat("a.txt", lambda review: "text")]
    },
    "reports that never come": {
        "ifclint_report_formats": lambda: [ReportFormat("a.txt", lambda review: forever())]
    },
    "a report in another folder": {
        "ifclint_report_formats": lambda: [ReportFormat("../a.txt", lambda review: b"x")]
    },
    "a report without a name": {
        "ifclint_report_formats": lambda: [ReportFormat("", lambda review: b"x")]
    },
    "a report of no possible name": {
        "ifclint_report_formats": lambda: [ReportFormat("a\0b", lambda review: b"x")]
    },
    "a report of a long name": {
        "ifclint_report_formats": lambda: [ReportFormat("a" * 400, lambda review: b"x")]
    },
    "our schedule": {
        "ifclint_schedules": lambda context: [Schedule("drains", "Mine", (Column("a", "A"),), ())]
    },
    "our report": {
        "ifclint_report_formats": lambda: [ReportFormat("findings.json", lambda review: b"x")]
    },
}  # fmt: skip
NASTY = {**{name: judging(said) for name, said in RULES.items()}, **HOOKS}


@pytest.fixture(scope="module")
def ours() -> set[str]:
    return {f.id for f in review([SMALLEST], code="upc-2021").findings}


@pytest.mark.parametrize("name", NASTY)
def test_it_is_named_and_costs_no_other_finding(name: str, ours: set[str], tmp_path: Path) -> None:
    hooks = {hook: hookimpl(made) for hook, made in NASTY[name].items()}
    pack = replace(make_pack("nasty", SimpleNamespace(**hooks)), guard=Guard(SECONDS))
    packs = load_packs()
    packs.loaded.append(pack)
    started = time.monotonic()
    done = review([SMALLEST], code="upc-2021", packs=packs)
    done, written = write_reports(done, tmp_path, Packs([*packs.loaded]))
    assert time.monotonic() - started < 60
    assert {f.pack for f in done.failures} == {"nasty"}
    assert all("\n" not in f.reason for f in done.failures)
    assert ours <= {f.id for f in done.findings}
    assert {path.name for path in written} >= {"findings.json", "report.html"}
    assert (tmp_path / "findings.json").read_bytes() != b"x"
    if name in RULES:
        goes_on = any(f.rule == "goes-on" for f in done.findings)
        assert goes_on is (name != "does not return")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda e: setattr(e, "size_in", 99.0), "size_in of "),
        (lambda e: e.properties.update(status="existing"), "properties of "),
        (lambda e: e.ends.clear(), "ends of "),
    ],
)
def test_what_a_pack_changes_of_an_element_is_put_back_and_named(
    change: Callable[[Any], object], told: str, ours: set[str]
) -> None:
    @rule(title="Changes", subject=Fixture, clauses={"any": "our own"})
    def changes(fixture: Fixture, context: Any) -> Answer:
        for element in context.plumbing.network.elements:
            change(element)
        return PASS

    packs = load_packs()
    hooks = SimpleNamespace(ifclint_rules=hookimpl(lambda: [changes]))
    packs.loaded.insert(0, make_pack("changing", hooks))
    done = review([SMALLEST], code="upc-2021", packs=packs)
    assert {f.id for f in done.findings} == ours
    (failure,) = done.failures
    assert failure.pack == "changing"
    assert failure.reason.startswith(f"changes what it is to look at: {told}")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda context: context.plumbing.network.elements.clear(), "the list of all elements"),
        (lambda context: vars(context.job).clear(), "the job file"),
    ],
)
def test_what_a_pack_takes_away_is_put_back_and_named(
    change: Callable[[Any], object], told: str, ours: set[str]
) -> None:
    @rule(title="Clears", subject=Fixture, clauses={"any": "our own"})
    def clears(fixture: Fixture, context: Any) -> Answer:
        change(context)
        return PASS

    packs = load_packs()
    hooks = SimpleNamespace(ifclint_rules=hookimpl(lambda: [clears]))
    packs.loaded.insert(0, make_pack("clear", hooks))
    done = review([SMALLEST], code="upc-2021", packs=packs)
    assert {f.id for f in done.findings} == ours
    assert any(f.reason == f"changes what it is to look at: {told}" for f in done.failures)
    assert {f.pack for f in done.failures} == {"clear"}


def test_what_a_pack_finds_of_the_plumbing_is_judged_by_its_own_rules_alone(ours: set[str]) -> None:
    hooks = {**judging(lambda: PASS), "ifclint_subjects": lambda: {Fixture: lambda context: []}}
    packs = load_packs()
    brought = SimpleNamespace(**{hook: hookimpl(made) for hook, made in hooks.items()})
    packs.loaded.insert(0, make_pack("few", brought))
    done = review([SMALLEST], code="upc-2021", packs=packs)
    assert {f.id for f in done.findings} == ours
    assert [c.subjects for c in done.coverage if c.pack == "few"] == [0, 0]


def test_ours_are_loaded_before_others() -> None:
    names = [pack.name for pack in load_packs().loaded if pack.origin.startswith("ifclint ")]
    assert names == [pack.name for pack in load_packs().loaded][: len(names)] == sorted(names)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are made in another way here")
def test_a_process_that_a_pack_makes_may_end() -> None:
    with Guard()():
        pid = os.fork()
        if not pid:
            os._exit(7)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 7


def test_a_pack_that_did_not_return_is_not_asked_again() -> None:
    guard = Guard(SECONDS)
    with pytest.raises(BaseException, match=r"did not return in 0\.3 s"), guard():
        forever()
    with pytest.raises(BaseException, match="not asked"), guard():
        raise AssertionError("it was asked")


def test_without_a_limit_a_pack_takes_its_time() -> None:
    with Guard(0)():
        time.sleep(SECONDS)


def test_what_catches_everything_is_interrupted_again() -> None:
    caught: list[BaseException] = []

    def deaf() -> None:
        while True:
            try:
                time.sleep(5)
            except BaseException as error:
                if caught:
                    raise
                caught.append(error)

    with pytest.raises(BaseException, match="did not return"), Guard(SECONDS)():
        deaf()
    assert len(caught) == 1


def test_a_verdict_stands_beside_a_failure() -> None:
    hooks = {hook: hookimpl(made) for hook, made in NASTY["raises"].items()}
    packs = load_packs()
    packs.loaded.append(make_pack("nasty", SimpleNamespace(**hooks)))
    assert review([SMALLEST], code="upc-2021", packs=packs).verdict is not Verdict.PASS


def test_a_working_folder_that_was_removed_costs_no_pack(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (gone := tmp_path / "gone").mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    guard = Guard()
    with guard():
        pass
    assert guard.printed() == ""
