"""IFC file -> elements: roles, sizes, lengths, systems, ends, joints, positions.

The only layer that knows ifcopenshell; it is imported when a model is read, not before.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ifclint.ifc.elements import Model, PropertyFact
from ifclint.ifc.step.paths import check_there

__all__ = ["check_there", "read"]

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
