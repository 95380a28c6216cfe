"""On a made-up project with a weak and a strong test, exactly what the weak one misses survives."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.mutation.checker import TypeChecker
from tests.mutation.equivalent import Equivalent, StaleList, accounted_for, read_list
from tests.mutation.instrument import find_readers, instrumented
from tests.mutation.own import LISTED, looks_into, own_tests, within
from tests.mutation.places import Module
from tests.mutation.trying import draw

HERE = Path(__file__).resolve()
BARE = {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}  # a made-up project needs no plugins
RULES = '''
"""Two rules: one tested at its limit, one far from it."""
from functools import cache

STEEP = 0.25


def strong(slope: float) -> bool:
    return slope < STEEP


def weak(load: float) -> bool:
    return load <= limit()


@cache
def limit() -> float:
    return 3.5


def forever(count: int) -> int:
    while count:
        count -= 1
    return count


def unread(count: int) -> bool:
    return count > 0
'''
TESTS = """
import pytest
import rules

def test_strong():
    assert [rules.strong(s) for s in (0.2499, 0.25, 0.26)] == [True, False, False]

def test_weak_first():
    assert rules.weak(1.0) and not rules.weak(9.0)

def test_weak_by_what_is_kept():
    assert rules.limit() == 3.5

def test_forever():
    assert rules.forever(3) == 0

@pytest.mark.skipif("rules.__name__ == 'rules'")
def test_skipped():
    rules.unread(0)

def test_fails_anyway():
    assert rules.unread(0)
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    (tmp_path / "tests").mkdir()
    (tmp_path / "rules.py").write_text(RULES)
    (tmp_path / "tests" / "test_rules.py").write_text(TESTS)
    return tmp_path


def run(project: Path, *more: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "tests.mutation", "--root", str(project), "--paths"]
    options = ["rules.py", "--sample", "40", "--timeout", "1", *more]
    return subprocess.run(
        [*command, *options], cwd=HERE.parents[2], env=BARE,
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_exactly_the_survivors_are_told(project: Path) -> None:
    done = run(project)
    assert done.stdout.splitlines() == [
        "rules.py:13 weak (<= -> <): return load <= limit() -> return load < limit() | "
        "ran 1 of tests/test_rules.py",
        "rules.py:28 unread (> -> >=): return count > 0 -> return count >= 0 | "
        "ran nothing: no test passes here",
        "rules.py:28 unread (0 -> 1): return count > 0 -> return count > 1 | "
        "ran nothing: no test passes here",
        "left out, since they fail on the code that is measured: 1 of tests/test_rules.py",
        ".   10 changed    3 survived",
        "10 of 10 places changed (seed 1): 7 caught, 2 of them by hanging or ending the tests and "
        "0 by the type checker alone; 3 survived; 0 are known to make no difference",
    ], done.stderr
    assert done.returncode == 1
    assert (project / "rules.py").read_text() == RULES


def test_nothing_survives_where_every_place_is_tested_or_accounted_for(project: Path) -> None:
    (project / "rules.py").write_text(RULES[: RULES.index("def unread")])
    kept = TESTS[: TESTS.index("@pytest")] + "def test_at():\n    assert rules.weak(3.5)\n"
    (project / "tests" / "test_rules.py").write_text(kept)
    known = project / "build" / "caught.jsonl"
    done = run(project, "--caught", str(known))
    assert "8 caught" in done.stdout, done.stdout + done.stderr
    assert done.returncode == 0
    assert len(known.read_text().splitlines()) == 8
    (project / "tests" / "test_rules.py").write_text("")  # what was caught is not tried again
    done = run(project, "--caught", str(known))
    assert "8 caught" in done.stdout, done.stdout + done.stderr
    (project / "rules.py").write_text((project / "rules.py").read_text() + "\n")
    assert run(project, "--caught", str(known)).returncode == 1


def test_what_the_type_checker_refuses(tmp_path: Path) -> None:
    guarded = """def drop(above: float | None, here: float | None) -> float:
    return 0.0 if above is None or here is None else above - here
"""
    (tmp_path / "levels.py").write_text(guarded)
    assert not TypeChecker(tmp_path).refuses("levels.py", guarded.replace("or", "and"))
    (tmp_path / "pyproject.toml").write_text('[tool.mypy]\nstrict = true\nfiles = ["."]\n')
    checker = TypeChecker(tmp_path)
    assert checker.refuses("levels.py", guarded.replace("or", "and"))
    assert not checker.refuses("levels.py", guarded.replace("0.0", "0.05"))
    assert (tmp_path / "levels.py").read_text() == guarded


@pytest.mark.parametrize(
    ("module", "own"),
    [
        ("plugins/ifclint/rules/gas/pipes.py", ["cases", "tests/gas/test_a.py"]),
        ("ifclint/plumbing/gas/inputs.py", ["cases", "tests/gas/test_a.py"]),
        ("ifclint/ifc/reading.py", ["tests/ifc/test_b.py"]),
        ("ifclint/job/model.py", ["tests/test_job.py"]),
    ],
)
def test_the_tests_of_a_module(module: str, own: list[str]) -> None:
    files = ["tests/packs/test_rule_cases.py", "tests/gas/test_a.py", "tests/ifc/test_b.py",
             "tests/test_job.py"]  # fmt: skip
    found = [file.replace("tests/packs/test_rule_cases.py", "cases") for file in files]
    assert [f for f in found if f in own] == own
    assert own_tests(module, files) == [files[found.index(name)] for name in own]


def test_the_cheapest_tests_within_a_bound() -> None:
    costs = {"slow": 50.0, "quick": 1.0, "middling": 20.0}
    assert within(costs, 60) == {"quick": 1.0, "middling": 20.0}
    assert within({"slow": 90.0}, 60) == {"slow": 90.0}


@pytest.mark.parametrize("entry", ['function = "weak"\n', 'function = "no such"\n'])
def test_a_stale_list_is_refused(project: Path, entry: str) -> None:
    (project / "tests" / "mutation").mkdir()
    whole = 'text = "load < 3"\nbecomes = "load <= 3"\nreason = "of no matter"\n'
    listed = project / "tests" / "mutation" / "equivalent.toml"
    listed.write_text("[[equivalent]]\n" + entry + whole * ("no such" in entry))
    done = run(project)
    assert done.returncode == 2
    assert done.stderr.startswith("equivalent.toml is stale: ")
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--workers", "0"], "0 is not a whole number of at least 1"),
        (["--paths", "nowhere"], "there is no nowhere in"),
        (["--paths", "broken.py"], "broken.py cannot be read"),
    ],
)
def test_bad_input_gets_a_sentence(project: Path, more: list[str], said: str) -> None:
    (project / "broken.py").write_text("def\n")
    done = run(project, *more)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def places(source: str) -> list[tuple[str, str]]:
    return [(place.text, place.becomes) for place in Module("m.py", source).places()]


