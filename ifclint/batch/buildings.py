"""Which buildings there are: a list in TOML, or a folder. Bad input is one sentence."""

from __future__ import annotations

import os
import re
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ifclint.errors import InputError
from ifclint.files import read_within
from ifclint.ifc.step.text import clean
from ifclint.job import first_mistake

MODELS = (".ifc", ".ifczip")
OUTPUTS = ("portfolio.json", "portfolio.html", "findings.parquet")  # stand beside the folders
_NO_NAME = re.compile(r"[^\w .,;#%&+()\[\]{}@=!~$^\'’`´–—-]")  # may be in the name of no folder
LONGEST_NAME = 100  # letters
KEEP_ONE = "keep one, or list the buildings"
LIST_THEM = "a building is a model or a folder of models; list the buildings"


@dataclass(frozen=True, slots=True)
class ListedBuilding:
    """One building: the name of its folder, its models, its job file, its adopted code."""

    name: str
    models: tuple[Path, ...]
    job: Path | None = None
    code: str | None = None
    unfit: str = ""  # why it cannot be reviewed

    def absolute(self) -> ListedBuilding:
        """The same, its paths whole."""
        models = tuple(path.absolute() for path in self.models)
        return replace(self, models=models, job=self.job and self.job.absolute())


class _Listed(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    name: str
    models: list[str] = Field(min_length=1)
    job: str | None = None
    code: str | None = None


class _List(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    job: str | None = None  # for buildings that name none
    code: str | None = None
    building: list[_Listed] = []


def buildings(where: Path) -> list[ListedBuilding]:
    """The buildings of a TOML list or of a folder, by name; of a folder those that are unfit for a
    review as well. Raises InputError."""
    found = _told_apart(_in_folder(where) if where.is_dir() else _listed(where))
    if not found:
        raise InputError(f"{where} holds no building; a building is a model or a folder of models.")
    unfit = next((building for building in found if building.unfit), None)
    if unfit and not where.is_dir():  # a list says what it means
        raise InputError(f'{where}: "{unfit.name}" {unfit.unfit}.')
    return sorted(found, key=lambda b: b.name)


def _told_apart(found: list[ListedBuilding]) -> list[ListedBuilding]:
    """The same; unfit those of a name that another has, or that no folder can have."""
    seen: dict[str, ListedBuilding] = {}
    told = []
    for building in found:
        name, why = building.name, building.unfit
        if no_name := _no_name(name):
            why = why or f"cannot be the name of a folder ({no_name}); name it otherwise"
        elif seen.setdefault(name.casefold(), building) is not building:
            of = f" ({clean(building.models[0].name)})" if building.models else ""
            why = why or f"is named as another building is{of}; name one otherwise"
        told.append(replace(building, name=clean(name), unfit=why))
    return told


def _no_name(name: str) -> str:
    """Why a folder cannot be called so; "" where it can."""
    if name.casefold() in OUTPUTS:
        return "the batch writes a file of that name"
    if not name.strip(". ") or name != name.strip() or name[0] == ".":
        return "it begins or ends with a blank, or begins with a point"
    if len(name) > LONGEST_NAME:
        return f"it is longer than {LONGEST_NAME} letters"
    found = _NO_NAME.search(unicodedata.normalize("NFC", name))
    return f"it holds {found[0]!a}" if found else ""


LARGEST_BYTES = 10**7  # of a list of buildings


def _listed(path: Path) -> list[ListedBuilding]:
    try:
        written: dict[str, Any] = tomllib.loads(
            read_within(path, LARGEST_BYTES).decode("utf-8-sig")
        )
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}).") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path} is not TOML: {error}.") from error
    try:
        listed = _List.model_validate(written)
    except ValidationError as error:
        said = clean(first_mistake(error, _List, written, "the list of buildings"))
        raise InputError(f"{path}: {said}") from None
    return [
        ListedBuilding(
            one.name,
            tuple(path.parent / model for model in one.models),
            _job(path.parent, one.job or listed.job),
            one.code or listed.code,
        )
        for one in listed.building
    ]


def _job(folder: Path, name: str | None) -> Path | None:
    return None if name is None else folder / name


def _in_folder(folder: Path) -> list[ListedBuilding]:
    """Each model is a building, with the job file of its name; each folder of models too, with the
    job file in it. A job.toml beside them is for those that have none. Models that lie deeper are
    no building's, and are told. What is hidden, its name beginning with a point, is none."""
    shared = folder / "job.toml"
    common = shared if shared.is_file() else None
    found = []
    for path in _shown(folder):
        if path.suffix.casefold() in MODELS:
            own = path.with_suffix(".toml")
            found.append(ListedBuilding(path.stem, (path,), own if own.is_file() else common))
        elif path.is_dir():
            models = _models(path)
            jobs = sorted(path.glob("*.toml"))
            several = f"holds several job files; {KEEP_ONE}" if len(jobs) > 1 else ""
            if models:
                job = jobs[0] if jobs else common
                found.append(ListedBuilding(path.name, models, job, unfit=several))
            found += _deeper(path)
    return found


def _shown(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if not path.name.startswith("."))


def _models(folder: Path) -> tuple[Path, ...]:
    return tuple(p for p in _shown(folder) if p.suffix.casefold() in MODELS)


def _deeper(folder: Path) -> Iterator[ListedBuilding]:
    """The folders within one that hold models, which are not reviewed."""
    for root, folders, _ in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        models = _models(Path(root)) if Path(root) != folder else ()
        if models:
            name = Path(root).relative_to(folder.parent).as_posix()
            why = f"what lies in it ({clean(models[0].name)}) is no building's: {LIST_THEM}"
            yield ListedBuilding(name, models, unfit=why)
