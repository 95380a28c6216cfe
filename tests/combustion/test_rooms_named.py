"""A room that the job file names must be one of the model: what it tells is never left aside."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.errors import InputError
from tests.ifc.small_models import SmallModel
from tests.reviewing import without_corrections

AIR = '[[combustion.rooms]]\nroom = "{room}"\nopen_to = ["{open_to}"]\nopenings = []\n'
USERS = '[fixtures.rooms]\n"{room}" = "men"\n'


def review(folder: Path, job: str, rooms: tuple[str, ...] = ("Mechanical Room", "Hall")):
    m = SmallModel()
    m.pipe((1, 1, 1), (2, 1, 1), name="2 in pipe")
    for n, name in enumerate(rooms):
        m.space(name, (5.0 * n, 0, 0), (5.0 * n + 4, 4, 3))
    path = folder / "job.toml"
    path.write_text('adopted_code = "upc-2021"\n' + job, encoding="utf-8")
    return without_corrections([m.write(folder)], path)


@pytest.mark.parametrize(
    ("job", "said"),
    [
        (AIR.format(room="Mechanical Rm", open_to="Hall"),
         r'combustion\.rooms\.room: .* no room "Mechanical Rm"; it has Mechanical Room, Hall\.'),
        (AIR.format(room="Hall", open_to="Hal"), r'combustion\.rooms\.open_to: .* "Hal"; it has'),
        (USERS.format(room="Restroom"), r'fixtures\.rooms: the model has no room "Restroom"'),
    ],
)  # fmt: skip
def test_a_room_that_the_model_does_not_have_is_refused(tmp_path: Path, job: str, said: str):
    with pytest.raises(InputError, match=said):
        review(tmp_path, job)


def test_a_file_without_rooms_is_reviewed_alone_and_that_is_noted(tmp_path: Path):
    done = review(tmp_path, USERS.format(room="Hall"), rooms=())
    said = 'Job file, fixtures.rooms: the model has no room "Hall", nor any other.'
    assert any(note.startswith(said) for note in done.network.notes)


def test_rooms_of_the_model_are_taken(tmp_path: Path):
    job = AIR.format(room="Mechanical Room", open_to="Hall") + USERS.format(room="Hall")
    assert review(tmp_path, job).failures == ()