@pytest.mark.parametrize(
    ("source", "changed"),
    [
        ("a = b < c", [("a = b < c", "a = b <= c")]),
        ("a = b == c", [("a = b == c", "a = b != c")]),
        ("a = b and c", [("a = b and c", "a = b or c")]),
        ("a = not b", [("a = not b", "a = b")]),
        ("a -= b", [("a -= b", "a += b")]),
        ("a = min(b, c)", [("a = min(b, c)", "a = max(b, c)")]),
        ("A = 3", [("A = 3", "A = 4")]),
        ("A = 60", [("A = 60", "A = 63"), ("A = 60", "A = 57")]),
        ("A = 0.5", [("A = 0.5", "A = 0.525"), ("A = 0.5", "A = 0.475")]),
        ("A = 1e-9", []),
        ("A = True", []),
        ("a = b + ' in'", []),
        ("a = f'{b + 1}'", []),
        ("a = round(b, 2)", []),
        ("a = number_text(b, 3)", []),
        (
            "a = feet_text(b + 1)",
            [
                ("a = feet_text(b + 1)", "a = feet_text(b - 1)"),
                ("a = feet_text(b + 1)", "a = feet_text(b + 2)"),
            ],
        ),
        ("__all__ = [1]", []),
        ("if TYPE_CHECKING:\n    a = 1", []),
        ("def a(b: Literal[1]) -> Literal[2]: ...", []),
    ],
)
def test_what_is_changed(source: str, changed: list[tuple[str, str]]) -> None:
    assert places(source) == changed


def test_nothing_else_of_the_source_is_changed() -> None:
    source = 'a = "½ in", (b\n     < "c"), d  # as drawn\n'
    module = Module("m.py", source)
    (place,) = module.places()
    assert module.mutated(place) == "a = \"½ in\", ((b <= 'c')), d  # as drawn\n"


def test_a_constant_is_passed_where_names_made_of_it_are_read() -> None:
    source = "LOW = 2\nHIGH = LOW\n\ndef f(a=HIGH):\n    return a\n\ndef g():\n    return HIGH\n"
    module = Module("m.py", source)
    found = module.places()
    told = instrumented(module, found, find_readers([module], found), whole=False)
    assert "def f(a=HIGH):\n    __hit__(0)\n" in told
    assert "return __hit__(0) or HIGH" in told
    assert told.count("__hit__(") == 2


def test_an_equivalent_place_is_replaced_and_the_sample_stays() -> None:
    found = Module("m.py", "".join(f"A{n} = 3\n" for n in range(20))).places()
    before = draw(found, set(), 5, seed=1)
    assert before == draw(found, set(), 5, seed=1) != draw(found, set(), 5, seed=2)
    name = before[0].text.partition(" ")[0]
    entry = Equivalent("(module)", before[0].text, f"{name} = 4", "it is not read")
    accepted = accounted_for(found, [entry])
    after = draw(found, accepted, 5, seed=1)
    assert len(after) == 5
    assert set(before) - set(after) == accepted == {before[0]}
    with pytest.raises(StaleList, match="fits 2 places"):
        accounted_for([*found, *found], [entry])


def test_the_list_of_the_project_can_be_read() -> None:
    entries = read_list(HERE.with_name("equivalent.toml"))
    assert len(set(entries)) == len(entries)


def test_a_module_is_looked_at_by_the_tests_called_after_it() -> None:
    assert looks_into("tests/packs/test_section.py", "plugins/ifclint/rules/site/section.py")
    assert not looks_into("tests/packs/test_section.py", "plugins/ifclint/rules/site/sewer.py")
    assert looks_into(LISTED, "plugins/ifclint/rules/site/sewer.py")
    assert LISTED in own_tests("plugins/ifclint/rules/site/sewer.py", [LISTED])
    assert LISTED not in own_tests("ifclint/network.py", [LISTED])
