"""The job file: what no model holds, read from TOML and checked key by key.

Quantities are strings with a unit ("65 psi", "0.5 inH2O", "40 ft"); here they become SI floats.
Unknown keys, wrong units and wrong values are refused with the key they stand under.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, Self, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    create_model,
    model_validator,
)

from ifclint.errors import InputError

LONGEST_QUANTITY = 40  # characters
# A number, then a unit; its powers are small ("ft**3") and stand on no others.
_QUANTITY = re.compile(r"\s*[-+]?[\d.,_]+(?:[eE][-+]?\d{1,3})?\s*[^\W\d][^\n]*|\s*[-+]?(nan|inf).*")
_POWERS = re.compile(r"(?:\*\*|\^)\s*\(?-?\d+\)?\s*(?:\*\*|\^|\d)|(?:\*\*|\^)\s*-?\d\d")


@cache
def _units() -> Any:
    import pint  # slow to import, and needed only where a job file has quantities

    registry = pint.UnitRegistry()
    registry.define("gpm = gallon / minute")
    return registry


def _is_plain(text: str) -> bool:
    return bool(_QUANTITY.fullmatch(text)) and not _POWERS.search(text)


def _quantity(si_unit: str, example: str) -> Callable[[object], float]:
    """A validator that turns "65 psi" into a float in `si_unit`."""

    def parse(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f'write it as text with a unit, for example "{example}"')
        if len(value) > LONGEST_QUANTITY or not _is_plain(value):
            shown = value[:LONGEST_QUANTITY]
            raise ValueError(f'"{shown}" is not such a quantity; write for example "{example}"')
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
PowerW = Annotated[float, BeforeValidator(_quantity("watt", "40000 Btu/hour"))]

S = TypeVar("S", bound="Section")
MOST_BYTES = 1_000_000  # of a job file
PROPANE_FROM_GRAVITY = 1.0  # natural gas is about 0.60, propane about 1.5
PROPANE_FROM_J_PER_M3 = 6.7e7  # 1,800 Btu/ft3; natural gas is about 1,000, propane about 2,500


class Section(BaseModel):
    """A section of the job file; a rule pack's own section extends it (see `ifclint.packs`)."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Building(Section):
    occupancy: Literal["private", "public", "assembly"] | None = None
    freezing: bool | None = None
    grade_elevation: LengthM | None = None  # finished ground, in the model's heights
    seismic: bool | None = None


class ContinuousFlow(Section):
    """A discharge that runs steadily (a pump, an ejector, an air conditioner)."""

    element: str = Field(description="GlobalId of the element that discharges")
    flow: FlowM3s


class Drainage(Section):
    outlets: tuple[str, ...] = ()  # GlobalIds where the building's drainage leaves the model
    eighth_inch_slope_approved: bool = False  # the authority has accepted 1/8 in per ft
    continuous_flow: tuple[ContinuousFlow, ...] = ()


class Venting(Section):
    air_admittance_valves_allowed: bool | None = None  # by the authority, or forbidden by it
    combination_approved: bool = False  # combination waste and vent, where that takes approval
    above_roof: LengthM | None = None  # how high terminals stand above the roof here
    roof_in_use: bool = False  # people use the roof


class Cleanouts(Section):
    """What the plumber's machine can do; the defaults are common practice."""

    cable_length: LengthM = Field(default=100 * 0.3048, gt=0)  # in pipe of 3 in and larger
    small_cable_length: LengthM = Field(default=50 * 0.3048, gt=0)  # in smaller pipe
    smallest_pipe_in: float = Field(default=1.5, gt=0)
    turns_deg: float = Field(default=360.0, gt=0)  # all turns of one push together


class WaterDevice(Section):
    """What a device in the line takes of the pressure: a softener, a filter, a heater."""

    element: str = Field(description="GlobalId of the device")
    loss: PressurePa = Field(ge=0)


