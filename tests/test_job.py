"""The job file: units, unknown keys and wrong values are refused with their key."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import job
from ifclint.errors import InputError


def _load(tmp_path: Path, text: str) -> job.Job:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return job.load(path)[0]


def test_quantities_become_si(tmp_path: Path) -> None:
    """65 psi = 448159 Pa and 0.5 inH2O = 124.5 Pa by the NIST SP 811 conversion factors."""
    read = _load(
        tmp_path,
        '[water]\nstatic_pressure = "65 psi"\nmain_elevation = "-4 ft"\n'
        'flow_at_residual = "25 gpm"\n'
        '[gas]\nallowed_drop = "0.5 inH2O"\nheating_value = "1000 Btu/ft**3"\n',
    )
    assert read.water.static_pressure == pytest.approx(448159, rel=1e-4)
    assert read.water.main_elevation == pytest.approx(-1.2192)
    assert read.water.flow_at_residual == pytest.approx(25 * 6.30902e-5, rel=1e-5)
    assert read.gas.allowed_drop == pytest.approx(124.5, rel=1e-3)
    assert read.gas.heating_value == pytest.approx(3.7259e7, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[water]\nstatic_pressure = "65 ft"\n', "water.static_pressure"),
        ("[water]\nstatic_pressure = 65\n", "with a unit"),
        ('[water]\nstatic_pressure = "sixty psi"\n', "water.static_pressure"),
        ('[water]\nstatic_pressure = "nan psi"\n', "water.static_pressure"),
        ('[water]\nstatic_presure = "65 psi"\n', 'did you mean "static_pressure"?'),
        ("[plumbing]\n", "known here: name, address, adopted_code"),
        ('[building]\noccupancy = "shop"\n', "building.occupancy"),
        ("[gas]\nspecific_gravity = -1\n", "gas.specific_gravity"),
        ('[reading]\njoining_tolerance = "3 ft"\n', "reading.joining_tolerance"),
        ("name = \n", "not valid TOML"),
    ],
)
def test_what_is_wrong_is_named_in_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        _load(tmp_path, text)
    message = str(refused.value)
    assert said in message
    assert "job.toml" in message
    assert "\n" not in message


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere\.toml does not exist"):
        job.load(tmp_path / "nowhere.toml")


class Lining(job.Section):
    least_thickness: job.LengthM | None = None
    makers: tuple[str, ...] = ()


def _with_lining(tmp_path: Path, text: str) -> job.Job:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return job.load(path, {"lining": Lining})[0]


def test_a_section_of_a_rule_pack_is_checked_as_ours_are(tmp_path: Path) -> None:
    read = _with_lining(tmp_path, '[lining]\nleast_thickness = "0.25 in"\n')
    assert read.section(Lining).least_thickness == pytest.approx(0.00635)
    assert _with_lining(tmp_path, 'name = "x"').section(Lining) == Lining()
    assert job.Job().section(Lining) == Lining()
    with pytest.raises(InputError, match=r'lining.leest_thickness .* did you mean "least_thick'):
        _with_lining(tmp_path, '[lining]\nleest_thickness = "1 in"\n')
    with pytest.raises(InputError, match=r"lining.least_thickness: .*not such a quantity"):
        _with_lining(tmp_path, '[lining]\nleast_thickness = "1 psi"\n')


def test_a_section_that_nobody_reads_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"If a rule pack reads \[lining\], it is not installed"):
        _load(tmp_path, '[lining]\nleast_thickness = "1 in"\n')


def test_a_section_name_is_taken_once() -> None:
    with pytest.raises(ValueError, match="section water already"):
        job.job_with({"water": Lining})


@pytest.mark.parametrize(
    "text",
    [
        '[water]\nstatic_pressure = "9**9**9 psi"\n',
        '[water]\nstatic_pressure = "1 psi**9**9**9"\n',
        '[water]\nstatic_pressure = "1 psi**99"\n',
        f'[water]\nstatic_pressure = "1 {"x" * 100}"\n',
        f"name = {'[' * 900}",
        f"name = {'9' * 5000}",
        'jurisdiction = "city\\u0000.toml"\n',
        'jurisdiction = "/dev/zero"\n',
        f'name = "{"x" * 1_000_001}"\n',
    ],
    ids=[
        "power",
        "power of a unit",
        "high power",
        "long",
        "deep",
        "digits",
        "nul",
        "device",
        "big",
    ],
)
def test_what_no_job_file_holds_is_refused_at_once(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError) as refused:
        _load(tmp_path, text)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 1000
