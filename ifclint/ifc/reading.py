"""From files to a Model: each file is read alone, then everything is joined."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.damage import DAMAGE
from ifclint.ifc.elements import Model
from ifclint.ifc.file_reader import FileReader
from ifclint.ifc.fitting_kinds import set_kinds_and_sizes
from ifclint.ifc.joining import join_free_ends, note_duplicates, note_identities
from ifclint.ifc.meeting import Box
from ifclint.ifc.opening import EXPORT_AGAIN, OpenedFile, opened
from ifclint.ifc.systems import spread
from ifclint.ifc.text import clean
from ifclint.ifc.together import Together
from ifclint.ifc.unread import unread_notes
from ifclint.ifc.vocabulary import Vocabulary, vocabulary
from ifclint.ifc.whereabouts import complete_places

Progress = Callable[[str, int, int], None]


def read_model(
    paths: list[Path],
    vocabulary_extra: Mapping[str, Any],
    joining_tolerance_m: float,
    progress: Progress | None,
) -> Model:
    """Read every file, join what meets, and spread what is known along the joints."""
    if not paths:
        raise InputError("No model was given: name at least one IFC file.")
    words = vocabulary(vocabulary_extra)
    model = Model(joining_tolerance_m=joining_tolerance_m)
    boxes: dict[int, Box] = {}
    together = Together(model, boxes)
    with _collector_paused():
        for number, path in enumerate(paths):
            if progress:
                progress(path.name, number, len(paths))
            with opened(path) as file:
                if any(known.sha256 == file.info.sha256 for known in model.files):
                    raise InputError(f"{path} is given twice, or as a copy: name it once.")
                _read_file(file, number, words, model, boxes)
                if len(paths) > 1:
                    together.add(file)
        join_free_ends(model, boxes)
        spread(model.elements, model.joints)
        set_kinds_and_sizes(model)
        complete_places(model)
        note_duplicates(model)
        note_identities(model)
    if progress:
        progress("", len(paths), len(paths))
    return model


def _read_file(
    file: OpenedFile, number: int, words: Vocabulary, model: Model, boxes: dict[int, Box]
) -> None:
    """Add one file to the model. Its instances are parsed as they are met, so this is where text
    that breaks the rules of the format comes to light."""
    try:
        FileReader(file, number, words, model, boxes).read()
    except DAMAGE as error:
        detail = clean(str(error))[:80]
        raise InputError(
            f"The model {clean(file.info.name)} cannot be read: something in it is damaged "
            f"({detail}); {EXPORT_AGAIN}."
        ) from error
    model.files.append(file.info)
    model.notes += unread_notes(file)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Millions of small objects are made and none is garbage: collecting only costs time.

    In the end they count as old, lest they all be gone through at once as new ones.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.unfreeze()
        if was_on:
            gc.enable()
