"""Ducts that vent an appliance which burns fuel, among all that move air, and where they end.

Many programs draw a flue as ducts. One is taken for a flue where its words or those of its system
say so, or where it is joined, port to port, to the collar of such an appliance; what is called the
exhaust of a bath, a kitchen or a dryer never is.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from ifclint.engineering.joined import by_steps, pieces
from ifclint.ifc.elements import Basis, Confidence, Element, Joint, Role, System, joined_to
from ifclint.ifc.facts.describing import DUCTS, CommonAttributes, Occurrence
from ifclint.ifc.facts.vocabulary import Phrases, phrases_of
from ifclint.ifc.step.library import instance
from ifclint.ifc.step.relations import GROUPINGS, linked_ports, members_of, ports_of
from ifclint.ifc.step.spf import arguments, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

ENDS_IT = Basis("the flue that ends in it", Confidence.INFERRED)
KINDS = frozenset({"", "cap", "exit"})
NAMES: Phrases[bool] = Phrases()  # whether gas leaves by what is called so
VENTED = frozenset({"furnace", "fireplace"})  # appliances with a flue of their own
FLUE = (
    "flue", "flue vent", "flue gas", "chimney", "gas vent", "b vent", "type b vent", "l vent",
    "vent connector", "draft hood", "breeching", "heater vent", "heater exhaust", "boiler vent",
    "boiler exhaust", "furnace vent", "furnace exhaust", "appliance vent", "category i vent",
    "category iii vent", "category iv vent", "abgas", "abgasrohr", "abgasleitung", "schornstein",
    "rauchrohr", "rookgas", "rookgasafvoer", "cheminee", "conduit de fumee", "fumisterie",
    "chimenea", "vent damper", "draft damper", "abgasklappe",
)  # fmt: skip
OTHER_AIR = (
    "bath exhaust", "bathroom exhaust", "toilet exhaust", "bath fan", "exhaust fan", "bath vent",
    "kitchen exhaust", "kitchen hood", "range hood", "grease duct", "dryer", "dryer vent",
    "dryer vent connector", "supply air", "return air", "outside air", "outdoor air", "fresh air",
    "combustion air", "air intake", "intake", "make up air", "makeup air", "transfer air",
    "relief air", "zuluft", "verbrennungsluft",
)  # fmt: skip
PIPES = frozenset({"IfcPipeSegment", "IfcPipeFitting"})
COLLAR = ("exhaust", "vent", "outlet", "vent outlet", "vent collar", "smoke")
NO_FLUE = ("heat pump", "hybrid", "electric", "elektro", "electrico", "electrique")


@dataclass(frozen=True)
class FlueDucts:
    """The ducts that are flues, and the ports of them and of what they are joined to."""

    ducts: frozenset[Ref] = frozenset()
    ports: frozenset[Ref] = frozenset()


def find_flue_ducts(text: TextIndex, rare: Any, occurrences: list[Occurrence]) -> FlueDucts:
    """Which of the ducts among the occurrences of a file are flues."""
    alike: dict[CommonAttributes, bool | None] = {}  # but for numbers, which no phrase here holds
    for of in occurrences:
        if _is_duct(of) and of.common not in alike:
            alike[of.common] = _told(text for text, _ in of.texts)
    ducts = {of.ref: alike[of.common] for of in occurrences if _is_duct(of)}
    if not ducts:
        return FlueDucts()
    systems = [*_systems(text, rare)]
    for members, told in systems:
        for member in ducts.keys() & members:
            if ducts[member] is None:
                ducts[member] = told
    for duct in _in_pipe(text, occurrences, systems):
        ducts[duct] = ducts[duct] is not False
    burners = {o.ref: o for o in occurrences if _burns(o)}
    flues = {duct for duct, told in ducts.items() if told}
    if not flues and not burners:
        return FlueDucts()
    owner, links = _links(text, {*ducts, *burners})
    flues |= _joined(text, ducts, burners, owner, links)
    ports = {port for port, of in owner.items() if of in flues}
    ports |= {other for port in ports for other in links[port]}
    return FlueDucts(frozenset(flues), frozenset(ports))


def _in_pipe(
    text: TextIndex, occurrences: list[Occurrence], systems: list[tuple[set[Ref], bool]]
) -> set[Ref]:
    """The dampers that are joined, port to port, to pipe, and the air terminals that are to pipe
    told to be a flue: no other duct is drawn so."""
    dampers = {o.ref for o in occurrences if o.common.ifc_class == "IfcDamper"}
    caps = {o.ref for o in occurrences if o.common.ifc_class == "IfcAirTerminal"}
    pipes = [o for o in occurrences if o.common.ifc_class in PIPES] if dampers or caps else []
    in_flues = {member for members, told in systems if told for member in members}
    flues = {o.ref for o in pipes if o.ref in in_flues or _told(t for t, _ in o.texts)}
    return _joined_to(text, dampers, {o.ref for o in pipes}) | _joined_to(text, caps, flues)


def _joined_to(text: TextIndex, some: set[Ref], others: set[Ref]) -> set[Ref]:
    """Those of some elements that are joined, port to port, to one of others."""
    if not some or not others:
        return set()
    owner, links = _links(text, some | others)
    beside = {
        owner.get(other) for port in links if owner.get(port) in others for other in links[port]
    }
    return some & beside


def _is_duct(of: Occurrence) -> bool:
    return of.common.ifc_class in DUCTS


def _burns(of: Occurrence) -> bool:
    """Whether it may burn fuel and want a flue."""
    what = of.common.classification
    vented = what.role is Role.HEATER or (what.role is Role.APPLIANCE and what.kind in VENTED)
    return vented and not any(phrases_of(NO_FLUE).find(t) for t, _ in of.texts)


def _told(texts: Iterable[str]) -> bool | None:
    """Whether words tell a flue, or other air; None where they tell neither."""
    flue = False
    for text in texts:
        if phrases_of(OTHER_AIR).find(text):
            return False
        flue = flue or bool(phrases_of(FLUE).find(text))
    return flue or None


def _systems(text: TextIndex, rare: Any) -> Iterator[tuple[set[Ref], bool]]:
    """The members of each system whose words tell a flue, or other air."""
    for name in GROUPINGS:
        for group, members in members_of(text, name):
            entity = instance(rare, group)
            if entity is not None and entity.is_a("IfcSystem"):
                texts = [clean(a) for a in entity if isinstance(a, str)]
                told = _told(texts[1:])
                if told is not None:
                    yield set(members), told


def _links(text: TextIndex, owners: set[Ref]) -> tuple[dict[Ref, Ref], dict[Ref, list[Ref]]]:
    """The owner of each port of some elements, and what each port is joined to."""
    wanted = np.array(sorted(owners), dtype=np.int64)
    owner = {port: of for of, port in ports_of(text, wanted).tolist()}
    links: dict[Ref, list[Ref]] = defaultdict(list)
    for a, b, _ in linked_ports(text).tolist():
        if a in owner or b in owner:
            links[a].append(b)
            links[b].append(a)
    return owner, links


def _joined(
    text: TextIndex,
    ducts: dict[Ref, bool | None],
    burners: dict[Ref, Occurrence],
    owner: dict[Ref, Ref],
    links: dict[Ref, list[Ref]],
) -> set[Ref]:
    """The ducts that lead on from the collars of appliances, and from ducts that are flues."""
    ports: dict[Ref, list[Ref]] = defaultdict(list)
    for port, of in owner.items():
        ports[of].append(port)
    starts = [
        duct
        for burner, of in burners.items()
        for port in ports[burner]
        if _is_collar(text, port, of)
        for duct in _beyond(port, owner, links)
    ]
    starts += [duct for duct, told in ducts.items() if told]

    def may_be(duct: Ref) -> bool:
        return ducts.get(duct, False) is not False

    return {*by_steps(filter(may_be, starts), lambda duct: (
        other for port in ports[duct] for other in filter(may_be, _beyond(port, owner, links))
    ))}  # fmt: skip


def _beyond(port: Ref, owner: dict[Ref, Ref], links: dict[Ref, list[Ref]]) -> Iterator[Ref]:
    return (owner[other] for other in links[port] if other in owner)


def _is_collar(text: TextIndex, port: Ref, of: Occurrence) -> bool:
    """Whether a port may be where the flue begins: of a furnace, which moves air besides, where its
    words or its SystemType tell."""
    line = text.get(port)
    parts = arguments(line[line.index(b"(") + 1 : -1]) if line else []
    words = [clean(string(p)) for p in parts[2:5]]
    told = _told(words)
    if told is not None:
        return told
    exhausts = len(parts) > 9 and parts[9] == b".EXHAUST."
    named = exhausts or any(phrases_of(COLLAR).find(w) for w in words)
    return named or of.role is Role.HEATER


for _phrase in (
    "terminal", "termination", "concentric", "rain cap", "chimney cap", "flue cap", "vent hood",
    "cowl", "mundung", "mündung",
):  # fmt: skip
    NAMES.add(_phrase, True)
for _phrase in (
    "plug", "end cap", "tee cap", "test cap", "blind", "blank", "cleanout", "clean out",
    "draft hood", "draft diverter", "barometric", "damper", "draft regulator", "drain",
    "condensate", "drip", "adapter", "collar", "connector", "starter", "reinigung", "revision",
):  # fmt: skip
    NAMES.add(_phrase, False)


def tell_flue_ends(elements: list[Element], joints: list[Joint]) -> None:
    """Make a terminal of the part that a flue ends in, where none is told by its words.

    Such a part is a fitting of no other kind whose one end, or one of the ends where its name tells
    a terminal, is joined to the flue, above every end of that flue that is open: what closes the
    foot of a tee lies below.
    """
    flues = [i for i, e in enumerate(elements) if e.system is System.FLUE]
    if not flues:
        return
    beside = joined_to(joints)
    taken = {at for j in joints for at in ((j.a, j.a_end), (j.b, j.b_end))}
    for piece in pieces(flues, lambda i: beside[i]):
        if any(elements[i].role is Role.VENT_TERMINAL for i in piece):
            continue
        heights = {i: _height(elements[i]) for i in piece if _may_end(elements[i], beside[i])}
        open_m = [
            end.position[2]
            for i in piece
            for n, end in enumerate(elements[i].ends if i not in heights else ())
            if (i, n) not in taken and end.position is not None
        ]
        last = max(heights, key=lambda i: (elements[i].kind != "cap", heights[i]), default=None)
        if last is not None and heights[last] > max(open_m, default=float("-inf")):
            ending = elements[last]
            ending.role, ending.kind = Role.VENT_TERMINAL, "vent-through-roof"
            ending.basis["role"] = ending.basis["kind"] = ENDS_IT


def _may_end(element: Element, beside: list[int]) -> bool:
    said = NAMES.find(element.called)
    return (
        element.role is Role.FITTING
        and element.kind in KINDS
        and len(beside) == 1
        and (len(element.ends) == 1 or said is True)
        and said is not False
    )


def _height(element: Element) -> float:
    points = [z for _, _, z in element.places]
    return max(points, default=0.0)
