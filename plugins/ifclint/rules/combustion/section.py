"""What the job file tells of air for combustion and of gas around the building: [combustion]."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from ifclint.job import LengthM, Section
from ifclint.job.quantities import quantity

AreaM2 = Annotated[float, BeforeValidator(quantity("meter**2", "100 in**2"))]
VolumeM3 = Annotated[float, BeforeValidator(quantity("meter**3", "2000 ft**3"))]
AirFlowM3s = Annotated[float, BeforeValidator(quantity("meter**3/second", "50 ft**3/minute"))]


class Opening(Section):
    """A permanent opening through which a room gets its air."""

    to: Literal["indoors", "other-storey", "outdoors", "vertical-duct", "horizontal-duct"]
    area: AreaM2 = Field(gt=0)  # free area, behind louvers and screens
    from_top: LengthM | None = Field(default=None, ge=0)  # where it begins, below the ceiling
    from_bottom: LengthM | None = Field(default=None, ge=0)  # or above the floor
    least_side: LengthM | None = Field(default=None, gt=0)


class AirOfRoom(Section):
    """Where appliances in a room get their air, as no model tells it."""

    ONE_FOR = ("room",)

    room: str = Field(min_length=1)  # the name of its space
    volume: VolumeM3 | None = Field(default=None, gt=0)  # where it is not that of its box
    open_to: tuple[str, ...] = ()  # rooms whose air it shares, without a door or by its openings
    air_changes: float | None = Field(default=None, gt=0, le=10)  # known infiltration, per hour
    openings: tuple[Opening, ...] | None = None  # [] for none; to, area, from_top, from_bottom
    sealed_door: bool | None = None  # solid, gasketed, self-closing; and used for nothing else
    fan: AirFlowM3s | None = Field(default=None, gt=0)  # outdoor air that a fan supplies
    exhausted: AirFlowM3s = Field(default=0.0, ge=0)  # air that exhaust fans take from the room
    interlocked: bool | None = None  # no burner fires while that fan stands still
    designed: bool = False  # settled by a licensed designer


class CombustionSection(Section):
    """Air for what burns fuel, and facts of the gas piping that no model holds."""

    rooms: tuple[AirOfRoom, ...] = ()
    csst_bonded: bool | None = None  # bonded to the grounding electrode system
    propane_removal: bool | None = None  # approved means to remove unburned gas from low places

    def named_rooms(self) -> list[tuple[str, str]]:
        return [
            *(("rooms.room", each.room) for each in self.rooms),
            *(("rooms.open_to", name) for each in self.rooms for name in each.open_to),
        ]

    def of(self, room: str) -> AirOfRoom | None:
        return next((each for each in self.rooms if each.room == room), None)
