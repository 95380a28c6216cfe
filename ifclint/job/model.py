"""What a job file may say: its sections and keys, each checked as it is read.

A rule pack has a section of its own by subclassing `Section`, with quantities from
`ifclint.job.quantities`; every key needs a default.
"""

from datetime import date
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PrivateAttr,
    StringConstraints,
    ValidationInfo,
    field_validator,
    model_validator,
)

from ifclint.job.quantities import FlowM3s, HeatingValueJm3, HeightM, LengthM, PowerW, PressurePa

PROPANE_FROM_GRAVITY = 1.0  # natural gas is about 0.60, propane about 1.5
PROPANE_FROM_J_PER_M3 = 6.7e7  # 1,800 Btu/ft3; natural gas is about 1,000, propane about 2,500

FilePath = Annotated[str, StringConstraints(min_length=1, max_length=1000)]
Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
S = TypeVar("S", bound="Section")


class Section(BaseModel):
    """A section of the job file; a rule pack's own section extends it (see `ifclint.packs`).

    A key that it does not have is refused.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    ONE_FOR: ClassVar[tuple[str, ...]] = ()  # keys that tell what an entry of a list is of

    @field_validator("*")
    @classmethod
    def _one_entry_for_each(cls, value: object) -> object:
        """Of two entries that are of the same thing one would hold in silence."""
        seen = set()
        for entry in value if isinstance(value, tuple) else ():
            if isinstance(entry, Section) and entry.ONE_FOR:
                told = tuple(getattr(entry, key) for key in entry.ONE_FOR)
                if told in seen:
                    of = ", ".join(f'"{one}"' for one in told if one is not None)
                    raise ValueError(f"two entries are of {of}: write one")
                seen.add(told)
        return value

    @field_validator("*", mode="before")
    @classmethod
    def _no_word_for_true(cls, value: object, info: ValidationInfo) -> object:
        """True and false are written so: "yes", "off" or 1 would be taken for them."""
        kind = cls.model_fields[info.field_name or ""].annotation
        if bool in (kind, *get_args(kind)) and not isinstance(value, bool | None):
            raise ValueError("write true or false")
        return value

    def named_elements(self) -> list[tuple[str, str]]:
        """The GlobalIds that stand here, each with its key: such elements the model must have."""
        return []

    def named_rooms(self) -> list[tuple[str, str]]:
        """The names of rooms that stand here, each with its key: such rooms the model must have."""
        return []


class BuildingSection(Section):
    occupancy: Literal["private", "public", "assembly"] | None = None  # who uses its fixtures
    freezing: bool | None = None  # whether pipe may freeze here
    grade_elevation: HeightM | None = None  # finished ground, as the storeys' elevations count
    seismic: bool | None = None  # in a seismic zone heaters are strapped

    @property
    def use(self) -> Literal["private", "public", "assembly"]:
        """The occupancy, private where none is stated."""
        return self.occupancy or "private"


class ContinuousFlow(Section):
    """A discharge that runs steadily (a pump, an ejector, an air conditioner)."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the element that discharges")
    flow: FlowM3s  # for as long as it runs


class DrainageSection(Section):
    outlets: tuple[str, ...] = ()  # GlobalIds where the building's drainage leaves the model
    eighth_inch_slope_approved: bool = False  # the authority has accepted 1/8 in per ft
    continuous_flow: tuple[ContinuousFlow, ...] = ()
    upstream_manhole: HeightM | None = None  # cover of the next one up, counted as storeys are


MOST_PA = 7e6  # about 1,000 psi: no plumbing is under more. Ours, no source
MOST_ALLOWANCE = 5.0  # of the length of a pipe; 50 would be percent. Ours, no source
MainPa = Annotated[PressurePa, Field(gt=0, le=MOST_PA)]


