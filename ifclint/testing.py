"""For the tests of rule packs: tiny networks written as text, and what a rule says of them.

A network is one line an element: what it is, its nominal size where it has one, its name, facts,
and its ends in feet (x y z), with ">" between. Ends at the same point are joined. A line may name
the system, else it is sanitary drainage:

    water-closet         WC    0 0 0
    pipe 3               P1    0 0 0 > 0 0 -1
    long-sweep 3         B1    0 0 -1 > 0.2 0 -1.2
    pipe 3               P2    0.2 0 -1.2 > 10 0 -1.404
    sewer-connection     SEWER 10 0 -1.404

Facts are written key=value: material=PVC space=Bath storey=Upper system=vent flush_volume_gal=1.28.
"""

from __future__ import annotations

from collections import defaultdict
from math import dist

from ifclint import codes, network
from ifclint.errors import InputError
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, End, Joint, Model, Note, Point, Role, Storey, System
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.network import Network
from ifclint.packs import Context, Rule
from ifclint.plumbing import see

M_PER_FT = 0.3048
_ROLES: dict[str, Role] = {
    **dict.fromkeys(("pipe",), Role.PIPE),
    **dict.fromkeys(("p-trap", "s-trap", "drum-trap", "floor-trap"), Role.TRAP),
    **dict.fromkeys(("cleanout", "two-way"), Role.CLEANOUT),
    **dict.fromkeys(("vent-through-roof", "air-admittance-valve"), Role.VENT_TERMINAL),
    **dict.fromkeys(("sewer-connection", "septic-tank", "manhole", "sump"), Role.CHAMBER),
    **dict.fromkeys(("dishwasher-appliance",), Role.APPLIANCE),
    **dict.fromkeys(("pump",), Role.PUMP),
    **dict.fromkeys(
        (
            "fitting", "bend", "quarter-bend", "eighth-bend", "long-sweep", "closet-bend",
            "closet-flange", "coupling", "reducer", "tee", "sanitary-tee", "double-sanitary-tee",
            "wye", "double-wye", "combination", "cross", "cap",
        ),
        Role.FITTING,
    ),
}  # fmt: skip
_NO_KIND = ("pipe", "fitting", "fixture")
_PLACES = ("storey", "space", "material", "system_name")


def read_network(text: str, storeys: tuple[Storey, ...] = ()) -> Network:
    """The network of a text. Raises InputError for a line that cannot be read."""
    model = Model(storeys=list(storeys))
    for line in filter(None, (line.partition("#")[0].strip() for line in text.splitlines())):
        element = _element(line)
        model.elements.append(element)
        if "note" in element.properties:
            what = str(element.properties.pop("note")).replace("_", " ")
            model.notes.append(Note(what, "Mend the model.", element.guid))
    model.joints = _joints(model.elements)
    return network.connect(model)


def _element(line: str) -> Element:
    try:
        return _parse(line)
    except (ValueError, IndexError):
        raise InputError(f'Test network: cannot read the line "{line}".') from None


def _parse(line: str) -> Element:
    words = line.split()
    kind = words.pop(0)
    size = float(words.pop(0)) if _is_number(words[0]) else None
    name = words.pop(0)
    role = _ROLES.get(kind, Role.FIXTURE)
    element = Element(name, name=name, role=role, kind="" if kind in _NO_KIND else kind)
    element.size_in = size
    element.system = System.SANITARY
    while words and "=" in words[0]:
        _set(element, *words.pop(0).split("=", 1))
    points = [_point(part) for part in " ".join(words).split(">") if part.strip()]
    element.ends = [End(point, size) for point in points]
    if role is Role.PIPE and len(points) == 2:
        element.length_m = dist(*points)
    element.position = _middle(points) if role is not Role.FITTING or len(points) < 3 else points[1]
    return element


def _set(element: Element, key: str, value: str) -> None:
    if key == "system":
        element.system = None if value == "none" else System(value.replace("_", " "))
    elif key in _PLACES:
        setattr(element, key, value.replace("_", " "))
    elif key == "slope":
        element.slope = float(value)
    else:
        element.properties[key] = float(value) if _is_number(value) else value


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _point(text: str) -> Point:
    x, y, z = (float(word) * M_PER_FT for word in text.split())
    return (x, y, z)


def _middle(points: list[Point]) -> Point | None:
    if not points:
        return None
    x, y, z = (sum(p[k] for p in points) / len(points) for k in range(3))
    return (x, y, z)


def _joints(elements: list[Element]) -> list[Joint]:
    at: dict[tuple[int, ...], list[tuple[int, int]]] = defaultdict(list)
    for index, element in enumerate(elements):
        for number, end in enumerate(element.ends):
            if end.position is not None:
                at[tuple(round(x * 1e5) for x in end.position)].append((index, number))
    return [Joint(*first, *other) for first, *others in at.values() for other in others]


def ask(
    rule: Rule,
    text: str,
    code: str = "upc-2021",
    job: Job | None = None,
    storeys: tuple[Storey, ...] = (),
) -> dict[str, Answer]:
    """What a rule says of every subject of a network: the subject's first element -> answer."""
    the_job = job or Job()
    plumbing = see(
        read_network(text, storeys),
        the_job.drainage.outlets,
        [flow.element for flow in the_job.drainage.continuous_flow],
    )
    context = Context(codes.load(code), plumbing, the_job)
    return {subject.element_ids[0]: answer for subject, answer in answers(rule, context)}
