"""A file whose lengths are in another unit than it says is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from tests.ifc.small_models import SmallModel

OUTSIDE_M = {"1-1/2": 0.0483, "2": 0.0603, "2-1/2": 0.073, "3": 0.0889, "4": 0.1143, "6": 0.1683}


def _written(folder: Path, factor: float, named: bool = True, right: int = 0) -> Path:
    """Pipes in metres, all but some of them so many times as large as they are named."""
    m = SmallModel()
    for n, (size, outside) in enumerate(OUTSIDE_M.items()):
        by = 1.0 if n < right else factor
        name = f"Pipe {size} in" if named else f"Pipe {'ABCDEF'[n]}"
        m.pipe((0, n * by, 0), (3 * by, n * by, 0), diameter=outside * by, name=name)
    return m.write(folder)


@pytest.mark.parametrize(
    ("factor", "unit"), [(1 / 0.3048, "feet"), (1 / 0.0254, "inches"), (1000.0, "millimetres")]
)
def test_names_tell_the_unit_that_was_meant(tmp_path: Path, factor: float, unit: str) -> None:
    with pytest.raises(InputError, match=f"are in metres, but .* if its lengths are in {unit}:"):
        read([_written(tmp_path, factor)])


def _stating(folder: Path, pipes: int, long: float, wide: float) -> Path:
    """Pipes without shapes, so long and as wide as their properties state."""
    m = SmallModel()
    for n in range(pipes):
        pipe = m.pipe((0, n * long / 9, 0), (long, n * long / 9, 0), shaped=False, name="Pipe")
        m.ports(pipe, (0, n * long / 9, 0), (long, n * long / 9, 0))
        size = {"NominalDiameter": ("IfcPositiveLengthMeasure", wide * (1 + n / 4))}
        m.properties(pipe, "Pset_PipeSegmentTypeCommon", **size)
    return m.write(folder)


@pytest.mark.parametrize(
    ("pipes", "long", "wide", "refused"),
    [
        (3, 0.003, 0.00004, True),
        (3, 0.49, 0.00004, True),
        (3, 0.51, 0.00004, False),  # the sizes alone are in another unit
        (2, 0.003, 0.00004, False),
        (3, 0.003, 0.04, False),  # a short piece of work
        (3, 3000.0, 40.0, True),
        (3, 499.0, 40.0, False),
        (3, 3000.0, 0.04, False),  # a long sewer
    ],
)
def test_sizes_and_lengths_that_no_building_has_are_of_another_unit(
    tmp_path: Path, pipes: int, long: float, wide: float, refused: bool
) -> None:
    path = _stating(tmp_path, pipes, long, wide)
    if refused:
        with pytest.raises(InputError, match=r"are in metres, but .* m wide and all of it is .* m"):
            read([path])
    else:
        assert read([path]).elements


@pytest.mark.parametrize(
    ("prefix", "why"), [("MICRO", "m wide, as none are"), ("DECI", "are in millimetres")]
)
def test_a_unit_that_nobody_draws_in_is_no_excuse(tmp_path: Path, prefix: str, why: str) -> None:
    path = _with_unit(_written(tmp_path, 1000.0), f"IFCSIUNIT(*,.LENGTHUNIT.,.{prefix}.,.METRE.)")
    with pytest.raises(InputError, match=f"are in units of .* m, but .* {why}:"):
        read([path])


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("IFCSIUNIT(*,.LENGTHUNIT.,$,.GRAM.)", r"cannot be understood \(#\d+; metres were taken\)"),
        ("IFCSIUNIT(*,.TIMEUNIT.,$,.SECOND.)", r"names no unit of length \(metres were taken\)"),
    ],
)
def test_what_the_file_says_of_its_unit_is_told_as_it_is(
    tmp_path: Path, unit: str, said: str
) -> None:
    with pytest.raises(InputError, match=f"{said}, but .* are in millimetres:"):
        read([_with_unit(_written(tmp_path, 1000.0), unit)])


def _with_unit(path: Path, unit: str) -> Path:
    """The file with another statement of its unit of length, its numbers as they are."""
    written, count = re.subn(r"IFCSIUNIT\([^)]*LENGTHUNIT[^)]*\)", unit, path.read_text())
    assert count == 1
    path.write_text(written)
    return path


@pytest.mark.parametrize(("factor", "right"), [(1.0, 0), (1 / 0.3048, 1), (1.5, 0)])
def test_what_is_as_large_as_it_is_named_or_no_unit_explains_is_read(
    tmp_path: Path, factor: float, right: int
) -> None:
    assert len(read([_written(tmp_path, factor, right=right)]).elements) == len(OUTSIDE_M)


@pytest.mark.parametrize("factor", [1 / 0.0254, 1000.0, 0.01])
def test_pipe_as_no_building_has_it_is_told_without_names(tmp_path: Path, factor: float) -> None:
    with pytest.raises(InputError, match="m wide, as none are"):
        read([_written(tmp_path, factor, named=False)])


@pytest.mark.parametrize("right", [0, 1])
def test_pipe_as_a_building_may_have_it_is_read(tmp_path: Path, right: int) -> None:
    factor = 1.0 if not right else 1000.0
    assert read([_written(tmp_path, factor, named=False, right=right)]).elements


@pytest.mark.parametrize(("per_m", "is_refused"), [(1.0, False), (1 / 0.3048, True)])
def test_stated_sizes_tell_where_the_bodies_are_of_them(
    tmp_path: Path, per_m: float, is_refused: bool
) -> None:
    """Bodies without a size in their names, and fittings without a body that have one. Where the
    stated sizes alone are in another unit, the bodies are right."""
    m = SmallModel()
    for n, (size, outside) in enumerate(OUTSIDE_M.items()):
        body = outside * (per_m if is_refused else 1.0)
        pipe = m.pipe((0, n, 0), (3, n, 0), diameter=body, name=f"Pipe {'ABCDEF'[n]}")
        elbow = m.element(
            "IfcPipeFitting", f"Elbow {size} in", predefined="BEND", at=m.placement((3, n, 0))
        )
        for element in (pipe, elbow):
            nominal = _in_inches(size) * 0.0254 / 0.3048
            measure = m.single("NominalDiameter", "IfcPositiveLengthMeasure", nominal)
            m.property_set(element, "Pset_PipeSegmentTypeCommon", [measure])
    path = m.write(tmp_path)
    if is_refused:
        with pytest.raises(InputError, match="if its lengths are in feet"):
            read([path])
    else:
        assert read([path]).elements


def _in_inches(size: str) -> float:
    whole, _, part = size.partition("-")
    return float(whole) + (0.5 if part else 0.0)
