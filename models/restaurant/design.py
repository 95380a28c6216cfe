"""What differs between the two revisions: one field for every seeded mistake."""

from dataclasses import dataclass

QUARTER_INCH = 1 / 48  # ft per ft


@dataclass(frozen=True)
class Design:
    """The corrected building; lengths in feet, pipe sizes in inches."""

    flat_branch_in: float = 3.0
    grease_main_fall: float = QUARTER_INCH
    hand_sink_vent: bool = True
    head_cleanout: bool = True
    flat_sink_x: float = 8.4
    range_gas_in: float = 1.0
    interceptor: bool = True
    prep_sink_indirect: bool = True
    relief_line: bool = True
    flat_cold_in: float = 1.25
    tub_trap_in: float = 2.0
    mop_arm: float = 1.0
    pot_sink_vent_turn: float = 8.5
    closet_vent_in: float = 2.0
    east_vent_top: float = 23.7
    fryer_shutoff: bool = True
    heater_sediment_trap: bool = True
    heater_cold_valve: bool = True
    expansion_tank: bool = True
    standpipe_top: float = 15.1
    heater_drain_fall: float = QUARTER_INCH
    flat_lavatory_crossed: bool = False
    flat_lavatory_y: float = 34.0


CORRECTED = Design()

EARLY = Design(
    flat_branch_in=1.5,
    grease_main_fall=QUARTER_INCH / 4,
    hand_sink_vent=False,
    head_cleanout=False,
    flat_sink_x=14.0,
    range_gas_in=0.5,
    interceptor=False,
    prep_sink_indirect=False,
    relief_line=False,
    flat_cold_in=0.5,
    tub_trap_in=1.25,
    mop_arm=0.35,
    pot_sink_vent_turn=2.2,
    closet_vent_in=1.25,
    east_vent_top=22.75,
    fryer_shutoff=False,
    heater_sediment_trap=False,
    heater_cold_valve=False,
    expansion_tank=False,
    standpipe_top=16.9,
    heater_drain_fall=-QUARTER_INCH,
    flat_lavatory_crossed=True,
    flat_lavatory_y=33.5,
)
