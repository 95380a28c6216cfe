"""Entities of the library beside the text they stand for."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.step.text_index import Ref


def ref(entity: Any) -> Ref:
    """The reference of an entity, 0 for none."""
    return 0 if entity is None else int(entity.id())


def instance(ifc: Any, number: Ref) -> Any:
    """The entity of a reference, None where there is none."""
    try:
        return ifc.by_id(number) if number else None
    except RuntimeError:
        return None
