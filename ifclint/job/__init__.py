"""The job file: what no model holds, read from TOML and checked key by key.

Quantities are strings with a unit ("65 psi", "0.5 inH2O", "40 ft"); here they become SI floats.
Unknown keys, wrong units and wrong values are refused with the key they stand under. A rule pack
brings a section of its own as a pydantic model, checked with the same sentences.
"""

from ifclint.job.heights import in_model_heights
from ifclint.job.model import Job, Section, Variance, WaterPressure
from ifclint.job.quantities import (
    FlowM3s,
    HeatingValueJm3,
    HeightM,
    LengthM,
    PowerW,
    PressurePa,
    quantity,
)
from ifclint.job.reading import first_mistake, job_of, load
from ifclint.job.sections import SectionFailed, fitting, job_with, refuse_unfit

__all__ = [
    "FlowM3s", "HeatingValueJm3", "HeightM", "Job", "LengthM", "PowerW", "PressurePa", "Section",
    "SectionFailed", "Variance", "WaterPressure", "first_mistake", "fitting", "in_model_heights",
    "job_of", "job_with", "load", "quantity", "refuse_unfit",
]  # fmt: skip