class WaterDevice(Section):
    """What a device in the line takes of the pressure: a softener, a filter, a heater."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the device")
    loss: PressurePa = Field(ge=0)  # at the flow that passes it


def _refuse_rise(section: S, static_pa: float | None, residual_pa: float | None) -> S:
    """A section, if the pressure while water runs is not above that while nothing does."""
    if static_pa is not None and residual_pa is not None and residual_pa > static_pa:
        raise ValueError("residual_pressure is higher than static_pressure: exchange or mend them")
    return section


class WaterPressure(Section):
    """What a regulator is set to, or a booster pump, pressure tank or tank on the roof gives."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the regulator, pump or tank")
    static_pressure: MainPa  # behind it, while nothing runs
    residual_pressure: MainPa | None = None  # while water runs

    @model_validator(mode="after")
    def _falls(self) -> Self:
        return _refuse_rise(self, self.static_pressure, self.residual_pressure)


class Water(Section):
    static_pressure: MainPa | None = None  # while nothing runs
    residual_pressure: MainPa | None = None  # in the main as water runs
    flow_at_residual: FlowM3s | None = Field(default=None, gt=0)  # at which that was measured
    main_elevation: HeightM | None = None  # of the main, counted as storeys are
    meter_loss: PressurePa | None = Field(default=None, ge=0)  # at the flow of the building
    backflow_loss: PressurePa | None = Field(default=None, ge=0)  # of a preventer in the service
    other_loss: PressurePa | None = Field(default=None, ge=0)  # of what the model does not show
    source: str | None = None  # GlobalId of the meter or main where the supply begins
    demand_method: Literal["hunter", "low-demand"] = "hunter"  # how fixture units become flow
    demand_reading: Literal["interpolate", "next-row"] = "interpolate"  # of a load between two rows
    continuous_flow: tuple[ContinuousFlow, ...] = ()  # irrigation, cooling: added after the curve
    friction: Literal["hazen-williams", "darcy-weisbach"] = "hazen-williams"  # of pipe
    copper_type: Literal["K", "L", "M"] = "L"  # where pipe does not tell its own
    # share of its length added to pipe without a drawn fitting: 0.5 is Wisconsin SPS 382.40(7)(a)6
    fittings_allowance: float | None = Field(default=None, ge=0, le=MOST_ALLOWANCE)
    regulator_setting: MainPa | None = None  # in the service
    regulator_falloff: PressurePa | None = Field(default=None, ge=0)  # as water runs
    meter_check: bool | None = None  # the meter or main has a check valve
    devices: tuple[WaterDevice, ...] = ()
    pressures: tuple[WaterPressure, ...] = ()  # where the pressure begins anew

    @model_validator(mode="after")
    def _falls(self) -> Self:
        return _refuse_rise(self, self.static_pressure, self.residual_pressure)

    def named_elements(self) -> list[tuple[str, str]]:
        return [
            *(("source", guid) for guid in ([self.source] if self.source else [])),
            *(("continuous_flow.element", flow.element) for flow in self.continuous_flow),
            *(("devices.element", device.element) for device in self.devices),
            *(("pressures.element", behind.element) for behind in self.pressures),
        ]


class GasLoad(Section):
    """What an appliance takes, where the model does not show it, or a capped outlet is to give."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the appliance, or of the cap of an outlet")
    input: PowerW = Field(gt=0)  # its rating


class GasWhatIf(Section):
    """A question: would today's piping serve this appliance with another input?"""

    name: str = Field(min_length=1)  # as the report calls it
    element: str  # GlobalId of the appliance
    input: PowerW = Field(gt=0)  # the rating asked about


class RegulatorSection(Section):
    """A line regulator: the pressure it delivers, and what may be lost behind it."""

    ONE_FOR = ("element",)

    element: str  # GlobalId of the regulator
    outlet_pressure: PressurePa | None = Field(default=None, gt=0)  # what it delivers
    allowed_drop: PressurePa | None = Field(default=None, gt=0)  # from it to its appliances