class Water(Section):
    static_pressure: PressurePa | None = Field(default=None, gt=0)
    residual_pressure: PressurePa | None = Field(default=None, gt=0)
    flow_at_residual: FlowM3s | None = Field(default=None, gt=0)
    main_elevation: LengthM | None = None
    meter_loss: PressurePa | None = Field(default=None, ge=0)
    backflow_loss: PressurePa | None = Field(default=None, ge=0)
    other_loss: PressurePa | None = Field(default=None, ge=0)  # of what the model does not show
    source: str | None = None  # GlobalId of the meter or main where the supply begins
    demand_method: Literal["hunter", "low-demand"] = "hunter"
    demand_reading: Literal["interpolate", "next-row"] = "interpolate"
    continuous_flow: tuple[ContinuousFlow, ...] = ()  # irrigation, cooling: added after the curve
    friction: Literal["hazen-williams", "darcy-weisbach"] = "hazen-williams"
    copper_type: Literal["K", "L", "M"] = "L"
    regulator_setting: PressurePa | None = Field(default=None, gt=0)
    regulator_falloff: PressurePa | None = Field(default=None, ge=0)
    meter_check: bool | None = None  # the meter or main has a check valve
    devices: tuple[WaterDevice, ...] = ()

    def named_elements(self) -> list[tuple[str, str]]:
        """The GlobalIds that stand here, each with its key."""
        return [
            *(("source", guid) for guid in ([self.source] if self.source else [])),
            *(("continuous_flow.element", flow.element) for flow in self.continuous_flow),
            *(("devices.element", device.element) for device in self.devices),
        ]


class GasLoad(Section):
    """What an appliance takes, where the model does not tell it."""

    element: str = Field(description="GlobalId of the appliance")
    input: PowerW = Field(gt=0)


class GasWhatIf(Section):
    """A question: would today's piping serve this appliance with another input?"""

    name: str = Field(min_length=1)
    element: str
    input: PowerW = Field(gt=0)


class GasRegulator(Section):
    """A line regulator: the pressure it delivers, and what may be lost behind it."""

    element: str
    outlet_pressure: PressurePa | None = Field(default=None, gt=0)
    allowed_drop: PressurePa | None = Field(default=None, gt=0)


class Gas(Section):
    delivery_pressure: PressurePa | None = Field(default=None, gt=0)
    allowed_drop: PressurePa | None = Field(default=None, gt=0)
    heating_value: HeatingValueJm3 | None = Field(default=None, gt=0)
    specific_gravity: float | None = Field(default=None, gt=0)
    kind: Literal["natural", "propane"] | None = None  # told by the two above where left out
    source: tuple[str, ...] = ()  # GlobalIds of the meter or regulator where the piping begins
    method: Literal["longest-length", "branch-length", "hybrid"] | None = None
    sizing: Literal["table", "equation"] = "table"
    fittings: bool = False  # count the equivalent length of fittings
    csst_ehd: dict[float, int] = {}  # nominal size in inches -> the maker's flow designation
    loads: tuple[GasLoad, ...] = ()
    regulators: tuple[GasRegulator, ...] = ()
    what_if: tuple[GasWhatIf, ...] = ()

    def named_elements(self) -> list[tuple[str, str]]:
        """The GlobalIds that stand here, each with its key."""
        return [
            *(("source", guid) for guid in self.source),
            *(("loads.element", load.element) for load in self.loads),
            *(("regulators.element", regulator.element) for regulator in self.regulators),
            *(("what_if.element", question.element) for question in self.what_if),
        ]

    @model_validator(mode="after")
    def _is_one_gas(self) -> Self:
        told = self._told()
        if len(set(told.values()) - {None}) > 1:
            said = ", ".join(f"{key} of {gas}" for key, gas in told.items() if gas)
            raise ValueError(f"these are not of one gas: {said}; correct kind or the others")
        return self

    def _told(self) -> dict[str, str | None]:
        return {
            "kind": self.kind,
            "specific_gravity": _gas_of(self.specific_gravity, PROPANE_FROM_GRAVITY),
            "heating_value": _gas_of(self.heating_value, PROPANE_FROM_J_PER_M3),
        }

    @property
    def name(self) -> str | None:
        """Which gas it is, as any key tells it; None where none does."""
        return next((gas for gas in self._told().values() if gas), None)


def _gas_of(value: float | None, propane_from: float) -> str | None:
    """The gas that has such a value."""
    return None if value is None else "propane" if value >= propane_from else "natural"


class Reading(Section):
    joining_tolerance: LengthM = Field(default=0.010, ge=0, le=0.5)
    vocabulary: dict[str, Any] = {}  # words of a firm's own, in the shape of vocabulary.toml


class Amendment(Section):
    """A value of the adopted code as it is in force here: one cell of one table."""

    table: str
    row: dict[str, float | str]
    column: str = "value"
    value: float | str | None = None  # left out: the amended code lists no value there
    reason: str = Field(min_length=1)
    code: str | None = None  # only where this code is the adopted one


