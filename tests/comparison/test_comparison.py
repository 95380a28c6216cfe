"""Revisions compared: what is the same is found again by GlobalId, tag or place."""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from ifclint.comparison import Comparison, State, compare
from ifclint.comparison.reading import read
from ifclint.comparison.writing import as_html, as_json, as_text
from ifclint.errors import InputError
from ifclint.report import write_reports
from ifclint.review import review
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"
Document = dict[str, Any]


@pytest.fixture(scope="module")
def early(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("early")
    write_reports(reviewed_demo("dwelling_early")[0], out)
    return out / "findings.json"


def _reviewed(model: Path, out: Path, code: str | None = None) -> Path:
    write_reports(review([model], MODELS / "dwelling_early.toml", code), out)
    return out / "findings.json"


def _renamed(model: Path, out: Path, with_tags: bool = True) -> Path:
    """The model as a program writes it that gives every object a GlobalId of its own."""
    text = model.read_text(encoding="utf-8")

    def other(match: re.Match[str]) -> str:
        digest = hashlib.sha256(match[1].encode()).hexdigest()
        return f"'{'0123'[int(digest[0], 16) % 4]}{digest[1:22]}'"

    path = out / model.name
    path.write_text(re.sub(r"'([0-3][0-9A-Za-z_$]{21})'", other, text), encoding="utf-8")
    return path


def _states(comparison: Comparison) -> Counter[State]:
    return Counter(change.state for change in comparison.corrections)


def test_a_review_compared_with_itself_has_every_correction_open(early: Path) -> None:
    document = json.loads(early.read_text(encoding="utf-8"))
    assert _states(compare(read(early), read(early))) == {State.OPEN: len(document["corrections"])}


def test_the_corrected_revision_has_every_correction_done(early: Path, tmp_path: Path) -> None:
    made = compare(read(early), read(_reviewed(MODELS / "dwelling_corrected.ifc", tmp_path)))
    assert set(_states(made)) == {State.CORRECTED, State.GONE}
    (gone,) = (c for c in made.corrections if c.state is State.GONE)
    assert "1-1/2 in vent, FD-1" in gone.why  # the stray pipe that was taken away


def test_going_back_raises_them_as_new(early: Path, tmp_path: Path) -> None:
    corrected = read(_reviewed(MODELS / "dwelling_corrected.ifc", tmp_path))
    assert set(_states(compare(corrected, read(early)))) == {State.NEW}


def test_new_global_ids_lose_no_finding(early: Path, tmp_path: Path) -> None:
    other = _reviewed(_renamed(MODELS / "dwelling_early.ifc", tmp_path), tmp_path)
    old, new = json.loads(early.read_bytes()), json.loads(other.read_bytes())
    assert not {e["guid"] for e in old["elements"]} & {e["guid"] for e in new["elements"]}
    assert _states(compare(read(early), read(other))) == {State.OPEN: len(old["corrections"])}


def _document(early: Path) -> Document:
    return json.loads(early.read_text(encoding="utf-8"))  # type: ignore[no-any-return]


def _changed(early: Path, out: Path, change: Callable[[Document], None]) -> Path:
    document = _document(early)
    change(document)
    path = out / "changed.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def test_what_is_open_has_the_title_it_has_now(early: Path, tmp_path: Path) -> None:
    def change(document: Document) -> None:
        document["corrections"][0]["title"] = "Less is left to do."

    made = compare(read(early), read(_changed(early, tmp_path, change)))
    assert made.corrections[0].title == "Less is left to do."


@pytest.mark.parametrize("x", ["a", float("nan"), float("inf")])
def test_a_place_that_is_no_number_is_refused(early: Path, tmp_path: Path, x: object) -> None:
    def change(document: Document) -> None:
        document["findings"][0]["location"] |= {"x": x, "y": 0, "z": 0}
        document["elements"][0]["location"] |= {"x": x, "y": 0, "z": 0}

    with pytest.raises(InputError, match="not a whole findings"):
        read(_changed(early, tmp_path, change))


def _without_identity(document: Document) -> None:
    """Neither GlobalIds nor tags stay; all stands 50 mm to the side."""
    new = {e["guid"]: f"{n:022d}" for n, e in enumerate(document["elements"])}
    for element in document["elements"]:
        element["guid"], element["tag"] = new[element["guid"]], ""
        if element["location"]["x"] is not None:
            element["location"]["x"] += 0.05
    for finding in document["findings"]:
        finding["id"] = f"other-{finding['id']}"
        finding["element_ids"] = [new[guid] for guid in finding["element_ids"]]
    for correction in document["corrections"]:
        correction["finding_ids"] = [f"other-{id_}" for id_ in correction["finding_ids"]]


def _renumbered(document: Document) -> None:
    """All GlobalIds are others, and each element has the tag that the second after it had."""
    tags = [f"{n:06d}" for n in range(len(document["elements"]) + 2)]
    _without_identity(document)
    for n, element in enumerate(document["elements"]):
        element["tag"] = tags[n + 2]
        if element["location"]["x"] is not None:
            element["location"]["x"] -= 0.05


def test_running_numbers_do_not_tell_what_stands_in_its_place(early: Path, tmp_path: Path) -> None:
    def numbered(document: Document) -> None:
        for n, element in enumerate(document["elements"]):
            element["tag"] = f"{n:06d}"

    old = _changed(early, tmp_path, numbered)
    (tmp_path / "new").mkdir()
    made = compare(read(old), read(_changed(early, tmp_path / "new", _renumbered)))
    states = _states(made)
    assert states[State.OPEN] > 0.9 * sum(states.values())
    assert states[State.OPEN] + states[State.AMBIGUOUS] == sum(states.values())


def test_without_global_ids_and_tags_the_nearest_place_tells(early: Path, tmp_path: Path) -> None:
    made = compare(read(early), read(_changed(early, tmp_path, _without_identity)))
    states = _states(made)
    assert states[State.OPEN] + states[State.AMBIGUOUS] == sum(states.values())
    assert states[State.OPEN] > 0.9 * sum(states.values())


def test_what_has_moved_with_its_element_is_said(early: Path, tmp_path: Path) -> None:
    def move(document: Document) -> None:
        for one in (*document["findings"], *document["elements"]):
            if one["location"]["y"] is not None:
                one["location"]["y"] += 0.3

    made = compare(read(early), read(_changed(early, tmp_path, move)))
    assert set(_states(made)) == {State.MOVED}
    assert all(change.why == "1 ft 0 in away" for change in made.corrections)


@pytest.mark.parametrize("metres", [0.05, 0.1])
def test_as_little_as_drawing_costs_is_no_move(early: Path, tmp_path: Path, metres: float) -> None:
    def move(document: Document) -> None:
        for finding in document["findings"]:
            if finding["location"]["y"] is not None:
                finding["location"]["y"] += metres - 1e-9

    made = compare(read(early), read(_changed(early, tmp_path, move)))
    assert set(_states(made)) == {State.OPEN}


def _drop(document: Document, rule: str) -> None:
    document["findings"] = [f for f in document["findings"] if f["rule"] != rule]


def test_a_rule_that_failed_or_was_not_asked_corrects_nothing(early: Path, tmp_path: Path) -> None:
    def fail(document: Document) -> None:
        _drop(document, "gas-pipe-size")
        document["coverage"] = [c for c in document["coverage"] if c["rule"] != "gas-pipe-size"]
        document["failures"].append({"pack": "gas", "rule": "gas-pipe-size", "reason": "x"})

    made = compare(read(early), read(_changed(early, tmp_path, fail)))
    (one,) = (c for c in made.corrections if c.state is not State.OPEN)
    assert (one.state, one.why) == (State.NOT_CHECKABLE, "rule gas-pipe-size failed")


def test_a_violation_that_became_a_question_is_not_corrected(early: Path, tmp_path: Path) -> None:
    def ask(document: Document) -> None:
        for finding in document["findings"]:
            if finding["rule"] == "gas-pipe-size":
                finding["outcome"], finding["message"] = "unverified", "Its size is not known."

    made = compare(read(early), read(_changed(early, tmp_path, ask)))
    (one,) = (c for c in made.corrections if c.state is not State.OPEN)
    assert (one.state, one.why) == (State.NOT_CHECKABLE, "Its size is not known.")


def test_a_violation_that_a_variance_accepts_now_is_told_so(early: Path, tmp_path: Path) -> None:
    def accept(document: Document) -> None:
        document["job"]["variances"] = [{"finding": "gas-pipe-size"}]
        for finding in document["findings"]:
            if finding["rule"] == "gas-pipe-size":
                finding["variance"] = {"reason": "a larger meter is ordered"}

    made = compare(read(early), read(_changed(early, tmp_path, accept)))
    (one,) = (c for c in made.corrections if c.state is not State.OPEN)
    assert (one.state, made.notes) == (State.ACCEPTED, ())
    back = compare(read(_changed(early, tmp_path, accept)), read(early))
    assert State.NEW in {change.state for change in back.findings}


@pytest.mark.parametrize(
    ("change", "note"),
    [
        (lambda d: d["adopted_code"].update(id="ipc-2021"), "The adopted code was upc-2021"),
        (lambda d: d["job"]["water"].update(static_pressure="50 psi"), "water.static_pressure"),
    ],
)
def test_another_code_or_job_corrects_nothing(
    early: Path, tmp_path: Path, change: Callable[[Document], None], note: str
) -> None:
    def clear(document: Document) -> None:
        change(document)
        document["findings"], document["corrections"] = [], []

    made = compare(read(early), read(_changed(early, tmp_path, clear)))
    assert set(_states(made)) == {State.NOT_CHECKABLE}
    assert note in made.notes[0]


def test_bad_input_is_one_sentence(early: Path, tmp_path: Path) -> None:
    def of_version(document: Document) -> None:
        document["schema_version"] = "0"

    with pytest.raises(InputError, match=r"version 0\); review that model again"):
        read(_changed(early, tmp_path, of_version))
    with pytest.raises(InputError, match="not a whole findings"):
        read(_changed(early, tmp_path, lambda d: d.pop("elements")))
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path / "none.json")
    (tmp_path / "text.json").write_text("[" * 100_000)
    with pytest.raises(InputError, match="is not JSON"):
        read(tmp_path / "text.json")


