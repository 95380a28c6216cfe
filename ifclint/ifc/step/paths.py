"""Whether there is a file to read, asked before anything that takes time is loaded."""

from pathlib import Path

from ifclint.errors import InputError
from ifclint.files import check_regular
from ifclint.ifc.step.text import clean


def where(path: Path) -> str:
    """What a sentence calls a model file: its name, and the path as given."""
    name = clean(path.name)
    given = clean(str(path))
    return f"The model {name} ({given})" if name and given != name else f"The model {given}"


def check_there(path: Path) -> None:
    """Raises InputError where there is no file to read at a path."""
    try:
        if path.is_dir():
            raise InputError(f"{where(path)} is a folder: give the IFC file inside it.")
        if not path.exists():
            raise InputError(f"{where(path)} is not there: check the path.")
        check_regular(path)
        if path.stat().st_size == 0:
            raise InputError(f"{where(path)} is empty: export it again.")
        with path.open("rb"):
            pass
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{where(path)} cannot be opened ({reason}): check the path.") from error
