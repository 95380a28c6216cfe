"""What the sections of our packs in the job file let pass, and what holds where nothing is said."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

import pytest
from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import BaseModel

from tests.packs.test_rule_cases import OURS, PACKS

DEFAULTS = {
    "exhausted": 0, "male_share": 0.5, "walls": 0, "adjacent_walls": 0, "cable_length": 30.48,
    "small_cable_length": 15.24, "smallest_pipe_in": 1.5, "turns_deg": 360,
}  # fmt: skip
SIGNS = (
    (Gt, "gt", ">"), (Ge, "ge", ">="), (Lt, "lt", "<"), (Le, "le", "<="),
    (MinLen, "min_length", "letters >="),
)  # fmt: skip
BOUNDS = {
    "cleanouts": {
        "cable_length": "> 0", "small_cable_length": "> 0", "smallest_pipe_in": "> 0",
        "turns_deg": "> 0",
    },
    "combustion": {
        "volume": "> 0", "air_changes": "> 0 <= 10", "fan": "> 0", "exhausted": ">= 0",
        "room": "letters >= 1",
        "area": "> 0", "from_top": ">= 0", "from_bottom": ">= 0", "least_side": "> 0",
    },
    "fixtures": {
        "classification": "letters >= 1", "reason": "letters >= 1",
        "occupants": "> 0", "area_per_person": "> 0", "units": "> 0", "male_share": ">= 0 <= 1",
    },
    "site": {
        "sewer_distance": ">= 0", "sewer_cover": ">= 0", "frost_depth": ">= 0", "distance": ">= 0",
        "volume": "> 0", "rating": "> 0", "flow": "> 0",
    },
    "storm": {
        "rate": "> 0", "secondary_rate": "> 0", "area": ">= 0", "walls": ">= 0",
        "adjacent_walls": ">= 0", "width": "> 0", "depth": "> 0",
    },
}  # fmt: skip


def models(model: Any) -> Iterator[type[BaseModel]]:
    """A model and those of its fields, however they are wrapped."""
    if isinstance(model, type) and issubclass(model, BaseModel):
        yield model
        for field in model.model_fields.values():
            yield from models(field.annotation)
    for inner in get_args(model):
        yield from models(inner)


@pytest.mark.parametrize("pack", OURS)
def test_the_bounds_of_every_number(pack: str) -> None:
    found = {
        key: " ".join(
            f"{sign} {getattr(bound, name)}"
            for kind, name, sign in SIGNS
            for bound in field.metadata
            if isinstance(bound, kind)
        )
        for model in models(PACKS[pack].section)
        for key, field in model.model_fields.items()
    }
    assert {key: bounds for key, bounds in found.items() if bounds} == BOUNDS.get(pack, {})


def test_what_holds_where_the_job_file_gives_no_number() -> None:
    found = {
        key: field.default
        for pack in OURS
        for model in models(PACKS[pack].section)
        for key, field in model.model_fields.items()
        if isinstance(field.default, int | float) and not isinstance(field.default, bool)
    }
    assert found == pytest.approx(DEFAULTS)
