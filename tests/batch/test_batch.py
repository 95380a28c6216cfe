"""Many buildings: each by itself, none lost, none twice, one that dies costs itself alone."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from ifclint.batch import LOST, review_all, running
from ifclint.batch.buildings import ListedBuilding, buildings
from ifclint.batch.portfolio import findings, portfolio, write, write_parquet
from ifclint.batch.running import BuildingOutcome, Limits, run
from ifclint.errors import InputError
from tests.bench.many_buildings import TOLD, Killer, Reviews, batch, cluster, generate, wrong

MODELS = Path(__file__).parents[2] / "models"
SMALLEST = MODELS / "smallest.ifc"
DRAINAGE_ALONE = 'adopted_code = "upc-2021"\nout_of_scope = ["venting"]\n'


def folder_of(path: Path, count: int) -> Path:
    path.mkdir()
    for n in range(count):
        shutil.copy(SMALLEST, path / f"house {n}.ifc")
    (path / "job.toml").write_text(DRAINAGE_ALONE)
    return path


def test_a_folder_holds_models_and_folders_of_models(tmp_path: Path) -> None:
    where = folder_of(tmp_path / "all", 2)
    shutil.copy(MODELS / "dwelling_early.toml", where / "house 1.toml")
    (where / "block").mkdir()
    for name in ("plumbing.ifc", "walls.ifczip"):
        (where / "block" / name).touch()
    (where / "notes").mkdir()
    found = {b.name: b for b in buildings(where)}
    assert list(found) == ["block", "house 0", "house 1"]
    assert [m.name for m in found["block"].models] == ["plumbing.ifc", "walls.ifczip"]
    assert found["house 0"].job == where / "job.toml"
    assert found["house 1"].job == where / "house 1.toml"


def test_a_list_names_models_job_and_code(tmp_path: Path) -> None:
    path = tmp_path / "buildings.toml"
    path.write_text(
        'job = "common.toml"\n[[building]]\nname = "b"\nmodels = ["x.ifc", "y.ifc"]\n'
        '[[building]]\nname = "a"\nmodels = ["z.ifc"]\njob = "own.toml"\ncode = "ipc-2021"\n'
    )
    assert buildings(path) == [
        ListedBuilding("a", (tmp_path / "z.ifc",), tmp_path / "own.toml", "ipc-2021"),
        ListedBuilding(
            "b", (tmp_path / "x.ifc", tmp_path / "y.ifc"), tmp_path / "common.toml", None
        ),
    ]


ONE = "[[building]]\nname = 'a'\nmodels = ['x.ifc']\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"{ONE}[[building]]\nname = 'A'\nmodels = ['x.ifc']", "named"),
        (ONE.replace("'a'", "'../up'"), "cannot be the name of a folder"),
        (ONE.replace("'a'", "'Portfolio.html'"), "cannot be the name of a folder"),
        (ONE.replace("['x.ifc']", "'x.ifc'"), "building.1.models: write a list, in brackets"),
        (ONE.replace("['x.ifc']", "[]"), "building.1.models: write one entry or more."),
        (ONE.replace("['x.ifc']", "[7]"), "building.1.models.1: write a text in quotes."),
        (ONE.replace("'a'", "7"), "building.1.name: write a text in quotes."),
        (ONE.replace("name = 'a'", ""), "building.1.name: this key is missing."),
        (
            ONE.replace("models", "model"),
            'building.1.model is not a key of the list of buildings; did you mean "models"?',
        ),
        (f"{ONE}roof = 1", "building.1.roof is not a key of the list of buildings; known here:"),
        (f"x = 1\n{ONE}", "x is not a key of the list of buildings; known here: job, code, build"),
        (f"{ONE}[gas]\ny = 1", "gas is not a key of the list of buildings; known here: job, code"),
        ("buildings", "is not TOML"),
        ("", "holds no building"),
    ],
)
def test_a_bad_list_is_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "buildings.toml"
    path.write_text(text)
    with pytest.raises(InputError) as refused:
        buildings(path)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("name", ["Haus-ü", "Haus-u\u0308", "Дом 1", "A & B (2)", "東棟"])
def test_a_building_may_be_named_in_any_language(tmp_path: Path, name: str) -> None:
    (tmp_path / f"{name}.ifc").touch()
    (found,) = buildings(tmp_path)
    assert found.name == name


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("a:b", "':'"),
        (" a", "begins or ends with a blank"),
        ("a\\b", "holds"),
        ("a" * 101, "longer"),
    ],
)
def test_what_no_folder_can_be_called_is_told(tmp_path: Path, name: str, why: str) -> None:
    """It costs itself alone."""
    (tmp_path / f"{name}.ifc").touch()
    (tmp_path / "house.ifc").touch()
    unfit, house = sorted(buildings(tmp_path), key=lambda b: b.name == "house")
    assert "cannot be the name of a folder" in unfit.unfit
    assert (why in unfit.unfit, house.unfit) == (True, "")


def test_what_a_folder_holds_that_is_no_building_is_told(tmp_path: Path) -> None:
    where = tmp_path / "all"
    for model in ("a/plan.ifc", "a/old/plan.ifc", "b/deep/deeper/z.ifc", "c/x.ifc", "D.ifczip"):
        (where / model).parent.mkdir(parents=True, exist_ok=True)
        (where / model).touch()
    for hidden in ("._D.ifc", ".git/x.ifc", "a/._plan.ifc", "b/.trash/y.ifc", "empty/.x.ifc"):
        (where / hidden).parent.mkdir(parents=True, exist_ok=True)
        (where / hidden).touch()
    for other in ("c/one.toml", "c/two.toml", "d.ifc"):
        (where / other).touch()
    assert {(b.name, b.unfit.split(";")[0].split(" (")[0]) for b in buildings(where)} == {
        ("a", ""),
        ("a/old", "what lies in it"),
        ("b/deep/deeper", "what lies in it"),
        ("c", "holds several job files"),
        ("D", ""),
        ("d", "is named as another building is"),
    }


def test_what_is_unfit_costs_itself_alone_and_keeps_no_report(tmp_path: Path) -> None:
    where, out = folder_of(tmp_path / "all", 1), tmp_path / "out"
    (where / "two").mkdir()
    shutil.copy(SMALLEST, where / "two")
    review_all(buildings(where), out, Limits())
    assert (out / "two" / "findings.json").is_file()
    for name in ("a.toml", "b.toml"):
        (where / "two" / name).write_text(DRAINAGE_ALONE)
    outcomes = review_all(buildings(where), out, Limits())
    assert [(o.name, o.status) for o in outcomes] == [("house 0", 0), ("two", None)]
    assert "several job files" in outcomes[1].said
    assert not (out / "two" / "findings.json").exists()


def test_a_folder_without_models_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="holds no building"):
        buildings(tmp_path)


def test_every_building_is_reviewed_once_and_reused_after(tmp_path: Path) -> None:
    found = buildings(folder_of(tmp_path / "all", 3))
    first = review_all(found, tmp_path / "out", Limits())
    assert [(o.name, o.status, o.reused) for o in first] == [
        (f"house {n}", 0, False) for n in range(3)
    ]
    found[0].models[0].write_bytes(SMALLEST.read_bytes() + b"\n")
    again = review_all(found, tmp_path / "out", Limits())
    assert [o.reused for o in again] == [False, True, True]


def test_a_report_that_something_else_has_written_is_not_reused(tmp_path: Path) -> None:
    found = buildings(folder_of(tmp_path / "all", 1))
    review_all(found, tmp_path / "out", Limits())
    report = tmp_path / "out" / "house 0" / "findings.json"
    first = report.read_bytes()
    report.write_bytes(first.replace(b"pass", b"PASS"))
    (again,) = review_all(found, tmp_path / "out", Limits())
    assert (again.reused, report.read_bytes()) == (False, first)


def test_a_file_where_the_folder_should_be_is_named(tmp_path: Path) -> None:
    found = buildings(folder_of(tmp_path / "all", 1))
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "house 0").touch()
    (outcome,) = review_all(found, tmp_path / "out", Limits())
    assert outcome.status == 2
    assert str(tmp_path / "out" / "house 0") in outcome.said


def test_one_that_dies_is_tried_again_and_costs_itself_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tries = tmp_path / "tries"
    monkeypatch.setattr(
        running,
        "_COMMAND",
        f"import os, sys\nopen({str(tries)!r}, 'a').write('x')\n"
        f"os.getenv('X') or 'house 1.ifc' in ' '.join(sys.argv) and os._exit(70)\n"
        + running._COMMAND,
    )
    outcomes = review_all(buildings(folder_of(tmp_path / "all", 2)), tmp_path / "out", Limits())
    assert [o.status for o in outcomes] == [0, None]
    assert outcomes[1].said == "died with status 70"
    assert tries.read_text() == "x" * (1 + running.TRIES)
    made = portfolio(outcomes, tmp_path / "out")
    assert [(r.name, r.verdict) for r in made.rows] == [
        ("house 1", "not-done"),
        ("house 0", "pass"),
    ]


def test_memory_and_time_of_one_review_are_limited(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(DRAINAGE_ALONE)
    house = ListedBuilding("a", (SMALLEST,), tmp_path / "job.toml")
    assert run(house, tmp_path / "a", Limits(seconds=0.05)).said == "did not end within 0.05 s"
    if sys.platform == "linux":
        assert run(house, tmp_path / "b", Limits(memory_bytes=60_000_000)).status is None
        assert run(house, tmp_path / "c", Limits(memory_bytes=8_000_000_000)).status == 0


def test_a_model_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    outcome = run(
        ListedBuilding("a", (tmp_path / "none.ifc",), None, "upc-2021"), tmp_path, Limits()
    )
    assert outcome.status == 2
    assert "none.ifc" in outcome.said


@pytest.fixture(scope="module")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[BuildingOutcome], Path]:
    out = tmp_path_factory.mktemp("out")
    early = MODELS / "dwelling_early.ifc"
    listed = [
        ListedBuilding("early", (early,), early.with_suffix(".toml")),
        ListedBuilding("small", (SMALLEST,), None, "upc-2021"),
    ]
    return review_all(listed, out, Limits()), out


def test_the_portfolio_counts_what_the_reviews_say(
    reviewed: tuple[list[BuildingOutcome], Path],
) -> None:
    outcomes, out = reviewed
    made = portfolio(outcomes, out)
    document = json.loads((out / "early/findings.json").read_bytes())
    assert [row.name for row in made.rows] == ["early", "small"]
    assert made.rows[0].corrections == len(document["corrections"])
    wrong = [f for f in document["findings"] if f["outcome"] == "violation"]
    assert sum(n for _, n, _ in made.by_rule) == sum(n for _, n in made.by_storey) == len(wrong)
    data, page = write(made, out)
    assert json.loads(data.read_bytes())["buildings"][0]["name"] == "early"
    assert 'href="early/report.html"' in page.read_text(encoding="utf-8")
    assert write(made, out)[0].read_bytes() == data.read_bytes()


def test_findings_of_all_buildings_as_one_table(
    reviewed: tuple[list[BuildingOutcome], Path],
) -> None:
    parquet = pytest.importorskip("pyarrow.parquet", reason="Parquet needs the extra `tables`")
    outcomes, out = reviewed
    table = parquet.read_table(write_parquet(outcomes, out))
    rows = list(findings(outcomes, out))
    assert table.num_rows == len(rows) > 0
    assert table.to_pylist() == rows


def test_workers_of_a_cluster_lose_nothing_and_do_nothing_twice(tmp_path: Path) -> None:
    pytest.importorskip("distributed", reason="clusters need the extra `cluster`")
    names = generate(tmp_path / "all", 4, seed=2)
    reviews = Reviews(tmp_path / "told")
    environment = reviews.environment()
    with cluster(2, environment) as made, Killer(made, reviews, len(names), 1, 2) as killer:
        status = batch(
            tmp_path / "all", tmp_path / "out", 2, environment,
            "--scheduler", made.scheduler_address,
        )  # fmt: skip
    assert (status, killer.killed) == (1, 1)
    assert wrong(names, tmp_path / "out", reviews, killer.killed) == []


def test_what_was_lost_or_done_twice_is_seen(tmp_path: Path) -> None:
    names, reviews = ["a", "b", "c"], Reviews(tmp_path / "told")
    told = tmp_path / reviews.environment()[TOLD]
    told.write_text("began\tout/a\n" + "ended\tout/a\n" * 3 + "ended\tout/b\n")
    rows = [{"name": name, "verdict": "pass"} for name in "aab"]
    (tmp_path / "portfolio.json").write_text(json.dumps({"buildings": rows}))
    for name in "ab":
        (tmp_path / name).mkdir()
        (tmp_path / name / "findings.json").touch()
    assert wrong(names, tmp_path, reviews, 1) == [
        "c: no report",
        "a: 2 lines of the portfolio",
        "c: 0 lines of the portfolio",
        "c: no review ended",
        "2 reviews done anew, though 1 workers were killed",
    ]


def test_generated_buildings_are_bounded_and_the_same_for_one_seed(tmp_path: Path) -> None:
    written = []
    for folder in ("one", "two"):
        generate(tmp_path / folder, 6, seed=5)
        written.append({p.name: p.read_bytes() for p in (tmp_path / folder).iterdir()})
    assert written[0] == written[1]
    assert len(set(written[0].values())) > 3
    for count in (0, 2001):
        with pytest.raises(ValueError, match="from 1 to 2000 buildings"):
            generate(tmp_path / "three", count, seed=5)


def test_a_review_ends_with_the_worker_that_asked_for_it(tmp_path: Path) -> None:
    """It is held at its beginning until the worker is killed, and then never comes to its end."""
    begun, ended = tmp_path / "begun", tmp_path / "ended"
    waiting = (
        f"import pathlib, time\npathlib.Path({str(begun)!r}).touch()\n"
        f"time.sleep(600)\npathlib.Path({str(ended)!r}).touch()\n"
    )
    worker = (
        "import subprocess\nfrom pathlib import Path\nfrom ifclint.batch import running\n"
        "from ifclint.batch.buildings import ListedBuilding\n"
        f"command = running._COMMAND.replace('from ifclint.cli import main', {waiting!r})\n"
        "running._COMMAND = command\n"
        f"running.run(ListedBuilding('a', (Path({str(SMALLEST)!r}),)), Path({str(tmp_path)!r}), "
        "running.Limits())\n"
    )
    read, write = os.pipe()  # held open by the worker and its review: at its end both are over
    process = subprocess.Popen([sys.executable, "-c", worker], pass_fds=(write,), stderr=write)
    os.close(write)
    while not begun.exists():
        assert process.poll() is None
    process.kill()
    process.wait()
    assert os.read(read, 1000) == b""
    os.close(read)
    assert not ended.exists()


def test_a_report_that_cannot_be_seen_from_here_is_no_review(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where a worker of another machine writes to a folder of its own."""
    monkeypatch.setattr(
        "ifclint.batch.run", lambda building, *_: BuildingOutcome(building.name, 0, "")
    )
    (outcome,) = review_all([ListedBuilding("a", (SMALLEST,))], tmp_path, Limits())
    assert (outcome.status, "wrote no report" in outcome.said) == (None, True)


