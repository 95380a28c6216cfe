"""Rules about what can set fumes alight: burners and switches above a garage's floor, out of the way of vehicles."""

from __future__ import annotations
from collections.abc import Iterator
from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Bounds,
    Fact,
    check,
    due,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.extents import level_m, middle, shared_m, thickness_m
from ifclint.engineering.tolerance import at_least, at_most, lies_above, lies_below
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Box, Element, Point, Surface, System
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelAppliance, Heater
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.plumbing.surroundings.room_uses import is_garage
from ifclint.plumbing.words import says
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.attic import in_attic
from ifclint.rules.heaters.ends import floor_under
from ifclint.rules.heaters.wording import inches


