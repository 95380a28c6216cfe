"""What the job file says of cleanouts: [cleanouts]."""

from pydantic import Field

from ifclint.job import LengthM, Section


class CleanoutsSection(Section):
    """What the plumber's machine can do; the defaults are common practice."""

    cable_length: LengthM = Field(default=100 * 0.3048, gt=0)  # in pipe of 3 in and larger
    small_cable_length: LengthM = Field(default=50 * 0.3048, gt=0)  # in smaller pipe
    smallest_pipe_in: float = Field(default=1.5, gt=0)
    turns_deg: float = Field(default=360.0, gt=0)  # all turns of one push together