def test_another_building_is_refused(early: Path, tmp_path: Path) -> None:
    def elsewhere(document: Document) -> None:
        _without_identity(document)
        for element in document["elements"]:
            element["location"]["z"] = 500.0

    with pytest.raises(InputError, match="no element in common"):
        compare(read(early), read(_changed(early, tmp_path, elsewhere)))


def _place_kept(document: Document, count: int) -> None:
    """Only so many elements are where they were; no GlobalId and no tag is left."""
    _without_identity(document)
    for element in document["elements"][count:]:
        element["location"]["z"] = 500.0


@pytest.mark.parametrize(("share", "one_building"), [(0.08, False), (0.12, True)])
def test_a_few_elements_in_one_place_by_chance_make_no_revision(
    early: Path, tmp_path: Path, share: float, one_building: bool
) -> None:
    placed = [
        one
        for one in json.loads(early.read_bytes())["elements"]
        if one["location"]["z"] is not None
    ]
    count = int(share * len(placed))
    other = read(_changed(early, tmp_path, lambda document: _place_kept(document, count)))
    if one_building:
        assert compare(read(early), other).findings
    else:
        with pytest.raises(InputError, match=r"elements? in common"):
            compare(read(early), other)


def test_one_global_id_in_both_tells_one_building(early: Path, tmp_path: Path) -> None:
    def all_but_one_elsewhere(document: Document) -> None:
        first = document["elements"][0]
        kept = first["guid"]
        _place_kept(document, 0)
        first["guid"] = kept

    assert compare(read(early), read(_changed(early, tmp_path, all_but_one_elsewhere))).findings


