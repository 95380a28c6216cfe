"""The job file: what no model holds, read from TOML and checked key by key.

Quantities are strings with a unit ("65 psi", "0.5 inH2O", "40 ft"); here they become SI floats.
Unknown keys, wrong units and wrong values are refused with the key they stand under.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from ifclint.errors import InputError


@cache
def _units() -> Any:
    import pint  # slow to import, and needed only where a job file has quantities

    registry = pint.UnitRegistry()
    registry.define("gpm = gallon / minute")
    return registry


def _quantity(si_unit: str, example: str) -> Callable[[object], float]:
    """A validator that turns "65 psi" into a float in `si_unit`."""

    def parse(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f'write it as text with a unit, for example "{example}"')
        try:
            quantity = _units().Quantity(value)
            number = float(quantity.to(si_unit).magnitude)
        except Exception:  # pint raises many kinds, also from inside its tokenizer
            raise ValueError(
                f'"{value}" is not such a quantity; write for example "{example}"'
            ) from None
        if number != number or number in (float("inf"), float("-inf")):
            raise ValueError(f'"{value}" is not a finite number')
        return number

    return parse


PressurePa = Annotated[float, BeforeValidator(_quantity("pascal", "65 psi"))]
LengthM = Annotated[float, BeforeValidator(_quantity("meter", "40 ft"))]
FlowM3s = Annotated[float, BeforeValidator(_quantity("meter**3/second", "10 gpm"))]
HeatingValueJm3 = Annotated[float, BeforeValidator(_quantity("joule/meter**3", "1000 Btu/ft**3"))]


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Building(_Section):
    occupancy: Literal["private", "public", "assembly"] | None = None
    freezing: bool | None = None
    seismic: bool | None = None


class ContinuousFlow(_Section):
    """A discharge that runs steadily (a pump, an ejector, an air conditioner)."""

    element: str = Field(description="GlobalId of the element that discharges")
    flow: FlowM3s


class Drainage(_Section):
    outlets: tuple[str, ...] = ()  # GlobalIds where the building's drainage leaves the model
    eighth_inch_slope_approved: bool = False  # the authority has accepted 1/8 in per ft
    continuous_flow: tuple[ContinuousFlow, ...] = ()


class Water(_Section):
    static_pressure: PressurePa | None = None
    residual_pressure: PressurePa | None = None
    flow_at_residual: FlowM3s | None = None
    main_elevation: LengthM | None = None
    meter_loss: PressurePa | None = None
    backflow_loss: PressurePa | None = None


class Gas(_Section):
    delivery_pressure: PressurePa | None = None
    allowed_drop: PressurePa | None = None
    heating_value: HeatingValueJm3 | None = None
    specific_gravity: float | None = Field(default=None, gt=0)


class Reading(_Section):
    joining_tolerance: LengthM = Field(default=0.010, ge=0, le=0.5)
    vocabulary: dict[str, Any] = {}  # words of a firm's own, in the shape of vocabulary.toml


class Amendment(_Section):
    """A value of the adopted code as it is in force here: one cell of one table."""

    table: str
    row: dict[str, float | str]
    column: str = "value"
    value: float | str | None = None  # left out: the amended code lists no value there
    reason: str = Field(min_length=1)
    code: str | None = None  # only where this code is the adopted one


class Variance(_Section):
    """A finding that somebody has accepted: named by its id, or by rule and element."""

    finding: str | None = None
    rule: str | None = None
    element: str | None = None
    reason: str = Field(min_length=1)
    accepted_by: str = Field(min_length=1)
    until: date | None = None

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.finding is None and (self.rule is None or self.element is None):
            raise ValueError("name the finding by its id, or give rule and element")
        return self


class Job(_Section):
    name: str = ""
    address: str = ""
    adopted_code: str | None = None
    jurisdiction: str | None = None  # a file of the same keys that holds for a whole city
    amendments: tuple[Amendment, ...] = ()
    variances: tuple[Variance, ...] = ()
    building: Building = Building()
    drainage: Drainage = Drainage()
    water: Water = Water()
    gas: Gas = Gas()
    reading: Reading = Reading()


def load(path: Path) -> tuple[Job, dict[str, Any]]:
    """The job and, as written, its keys and values. Raises InputError naming file and key.

    What the jurisdiction's file says holds where the job file says nothing else; amendments and
    variances of both hold.
    """
    job, written = _checked(path)
    if job.jurisdiction is None:
        return job, written
    local, local_written = _checked(path.parent / job.jurisdiction)
    if local.jurisdiction is not None:
        raise InputError(
            f"Job file {path.parent / job.jurisdiction}: a jurisdiction names no other."
        )
    merged = _merged(local_written, written)
    return Job.model_validate(merged), merged


def _checked(path: Path) -> tuple[Job, dict[str, Any]]:
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError(f"Job file {path} does not exist; check its path.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"Job file {path} cannot be read: {error}.") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"Job file {path} is not valid TOML: {error}.") from None
    try:
        return Job.model_validate(written), written
    except ValidationError as error:
        raise InputError(f"Job file {path}: {_first(error)}") from None


def _merged(under: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    """Two files as one: sections are merged, lists are joined, else the upper one wins."""
    made = dict(under)
    for key, value in over.items():
        below = made.get(key)
        if isinstance(value, dict) and isinstance(below, dict):
            made[key] = _merged(below, value)
        elif isinstance(value, list) and isinstance(below, list):
            made[key] = [*below, *value]
        else:
            made[key] = value
    return made


def _first(error: ValidationError) -> str:
    """The first mistake as one sentence that names the key."""
    detail = error.errors()[0]
    key = ".".join(str(part) for part in detail["loc"])
    if detail["type"] == "extra_forbidden":
        return f"{key} is not a key of the job file; {_nearest(key)}"
    message = detail["msg"].removeprefix("Value error, ")
    return f"{key}: {message[0].lower() + message[1:]}."


def _nearest(key: str) -> str:
    """What to write instead: the most alike key of the same section, else all of them."""
    import difflib

    *sections, last = key.split(".")
    fields = Job.model_fields
    for section in sections:
        annotation = fields[section].annotation if section in fields else None
        if not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
            break
        fields = annotation.model_fields
    close = difflib.get_close_matches(last, fields, n=1)
    return f'did you mean "{close[0]}"?' if close else f"known here: {', '.join(fields)}."