class Variance(Section):
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


class Job(Section):
    name: str = ""
    address: str = ""
    adopted_code: str | None = None
    jurisdiction: str | None = None  # a file of the same keys that holds for a whole city
    amendments: tuple[Amendment, ...] = ()
    variances: tuple[Variance, ...] = ()
    building: Building = Building()
    drainage: Drainage = Drainage()
    venting: Venting = Venting()
    cleanouts: Cleanouts = Cleanouts()
    water: Water = Water()
    gas: Gas = Gas()
    reading: Reading = Reading()

    def section(self, kind: type[S]) -> S:
        """The section of a rule pack; its defaults where the job file has none."""
        found = (value for _, value in self if type(value) is kind)
        return next(found, None) or kind()


def job_with(sections: Mapping[str, type[Section]]) -> type[Job]:
    """The job file with the sections of rule packs. ValueError for a name that is taken."""
    if taken := set(sections) & set(Job.model_fields):
        raise ValueError(f"the job file has a section {', '.join(sorted(taken))} already")
    fields: dict[str, Any] = {name: (kind, kind()) for name, kind in sections.items()}
    return create_model("Job", __base__=Job, **fields) if fields else Job


def load(
    path: Path, sections: Mapping[str, type[Section]] | None = None
) -> tuple[Job, dict[str, Any]]:
    """The job and, as written, its keys and values. Raises InputError naming file and key.

    `sections` are those of the rule packs. What the jurisdiction's file says holds where the job
    file says nothing else; amendments and variances of both hold.
    """
    form = job_with(sections or {})
    job, written = _checked(path, form)
    if job.jurisdiction is None:
        return job, written
    local, local_written = _checked(path.parent / job.jurisdiction, form)
    if local.jurisdiction is not None:
        raise InputError(
            f"Job file {path.parent / job.jurisdiction}: a jurisdiction names no other."
        )
    merged = _merged(local_written, written)
    return form.model_validate(merged), merged


def _checked(path: Path, form: type[Job]) -> tuple[Job, dict[str, Any]]:
    written = _written(path)
    try:
        return form.model_validate(written), written
    except ValidationError as error:
        raise InputError(f"Job file {path}: {_first(error, form)}") from None


def _written(path: Path) -> dict[str, Any]:
    """What a file of keys and values says. Whatever is no such file is refused in one sentence."""
    if "\0" in str(path):
        raise InputError("The path of a job file holds a character that no path can have.")
    if not path.exists():
        raise InputError(f"Job file {path} does not exist; check its path.")
    if path.is_dir():
        raise InputError(f"Job file {path} is a folder; give the TOML file inside it.")
    if not path.is_file():
        raise InputError(f"Job file {path} is no file; give a TOML file.")
    if path.stat().st_size > MOST_BYTES:
        raise InputError(f"Job file {path} is larger than a job file can be (1 MB).")
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"Job file {path} cannot be read: {error}.") from None
    except RecursionError:
        raise InputError(f"Job file {path} is not valid: its lists lie too deep.") from None
    except ValueError as error:  # of TOML, and of numbers with too many digits
        raise InputError(f"Job file {path} is not valid TOML: {error}.") from None


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


def _first(error: ValidationError, form: type[Job]) -> str:
    """The first mistake as one sentence that names the key."""
    detail = error.errors()[0]
    key = ".".join(str(part) for part in detail["loc"])
    if detail["type"] == "extra_forbidden":
        return f"{key} is not a key of the job file; {_nearest(detail, form)}"
    message = detail["msg"].removeprefix("Value error, ")
    return f"{key}: {message[0].lower() + message[1:]}."


def _nearest(detail: Mapping[str, Any], form: type[Job]) -> str:
    """What to write instead: the most alike key of the same section, else all of them."""
    import difflib

    *sections, last = (str(part) for part in detail["loc"])
    fields = form.model_fields
    for section in sections:
        annotation = fields[section].annotation if section in fields else None
        if not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
            break
        fields = annotation.model_fields
    close = difflib.get_close_matches(last, fields, n=1)
    hint = f'did you mean "{close[0]}"?' if close else f"known here: {', '.join(fields)}."
    if not sections and isinstance(detail["input"], dict):
        hint += f" If a rule pack reads [{last}], it is not installed."
    return hint
