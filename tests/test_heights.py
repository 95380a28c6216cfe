"""Heights of the job file as drawings count them, in a model that lies as high as its site."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ifclint.job import Job, in_model_heights
from ifclint.report.as_json import to_dict
from ifclint.review import review

FT = 0.3048
RESTAURANT = Path(__file__).parent.parent / "models" / "restaurant_early.ifc"


def job(**building: float) -> Job:
    return Job(building={"grade_elevation": f"{building['grade']} ft"})


@pytest.mark.parametrize(
    ("zero", "floor", "grade", "expected"),
    [
        (0, 0, -0.5, -0.5),  # the model lies where drawings have it
        (31, 31, -0.5, 30.5),  # the site lies 31 ft high, and the job file counts from the floor
        (31, 31, 30.5, 30.5),  # or from where the site's heights do
        (31, 21, -10.5, 20.5),  # with a basement
        (-3, -3, -0.5, -3.5),
        (0.9, 0.9, 0.0, 0.0),  # so little is none
    ],
)
def test_the_nearer_of_both_is_meant(zero: float, floor: float, grade: float, expected: float):
    found, keys = in_model_heights(job(grade=grade), zero * FT, floor * FT)
    assert found.building.grade_elevation == pytest.approx(expected * FT)
    assert keys == ([] if expected == grade else ["building.grade_elevation"])


def test_other_lengths_and_what_is_not_given_stay() -> None:
    given = Job(water={"main_elevation": "-4 ft"}, reading={"joining_tolerance": "10 mm"})
    found, keys = in_model_heights(given, 31 * FT, 31 * FT)
    assert found.water.main_elevation == pytest.approx(27 * FT)
    assert found.reading == given.reading
    assert found.building.grade_elevation is None
    assert keys == ["water.main_elevation"]


def test_a_building_placed_as_high_as_its_site_is_judged_alike(tmp_path: Path) -> None:
    text = RESTAURANT.read_text()
    start = text.index("DATA;") + len("DATA;\n")
    raised = (
        "#900001=IFCCARTESIANPOINT((0.,0.,31.));\n#900004=IFCAXIS2PLACEMENT3D(#900001,$,$);\n"
        "#900005=IFCLOCALPLACEMENT($,#900004);\n"
    )
    rest = text[start:].replace("IFCLOCALPLACEMENT($,", "IFCLOCALPLACEMENT(#900005,")
    high = tmp_path / RESTAURANT.name
    high.write_text(text[:start] + raised + rest)
    with_ground = tmp_path / "job.toml"
    given = RESTAURANT.with_suffix(".toml").read_text()
    assert "[building]" in given
    with_ground.write_text(given.replace("[building]", '[building]\ngrade_elevation = "-0.5 ft"'))

    def said(path: Path) -> list[tuple[str, ...]]:
        found = to_dict(review([path], with_ground))["findings"]
        words = ("id", "outcome", "message", "remedy")
        return [tuple(re.sub(r"z -?[\d.]+ m", "z", f[w]) for w in words) for f in found]

    assert said(high) == said(RESTAURANT)