def test_two_that_fit_alike_are_called_so(early: Path, tmp_path: Path) -> None:
    def twice(document: Document) -> None:
        _without_identity(document)
        document["elements"] += [
            {**element, "guid": f"9{element['guid'][1:]}"} for element in document["elements"]
        ]

    made = compare(read(early), read(_changed(early, tmp_path, twice)))
    assert set(_states(made)) == {State.AMBIGUOUS}


def test_corrections_of_one_title_are_told_apart_by_what_they_are_of(
    early: Path, tmp_path: Path
) -> None:
    def alike(document: Document) -> None:
        for n, one in enumerate(document["corrections"]):
            # what is reviewed again has its subject in its title
            again = {"raises": []} if n < 2 else None
            one |= {"title": "Cap it.", "subject": f"vent {n}", "near": f"sink {n}"}
            one["reviewed_again"] = again

    path = _changed(early, tmp_path, alike)
    made = compare(read(path), read(path))
    told = [c.about for c in made.corrections]
    assert len(told) > 3
    assert told == ["", "", *(f"vent {n}" for n in range(2, len(told)))]
    flat = " ".join(as_text(made).split())
    assert "Cap it. (vent 2; " in flat
    assert "near sink 2" in flat
    assert "<td>vent 2; " in as_html(made)


def test_written_as_text_json_and_page(early: Path, tmp_path: Path) -> None:
    def hostile(document: Document) -> None:
        document["findings"] = document["corrections"] = []
        document["models"][0]["name"] = "<script>alert(1)</script>"

    made = compare(read(early), read(_changed(early, tmp_path, hostile)))
    assert max(map(len, as_text(made).splitlines()[2:])) <= 80
    written = json.loads(as_json(made))
    assert {c["state"] for c in written["corrections"]} == {"corrected"}
    page = as_html(made)
    assert "<script" not in page
    assert page.count("<tr>") == 2 + len(made.findings) + len(made.corrections)
