"""What the job file tells of storm drainage: [storm]."""

from pydantic import Field

from ifclint.job import Section
from ifclint.job.quantities import AreaM2, LengthM, RainfallMs


class RoofArea(Section):
    """What drains to one inlet."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the roof drain, gutter or pipe below it")
    area: AreaM2 = Field(ge=0)  # of the roof, seen from above
    walls: AreaM2 = Field(default=0.0, ge=0)  # walls whose rain runs onto it
    adjacent_walls: AreaM2 = Field(
        default=0.0, ge=0
    )  # two walls that meet, of one height, together
    width: LengthM | None = Field(default=None, gt=0)  # of a rectangular gutter, at its top
    depth: LengthM | None = Field(default=None, gt=0)  # of a rectangular gutter


class StormSection(Section):
    """Rain, roofs and where the storm drainage goes."""

    rate: RainfallMs | None = Field(default=None, gt=0)  # one hour's rain of once in 100 years
    secondary_rate: RainfallMs | None = Field(default=None, gt=0)  # the same where left out
    areas: tuple[RoofArea, ...] = ()
    parapets: bool | None = None  # whether roofs hold water where their drains are stopped
    combined_sewer: bool | None = None  # whether the storm drainage goes into a combined sewer

    def of(self, guid: str) -> RoofArea | None:
        return next((each for each in self.areas if each.element == guid), None)

    def named_elements(self) -> list[tuple[str, str]]:
        return [("areas.element", each.element) for each in self.areas]
