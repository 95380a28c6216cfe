"""Notes of elements whose systems, ports and names tell different services."""

from collections.abc import Sequence

from ifclint.ifc.elements import DRAINAGE, Basis, Element, Note, Role, System
from ifclint.ifc.facts.notes import LABEL
from ifclint.ifc.facts.service.kinds_of_service import WATER_KINDS, agree, same_family, single_of
from ifclint.ifc.facts.service.system_reader import Group

OF_ONE_SERVICE = frozenset({Role.PIPE, Role.FITTING, Role.CLEANOUT})
ONE_SYSTEM_TYPE = "Give all its ports one SystemType."
BY_PORTS = Basis("SystemType of its ports")


def note_conflict(known: list[Group], notes: list[Note]) -> None:
    """Note an element that is in systems of different services."""
    services = {g[0] for g in known}
    if services & WATER_KINDS:
        services.discard(System.WATER)
    if len(services) > 1 and not services <= DRAINAGE:
        names = ", ".join(sorted(f'"{g[1]}"' for g in known))
        what = f"{LABEL} is in systems of different services ({names}); the first was taken."
        notes.append(Note(what, "Keep it in one system.", "", "system"))


def note_ports(
    element: Element, ports: Sequence[System], known: list[Group], notes: list[Note]
) -> None:
    """Note ports that tell another service than each other, or than the system they are in."""
    stated = list(dict.fromkeys(ports))
    if not WATER_KINDS.isdisjoint(stated):
        stated = [s for s in stated if s is not System.WATER]  # of which the others are kinds
    if len(stated) > 1 and element.role in OF_ONE_SERVICE and not set(stated) <= DRAINAGE:
        names = " and ".join(s.value for s in stated)
        what = f"The ports of {LABEL} are of different services ({names} by SystemType)."
        notes.append(Note(what, ONE_SYSTEM_TYPE, "", "system"))
    elif len(stated) == 1 and known and not agree(known[0][0], stated[0]):
        what = (
            f"{LABEL} is in {known[0][2]}, which is {_named(known[0][0])}, but the SystemType of "
            f"its ports says {stated[0].value}; the first was taken."
        )
        notes.append(Note(what, "Make system and ports agree.", "", "system"))


def note_words(
    known: list[Group], ports: Sequence[System], own: System, what_says: str, notes: list[Note]
) -> None:
    """Note a name that tells a service of another family than the system or the ports."""
    port = single_of(ports)
    stated, where = (known[0][0], known[0][2]) if known else (port, BY_PORTS)
    if stated is None or same_family(stated, own):
        return
    if known and port is not None and same_family(port, own):
        return  # already told of the ports
    what = (
        f"{LABEL} is {stated.value} by {where} but its {what_says} says {own.value}; the first "
        "was taken."
    )
    notes.append(Note(what, "Make the name and the system agree.", "", "system"))


def _named(system: System | None) -> str:
    return system.value if system is not None else ""
