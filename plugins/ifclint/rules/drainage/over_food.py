"""The rule about drains that run over food."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, missing, not_known
from ifclint.engineering.extents import lies_flat
from ifclint.engineering.tolerance import at_least
from ifclint.findings import Answer, PartKind
from ifclint.ifc.elements import Element, Role, Space, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.surroundings.rooms import passes, rooms_called
from ifclint.plumbing.words import says

FOOD = (
    "food prep*", "food storage", "food service", "kitchen", "prep kitchen", "serving", "buffet",
    "kuche", "cuisine", "cocina", "keuken",
)  # fmt: skip
NO_FOOD = ("office", "corridor", "toilet", "restroom", "mechanical")
PROTECTION = ("drip pan", "drain pan", "protective pan", "protected from leakage", "containment")
OVERHEAD_M = 1.8  # above its floor what runs in a room runs over heads. Ours, no source
USE = Fact(
    'whether {} runs over food of the public in "{}" is not known: the use of the building is not '
    "stated.",
    "Give the job file [building] occupancy (private, public or assembly).",
)
DRIP_PANS = PartKind(
    "pans under drains over food",
    drawn=lambda context: bool(context.plumbing.saying(PROTECTION)),
    remedy="Show the pan or shield under the drain, or lead the drain around the room.",
)


@rule(
    title="No drain exposed over food",
    clauses={"upc": "317.1", "ipc": "", "irc": ""},
    applies=lambda piece: _is_drain(piece.element),
)
def drain_over_food(piece: Piece, context: Context) -> Answer:
    """What drips from a drain falls into the soup.

    Level drains and storm drains that run overhead within rooms named as kitchens, or for the
    preparation, storage or serving of food, in buildings of public use; where the
    use is not stated it is asked. One finding for a room: a pan or shield under the drain may be
    meant and not drawn.
    """
    occupancy = context.job.building.occupancy
    if occupancy == "private":
        return NOT_APPLICABLE
    room = next((r for r in _rooms(context) if _runs_over(piece.element, r)), None)
    if room is None or says(piece.element, PROTECTION):
        return PASS
    run = _over(context, room)
    if run[0] != piece.key:
        return NOT_APPLICABLE  # told with the first of its room
    if occupancy is None:
        return not_known(USE, piece, room.name, elements=run)
    more = f", with {len(run) - 1} more," if len(run) > 1 else ""
    return missing(
        DRIP_PANS,
        message=f'{piece.label}{more} runs exposed in "{room.name}", over food.',
        remedy=f'Lead the drain around "{room.name}", or set a pan or shield under it.',
        elements=run,
    )


def _is_drain(element: Element) -> bool:
    return element.role is Role.PIPE and element.system in (System.SANITARY, System.STORM)


@derived
def _rooms(context: Context) -> list[Space]:
    return rooms_called(FOOD, NO_FOOD, context)


@derived
def _over(context: Context, room: Space) -> tuple[str, ...]:
    """The drains that run over a room unprotected: GlobalIds."""
    drains = (e for e in context.plumbing.network.elements if _is_drain(e))
    bare = (e for e in drains if not says(e, PROTECTION))
    return tuple(e.guid for e in bare if _runs_over(e, room))


def _runs_over(element: Element, room: Space) -> bool:
    points = element.places
    if len(points) < 2 or not lies_flat(points[0], points[-1]):
        return False
    lowest = min(p[2] for p in points)
    return at_least(lowest - room.low[2], OVERHEAD_M, "m") and passes(points[0], points[-1], room)
