"""Heights of the job file in the model's: those of the drawings count from the storeys' zero."""

from collections.abc import Iterator
from typing import TypeVar, get_args

from ifclint.job.model import Job, Section
from ifclint.job.quantities import HeightM

LEAST_M = 0.3  # zeros that lie no farther apart are one. Ours, no source
J = TypeVar("J", bound=Job)


def in_model_heights(the_job: J, zero_m: float, floor_m: float) -> tuple[J, list[str]]:
    """The job with its heights in those of the model, and the keys of those that were others.

    `zero_m` is where the model places the zero of the storeys' stated elevations: a model may lie
    as high as its site does, while drawings count from the first floor. Of the two that a height
    may mean, the one nearer to the lowest floor (`floor_m`) is taken.
    """
    if abs(zero_m) < LEAST_M:
        return the_job, []
    changed: dict[str, Section] = {}
    keys: list[str] = []
    for name, section in the_job:
        if not isinstance(section, Section):
            continue
        raised = {
            key: height + zero_m
            for key, height in _heights(section)
            if abs(height + zero_m - floor_m) < abs(height - floor_m)
        }
        if raised:
            changed[name] = section.model_copy(update=raised)
            keys += [f"{name}.{key}" for key in raised]
    return the_job.model_copy(update=changed), keys


def _heights(section: Section) -> Iterator[tuple[str, float]]:
    for key, field in type(section).model_fields.items():
        if HeightM in get_args(field.annotation) and (height := getattr(section, key)) is not None:
            yield key, height
