"""IFC file -> elements: roles, sizes, lengths, systems, ends, joints, positions.

The only layer that knows ifcopenshell; it is imported when a model is read, not before.
"""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ifclint.ifc.elements import Model, PropertyFact
from ifclint.ifc.step.paths import check_there

__all__ = ["check_there", "name_in_file", "read"]

Progress = Callable[[str, int, int], None]


def read(
    paths: Sequence[str | Path] | str | Path,
    *,
    vocabulary_extra: Mapping[str, Any] | None = None,
    facts: Sequence[PropertyFact] = (),
    joining_tolerance_m: float = 0.010,
    progress: Progress | None = None,
) -> Model:
    """All files of one building as one Model, in metres.

    `vocabulary_extra` has the shape of `vocabulary.toml` and comes before it; `facts` are those
    that rule packs read from property sets. Free ends closer than `joining_tolerance_m` are
    joined. `progress(what, done, total)` is called now and then.
    Raises InputError for a file that cannot be read.
    """
    given = [Path(p) for p in ([paths] if isinstance(paths, str | Path) else paths)]
    for path in given:
        check_there(path)
    from ifclint.ifc.reading import read_model

    return read_model(given, vocabulary_extra or {}, facts, joining_tolerance_m, progress)


def name_in_file(guid: str, paths: Sequence[Path]) -> str | None:
    """Class and name of what has a GlobalId in one of the files, read as plumbing or not; None
    where nothing has. The files are opened anew, so this is for what went wrong."""
    from ifclint.ifc.step.opening import opened
    from ifclint.ifc.step.spf import arguments, string
    from ifclint.ifc.step.text import clean

    for path in paths:
        with opened(path) as file:
            written = file.text.with_guid(guid)
        if written is not None:
            ifc_class, _, rest = written.partition(b"(")
            of = arguments(rest.removesuffix(b")"))
            name = clean(string(of[2]))[:80] if len(of) > 2 else ""
            return f'{ifc_class.decode("ascii", "replace")} "{name}" of {path.name}'
    return None
