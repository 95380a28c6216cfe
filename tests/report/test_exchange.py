"""The open formats: valid against their standards' own schemas, the same bytes twice, complete.

The schemas are the standards' and are not kept here; tests that need one are skipped without it.
"""

from __future__ import annotations

import csv
import io
import json
import os
import zipfile
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import jsonschema
import pytest
import xmlschema
from junitparser import JUnitXml

from ifclint.findings import Failure, Gate, Outcome, Review, Verdict
from ifclint.ifc.elements import Location
from ifclint.report.exchange import FILES, also_written
from ifclint.report.exchange.bcf import NO_DATE
from ifclint.report.exchange.schedule_csv import csv_bytes, safe
from ifclint.report.exchange.snapshot import _camera, picture
from ifclint.report.exchange.sources import sources, uri_of
from tests.report import samples
from tests.reviewing import reviewed_demo

ROOT = Path(__file__).parents[2]
MODEL = ROOT / "models/dwelling_early.ifc"
SCHEMAS = Path(os.environ.get("IFCLINT_SCHEMAS", ROOT.parent / "shared/schemas"))


def schema(name: str) -> Path:
    path = SCHEMAS / name
    if not path.exists():
        pytest.skip(f"the standard's schema {name} is not there (IFCLINT_SCHEMAS)")
    return path


@pytest.fixture(scope="module")
def demo() -> Review:
    return reviewed_demo("dwelling_early")[0]


@pytest.fixture(params=["demo", "full", "hostile", "empty"])
def sample(request: pytest.FixtureRequest, demo: Review) -> Review:
    if request.param == "demo":
        return demo
    made: Callable[[], Review] = getattr(samples, request.param)
    return made()


def written(done: Review, name: str) -> bytes:
    """A review in a format: the demo, of which the pictures take long, is written once."""
    return _of_the_demo(name) if done is reviewed_demo("dwelling_early")[0] else anew(done, name)


@cache
def _of_the_demo(name: str) -> bytes:
    return anew(reviewed_demo("dwelling_early")[0], name)


def anew(done: Review, name: str) -> bytes:
    (form,) = also_written([name], [MODEL])(done)
    assert form.filename == FILES[name]
    return form.render(done)


def test_sarif_follows_the_schema_of_the_standard(sample: Review) -> None:
    document = json.loads(written(sample, "sarif"))
    jsonschema.Draft4Validator(json.loads(schema("sarif-schema-2.1.0.json").read_text())).validate(
        document
    )


@pytest.mark.parametrize(
    ("below", "uri"),
    [
        ("ordner ü 1/Modèl #2 %20.ifc", "ordner%20%C3%BC%201/Mod%C3%A8l%20%232%20%2520.ifc"),
        ("a/m.ifc", "a/m.ifc"),
        ("../m.ifc", None),  # outside the working folder: whole
    ],
)
def test_files_are_told_from_the_working_folder_and_as_uris(tmp_path, monkeypatch, below, uri):
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    path = (here / below).resolve()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("")
    (file,) = sources([path], ()).files
    assert file == (below if uri else path.as_posix())
    assert uri_of(file) == (uri or path.as_uri())


def test_sarif_tells_violations_and_advisories_where_the_model_has_them(demo: Review) -> None:
    (run,) = json.loads(written(demo, "sarif"))["runs"]
    told = [f for f in demo.findings if f.outcome in (Outcome.VIOLATION, Outcome.ADVISORY)]
    assert len(run["results"]) == len(told)
    assert {r["ruleId"] for r in run["results"]} <= {
        r["id"] for r in run["tool"]["driver"]["rules"]
    }
    lines = MODEL.read_text(encoding="utf-8").splitlines()
    for result in run["results"]:
        (place,) = result["locations"]
        physical = place["physicalLocation"]
        assert physical["artifactLocation"]["uri"] == MODEL.relative_to(Path.cwd()).as_posix()
        guid = place["logicalLocations"][0]["fullyQualifiedName"]
        assert f"'{guid}'" in lines[physical["region"]["startLine"] - 1]
    prints = [r["partialFingerprints"]["primaryLocationLineHash"] for r in run["results"]]
    assert len(set(prints)) == len(prints)


