"""Whether a heater stands in an attic: told by the space around it, or by roof and rooms."""

from ifclint.engineering.tolerance import lies_below
from ifclint.packs import Context, derived
from ifclint.plumbing import CondensateSource, Heater

LIVED_ON = frozenset({"rooms", "doors", "fixtures"})  # what tells a floor that is no attic
WORDS = ("attic", "loft", "dachboden", "combles", "zolder", "desvan", "desván", "entretecho")


@derived
def in_attic(context: Context, of: Heater | CondensateSource) -> bool | None:
    """Whether it does; None where nothing but the name of a level, or a roof close over it, tells.

    A space tells by its name. Where the model draws spaces, what stands in none of them, under the
    roof without a slab between and above a room, stands in the attic. A level is no room.
    """
    element, around = of.element, context.plumbing.surroundings
    if element.space:
        return _is_called(element.space)
    point, floor = element.position, around.floors.of(element)
    if point is None or floor is None:
        return None if _is_called(element.storey) else False
    roof, slab = around.roof_over(point), around.slab_at(point)
    is_under_roof = roof is not None and lies_below(point[2], roof.top_m) and slab is None
    if is_under_roof and around.has_rooms_below(point, floor.level_m):
        if context.plumbing.network.model.spaces:
            return True
        return False if floor.basis in LIVED_ON else None
    return None if _is_called(element.storey) else False


def _is_called(name: str) -> bool:
    return any(word in name.lower() for word in WORDS)
