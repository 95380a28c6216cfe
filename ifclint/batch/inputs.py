"""All that decides a review of a building, as one digest: what has not changed is not reviewed
again."""

import hashlib
from collections.abc import Iterable, Iterator
from datetime import date
from functools import cache
from importlib.metadata import entry_points
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from ifclint import __version__
from ifclint.batch.buildings import ListedBuilding
from ifclint.codes.folders import GROUP as CODES
from ifclint.codes.folders import is_path
from ifclint.errors import InputError
from ifclint.files import check_regular
from ifclint.job.reading import written_in
from ifclint.packs import GROUP as PACKS

OURS = "ifclint"


def digest(building: ListedBuilding) -> str:
    """Of models, job file, its jurisdiction's, the folder of the adopted code, this program's
    version and the packs and codes that others have installed; and of the day, where a variance
    may end."""
    told = list(_told(building))
    ends = date.today() if any("until" in str(one.get("variances")) for _, one in told) else ""
    sha = hashlib.sha256(f"{__version__}|{building.code}|{ends}|{_installed()}".encode())
    codes = [building.code or "", *(str(Path(p.parent, c)) for p, c in _codes(told))]
    folders = [Path(code) for code in codes if is_path(code)]
    for path in (*building.models, *(path for path, _ in told), *_files(folders)):
        sha.update(path.name.encode("utf-8", "replace"))
        try:
            sha.update(sha256(path).encode())
        except OSError:
            sha.update(b"not there")  # the review says so
    return sha.hexdigest()


def _told(building: ListedBuilding) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The job file and that of its jurisdiction, with what they hold."""
    if building.job is not None:
        job = _parsed(building.job)
        yield building.job, job
        if isinstance(named := job.get("jurisdiction"), str):
            city = building.job.parent / named
            yield city, _parsed(city)


def _codes(told: Iterable[tuple[Path, dict[str, Any]]]) -> Iterator[tuple[Path, str]]:
    for path, job in told:
        code = job.get("adopted_code")
        if isinstance(code, str) and is_path(code):
            yield path, code


def _parsed(path: Path) -> dict[str, Any]:
    """What a job file holds; nothing where it cannot be read, which the review says."""
    try:
        return written_in(path)
    except InputError:
        return {}


@cache
def _installed() -> str:
    """The packs and codes of others that are installed, by the bytes of their files."""
    sha = hashlib.sha256()
    for entry in sorted((*entry_points(group=PACKS), *entry_points(group=CODES)), key=str):
        if entry.dist is None or entry.dist.name != OURS:
            sha.update(f"{entry.name}|{entry.value}".encode())
            for path in _files(_homes(entry.module)):
                sha.update(sha256(path).encode())
    return sha.hexdigest()


def _homes(module: str) -> list[Path]:
    """Where the code of an entry point stands: its package, or its one file."""
    try:
        spec = find_spec(module.partition(".")[0])
    except (ImportError, ValueError):
        return []
    if spec is None or (spec.origin is None and not spec.submodule_search_locations):
        return []
    return [Path(place) for place in spec.submodule_search_locations or [str(spec.origin)]]


def _files(places: Iterable[Path]) -> Iterator[Path]:
    for place in places:
        inside = sorted(place.rglob("*")) if place.is_dir() else [place]
        yield from (p for p in inside if p.is_file() and "__pycache__" not in p.parts)


def sha256(path: Path) -> str:
    check_regular(path)
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