def test_junit_follows_its_schema_and_is_read_by_a_library(sample: Review) -> None:
    text = written(sample, "junit")
    xmlschema.XMLSchema(str(schema("junit-10.xsd"))).validate(text.decode())
    suites = list(JUnitXml.fromstring(text))
    of_rules = suites[1:]  # the first is the review itself
    told = len(sample.coverage) + len(sample.failures)
    assert sum(len(list(suite)) for suite in of_rules) == told


@pytest.mark.parametrize("verdict", list(Verdict))
@pytest.mark.parametrize("failed", [False, True])
def test_a_review_that_was_not_done_passes_in_no_format(verdict: Verdict, failed: bool) -> None:
    failures = (Failure("trial", "trial-rule", "ran out of ink"),) if failed else ()
    done = replace(
        samples.many(0), verdict=verdict, reason="No pipe is drawn.", findings=(), failures=failures
    )
    undone = ["No pipe is drawn."] if verdict is Verdict.NOT_REVIEWABLE else []
    undone += ["trial, trial-rule: ran out of ink"] if failed else []
    (run,) = json.loads(written(done, "sarif"))["runs"]
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is (not undone)
    told = [n["message"]["text"] for n in invocation["toolExecutionNotifications"]]
    assert told == undone
    assert [e["description"] for e in json.loads(written(done, "code-quality"))] == undone
    errors = [e.get("message") for e in ET.fromstring(written(done, "junit")).iter("error")]
    assert errors == [said.removeprefix("trial, trial-rule: ") for said in undone]


@pytest.mark.parametrize("passed", [True, False])
def test_junit_tells_whether_the_gate_lets_the_revision_pass(passed: bool) -> None:
    gate = Gate("new", False, "old.json", passed, "1 new correction")
    failures = ET.fromstring(written(replace(samples.many(0), gate=gate), "junit")).iter("failure")
    assert [f.get("message") for f in failures] == ([] if passed else ["1 new correction"])


def test_sarif_tells_buildings_of_one_commit_apart() -> None:
    named = replace(samples.many(0), job={"name": "North/house"})
    (run,) = json.loads(written(named, "sarif"))["runs"]
    assert run["automationDetails"]["id"] == f"{named.adopted_code.id}/North house/"
    files = " ".join(model.name for model in named.models)
    (run,) = json.loads(written(replace(named, job={}), "sarif"))["runs"]
    assert run["automationDetails"]["id"] == f"{named.adopted_code.id}/{files}/"


def test_junit_fails_where_a_rule_has_a_violation_and_nowhere_else(demo: Review) -> None:
    cases = ET.fromstring(written(demo, "junit")).iter("testcase")
    failed = {case.get("name") for case in cases if case.find("failure") is not None}
    assert failed == {f.rule for f in demo.findings if f.outcome is Outcome.VIOLATION}


@pytest.mark.parametrize(("count", "more"), [(1, ""), (2, ", and 1 more"), (3, ", and 2 more")])
def test_junit_tells_the_first_violation_of_a_rule_and_how_many_more(count: int, more: str) -> None:
    made = samples.many(3)
    (wrong,) = (f for f in made.findings if f.outcome is Outcome.VIOLATION)
    (rule,) = {c for c in made.coverage if c.rule == wrong.rule}
    found = tuple(replace(wrong, id=f"{wrong.rule}-{n}") for n in range(count))
    one = replace(made, findings=found, coverage=(replace(rule, pack=wrong.pack),))
    (failure,) = ET.fromstring(written(one, "junit")).iter("failure")
    message = failure.get("message") or ""
    assert message.endswith(more)
    assert ("more" in message) is bool(more)


def test_code_quality_has_an_entry_for_each_finding_that_is_no_question(demo: Review) -> None:
    entries = json.loads(written(demo, "code-quality"))
    told = [f for f in demo.findings if f.outcome is not Outcome.UNVERIFIED]
    assert {e["fingerprint"] for e in entries} == {f.id for f in told}
    assert {e["severity"] for e in entries} <= {"info", "minor", "major", "critical", "blocker"}
    assert all(e["location"]["lines"]["begin"] > 1 for e in entries)


