"""Which services are kinds of which, and which two can both be right of one element."""

from collections.abc import Sequence

from ifclint.ifc.elements import DRAINAGE, System

WATER_KINDS = frozenset({System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
FED = frozenset({System.COLD_WATER, System.HOT_WATER})
NOT_POTABLE = frozenset({System.HEATING, System.FIRE, System.NON_POTABLE, System.OTHER})
RAIN_TOO = frozenset({System.WATER, System.COLD_WATER})
_KINDS = {  # what one service may be in particular, or its literal where it is all that there is
    System.WATER: WATER_KINDS | NOT_POTABLE,
    System.COLD_WATER: NOT_POTABLE | {System.RELIEF},
    System.HOT_WATER: frozenset(
        {System.HOT_WATER_RETURN, System.RELIEF, System.NON_POTABLE, System.OTHER}
    ),
    System.SANITARY: frozenset({System.VENT, System.STORM, System.CONDENSATE, System.RELIEF}),
    System.STORM: frozenset({System.CONDENSATE, System.NON_POTABLE}),
    System.GAS: frozenset({System.OTHER}),
    System.HEATING: frozenset({System.NON_POTABLE}),
    System.FIRE: frozenset({System.NON_POTABLE}),
    System.OTHER: frozenset(System),
}
FAMILIES = (  # services that a name can be told apart by
    frozenset({System.SANITARY, System.VENT, System.STORM, System.CONDENSATE, System.RELIEF}),
    frozenset({*WATER_KINDS, System.WATER, System.RELIEF}),
    frozenset({System.GAS}),
)


def refine(general: System, particular: System | None) -> System:
    """The particular system where it is a kind of the general one, else the general one."""
    if general in RAIN_TOO and particular is System.STORM:  # water of rain that is led to fixtures
        return System.NON_POTABLE
    is_kind = particular is not None and particular in _KINDS.get(general, ())
    return particular if is_kind and particular is not None else general


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
