"""All that a rule may look at, and what is derived from it once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar, cast

from ifclint.codes import AdoptedCode
from ifclint.job import Job

if TYPE_CHECKING:
    from ifclint.ifc.elements import Point
    from ifclint.plumbing import Ground, Plumbing

_NOT_YET: Any = object()
T = TypeVar("T")
P = ParamSpec("P")


@dataclass(frozen=True, eq=False)
class Context:
    """The adopted code, the plumbing and the job file. Rules change nothing in it.

    What is worked out for several rules (loads, demand, pressures) belongs to the context that it
    was worked out for, and goes with it.
    """

    code: AdoptedCode
    plumbing: Plumbing
    job: Job
    _made: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def ground(self) -> Ground | None:
        """The ground, as far as the job file, the terrain or the floors tell it."""
        return self.plumbing.surroundings.floors.ground(self.job.building.grade_elevation)

    def is_in_ground(self, point: Point) -> bool | None:
        """Whether a place lies in the ground, under a floor or outdoors; None where it may."""
        floors = self.plumbing.surroundings.floors
        return floors.is_in_ground(point, self.job.building.grade_elevation)

    def once(self, make: Callable[..., T], *arguments: Any) -> T:
        """What `make(context, *arguments)` returns, made when first asked for.

        The arguments must be hashable.
        """
        key = (make, *arguments)
        found: T = self._made.get(key, _NOT_YET)
        if found is _NOT_YET:
            found = self._made[key] = make(self, *arguments)
        return found


def derived(make: Callable[Concatenate[Context, P], T]) -> Callable[Concatenate[Context, P], T]:
    """Make a function of a context (and hashable arguments) answer each question once."""

    @wraps(make)
    def asked(context: Context, /, *arguments: Any) -> T:
        found: T = context._made.get((make, *arguments), _NOT_YET)
        return context.once(make, *arguments) if found is _NOT_YET else found

    return cast(Callable[Concatenate[Context, P], T], asked)