@pytest.mark.parametrize(("name", "version"), [("bcf", "2.1"), ("bcf-3.0", "3.0")])
def test_bcf_follows_the_schemas_of_its_version(sample: Review, name: str, version: str) -> None:
    folder = f"bcf-{version}"
    markup = xmlschema.XMLSchema(str(schema(f"{folder}/markup.xsd")))
    visinfo = xmlschema.XMLSchema(str(schema(f"{folder}/visinfo.xsd")))
    stated = xmlschema.XMLSchema(str(schema(f"{folder}/version.xsd")))
    with zipfile.ZipFile(io.BytesIO(written(sample, name))) as archive:
        stated.validate(archive.read("bcf.version").decode())
        names = archive.namelist()
        if version == "3.0":
            extensions = xmlschema.XMLSchema(str(schema(f"{folder}/extensions.xsd")))
            extensions.validate(archive.read("extensions.xml").decode())
        for member in names:
            if member.endswith("markup.bcf"):
                markup.validate(archive.read(member).decode())
            if member.endswith(".bcfv"):
                visinfo.validate(archive.read(member).decode())
    assert len(names) == len(set(names))


def _topics(data: bytes) -> list[tuple[str, ET.Element, ET.Element]]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        guids = [n.partition("/")[0] for n in archive.namelist() if n.endswith("markup.bcf")]
        return [
            (
                guid,
                ET.fromstring(archive.read(f"{guid}/markup.bcf")),
                ET.fromstring(archive.read(f"{guid}/viewpoint.bcfv")),
            )
            for guid in guids
        ]


def test_bcf_has_a_topic_for_each_correction_with_its_elements_selected(demo: Review) -> None:
    topics = _topics(written(demo, "bcf"))
    corrections = [t for t in topics if t[1].find("Topic").get("TopicType") == "Correction"]  # type: ignore[union-attr]
    assert len(corrections) == len(demo.corrections)
    for (guid, markup, view), correction in zip(corrections, demo.corrections, strict=True):
        topic = markup.find("Topic")
        assert topic is not None
        assert topic.get("Guid") == guid
        assert topic.findtext("Title") == correction.title
        selected = [c.get("IfcGuid") for c in view.iter("Component")]
        assert selected == list(correction.element_ids)
        assert correction.element_ids[0] in (topic.findtext("Description") or "")
        viewpoint = markup.find("Viewpoints")
        assert viewpoint is not None
        assert viewpoint.get("Guid") == view.get("Guid")


def test_a_topic_keeps_its_guid_and_a_changed_viewpoint_gets_another(demo: Review) -> None:
    first = demo.corrections[0]
    moved = replace(first, location=replace(first.location, x=99.0))
    other = replace(demo, corrections=(moved, *demo.corrections[1:]))
    (guid, _, view), *_ = _topics(written(demo, "bcf"))
    (other_guid, _, other_view), *_ = _topics(written(other, "bcf"))
    assert guid == other_guid
    assert view.get("Guid") != other_view.get("Guid")


def test_the_picture_of_a_topic_bears_its_number(demo: Review) -> None:
    plan = next(p for p in demo.plans if p.pipes)
    assert ">17</text>" in picture(plan, *plan.pipes[0].a[:2], 17)
    assert picture(plan, 0.0, 0.0, 17) != picture(plan, 0.0, 0.0, 18)


def test_bcf_has_pictures_of_the_plan(demo: Review) -> None:
    pytest.importorskip("resvg_py", reason="pictures need the extra `pictures`")
    with zipfile.ZipFile(io.BytesIO(written(demo, "bcf"))) as archive:
        pictures = [archive.read(n) for n in archive.namelist() if n.endswith(".png")]
    assert len(pictures) >= len(demo.corrections)
    assert all(p.startswith(b"\x89PNG") for p in pictures)
    places = {(c.location.storey, c.location.x, c.location.y) for c in demo.corrections}
    assert len(set(pictures)) >= len(places)  # the number needs a font, which a machine may lack


@pytest.mark.parametrize("name", FILES)
def test_the_same_review_is_the_same_bytes(sample: Review, name: str) -> None:
    assert anew(sample, name) == written(sample, name)


def test_dates_are_those_of_the_model(demo: Review) -> None:
    (_, markup, _), *_ = _topics(written(demo, "bcf"))
    assert markup.findtext("Topic/CreationDate") == demo.models[0].date
    dateless = replace(demo, models=(replace(demo.models[0], date=""),))
    (_, markup, _), *_ = _topics(written(dateless, "bcf"))
    assert markup.findtext("Topic/CreationDate") == NO_DATE


