"""Sections that rule packs add to the job file, and what a jurisdiction's file adds."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import job
from ifclint.errors import InputError
from ifclint.job.model import Water


class Basin(job.Section):
    """A basin of the sample pack's, in a list."""

    element: str
    depth: job.LengthM = 0.0


class Acme(job.Section):
    """The section of a sample pack."""

    spacing: job.LengthM = 1.0
    pressure: job.PressurePa | None = None
    label: str = "none"
    basins: tuple[Basin, ...] = ()


class Other(job.Section):
    """A section that nobody brings."""

    depth: float = 7.0


class Lacking(job.Section):
    """A section with a key that every job file would have to give."""

    depth: float


SECTIONS = {"acme": Acme}
HYPHENS = {"acme-linings": Acme}


def _file(folder: Path, text: str, name: str = "job.toml") -> Path:
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_pack_reads_its_own_section(tmp_path: Path) -> None:
    path = _file(
        tmp_path,
        'name = "a"\n[acme]\nspacing = "10 ft"\n[[acme.basins]]\nelement = "g"\ndepth = "1 m"\n',
    )
    the_job, written = job.load(path, SECTIONS)
    acme = the_job.section(Acme)
    assert acme == Acme(spacing="10 ft", basins=({"element": "g", "depth": "1 m"},))  # type: ignore
    assert acme.spacing == pytest.approx(3.048)
    assert written["acme"]["spacing"] == "10 ft"
    assert isinstance(the_job, job.Job)
    assert the_job.section(Water) is the_job.water


def test_a_section_may_have_a_hyphen_as_its_pack(tmp_path: Path) -> None:
    path = _file(tmp_path, '[acme-linings]\nlabel = "x"\n')
    assert job.load(path, HYPHENS)[0].section(Acme).label == "x"


def test_a_section_that_the_file_lacks_has_its_defaults(tmp_path: Path) -> None:
    the_job, _ = job.load(_file(tmp_path, ""), SECTIONS)
    assert the_job.section(Acme) == Acme()
    assert the_job.section(Other).depth == 7.0
    assert job.Job().section(Acme).label == "none"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('spcing = "1 ft"', 'acme.spcing is not a key of the job file; did you mean "spacing"?'),
        ('colour = "red"', "known here: spacing, pressure, label, basins."),
        ('spacing = "10 psi"', 'acme.spacing: "10 psi" is not such a quantity'),
        ("spacing = 10", "acme.spacing: write it as text with a unit"),
        ('[[acme.basins]]\nelement = "g"\ndpth = 1', 'did you mean "depth"?'),
    ],
)
def test_what_is_wrong_in_a_pack_section_is_said_as_in_any(
    tmp_path: Path, text: str, said: str
) -> None:
    with pytest.raises(InputError) as refused:
        job.load(_file(tmp_path, f"[acme]\n{text}\n"), SECTIONS)
    assert said in str(refused.value)
    assert "job.toml" in str(refused.value)


def test_a_section_whose_pack_is_not_installed_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\[acme\] is no section .*\[acme\], it is not installed"):
        job.load(_file(tmp_path, "[acme]\n"))
    with pytest.raises(InputError, match=r"\[acne\] is no section .*did you mean \"acme\""):
        job.load(_file(tmp_path, "[acne]\n"), SECTIONS)


def test_jurisdiction_and_job_are_merged_in_a_pack_section_too(tmp_path: Path) -> None:
    _file(
        tmp_path,
        '[acme]\nspacing = "2 m"\nlabel = "city"\n[[acme.basins]]\nelement = "a"\n',
        "city/larkspur.toml",
    )
    text = 'jurisdiction = "city/larkspur.toml"\n[acme]\nspacing = "3 m"\n'
    path = _file(tmp_path, f'{text}[[acme.basins]]\nelement = "b"\n')
    acme = job.load(path, SECTIONS)[0].section(Acme)
    assert (acme.spacing, acme.label) == (3.0, "city")
    assert [basin.element for basin in acme.basins] == ["a", "b"]


def test_two_files_that_contradict_one_another_are_refused_in_a_sentence(tmp_path: Path) -> None:
    _file(tmp_path, '[gas]\nkind = "propane"\n', "city.toml")
    path = _file(tmp_path, 'jurisdiction = "city.toml"\n[gas]\nspecific_gravity = 0.6\n')
    with pytest.raises(InputError, match=r"job\.toml: gas: these are not of one gas"):
        job.load(path)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"water": Acme}, "the job file has a section water already"),
        ({"name": Acme}, "the job file has a section name already"),
        ({"section": Acme}, "the job file has a section section already"),
        ({"acme": Acme, "twin": Acme}, r"sections \[acme\] and \[twin\] have the same model"),
        ({"Acme Inc": Acme}, "cannot name a section"),
        ({"acme": dict}, r"does not extend ifclint\.job\.Section"),
        ({"acme": Lacking}, r"keys of section \[acme\] have no default: depth"),
    ],
)
def test_a_section_that_cannot_stand_beside_the_others_is_refused(
    given: dict[str, type[job.Section]], said: str
) -> None:
    with pytest.raises(ValueError, match=said) as refused:
        job.job_with(given)
    assert "\n" not in str(refused.value)
    others = {"wells": Other}
    kept = job.fitting({**others, **given})
    assert kept == {**others, "acme": Acme} if "twin" in given else others


def test_a_job_is_made_of_keys_and_values_without_a_file() -> None:
    made = job.job_of({"acme": {"label": "x"}}, SECTIONS)
    assert made.section(Acme).label == "x"
    with pytest.raises(InputError, match=r"Job file: acme\.lable is not a key"):
        job.job_of({"acme": {"lable": "x"}}, SECTIONS)


def test_a_folder_of_tables_is_found_beside_the_file_that_names_it(tmp_path: Path) -> None:
    _file(tmp_path, 'adopted_code = "./larkspur-2024"\n', "city/larkspur.toml")
    path = _file(tmp_path, 'jurisdiction = "city/larkspur.toml"\n')
    the_job, written = job.load(path)
    assert the_job.adopted_code == str(tmp_path / "city" / "larkspur-2024")
    assert written["adopted_code"] == "./larkspur-2024"
    own = job.load(_file(tmp_path, 'adopted_code = "codes/a"\n', "own.toml"))[0]
    assert own.adopted_code == str(tmp_path / "codes" / "a")
    named = job.load(_file(tmp_path, 'adopted_code = "upc-2021"\n', "named.toml"))[0]
    assert named.adopted_code == "upc-2021"


def test_the_section_of_a_pack_that_did_not_load_is_left_unread(tmp_path: Path) -> None:
    path = _file(tmp_path, 'name = "a"\n[acme]\nspacing = 3\n[[acme.basins]]\nelement = 4\n')
    the_job, written = job.load(path, job.fitting({}, ["acme"]))
    assert the_job.name == "a"
    assert written["acme"]["spacing"] == 3
    with pytest.raises(InputError, match="is no section of the job file"):
        job.load(path, job.fitting({}, ["bolt"]))
