"""Sections that rule packs add to the job file, each the pack's own model."""

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import ConfigDict, Field, ValidationError, WrapValidator, create_model

from ifclint.errors import RAISED
from ifclint.job.model import Job, Section

Sections = Mapping[str, type[Section]]


class UnreadSection(Section):
    """The section of a pack that could not be loaded: whatever stands in it is left unread."""

    model_config = ConfigDict(extra="allow")


class SectionFailed(Exception):
    """The section of a pack, by its name, does not check what is written in it but breaks."""

    def __init__(self, name: str, error: BaseException) -> None:
        super().__init__(name)
        self.name, self.error = name, error


def job_with(sections: Sections) -> type[Job]:
    """The job file with the sections of rule packs. ValueError for one that there cannot be."""
    return _job_with(tuple(sections.items()))


@cache
def _job_with(sections: tuple[tuple[str, type[Section]], ...]) -> type[Job]:
    """Made once for the same sections: to make a model takes as long as to review a few pipes."""
    refuse_unfit(dict(sections))
    fields: dict[str, Any] = {
        name: (Annotated[model, WrapValidator(_named(name))], Field(default_factory=model))
        for name, model in sections
    }
    return create_model("Job", __base__=Job, **fields) if fields else Job


def _named(name: str) -> Callable[[Any, Callable[[Any], Any]], Any]:
    """What checks a section, so that what its pack's own code raises is told to be the pack's."""

    def checked(written: Any, check: Callable[[Any], Any]) -> Any:
        try:
            return check(written)
        except (ValueError, AssertionError):  # how a section says that something is wrong in it
            raise
        except RAISED as error:
            raise SectionFailed(name, error) from error

    return checked


def fitting(sections: Sections, unread: Iterable[str] = ()) -> dict[str, type[Section]]:
    """The sections that a job file can have, without those that `job_with` refuses; unread ones are
    of packs, by name, that could not be loaded."""
    kept: dict[str, type[Section]] = {}
    of_broken = {name: create_model(name, __base__=UnreadSection) for name in unread}
    for name, model in {**of_broken, **sections}.items():
        with suppress(ValueError):
            refuse_unfit({name: model}, kept)
            kept[name] = model
    return kept


def refuse_unfit(sections: Sections, beside: Sections = MappingProxyType({})) -> None:
    """ValueError for a section that there cannot be, by itself or beside those that there are."""
    named = dict(beside)
    for name, model in sections.items():
        _refuse_unfit(name, model)
        if same := [other for other, kind in named.items() if kind is model]:
            raise ValueError(f"the sections [{same[0]}] and [{name}] have the same model")
        named[name] = model


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
