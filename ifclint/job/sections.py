"""Sections that rule packs add to the job file, each the pack's own model."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from pydantic import Field, ValidationError, create_model

from ifclint.job.model import Job, Section

Sections = Mapping[str, type[Section]]


def job_with(sections: Sections) -> type[Job]:
    """The job file with the sections of rule packs. ValueError for one that there cannot be."""
    for name, model in sections.items():
        _refuse_unfit(name, model)
    kinds = list(sections.values())
    if shared := next((kind for kind in kinds if kinds.count(kind) > 1), None):
        names = " and ".join(f"[{name}]" for name, kind in sections.items() if kind is shared)
        raise ValueError(f"the sections {names} have the same model")
    fields: dict[str, Any] = {
        name: (model, Field(default_factory=model)) for name, model in sections.items()
    }
    return create_model("Job", __base__=Job, **fields) if fields else Job


def fitting(sections: Sections) -> dict[str, type[Section]]:
    """The sections that a job file can have, without those that `job_with` refuses."""
    kept: dict[str, type[Section]] = {}
    for name, model in sections.items():
        try:
            job_with({**kept, name: model})
        except ValueError:
            continue
        kept[name] = model
    return kept


def _refuse_unfit(name: str, model: type[Section]) -> None:
    if not re.fullmatch(r"[A-Za-z][\w-]*", name):
        raise ValueError(f"{name!r} cannot name a section of the job file")
    if not (isinstance(model, type) and issubclass(model, Section)):
        raise ValueError(f"the model of section [{name}] does not extend ifclint.job.Section")
    if name in Job.model_fields or hasattr(Job, name):
        raise ValueError(f"the job file has a section {name} already")
    try:
        model()
    except ValidationError as error:
        lacking = ", ".join(str(detail["loc"][0]) for detail in error.errors() if detail["loc"])
        raise ValueError(f"keys of section [{name}] have no default: {lacking}") from None
