"""Where the folders of the editions are: our own, those of installed packages, a city's.

A package brings editions by an entry point of the group "ifclint.codes" that names a package whose
folder holds one folder an edition, as this one does. An edition that is not installed is named by
the path of its folder, with a slash in it: "./cities/larkspur-2024".
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path

from ifclint.errors import RAISED, InputError

GROUP = "ifclint.codes"
OURS = Path(__file__).parent
DESCRIPTION = "code.toml"  # what makes a folder that of an edition


@dataclass(frozen=True)
class Installed:
    """The folder of every installed edition by its name, and the packages that have failed."""

    folders: Mapping[str, Path]
    failures: tuple[str, ...]


@cache
def installed() -> Installed:
    """The installed editions; of two of one name, ours, else that of the first package by name."""
    homes, failures = [OURS], []
    for entry in sorted(entry_points(group=GROUP), key=lambda e: (e.name, e.value)):
        try:
            homes += _homes(entry)
        except RAISED as error:  # whatever a package raises costs no other its editions
            failures.append(f"those of {entry.name} cannot be read: {error}")
    found: dict[str, Path] = {}
    for home in homes:
        for path in sorted(home.glob(f"*/{DESCRIPTION}")):
            found.setdefault(path.parent.name, path.parent)
    return Installed(found, tuple(failures))


def _homes(entry: EntryPoint) -> list[Path]:
    """The folders of the package that an entry point names."""
    module = import_module(entry.module)
    if not hasattr(module, "__path__"):
        raise ValueError(f"{entry.module} is no package with folders of editions")
    return [Path(folder) for folder in module.__path__]


def is_path(edition: str) -> bool:
    """Whether an edition is named by the path of its folder."""
    return "/" in edition or "\\" in edition


def folder_of(edition: str) -> Path:
    """The folder of an edition. InputError where there is none."""
    if not is_path(edition):
        known = installed()
        if edition not in known.folders:
            hint = "; ".join([" or ".join(sorted(known.folders)), *known.failures])
            raise InputError(
                f"No adopted code is named {edition!r}: write {hint}; "
                "a folder is written with a slash, ./NAME."
            )
        return known.folders[edition]
    folder = Path(edition)
    if not (folder / DESCRIPTION).is_file():
        raise InputError(f"The folder {folder} holds no adopted code: it has no {DESCRIPTION}.")
    return folder.resolve()
