"""Whatever numbers and lines a program gives its instances: the elements of a file stand in the
order of their names, and a review of the same building says the same, word for word."""

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
    for name in ("L-10", "WC-1", "L-2", "", "L-1"):
        m.pipe((0, 0, len(name)), (1, 0, len(name)), name=name)
    names = [element.name for element in read(m.write(tmp_path)).elements]
    assert names == ["", "L-1", "L-2", "L-10", "WC-1"]
