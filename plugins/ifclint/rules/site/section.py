"""What the job file tells of the site: [site]."""

from typing import Literal

from pydantic import Field

from ifclint.job import HeightM, LengthM, Section
from ifclint.job.quantities import FlowM3s, VolumeM3


class InterceptorData(Section):
    """What the model does not show of an interceptor, and what flows into it."""

    ONE_FOR = ("element",)

    element: str = Field(description="GlobalId of the interceptor")
    volume: VolumeM3 | None = Field(default=None, gt=0)
    rating: FlowM3s | None = Field(default=None, gt=0)  # certified flow, hydromechanical
    flow: FlowM3s | None = Field(default=None, gt=0)  # peak flow into it, by its designer


class Setback(Section):
    """A distance on the site that the model does not draw."""

    ONE_FOR = ("of", "to", "element")

    of: Literal["building-sewer", "septic-tank", "disposal-field", "seepage-pit"]
    to: Literal["building", "property-line", "well", "stream", "water-service", "public-water-main"]
    distance: LengthM = Field(ge=0)
    element: str | None = None  # GlobalId of what it is of, where the model has it


class SiteSection(Section):
    """The street connection, depths, distances; interceptors the authority asks for or lets be."""

    sewer_invert: HeightM | None = None  # of the street's connection, counted as storeys are
    sewer_distance: LengthM | None = Field(default=None, ge=0)  # from where the model's drain ends
    sewer_cover: LengthM | None = Field(default=None, ge=0)  # least, as the jurisdiction adopted it
    frost_depth: LengthM | None = Field(default=None, ge=0)  # 0 where the ground does not freeze
    separate_trenches: bool | None = None  # sewer and water service each in a trench of its own
    distances: tuple[Setback, ...] = ()
    sump_alarm: bool | None = None  # whether sewage sumps have an alarm, heard and seen

    grease_interceptor: bool | None = None  # whether the authority asks for one
    interceptor_takes: tuple[Literal["dishwasher", "disposer"], ...] = ()  # approved to pass it
    interceptors: tuple[InterceptorData, ...] = ()

    def named_elements(self) -> list[tuple[str, str]]:
        return [
            *(("interceptors.element", each.element) for each in self.interceptors),
            *(("distances.element", each.element) for each in self.distances if each.element),
        ]
