"""Rule about vents that lead to the open air."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import PASS, Fact, check, not_known, violation
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Method, VentTree
from ifclint.plumbing.surroundings.roofs import RoofOver
from ifclint.rules.venting.code_tables import method_clause
from ifclint.rules.venting.wording import sentence, vent_steps

FOOT = (
    "Take a foot vent off where the loop comes down again, and carry it to a vent that goes "
    "through the roof."
)
GAP_M = 0.30  # another open end so near may be the missing piece
OUT = "Carry the vent through the roof, or join it to a vent that goes there."
OpenEnd = tuple[int, Point]  # the element that ends open, and where
JOINT = Fact(
    "{}, close to {}: a joint may be missing.",
    "Join the two ends, or end the vent where it is meant to end.",
)
NO_ROOF = Fact(
    "{}, without a vent terminal, and the model has no roof to tell whether that is outdoors.",
    "Model the vent terminal (IfcStackTerminal), or give the file with the roof.",
)
STRANGE = Fact(
    'The vent leads at {} to "{}", which is not understood.',
    "Give {1} its IFC class, name it in trade words, or tell its words in the job file "
    "([[reading.vocabulary.element]]).",
)
TIED = Fact(
    'The vent is joined to existing piping at "{}": the model does not tell whether that reaches '
    "the open air.",
    "See that the existing vent ends in the open air and is large enough, or model it.",
)


@rule(
    title="Vent leads to the open air",
    clauses={"upc": "906.1", "ipc": "903.1", "irc-2021": "P3103.1"},
    severity=Severity.HIGH,
    follows=(System.VENT,),
)
def vent_reaches_outdoors(tree: VentTree, context: Context) -> Iterator[Answer]:
    """A vent that ends inside lets sewer gas into the building; one that is closed lets no air in.

    Followed from the drain to its terminals and open ends. An end above the roof passes; an end
    below it, or none at all, does not; nor does a further pipe that leads into a room. Where the
    model has no roof, another open vent lies close to the end, or the vent is joined to existing
    piping, the answer is left open. Air admittance valves have their own rule, and so has a pipe of
    which nothing tells that it is a vent.
    """
    if not tree.joints or not (tree.terminals or tree.is_vent):
        return
    if tree.is_closed:
        yield _closed(tree, context)
        return
    highest = max(tree.open_ends, key=lambda e: e[1][2], default=None)
    if not tree.terminals and highest is not None:
        answer = _open_end(tree, highest, "", context)
        yield answer
        if answer is not PASS:
            return
    if not tree.admittance_only:
        for end in _inside(tree, context):
            yield _open_end(tree, end, tree.piping.elements[end[0]].guid, context)
    yield PASS


def _closed(tree: VentTree, context: Context) -> Answer:
    """Of a vent without any end: where it is joined to existing piping, that may have one. Of an
    island what lacks is its foot vent."""
    for tie_in in tree.tie_ins[:1]:
        element = tree.piping.elements[tie_in]
        return not_known(TIED, element, elements=(element.guid,))
    for group in context.plumbing.venting.groups:
        if group.joint.tree is tree and group.method is Method.ISLAND:
            return violation(
                message=f"The island vent of {group.arms[0].fixture.label} has no foot vent: its "
                "loop comes back to the drain, and lets no air in.",
                remedy=FOOT,
                clause=method_clause(context, Method.ISLAND),
                elements=(group.vent.guid, *group.element_ids),
            )
    message = f"{sentence(tree.label)} ends closed, and lets no air in."
    return violation(message=message, remedy=OUT)


def _inside(tree: VentTree, context: Context) -> list[OpenEnd]:
    """The pipes that end open under a roof."""
    surroundings, elements = context.plumbing.venting.surroundings, tree.piping.elements
    roofs = [(end, surroundings.roof_over(end[1])) for end in tree.open_ends]
    return [
        end
        for end, roof in roofs
        if elements[end[0]].role is Role.PIPE and roof is not None and end[1][2] < roof.top_m
    ]


def _open_end(tree: VentTree, end: OpenEnd, about: str, context: Context) -> Answer:
    """Whether an open end lies above the roof, as far as the model tells."""
    element, z = tree.piping.elements[end[0]], end[1][2]
    where = f"{element.label} ends open at {feet_text(feet(z))}"
    near, roof = _open_vent_near(tree, end[1], context), _roof_of(end[1], context)
    strange = context.plumbing.network.model.leads_elsewhere.get(element.guid)
    if strange is not None:
        return not_known(
            STRANGE, element, strange or "something", elements=(element.guid,), about=about
        )
    if near:
        return not_known(JOINT, where, near, elements=(element.guid,), about=about)
    if roof is None:
        return not_known(NO_ROOF, where, elements=(element.guid,), about=about)
    return check(
        round(feet(z - roof.top_m), 2),
        at_least=0.0,
        unit="ft",
        message=f"{where}, inside the building.",
        remedy=OUT,
        steps=lambda: (
            *vent_steps(tree.joints[0]),
            Step("Height of its end", feet(z), "ft"),
            Step(f"Top of {roof.name or 'the roof'}", feet(roof.top_m), "ft"),
        ),
        elements=(element.guid,),
        about=about,
    )


def _roof_of(end: Point, context: Context) -> RoofOver | None:
    """The roof over a point; where none is, the highest, but for a point beside the building."""
    surroundings = context.plumbing.venting.surroundings
    over, footprint = surroundings.roof_over(end), surroundings.footprint
    if over is not None or (footprint is not None and not footprint.holds(end)):
        return over
    highest = max(surroundings.of_kind("roof"), key=lambda roof: roof.high[2], default=None)
    if highest is None:
        return None
    return RoofOver(highest.name, highest.low[2], highest.high[2], False)


def _open_vent_near(tree: VentTree, end: Point, context: Context) -> str:
    """The name of an open end of other vent piping close by; "" where there is none."""
    x, y, z = (int(c // GAP_M) for c in end)
    ends = _open_vent_ends(context)
    around = ((x + i, y + j, z + k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1))
    for cell in around:
        for other, index, point in ends.get(cell, ()):
            if other is not tree and at_most(dist(point, end), GAP_M, "m"):
                return context.plumbing.network.elements[index].label
    return ""


@derived
def _open_vent_ends(context: Context) -> dict[tuple[int, ...], list[tuple[VentTree, int, Point]]]:
    """The open ends of all vents, by the cell they lie in."""
    found: dict[tuple[int, ...], list[tuple[VentTree, int, Point]]] = {}
    for tree in context.plumbing.venting.trees:
        for index, point in tree.open_ends:
            cell = tuple(int(c // GAP_M) for c in point)
            found.setdefault(cell, []).append((tree, index, point))
    return found
