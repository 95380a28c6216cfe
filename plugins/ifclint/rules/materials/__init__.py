"""Materials: what pipe and fittings are made of by service and place, and floor drains."""

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl, rules_in
from ifclint.rules.materials.fittings import FittingLot, PlasticJoint, fitting_lots, plastic_joints
from ifclint.rules.materials.floor_drains import WetRoom, wet_rooms
from ifclint.rules.materials.lots import Lot, lots
from ifclint.rules.materials.services import MetalsMeeting, meetings


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Lot: lots, MetalsMeeting: meetings,
        WetRoom: wet_rooms, FittingLot: fitting_lots, PlasticJoint: plastic_joints,
    }  # fmt: skip


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(__name__, "services", "fittings", "at_heaters", "condensate", "floor_drains")
