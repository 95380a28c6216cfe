"""Which services are kinds of which, and which two can both be right of one element."""

from __future__ import annotations

from collections.abc import Sequence

from ifclint.ifc.elements import DRAINAGE, System

WATER_KINDS = frozenset({System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
FED = frozenset({System.COLD_WATER, System.HOT_WATER})
NOT_POTABLE = frozenset({System.HEATING, System.FIRE, System.NON_POTABLE, System.OTHER})
RAIN_TOO = frozenset({System.WATER, System.COLD_WATER})
_HAS_OTHERS = {  # what a literal stands for too where it is all that there is: system -> services
    System.COLD_WATER: NOT_POTABLE,
    System.HOT_WATER: frozenset({System.NON_POTABLE, System.OTHER}),
    System.STORM: frozenset({System.NON_POTABLE}),
    System.GAS: frozenset({System.OTHER}),
    System.HEATING: frozenset({System.NON_POTABLE}),
    System.FIRE: frozenset({System.NON_POTABLE}),
}
FAMILIES = (  # services that a name can be told apart by
    frozenset({System.SANITARY, System.VENT, System.STORM, System.CONDENSATE, System.RELIEF}),
    frozenset({*WATER_KINDS, System.WATER, System.RELIEF}),
    frozenset({System.GAS}),
)
KINDS_OF_DRAIN = frozenset({System.VENT, System.STORM, System.CONDENSATE, System.RELIEF})


def refine(general: System, particular: System | None) -> System:
    """The particular system where it is a kind of the general one, else the general one."""
    if particular is None:
        return general
    if general is System.WATER and particular in WATER_KINDS | NOT_POTABLE:
        return particular
    if general in _HAS_OTHERS and particular in _HAS_OTHERS[general]:
        return particular
    if general in RAIN_TOO and particular is System.STORM:  # water of rain that is led to fixtures
        return System.NON_POTABLE
    if general is System.SANITARY and particular in KINDS_OF_DRAIN:
        return particular
    if general is System.STORM and particular is System.CONDENSATE:
        return particular
    if general is System.OTHER:
        return particular
    if general in (System.COLD_WATER, System.HOT_WATER) and particular is System.RELIEF:
        return particular
    if general is System.HOT_WATER and particular is System.HOT_WATER_RETURN:
        return particular
    return general


def single_of(systems: Sequence[System]) -> System | None:
    """The one system of a set of ports; sanitary and vent together are sanitary, water of no told
    side is of the side that another tells, and a return is of the water that it leaves or joins."""
    different = set(systems)
    if len(different) == 2 and System.WATER in different and different & WATER_KINDS:
        different.discard(System.WATER)
    if len(different) == 2 and System.HOT_WATER_RETURN in different and different & FED:
        different.discard(System.HOT_WATER_RETURN)
    if len(different) == 1:
        return next(iter(different))
    return System.SANITARY if different and different <= DRAINAGE else None


def agree(general: System | None, particular: System) -> bool:
    """Whether two places can both be right of one element."""
    if general is None or general is particular:
        return True
    return refine(general, particular) is particular or refine(particular, general) is general


def same_family(one: System, other: System) -> bool:
    """Whether two services are kinds of one, as far as words tell: a "drain" may be any drain."""
    if {one, other} == {System.COLD_WATER, System.HOT_WATER}:
        return False
    families = [family for family in FAMILIES if one in family]
    stated = any(other in family for family in FAMILIES)
    return not families or not stated or any(other in family for family in families)
