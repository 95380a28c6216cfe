"""What the job file says of venting: [venting]."""

from ifclint.job import LengthM, Section


class VentingSection(Section):
    """What the authority allows and asks for here."""

    air_admittance_valves_allowed: bool | None = None  # by the authority, or forbidden by it
    combination_approved: bool = False  # combinations of waste and vent, by the authority
    above_roof: LengthM | None = None  # how high terminals stand above the roof here
    roof_in_use: bool = False  # people use the roof
    soffit_vents: bool | None = None  # the overhangs of the roof have vents in their soffits
    frost_closure: bool | None = None  # the design temperature of winter is 0 °F or lower