def test_lines_count_from_one_and_the_first_that_names_the_element_wins(tmp_path: Path) -> None:
    guid, other = "0" * 22, "1" * 22
    path = tmp_path / "a.ifc"
    path.write_text(f"#1=A('{other}');\n#2=B('{guid}',\n$);\n#3=C('{guid}');\n", encoding="utf-8")
    found = sources([path], [guid, "2" * 22])
    assert found.of([guid]).line == 2
    assert found.of(["2" * 22]).line == 1
    assert other not in found.lines


def test_schedules_are_csv_that_no_spreadsheet_works_out() -> None:
    (first, *_) = samples.full().schedules
    rows = list(csv.reader(io.StringIO(csv_bytes(first).decode("utf-8-sig"))))
    assert len(rows) == 1 + len(first.rows)
    assert rows[0][-1] == "GlobalId"
    for text in ("=1+1", "+1", "-1", "@x", "\t=1"):
        assert not safe(text).lstrip().startswith(("=", "+", "-", "@"))
    assert safe(-1.5) == "-1.5"


def test_a_csv_counts_what_is_alike_and_keeps_every_globalid(demo: Review) -> None:
    (fixtures,) = [s for s in demo.schedules if s.key == "fixtures"]
    head, *rows = csv.reader(io.StringIO(csv_bytes(fixtures).decode("utf-8-sig")))
    assert head[:4] == ["Tag", "Fixture", "Count", "Trap (in)"]
    assert head[4:10] == [
        "Waste (in)", "Vent (in)", "Cold (in)", "Hot (in)", "Drainage (DFU)", "Water (WSFU)"
    ]  # fmt: skip
    assert sum(int(row[2]) for row in rows) == len(fixtures.rows)
    ids = [guid for row in rows for guid in row[-1].split()]
    assert sorted(ids) == sorted(str(row["element_id"]) for row in fixtures.rows)
    closets = [row for row in rows if row[1] == "water closet"]
    assert {row[3] for row in closets} == {"integral"}


def test_a_drain_that_is_corrected_has_the_size_needed(demo: Review) -> None:
    (drains,) = [s for s in demo.schedules if s.key == "drains"]
    needed = {row["drain"]: row["needed_in"] for row in drains.rows}
    assert needed["2 in closet branch, WC-1 vent down"] == 3
    assert needed["4 in building drain, closet WC-1 down"] == ""


def test_nothing_asked_is_nothing_written(demo: Review) -> None:
    made: list[Any] = also_written([], [MODEL])(demo)
    assert made == []


def test_a_camera_stands_six_metres_off_along_each_axis_to_the_south_west_and_above() -> None:
    root = ET.Element("VisualizationInfo")
    _camera(root, Location("", "", 20.0, -30.0, 4.0), "2.1")
    at, looks, up = ([float(axis.text or "") for axis in parent] for parent in list(root[0])[:3])
    assert at == [14.0, -36.0, 10.0]
    assert looks == pytest.approx([0.57735, 0.57735, -0.57735], abs=1e-4)
    assert up == pytest.approx([0.40825, 0.40825, 0.81650], abs=1e-4)
    assert root[0].findtext("FieldOfView") == "60"


def test_a_camera_stands_upright_and_looks_down_to_the_north_east(demo: Review) -> None:
    for _, _, view in _topics(written(demo, "bcf")):
        camera = view.find("PerspectiveCamera")
        assert camera is not None
        looks, up = ([float(axis.text or "") for axis in parent] for parent in list(camera)[1:3])
        for direction in (looks, up):
            assert sum(v * v for v in direction) == pytest.approx(1, abs=1e-3)
        assert sum(a * b for a, b in zip(looks, up, strict=True)) == pytest.approx(0, abs=1e-3)
        assert up[2] > 0 > looks[2]
        assert looks[0] == looks[1] > 0


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (39.9999, "40"), (-95.9998, "-96"), (41.4185, "41.42"), (0.1234567, "0.1235"),
        (143_500.4, "143500"), (1_234_567, "1234567"), (None, ""), (True, "yes"),
    ],
)  # fmt: skip
def test_numbers_of_a_schedule_are_as_the_page_has_them(value: object, cell: str) -> None:
    assert safe(value) == cell
