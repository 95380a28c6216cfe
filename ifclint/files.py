"""A file of the user's is read within bounds: no device, no pipe, nothing larger than it can be."""

import stat
from pathlib import Path


def read_within(path: Path, most_bytes: int) -> bytes:
    """The bytes of a file. Raises OSError where it cannot be read, also where it is no file or is
    larger than `most_bytes`; ValueError for a path that no system takes."""
    check_regular(path)
    with path.open("rb") as file:
        read = file.read(most_bytes + 1)
    if len(read) > most_bytes:
        raise OSError(0, f"it is larger than {most_bytes / 1e6:g} MB")
    return read


def check_regular(path: Path) -> None:
    """Raises OSError where there is no file, or something that need not end when it is read."""
    mode = path.stat().st_mode
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise OSError(0, "it is no file but a device")
