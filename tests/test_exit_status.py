"""Only a review that was written ends with 0, 1 or 3; what ends a run early is a sentence and 2."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import NoReturn

import pytest

from ifclint import codes
from ifclint import review as reviewing
from ifclint.errors import InputError, Stopped
from ifclint.findings import PASS, Answer
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.packs import Context, hookimpl, make_pack, rule
from ifclint.plumbing import Fixture, build
from ifclint.plumbing.subjects import finders
from ifclint.report import write_reports
from ifclint.review import review
from ifclint.testing import read_network
from tests.command import run

ROOT = Path(__file__).parent.parent
SMALLEST = ROOT / "models/smallest.ifc"
FULL = Path("/dev/full")


def _run(
    code: str, out: Path, stdout: object = subprocess.PIPE
) -> subprocess.CompletedProcess[str]:
    words = ["review", str(SMALLEST), "--code", "ipc-2021", "--out", str(out)]
    return subprocess.run(
        [sys.executable, "-c", code, *words],
        stdout=stdout, stderr=subprocess.PIPE, text=True, cwd=ROOT, check=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (RecursionError(), "nested too deep"),
        (MemoryError(), "not enough memory"),
        (EOFError(), "ended too early"),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ZeroDivisionError("by nothing"), "by nothing"),
    ],
)
def test_what_is_not_caught_is_one_sentence_and_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, said: str
) -> None:
    def raises(*_: object) -> NoReturn:
        raise error

    monkeypatch.setattr(reviewing, "review_with_context", raises)
    done = run("review", SMALLEST, "--code", "ipc-2021", "--out", tmp_path)
    assert done.returncode == 2
    assert done.stderr.strip().startswith("ifclint: ")
    assert said in done.stderr
    assert done.stderr.strip().count("\n") == 0


def test_no_room_for_what_is_set_aside_is_no_failure_of_ours(tmp_path: Path) -> None:
    """Reading a model writes to the temporary folder, before there is anything to report."""
    most = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))"
    whole = "import sys; sys.dont_write_bytecode = True"  # what is compiled would be cut, too
    done = _run(f"{whole}; {most}\nfrom ifclint.cli import main\nmain()", tmp_path)
    assert done.returncode == 2
    assert "(File too large): make room" in done.stderr
    assert "please report" not in done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_a_full_disk_on_stdout(tmp_path: Path) -> None:
    with FULL.open("w") as full:
        done = _run("from ifclint.cli import main; main()", tmp_path, full)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "could not be written" in done.stderr


def test_a_reader_that_has_gone(tmp_path: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    done = _run("from ifclint.cli import main; main()", tmp_path, write)
    os.close(write)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name != "posix", reason="closed as a POSIX shell closes streams")
@pytest.mark.parametrize(
    ("closed", "status", "said"),
    [
        (">&-", 2, "(standard output is closed)"),
        ("2>&-", 0, ""),
        (">&- 2>&-", 2, ""),
        ("<&-", 0, ""),
    ],
)
def test_streams_that_are_closed(tmp_path: Path, closed: str, status: int, said: str) -> None:
    words = f'"{sys.executable}" -m ifclint.cli elements "{SMALLEST}"'
    done = subprocess.run(
        f"{words} {closed}", shell=True, capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.returncode == status
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == bool(said)


@pytest.mark.skipif(os.name != "posix", reason="closed as a POSIX shell closes streams")
@pytest.mark.parametrize(
    ("more", "said"), [("", ""), (" --format json", "(standard output is closed)")]
)
def test_a_review_needs_no_standard_output(tmp_path: Path, more: str, said: str) -> None:
    words = f'"{sys.executable}" -m ifclint.cli review "{SMALLEST}" --code upc-2021'
    done = subprocess.run(
        f'{words} --out "{tmp_path}"{more} >&-', shell=True, capture_output=True, text=True,
        cwd=ROOT, check=False,
    )  # fmt: skip
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == bool(said)
    assert (tmp_path / "findings.json").exists()


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "utf-16"])
@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_names_of_every_script_reach_a_pipe_in_utf8(
    tmp_path: Path, encoding: str, form: str
) -> None:
    model = tmp_path / "m.ifc"
    text = SMALLEST.read_text(encoding="utf-8")
    model.write_text(text.replace("Lavatory L-1", "Évier 洗面台 🚿"), encoding="utf-8")
    done = run("elements", model, "--format", form, encoding=encoding)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Évier 洗面台 🚿" in done.stdout


CONTEXT = Context(codes.load("ipc-2021"), build(read_network("lavatory L 0 0 0")), Job())


def _said_by(error: type[BaseException]):
    @rule(title="Ends the run", subject=Fixture, clauses={"any": "our own"})
    def ends(fixture: Fixture, context: Context) -> Answer:
        raise error

    @rule(title="Goes on", subject=Fixture, clauses={"any": "our own"})
    def goes_on(fixture: Fixture, context: Context) -> Answer:
        return PASS

    hooks = {
        "ifclint_rules": hookimpl(lambda: [ends, goes_on]),
        "ifclint_subjects": hookimpl(lambda: finders(Fixture)),
    }
    return judge([make_pack("trial", SimpleNamespace(**hooks))], CONTEXT)


@pytest.mark.parametrize("error", [SystemExit, KeyboardInterrupt, MemoryError, RecursionError])
def test_what_a_pack_raises_is_its_own_failure(error: type[BaseException]) -> None:
    said = _said_by(error)
    assert [(f.pack, f.rule) for f in said.failures] == [("trial", "ends")]
    assert error.__name__ in said.failures[0].reason
    assert [c.rule for c in said.coverage] == ["goes-on"]


def test_a_signal_is_no_failure_of_the_pack_that_it_meets() -> None:
    with pytest.raises(Stopped):
        _said_by(Stopped)


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), Stopped("SIGTERM")])
@pytest.mark.parametrize("earlier", [True, False])
def test_a_cut_between_the_reports_leaves_the_old_pair_or_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, earlier: bool
) -> None:
    done = review([SMALLEST], None, "ipc-2021")
    names = ["findings.json", "report.html"]
    if earlier:
        for name in names:
            (tmp_path / name).write_text("the old one", encoding="utf-8")
    put, calls = os.replace, []

    def cut(source: Path, target: Path) -> None:
        calls.append(target)
        if len(calls) == 2:
            raise error
        put(source, target)

    monkeypatch.setattr(os, "replace", cut)
    with pytest.raises((InputError, Stopped)):
        write_reports(done, tmp_path)
    assert len(calls) >= 2
    assert sorted(path.name for path in tmp_path.iterdir()) == (names if earlier else [])
    for path in tmp_path.iterdir():
        assert path.read_text(encoding="utf-8") == "the old one"


@pytest.mark.parametrize("status", [0, 3])
@pytest.mark.parametrize(
    "left",
    [
        "import threading; threading.Thread(target=threading.Event().wait).start()",
        "import atexit, os; atexit.register(lambda: (sys.stdout.flush(), os._exit(5)))",
    ],
)
def test_what_is_left_behind_changes_nothing_of_how_a_command_ends(status: int, left: str) -> None:
    code = (
        "import sys\n"
        "from ifclint.exit_status import end\n"
        f"{left}\n"
        "sys.stdout.write('told')\n"
        f"end({status})"
    )
    words = [sys.executable, "-c", code]
    done = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, check=False, timeout=300)
    assert (done.returncode, done.stdout) == (status, "told")
