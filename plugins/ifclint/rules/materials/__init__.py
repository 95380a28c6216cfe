"""Materials: what pipe is made of by service and place, and floor drains with their traps."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl
from ifclint.plumbing import Fixture
from ifclint.plumbing.subjects import finders
from ifclint.rules.materials import floor_drains, services
from ifclint.rules.materials.floor_drains import WetRoom, wet_rooms
from ifclint.rules.materials.lots import Lot, lots
from ifclint.rules.materials.services import Meeting, meetings


@hookimpl
def ifclint_subjects() -> Finders:
    return {**finders(Fixture), Lot: lots, Meeting: meetings, WetRoom: wet_rooms}


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*services.RULES, *floor_drains.RULES]
