"""Where the folders of the editions are: our own, those of installed packages, a city's.

A package brings editions by an entry point of the group "ifclint.codes" that names a module whose
folder holds one folder an edition; ours come so too. An edition that is not installed is named by
the path of its folder, with a slash in it: "./cities/larkspur-2024".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from importlib.metadata import entry_points
from pathlib import Path

from ifclint.errors import InputError

GROUP = "ifclint.codes"
OURS = Path(__file__).parent
DESCRIPTION = "code.toml"  # what makes a folder that of an edition


@cache
def installed() -> Mapping[str, Path]:
    """The folder of every installed edition, by its name; of two of one name, ours."""
    homes = [OURS]
    for entry in sorted(entry_points(group=GROUP), key=lambda e: (e.name, e.value)):
        homes += map(Path, import_module(entry.module).__path__)
    found: dict[str, Path] = {}
    for home in homes:
        for path in sorted(home.glob(f"*/{DESCRIPTION}")):
            found.setdefault(path.parent.name, path.parent)
    return found


def is_path(edition: str) -> bool:
    """Whether an edition is named by the path of its folder."""
    return "/" in edition or "\\" in edition


def folder_of(edition: str, beside: Path | None = None) -> Path:
    """The folder of an edition; one that is a path is looked for beside `beside`, or here.

    InputError where there is none.
    """
    if not is_path(edition):
        if edition not in installed():
            known = " or ".join(sorted(installed()))
            raise InputError(f"No adopted code is named {edition!r}: write {known}.")
        return installed()[edition]
    folder = (beside or Path()) / edition
    if not (folder / DESCRIPTION).is_file():
        raise InputError(f"The folder {folder} holds no adopted code: it has no {DESCRIPTION}.")
    return folder.resolve()
