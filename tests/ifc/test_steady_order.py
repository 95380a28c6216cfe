"""Whatever numbers and lines a program gives its instances, and whichever file is named first: the
elements of a model stand in the order of their names, and a review of the same building says the
same, word for word."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.report.as_json import json_bytes
from ifclint.review import review
from tests.ifc.small_models import SmallModel

MODELS = Path(__file__).parents[2] / "models"
STRING = re.compile(r"('(?:[^']|'')*')")
REFERENCE = re.compile(r"#(\d+)")


def renumbered(text: str, seed: int) -> str:
    """The text with the numbers of its instances dealt out anew, and its lines in another order."""
    chance = random.Random(seed)
    head, data, rest = text.partition("DATA;\n")
    body, end, tail = rest.partition("ENDSEC;")
    numbers = re.findall(r"^#(\d+)\s*=", body, re.M)
    dealt = dict(zip(numbers, chance.sample(numbers, len(numbers)), strict=True))
    parts = STRING.split(body)
    parts[::2] = [REFERENCE.sub(lambda m: f"#{dealt[m[1]]}", part) for part in parts[::2]]
    lines = "".join(parts).splitlines(keepends=True)
    chance.shuffle(lines)
    return f"{head}{data}{''.join(lines)}{end}{tail}"


@pytest.mark.parametrize("name", ["dwelling_early", "restaurant_early"])
def test_another_numbering_changes_no_word(tmp_path: Path, name: str) -> None:
    model, job = MODELS / f"{name}.ifc", MODELS / f"{name}.toml"
    other = tmp_path / model.name
    other.write_text(renumbered(model.read_text(), 7))
    one, two = (json.loads(json_bytes(review([path], job))) for path in (model, other))
    assert one["network"] != {}
    one.pop("models"), two.pop("models")  # which have the digest of the file
    assert one == two


def test_elements_stand_in_the_order_of_the_numbers_in_their_names(tmp_path: Path) -> None:
    m = SmallModel("IFC4")
    for y, name in enumerate(("L-10", "WC-1", "L-2", "", "L-1")):
        m.pipe((0, y, 0), (1, y, 0), name=name)
    names = [element.name for element in read(m.write(tmp_path)).elements]
    assert names == ["", "L-1", "L-2", "L-10", "WC-1"]


def test_files_are_named_in_any_order(tmp_path: Path) -> None:
    first, second = SmallModel("IFC4", "MILLIMETRE"), SmallModel("IFC2X3", "FOOT")
    for n, m in enumerate([first, second, second, first]):
        m.pipe((n, 0, 0), (n + 1, 0, 0), name=f"P-{n}", storey=m is first)
    files = [first.write(tmp_path, "first.ifc"), second.write(tmp_path, "second.ifc")]
    one, other = read(files), read(files[::-1])
    assert [e.name for e in one.elements] == ["P-0", "P-1", "P-2", "P-3"]
    assert [e.name for e in other.elements] == ["P-0", "P-1", "P-2", "P-3"]
    assert one.joints == other.joints
    assert len(one.joints) == 3
    assert [e.storey for e in one.elements] == [e.storey for e in other.elements]


def test_architecture_and_plumbing_are_named_in_any_order() -> None:
    files = [MODELS / f"restaurant_{of}.ifc" for of in ("early", "architecture")]
    job = MODELS / "restaurant_early.toml"
    one, two = (json.loads(json_bytes(review(names, job))) for names in (files, files[::-1]))
    assert len(one.pop("models")) == 2
    two.pop("models")
    for element in (*one["elements"], *two["elements"]):
        element.pop("model", None)  # which counts the files
    assert one == two
