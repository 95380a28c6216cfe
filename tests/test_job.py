"""The job file: units, unknown keys and wrong values are refused with their key."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ifclint import job
from ifclint.errors import InputError
from ifclint.job.quantities import USUAL, quantity
from ifclint.job.reading import MAX_BYTES, MAX_DEPTH
from tests.effort import effort


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


@pytest.mark.parametrize(("si_unit", "units"), USUAL.items())
def test_usual_units_are_those_of_pint(si_unit: str, units: dict[str, float]) -> None:
    import pint

    registry = pint.UnitRegistry()
    registry.define("gpm = gallon / minute")
    for unit, factor in units.items():
        assert registry.Quantity(3.0, unit).to(si_unit).magnitude == pytest.approx(
            3.0 * factor, rel=1e-14
        )
        assert quantity(si_unit, "")(f"3 {unit}") == 3.0 * factor


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[water]\nstatic_pressure = "65 ft"\n', "water.static_pressure"),
        ("[water]\nstatic_pressure = 65\n", "with a unit"),
        ('[water]\nstatic_pressure = "sixty psi"\n', "water.static_pressure"),
        ('[water]\nstatic_pressure = "nan psi"\n', "water.static_pressure"),
        ('[water]\nstatic_presure = "65 psi"\n', 'did you mean "static_pressure"?'),
        ("plumbing = 3\n", "known here: name, address, adopted_code"),
        ("[plumbing]\n", "[plumbing] is no section of the job file; known here: amendments, "),
        ("[[plumbing]]\n", "If a rule pack reads [plumbing], it is not installed."),
        ("[watr]\n", 'did you mean "water"?'),
        ('[[gas.loads]]\nelement = "a"\ninput = "1 W"\ninputs = 2\n', 'did you mean "input"?'),
        ('"new\\nline" = 1\n', "new line is not a key"),
        ('[building]\noccupancy = "shop"\n', "building.occupancy"),
        ("[gas]\nspecific_gravity = -1\n", "gas.specific_gravity"),
        ('[reading]\njoining_tolerance = "3 ft"\n', "reading.joining_tolerance"),
        ("name = \n", "not valid TOML"),
        ('out_of_scope = "gas"\n', 'write a list, in brackets: out_of_scope = ["gas"].'),
        ('[drainage]\noutlets = "1a"\n', "drainage.outlets: write a list, in brackets: outlets"),
        ('[variances]\nrule = "x"\n', "write it in double brackets, [[variances]], once for"),
        ('[gas.loads]\nelement = "a"\n', "write it in double brackets, [[gas.loads]], once for"),
        ('[reading]\njoining_tolerance = "5 ft"\n', '"5 ft" is out of bounds: write 1.64 ft or'),
        ('[reading]\njoining_tolerance = "501 mm"\n', "out of bounds: write 500 mm or less."),
        ('[reading]\njoining_tolerance = "-1 in"\n', "out of bounds: write 0 in or more."),
        ('[water]\nstatic_pressure = "0 psi"\n', '"0 psi" is out of bounds: write more than 0 psi'),
        ('[water]\nstatic_pressure = "1e300 psi"\n', "out of bounds: write 1020 psi or less."),
        ("[water]\nfittings_allowance = 50\n", "50 is out of bounds: write 5 or less."),
        ("[water]\nfittings_allowance = 1e400\n", "inf is out of bounds: write 5 or less."),
        ("[gas]\nspecific_gravity = 0\n", "0 is out of bounds: write more than 0."),
        ("building = 3\n", "building: 3 is no section: write its keys below it"),
        ("[building]\nfreezing = 7\n", "write true or false"),
        ('[building]\nfreezing = "yes"\n', "building.freezing: write true or false."),
        ("[drainage]\neighth_inch_slope_approved = 1\n", "approved: write true or false."),
        ("name = 3\n", "name: write a text in quotes."),
        ('adopted_code = ""\n', "adopted_code: write a text that is not empty."),
        ('[water]\nfittings_allowance = "x"\n', "write a number, without quotes."),
        ('[gas]\ncsst_ehd = { "0.5" = 1.5 }\n', "gas.csst_ehd.0.5: write a whole number."),
        ('[[variances]]\nfinding = "a"\n', "variances.1.reason: this key is missing."),
        (
            '[[amendments]]\ntabel = "t"\ncolumn = "c"\nreason = "b"\nvalue = 1\n',
            'amendments.1.tabel is not a key of the job file; did you mean "table"?',
        ),
        (
            '[[variances]]\nfinding = "a"\nreason = "b"\naccepted_by = "c"\nuntil = 0\n',
            "variances.1.until: write a date, as 2027-01-31.",
        ),
        (
            '[[amendments]]\ntable = "t"\nrow = { a = 1 }\nreason = "b"\nvalue = ["c"]\n',
            "amendments.1.value: write a number, without quotes.",
        ),
        (
            '[[variances]]\nfinding = "a"\nreason = " "\naccepted_by = "c"\n',
            "variances.1.reason: write a text that is not empty.",
        ),
        (
            '[[variances]]\nfinding = "a"\nrule = "b"\nreason = "c"\naccepted_by = "d"\n',
            "name the finding by its id, or give rule and element",
        ),
        (
            '[[gas.loads]]\nelement = "a"\ninput = "1 W"\n' * 2,
            'gas.loads: two entries are of "a": write one.',
        ),
        (
            '[[water.devices]]\nelement = "a"\nloss = "1 psi"\n' * 2,
            'water.devices: two entries are of "a": write one.',
        ),
        ("reading = [{ a = 1 }]\n", "reading: a list is no section: write its keys"),
        ('[reading]\njoining_tolerance = "5 ft 3 in"\n', "out of bounds: write 1.64 ft or less."),
        (
            '[[variances]]\nfinding = "a"\nreason = "b"\naccepted_by = "c"\nuntil = "soon"\n',
            "variances.1.until: write a date, as 2027-01-31.",
        ),
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
    ("text", "metres"),
    [
        ("5 1/2 in", 5.5 * 0.0254),  # once read as half of 5 in
        ("-3-1/2 ft", -3.5 * 0.3048),
        ("1/2 in", 0.0127),
        ("1,200 mm", 1.2),
        ("12in", 0.3048),
        ("+.5e1 m", 5.0),
        ("0 ft", 0.0),
        ("3 ft 6 in", 3.5 * 0.3048),
        ("-3 ft 6 1/2 in", -42.5 * 0.0254),
        ("2 feet 3/8 in", 24.375 * 0.0254),
        ("3'-6\\\"", 3.5 * 0.3048),
        ("5'", 5 * 0.3048),
        ("1½ in", 1.5 * 0.0254),
        ("6″", 6 * 0.0254),
    ],
)
def test_numbers_are_read_as_a_rule_shows_them(tmp_path: Path, text: str, metres: float) -> None:
    read = _load(tmp_path, f'[building]\ngrade_elevation = "{text}"\n')
    assert read.building.grade_elevation == pytest.approx(metres)


@pytest.mark.parametrize(
    "text",
    [
        "9**9**9 psi", "9^9 psi", "65 psi * 2", "2 * 65 psi", "0,5 psi", "65", "1/0 psi",
        "4 psi 6 psi", "3 ft 6 in", "psi", "65 psi**9", "__import__", "65 psi if 1 else 2",
        "9" * 65 + " psi", "9e999 psi", "1 psi**9**9**9", "1 psi**99", "1 " + "x" * 100,
    ],
)  # fmt: skip
def test_a_quantity_is_a_number_and_a_unit_and_nothing_is_calculated(
    tmp_path: Path, text: str
) -> None:
    _load(tmp_path, '[water]\nstatic_pressure = "1 psi"\n')  # pint is read once
    refusal = pytest.raises(InputError, match=r"water\.static_pressure: .*")
    with effort() as spent, refusal as refused:
        _load(tmp_path, f'[water]\nstatic_pressure = "{text}"\n')
    assert spent.seconds < 0.5
    assert "\n" not in str(refused.value)


BEYOND = {
    "deep list": ("name = " + "[" * 900, "nested deeper than 32 levels"),
    "list one too deep": (
        f"name = {'[' * (MAX_DEPTH + 1)}{']' * (MAX_DEPTH + 1)}",
        "nested deeper",
    ),
    "deep key": (".".join("a" * 200_000) + " = 1", "nested deeper"),
    "deep section": ("[" + ".".join("a" * 200_000) + "]", "nested deeper"),
    "long number": ("name = " + "9" * 5000, "a number that is too large"),
    "hexadecimal": ("[reading.vocabulary]\nx = 0x" + "f" * 900_000, "reading.vocabulary.x"),
    "beyond 64 bits": ("[gas]\nspecific_gravity = 9223372036854775808", "gas.specific_gravity"),
    "escaped NUL": ('jurisdiction = "\\u0000"', "jurisdiction: a text holds no NUL"),
    "NUL in a key": ('"a\\u0000" = 1', "a text holds no NUL"),
    "raw NUL": ('name = "\0"', "not valid TOML"),
    "too large": ("#" * (MAX_BYTES + 1), "larger than 1 MB"),
    "device": (f'jurisdiction = "{os.devnull}"', "is no file but a device"),
    "folder": ('jurisdiction = "."', "is a folder"),
    "no such file": ('jurisdiction = "none.toml"', "jurisdiction: Job file "),
    "long path": (f'jurisdiction = "{"a" * 1001}"', "jurisdiction: "),
    "name too long": (f'jurisdiction = "{"a" * 900}"', "cannot be read"),
}


@pytest.mark.parametrize("kind", BEYOND)
def test_what_is_beyond_bounds_is_refused_at_once_in_one_sentence(
    tmp_path: Path, kind: str
) -> None:
    text, said = BEYOND[kind]
    with effort() as spent, pytest.raises(InputError) as refused:
        _load(tmp_path, text)
    assert spent.seconds < 1.0
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 1500


def test_what_is_within_bounds_is_read(tmp_path: Path) -> None:
    fill = "#" * (MAX_BYTES - 200) + "\n"
    deep = MAX_DEPTH - 3
    text = f'\ufeffname = "a"\n{fill}[reading.vocabulary]\nx = {"[" * deep}{"]" * deep}\n'
    assert _load(tmp_path, text).name == "a"
    assert _load(tmp_path, "# " + "a." * 20 + "\n# " + "." * 500).name == ""
