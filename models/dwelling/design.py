"""The choices a designer of this dwelling makes; the defaults are the corrected drawing.

A mistake in `mistakes.py` is one of these fields with another value, so any mistake can be put
into the building by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from .catalogue import COMBINATION
from .takeoff import QUARTER_INCH_PER_FOOT


@dataclass(frozen=True)
class Design:
    """Sizes are trade sizes in inches, positions and heights feet, slopes rise over run."""

    # Drainage
    powder_branch_in: float = 3.0  # drain of the ground-floor closet, from its vent on
    kitchen_drain_in: float = 2.0  # island sink drain beyond the trap arm
    standpipe_trap_in: float = 2.0
    bath2_branch_slope: float = QUARTER_INCH_PER_FOOT
    laundry_branch_slope: float = QUARTER_INCH_PER_FOOT
    sewer_in: float = 4.0  # building drain from its last branch to the street
    waste_stack_junction: str = COMBINATION
    closet_fitting: str = "Double combination wye and eighth bend"
    powder_lavatory_gap: float = 0.0  # how far the drain stops short of the building drain
    shower_trap_in: float = 2.0
    lavatory3_trap_in: float = 1.25
    floor_drain_size_stated: bool = True
    # Traps, vents, cleanouts
    tub_vented: bool = True
    laundry_sink_x: float = 31.0  # its drain rises in the wall at x = 30
    powder_vent_level: float = 3.6  # where the lavatory vent turns horizontal
    floor_drain_vent_to_stack: bool = True
    laundry_cleanout: bool = True
    refrigerator_y: float = 24.0  # a cleanout faces the kitchen at y = 21
    main_cleanout_in: float = 4.0
    # Water, heaters
    pressure_reducing_valve: bool = True
    lavatory4_crossed: bool = False
    relief1_rises: bool = False
    relief2_in: float = 0.75
    washer_pan_drained: bool = True
    upper_cold_main_in: float = 1.0
    # Gas
    gas_trunk_in: float = 1.25
    furnace_sediment_trap: bool = True