@pytest.mark.parametrize(
    ("lost", "given"),
    [
        ({}, "abc"),
        ({"b": 1}, "abcb"),
        ({"a": 1, "b": 1, "c": 1}, "abcabc"),
        ({"a": 1, "b": 2}, "abcabb"),
        ({"b": 9}, "abcbb"),
    ],
)
def test_what_is_lost_with_a_worker_is_given_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lost: dict[str, int], given: str
) -> None:
    begun: list[str] = []

    def run(building: ListedBuilding, *_: object) -> BuildingOutcome:
        begun.append(building.name)
        if begun.count(building.name) <= lost.get(building.name, 0):
            raise CancelledError if len(begun) % 2 else ConnectionResetError(104, "reset")
        return BuildingOutcome(building.name, 2, "")

    monkeypatch.setattr("ifclint.batch.run", run)
    outcomes = review_all(
        [ListedBuilding(name, ()) for name in "abc"], tmp_path, Limits(), workers=1
    )
    assert "".join(begun) == given
    assert [o.name for o in outcomes if o.status is None] == [n for n in lost if lost[n] > 3]


def test_a_scheduler_that_goes_away_costs_what_it_had_not_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    distributed = pytest.importorskip("distributed", reason="clusters need the extra `cluster`")
    made = distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, dashboard_address=None, processes=False
    )

    def run(building: ListedBuilding, *_: object) -> BuildingOutcome:
        Event().wait(0.1)
        return BuildingOutcome(building.name, 2, "")

    monkeypatch.setattr("ifclint.batch.CONNECT_S", 0.5)
    monkeypatch.setattr("ifclint.batch.QUIET_S", 2.0)
    monkeypatch.setattr("ifclint.batch.run", run)
    found = [ListedBuilding(f"{n}", ()) for n in range(500)]
    outcomes = review_all(
        found, tmp_path, Limits(), 1, made.scheduler_address, lambda *_: made.close()
    )
    assert [o.name for o in outcomes] == [b.name for b in found]
    assert {(o.status, o.said) for o in outcomes} == {(2, ""), (None, LOST)}