class GasSection(Section):
    delivery_pressure: PressurePa | None = Field(default=None, gt=0)  # behind the meter
    allowed_drop: PressurePa | None = Field(default=None, gt=0)  # from there to the appliances
    heating_value: HeatingValueJm3 | None = Field(default=None, gt=0)  # of a volume of the gas
    specific_gravity: float | None = Field(default=None, gt=0)  # air is 1
    kind: Literal["natural", "propane"] | None = None  # told by the two above where left out
    source: tuple[str, ...] = ()  # GlobalIds of the meter or regulator where the piping begins
    method: Literal["longest-length", "branch-length", "hybrid"] | None = None  # of length
    sizing: Literal["table", "equation"] = "table"  # by tables of the code, or equation
    fittings: bool = False  # count the equivalent length of fittings
    csst_ehd: dict[float, int] = {}  # nominal size in inches -> the maker's flow designation
    loads: tuple[GasLoad, ...] = ()
    regulators: tuple[RegulatorSection, ...] = ()
    what_if: tuple[GasWhatIf, ...] = ()

    def named_elements(self) -> list[tuple[str, str]]:
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
    joining_tolerance: LengthM = Field(default=0.010, ge=0, le=0.5)  # of ends
    vocabulary: dict[str, Any] = {}  # words of a firm's own, in the shape of vocabulary.toml


class Amendment(Section):
    """A value of the adopted code as it is in force here: one cell of one table."""

    table: str  # its name, as `ifclint codes` has it
    row: dict[str, float | str]  # what the row holds in other columns
    column: str = "value"  # of the cell
    value: float | str | None = None  # left out: the amended code lists no value there
    reason: str = Field(min_length=1)  # the ordinance
    code: str | None = None  # only where this code is the adopted one


class Variance(Section):
    """A finding that somebody has accepted: named by its id, or by rule and element."""

    finding: Words | None = None  # its id
    rule: str | None = None  # with element
    element: str | None = None  # its GlobalId
    reason: Words  # why it is accepted
    accepted_by: Words
    until: date | None = None  # the last day it holds

    @field_validator("until", mode="before")
    @classmethod
    def _is_no_number(cls, value: object) -> object:
        if isinstance(value, int | float):
            raise ValueError("write a date, as 2027-01-31")
        return value

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        by_place = (self.rule is not None) + (self.element is not None)
        if by_place != (0 if self.finding is not None else 2):
            raise ValueError("name the finding by its id, or give rule and element")
        return self


class Job(Section):
    name: str = ""  # of the building, as reports give it
    address: str = ""  # where it stands
    adopted_code: FilePath | None = None  # its name, or the path of its folder: "./larkspur-2024"
    jurisdiction: FilePath | None = None  # a file of the same keys that holds for a whole city
    amendments: tuple[Amendment, ...] = ()
    variances: tuple[Variance, ...] = ()
    out_of_scope: tuple[str, ...] = ()  # rule packs that this review leaves out: "gas"
    building: BuildingSection = BuildingSection()
    drainage: DrainageSection = DrainageSection()
    water: Water = Water()
    gas: GasSection = GasSection()
    reading: Reading = Reading()
    _of_city: tuple[Path | None, int] = PrivateAttr((None, 0))  # its file, and its amendments

    def beside_city(self, path: Path, amendments: int) -> Self:
        """The same, its first so many amendments being of the jurisdiction's file."""
        made = self.model_copy()
        made._of_city = path, amendments
        return made

    def place_of_amendment(self, number: int) -> str:
        """Where the amendment of this number, from 1, is written."""
        path, count = self._of_city
        if number <= count:
            return f"Job file {path}, amendments.{number}"
        return f"Job file, amendments.{number - count}"

    def section(self, kind: type[S]) -> S:
        """The section of a rule pack; its defaults where the job file has none."""
        found = (value for _, value in self if type(value) is kind)
        return next(found, None) or kind()

    def of_pack(self, pack: str, key: str) -> object:
        """What the job file states in the section of another pack; None where it does not."""
        return getattr(getattr(self, pack, None), key, None)
