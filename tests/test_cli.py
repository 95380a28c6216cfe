"""The command as its users meet it: exit statuses, messages, files, start-up."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from ifclint.cli import app
from ifclint.errors import InputError
from tests.command import run

ROOT = Path(__file__).parent.parent
EARLY = ROOT / "models" / "dwelling_early.ifc"
CORRECTED = ROOT / "models" / "dwelling_corrected.ifc"
SMALLEST = ROOT / "models" / "smallest.ifc"
SCHEMA = json.loads((ROOT / "ifclint" / "report" / "findings.schema.json").read_text())

OURS_ALONE = (
    "from tests.conftest import see_ours_alone; see_ours_alone(); "
    "from ifclint.cli import main; main()"
)


def _started(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", OURS_ALONE, *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


def _document(folder: Path) -> dict:
    document = json.loads((folder / "findings.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, SCHEMA)
    return document


def test_the_early_revision_needs_corrections(tmp_path: Path) -> None:
    done = run("review", EARLY, "--job", EARLY.with_suffix(".toml"), "--out", tmp_path)
    assert done.returncode == 1, done.stderr
    assert done.stderr == ""
    assert "CORRECTIONS REQUIRED" in done.stdout
    document = _document(tmp_path)
    assert document["verdict"] == "corrections-required"
    assert (tmp_path / "report.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_the_corrected_revision_passes_under_both_codes(tmp_path: Path, code: str) -> None:
    job = CORRECTED.with_suffix(".toml")
    done = run("review", CORRECTED, "--job", job, "--code", code, "--out", tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    document = _document(tmp_path)
    assert document["verdict"] == "pass"
    assert document["adopted_code"]["id"] == code
    judged = sum(c["passed"] for c in document["coverage"])
    assert judged > 300


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    job = EARLY.with_suffix(".toml")
    for name in ("one", "two"):
        _started("review", EARLY, "--job", job, "--out", tmp_path / name)
    for file in ("findings.json", "report.html"):
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


def test_a_model_without_plumbing_is_not_reviewable(tmp_path: Path) -> None:
    model = tmp_path / "empty.ifc"
    model.write_text(
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
        "FILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
        "#1=IFCPROJECT('2O2Fr$t4X7Zf8NOew3FNr2',$,'Empty',$,$,$,$,$,$);\n"
        "ENDSEC;\nEND-ISO-10303-21;\n",
        encoding="utf-8",
    )
    done = run("review", model, "--code", "ipc-2021", "--out", tmp_path)
    assert done.returncode == 2
    assert "no plumbing" in done.stdout
    assert _document(tmp_path)["verdict"] == "not-reviewable"


BAD_MODELS = {
    "missing.ifc": None,
    "empty.ifc": "",
    "letter.ifc": "Dear Sirs, please find the model attached.",
    "cut.ifc": "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME(",
    "future.ifc": "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
    "FILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('IFC9'));\nENDSEC;\nDATA;\n"
    "ENDSEC;\nEND-ISO-10303-21;\n",
}


@pytest.mark.parametrize("name", BAD_MODELS)
def test_a_file_that_cannot_be_read_is_named_in_one_sentence(tmp_path: Path, name: str) -> None:
    model, out = tmp_path / name, tmp_path / "out"
    if BAD_MODELS[name] is not None:
        model.write_text(BAD_MODELS[name], encoding="utf-8")
    done = run("review", model, "--code", "ipc-2021", "--out", out)
    assert done.returncode == 2
    assert name in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert not (out / "findings.json").exists()


@pytest.mark.parametrize("schema", ["IFC4X3", "IFC4X3_ADD1", "IFC4X3_TC1"])
def test_a_model_is_read_by_every_name_of_its_schema(tmp_path: Path, schema: str) -> None:
    model = tmp_path / "model.ifc"
    text = SMALLEST.read_text(encoding="utf-8")
    model.write_text(text.replace("(('IFC4'))", f"(/* as of */('{schema}'))"), encoding="utf-8")
    said = run("review", model, "--code", "ipc-2021", "--out", tmp_path, "--format", "json").stdout
    as_written = ("review", SMALLEST, "--code", "ipc-2021", "--out", tmp_path, "--format", "json")
    read, other = json.loads(said), json.loads(run(*as_written).stdout)
    assert read["models"][0]["schema"] == schema
    assert read["elements"] == other["elements"] != []


def test_a_truncated_model_is_refused(tmp_path: Path) -> None:
    whole = CORRECTED.read_text(encoding="utf-8")
    model = tmp_path / "truncated.ifc"
    model.write_text(whole[: len(whole) // 2], encoding="utf-8")
    done = run("review", model, "--code", "ipc-2021", "--out", tmp_path / "out")
    assert done.returncode == 2
    assert "truncated.ifc" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--code", "upc-1921"), "write ipc-2021 or ipc-2024 or irc-2021 or upc-2021 or upc-2024"),
        ((), "--code"),
        (("--job", "nowhere.toml"), "nowhere.toml"),
        (("--job", "models"), "models is a folder"),
        (("--packs", ","), "--packs names nothing"),
        (("--rules", ""), "--rules names nothing"),
        (("--code=",), "--code names nothing"),
        (("--job", " "), "--job names nothing"),
        (("--pack-time", "inf"), "less than or equal to 86400"),
    ],
)
def test_a_wrong_argument_is_named(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    done = run("review", CORRECTED, *words, "--out", tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder", encoding="utf-8")
    done = run("review", CORRECTED, "--code", "ipc-2021", "--out", in_the_way / "out")
    assert done.returncode == 2
    assert str(in_the_way) in done.stderr
    assert "Traceback" not in done.stderr


def test_no_report_of_an_earlier_review_is_left_beside_another(tmp_path: Path) -> None:
    out, job = tmp_path / "out", CORRECTED.with_suffix(".toml")
    (tmp_path / "broken.ifc").write_text("ISO-10303-21;")
    review = ("review", CORRECTED, "--job", job, "--out", out)
    run(*review, "--sarif", "--schedules")
    (out / "own.txt").touch()
    assert (out / "findings.sarif").is_file()
    assert list(out.glob("schedule-*.csv"))
    run(*review)
    assert {p.name for p in out.iterdir()} == {"findings.json", "report.html", "own.txt"}
    old = ("--baseline", out / "findings.json", "--fail-on", "new")
    assert run("review", tmp_path / "broken.ifc", "--job", job, "--out", out, *old).returncode == 2
    assert {p.name for p in out.iterdir()} == {"findings.json", "own.txt"}  # what was named is kept
    assert run("review", tmp_path / "gone.ifc", "--job", job, "--out", out).returncode == 2
    assert {p.name for p in out.iterdir()} == {"own.txt"}


def test_a_review_takes_away_and_overwrites_nothing_of_others(tmp_path: Path) -> None:
    names = {"corrections.txt", "summary.html", "schedule-mine.csv", "report.html"}
    for name in names:
        (tmp_path / name).write_text("mine", encoding="utf-8")
    asked = ("--code", "ipc-2021", "--out", tmp_path)
    assert run("review", tmp_path / "gone.ifc", *asked).returncode == 2
    model = tmp_path / "findings.json"
    model.write_bytes(SMALLEST.read_bytes())
    done = run("review", model, *asked)
    assert done.returncode == 2
    assert "would be written over" in done.stderr
    assert model.read_bytes() == SMALLEST.read_bytes()
    assert {p.name for p in tmp_path.iterdir()} == {*names, model.name}
    assert run("review", SMALLEST, "--code", "ipc-2021", "--out", "", cwd=tmp_path).returncode == 2
    assert {p.name for p in tmp_path.iterdir()} == {*names, model.name}


def test_a_gate_that_stopped_does_not_pass_at_a_second_try(tmp_path: Path) -> None:
    asked = ("review", SMALLEST, "--code", "ipc-2021", "--out", tmp_path)
    run(*asked)
    agreed = tmp_path / "findings.json"
    before = agreed.read_bytes()
    assert "would be written over" in run(*asked, "--baseline", agreed, "--fail-on", "new").stderr
    assert agreed.read_bytes() == before


def test_reports_of_an_earlier_review_are_gone_before_the_model_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "findings.json").write_text('{"generator": "ifclint 0.1", "verdict": "pass"}')
    seen: list[str] = []

    def read(*_: object) -> None:
        seen.extend(p.name for p in tmp_path.iterdir())
        raise InputError("not done")

    monkeypatch.setattr("ifclint.review.review_with_context", read)
    asked = ["review", str(CORRECTED), "--code", "ipc-2021", "--out", str(tmp_path)]
    assert CliRunner().invoke(app, asked).exit_code != 0
    assert seen == []


def test_codes_and_rules_are_listed() -> None:
    codes, rules = run("codes"), run("rules")
    assert (codes.returncode, rules.returncode) == (0, 0)
    for name in ("upc-2021", "ipc-2021", "Table 703.2", "from memory"):
        assert name in codes.stdout
    for name in ("drain-capacity", "UPC", "Table 710.1(2)"):
        assert name in rules.stdout


def test_help_starts_without_heavy_imports() -> None:
    heavy = ("ifcopenshell", "networkx", "numpy", "scipy", "pint", "jinja2", "pydantic")
    code = (
        "import sys; sys.argv = ['ifclint', '--help']\n"
        "from ifclint.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print([m for m in {heavy!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert "Exit status" in done.stdout