def test_what_a_scheduler_has_that_answers_no_more_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The connection to it may break so that nothing is ever told of what it was given."""

    class Silent(Executor):
        def submit(self, *_: object, **__: object) -> Future[Any]:  # type: ignore[override]
            return Future()

    @contextmanager
    def silent(*_: object) -> Iterator[Executor]:
        yield Silent()

    answers = iter((True, False, False, False, False))
    monkeypatch.setattr("ifclint.batch._executor", silent)
    monkeypatch.setattr("ifclint.batch.QUIET_S", 0.01)
    monkeypatch.setattr("ifclint.batch._answers", lambda _: next(answers))
    found = [ListedBuilding(name, ()) for name in "ab"]
    outcomes = review_all(found, tmp_path, Limits(), 1, "tcp://somewhere")
    assert [(o.name, o.status, o.said) for o in outcomes] == [("a", None, LOST), ("b", None, LOST)]
    assert next(answers, None) is not True


def test_workers_are_given_whole_paths(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[ListedBuilding] = []

    def run(building: ListedBuilding, out: Path, _: Limits) -> BuildingOutcome:
        given.append(building)
        return BuildingOutcome(building.name, None, str(out))

    monkeypatch.setattr("ifclint.batch.run", run)
    monkeypatch.chdir(tmp_path)
    (outcome,) = review_all(
        [ListedBuilding("a", (Path("a.ifc"),), Path("a.toml"))], Path("o"), Limits()
    )
    assert given == [ListedBuilding("a", (tmp_path / "a.ifc",), tmp_path / "a.toml")]
    assert outcome.said == str(tmp_path / "o/a")


def test_the_command_ends_with_what_happened(tmp_path: Path) -> None:
    where = folder_of(tmp_path / "all", 1)
    command = [
        sys.executable,
        "-m",
        "ifclint.cli",
        "batch",
        str(where),
        "--out",
        str(tmp_path / "o"),
    ]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0
    endless = subprocess.run([*command, "--seconds", "inf"], capture_output=True, check=False)
    assert (endless.returncode, b"take a number" in endless.stderr) == (2, True)
    (where / "broken.ifc").write_text("no model")
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 3
    assert "broken: not-done" in done.stdout
    page = (tmp_path / "o" / "portfolio.html").read_text()
    assert "0 need corrections, 1 passes, 0 are not reviewable, 1 could not be done." in page
    (where / "broken.ifc").unlink()
    (where / "job.toml").write_text('out_of_scope = ["venting"]')  # and no code
    coded = [*command, "--code", "upc-2021"]
    assert subprocess.run(coded, capture_output=True, check=False).returncode == 0
