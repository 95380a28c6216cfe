"""Materials: what pipe and fittings are made of by service and place, and floor drains."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl
from ifclint.plumbing import Fixture, Heater
from ifclint.plumbing.subjects import finders
from ifclint.rules.materials import at_heaters, fittings, floor_drains, services
from ifclint.rules.materials.fittings import (
    FittingLot,
    PlasticJoint,
    fitting_lots,
    plastic_joints,
)
from ifclint.rules.materials.floor_drains import WetRoom, wet_rooms
from ifclint.rules.materials.lots import Lot, lots
from ifclint.rules.materials.services import MetalsMeeting, meetings


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        **finders(Fixture, Heater), Lot: lots, MetalsMeeting: meetings, WetRoom: wet_rooms,
        FittingLot: fitting_lots, PlasticJoint: plastic_joints,
    }  # fmt: skip


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*services.RULES, *fittings.RULES, *at_heaters.RULES, *floor_drains.RULES]
