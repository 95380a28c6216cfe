"""Zipped models: read where there is one, and refused in one sentence where not; never followed."""

from __future__ import annotations

import stat
import tempfile
import tracemalloc
import zipfile
from pathlib import Path

import pytest

import ifclint.ifc.step.opening as opening
from ifclint.errors import InputError
from ifclint.ifc import read
from tests.ifc.small_models import SmallModel

MODEL = "model.ifc"
MIB = 1024**2


@pytest.fixture
def model(tmp_path) -> Path:
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe one")
    return m.write(tmp_path)


def zipped(folder: Path, *members: tuple[str | zipfile.ZipInfo, bytes]) -> Path:
    path = folder / "given.ifczip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data, zipfile.ZIP_DEFLATED)
    return path


def message_of(path: Path) -> str:
    with pytest.raises(InputError) as error:
        read(path)
    message = str(error.value)
    assert message.isprintable()
    assert message.endswith(".")
    assert str(path) in message
    return message


def names(path: Path) -> list[str]:
    return [e.name for e in read(path).elements]


@pytest.mark.parametrize(
    "name",
    ["../../outside.ifc", "/outside.ifc", "C:\\outside.ifc", "..\\..\\outside.ifc", "a/b/c.IFC",
     "Modèle.ifc", "two\nlines.ifc"],
)  # fmt: skip
def test_names_inside_are_not_followed(tmp_path, model, name, monkeypatch):
    (tmp_path / "deep" / "down").mkdir(parents=True)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "deep" / "down"))
    path = zipped(tmp_path, (name, model.read_bytes()), ("readme.txt", b"hello"))
    before = set(tmp_path.rglob("*"))
    assert names(path) == ["Pipe one"]
    assert set(tmp_path.rglob("*")) == before
    assert not Path("/outside.ifc").exists()


def test_folders_and_hidden_twins_are_no_models(tmp_path, model):
    path = zipped(
        tmp_path, ("folder.ifc/", b""), ("folder.ifc/model.ifc", model.read_bytes()),
        ("__MACOSX/folder.ifc/._model.ifc", b"\0\5\26\7"),
    )  # fmt: skip
    assert names(path) == ["Pipe one"]


def test_a_link_inside_is_not_followed(tmp_path, model):
    link = zipfile.ZipInfo(MODEL)
    link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
    assert "is not an IFC file" in message_of(zipped(tmp_path, (link, bytes(model))))


def test_none_two_and_an_empty_one(tmp_path, model):
    assert "holds 0 .ifc files" in message_of(zipped(tmp_path))
    assert "holds 0 .ifc files" in message_of(zipped(tmp_path, ("a.txt", b"a")))
    data = model.read_bytes()
    assert "holds 2 .ifc files" in message_of(zipped(tmp_path, ("a.ifc", data), ("b.IFC", data)))
    assert "holds an empty .ifc file" in message_of(zipped(tmp_path, (MODEL, b"")))


def test_a_zip_in_a_zip(tmp_path, model):
    inner = zipped(tmp_path, (MODEL, model.read_bytes())).read_bytes()
    assert "is not an IFC file" in message_of(zipped(tmp_path, (MODEL, inner)))


def test_a_password_is_asked_to_be_left_out(tmp_path, model):
    path = zipped(tmp_path, (MODEL, model.read_bytes()))
    data = bytearray(path.read_bytes())
    for sign, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(sign) + flags] |= 1  # encrypted
    path.write_bytes(data)
    assert "without a password" in message_of(path)


@pytest.mark.parametrize("at", [0.3, 0.5, 0.9], ids=["data", "more data", "directory"])
@pytest.mark.parametrize("damage", ["flipped", "cut"])
def test_damage(tmp_path, model, at, damage):
    path = zipped(tmp_path, (MODEL, model.read_bytes()))
    data = bytearray(path.read_bytes())
    place = int(len(data) * at)
    if damage == "cut":
        del data[place:]
    else:
        data[place : place + 40] = bytes(255 - b for b in data[place : place + 40])
    path.write_bytes(data)
    said = message_of(path)
    assert "cannot be unzipped" in said or "holds 0 .ifc files" in said


def test_an_unknown_way_to_compress(tmp_path, model):
    path = zipped(tmp_path, (MODEL, model.read_bytes()))
    data = bytearray(path.read_bytes())
    for sign, method in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        data[data.index(sign) + method] = 77
    path.write_bytes(data)
    assert "cannot be unzipped" in message_of(path)


def peak_of_refusal(path: Path) -> tuple[str, float]:
    """What is said, and the memory (MiB) it takes to say it."""
    tracemalloc.start()
    try:
        said = message_of(path)
        return said, tracemalloc.get_traced_memory()[1] / MIB
    finally:
        tracemalloc.stop()


def bomb(folder: Path, size: int) -> Path:
    return zipped(folder, (MODEL, b"ISO-10303-21;" + bytes(size)))


def test_a_bomb_is_refused_by_its_ratio_in_little_memory(tmp_path):
    path = bomb(tmp_path, 100 * MIB)
    assert path.stat().st_size < MIB
    said, peak = peak_of_refusal(path)
    assert "unzips to more than 64 MB" in said
    assert peak < 8


def test_a_bomb_that_lies_about_its_size_is_refused_too(tmp_path):
    path = bomb(tmp_path, 100 * MIB)
    data = path.read_bytes()
    told = (100 * MIB + 13).to_bytes(4, "little")
    assert data.count(told) == 2
    path.write_bytes(data.replace(told, (1000).to_bytes(4, "little")))
    said, peak = peak_of_refusal(path)
    assert "cannot be unzipped" in said or "unzips to more than" in said
    assert peak < 8


def test_a_bomb_beside_other_data_is_judged_by_its_own_size(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "ALWAYS_UNZIPPED", MIB)
    noise = b"".join(i.to_bytes(3, "big") for i in range(MIB))
    path = zipped(tmp_path, (MODEL, b"ISO-10303-21;" + bytes(20 * MIB)), ("photo.jpg", noise))
    assert path.stat().st_size * opening.LARGEST_RATIO > 20 * MIB
    assert "unzips to more than" in message_of(path)


def test_no_file_is_larger_than_the_limit(tmp_path, model, monkeypatch):
    monkeypatch.setattr(opening, "LARGEST_UNZIPPED", model.stat().st_size - 1)
    assert "unzips to more than" in message_of(zipped(tmp_path, (MODEL, model.read_bytes())))
    monkeypatch.setattr(opening, "LARGEST_UNZIPPED", model.stat().st_size)
    assert names(zipped(tmp_path, (MODEL, model.read_bytes()))) == ["Pipe one"]


def test_a_model_that_compresses_well_is_read(tmp_path, model):
    """The same long name ten thousand times: a ratio beyond any bomb's, but small."""
    text = model.read_text().replace("'Pipe one'", "'" + "x" * 3_000_000 + "'")
    path = zipped(tmp_path, (MODEL, text.encode()))
    assert len(text) / path.stat().st_size > opening.LARGEST_RATIO
    assert len(names(path)) == 1
