"""What the job file tells of the site: [site]."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from ifclint.job import Section
from ifclint.job.quantities import FlowM3s, quantity

VolumeM3 = Annotated[float, BeforeValidator(quantity("meter**3", "1000 gal"))]


class InterceptorData(Section):
    """What the model does not tell of an interceptor, and what flows into it."""

    element: str = Field(description="GlobalId of the interceptor")
    volume: VolumeM3 | None = Field(default=None, gt=0)
    rating: FlowM3s | None = Field(default=None, gt=0)  # certified flow, hydromechanical
    flow: FlowM3s | None = Field(default=None, gt=0)  # peak flow into it, by its designer


class SiteSection(Section):
    """Interceptors the authority asks for or lets be."""

    grease_interceptor: bool | None = None  # whether the authority asks for one
    interceptor_takes: tuple[Literal["dishwasher", "disposer"], ...] = ()  # approved to pass it
    interceptors: tuple[InterceptorData, ...] = ()

    def named_elements(self) -> list[tuple[str, str]]:
        return [("interceptors.element", each.element) for each in self.interceptors]
