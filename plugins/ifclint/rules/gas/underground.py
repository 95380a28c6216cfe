"""How gas pipe in the ground is kept from corroding, and found again."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, missing, not_known, violation
from ifclint.findings import Answer, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import material_words, says_text
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import in_ground, is_near, lies

COATED = (
    "coated", "coating", "anodeless", "wrapped", "wrap", "x tru coat", "fbe", "fusion bonded",
    "epoxy", "jacketed", "cathodic*", "umhullt", "umhüllt", "ummantelt", "beschichtet", "enrobe",
    "enrobé", "revetu", "revêtu", "recubierto", "revestido", "bekleed",
)  # fmt: skip
BARE = (
    "bare", "uncoated", "unwrapped", "galvanized", "galvanised", "verzinkt", "galvanise",
    "galvanisé", "galvanizado", "verzinkte",
)  # fmt: skip
TRACER = ("tracer wire", "tracing wire", "locating wire", "locator wire", "tracer", "ortungsdraht")
IN_GROUND = Fact(
    "whether {} lies in the ground is not known, nor whether it must be coated there.",
    "Give the height of the ground in the job file (building.grade_elevation).",
)
COATINGS = PartKind(
    "coated gas pipe",
    drawn=lambda context: any(_is_coated(pipe) for s in _segments(context) for pipe in s.pipes),
    remedy="Name the coating or wrapping of steel gas pipe in the ground in its material or type.",
)
TRACERS = PartKind(
    "tracer wires",
    drawn=lambda context: bool(context.plumbing.saying(TRACER)),
    remedy="Draw the wire that plastic gas pipe in the ground is located by, or name it in the "
    "pipe's type.",
)


@gas_rule(
    title="Steel gas pipe in the ground protected against corrosion",
    clauses={"upc": "1210.1.3", "ipc": "IFGC 404.11", "irc": "G2415.11"},
    severity=Severity.HIGH,
    applies=lambda segment: _is_steel(segment),
)
def gas_underground_coated(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Bare steel in wet ground rusts through in years, and the leak comes up in a cellar.

    Steel pipe of which any part lies in the ground, below the floor or outdoors: what its material,
    name and type say of a coating. Zinc is none: called galvanized and no more, it is bare. That a
    coating is sound, and steel between plastic cathodically protected, is seen on the site. The
    sections are from memory.
    """
    said = {pipe.guid: in_ground(pipe, context) for pipe in segment.pipes}
    if not any(lies is not False for lies in said.values()):
        return
    uncoated = [pipe for pipe in segment.pipes if not _is_coated(pipe)]
    buried = [pipe for pipe in uncoated if said[pipe.guid]]
    doubtful = tuple(pipe.guid for pipe in uncoated if said[pipe.guid] is None)
    if not buried:
        yield not_known(IN_GROUND, segment, elements=doubtful) if doubtful else PASS
        return
    elements = tuple(pipe.guid for pipe in buried)
    bare = next((w for pipe in buried for w in BARE if says_text(material_words(pipe), (w,))), None)
    if bare is not None:
        yield violation(
            message=f"{segment.label} lies in the ground and is {bare}.",
            remedy="Use steel pipe coated in the factory, its joints wrapped, or plastic pipe "
            "listed for gas in the ground.",
            elements=elements,
        )
    else:
        message = f"How {segment.label} in the ground is protected against corrosion is not shown."
        yield missing(COATINGS, message=message, elements=elements)


@gas_rule(
    title="Tracer wire along plastic gas pipe in the ground",
    clauses={"upc": "1210.1.7.2", "ipc": "IFGC 404.17.3", "irc": "G2415.17.3"},
    severity=Severity.LOW,
    applies=lambda segment: "polyethylene" in segment.material.lower(),
)
def gas_tracer_wire(segment: GasSegment, context: Context) -> Answer:
    """Who digs looks for a signal, and plastic gives none.

    A wire called tracer or locating wire beside any of a plastic pipe's run in the ground, or named
    in the pipe itself; of risers none is asked. Wires are mostly left to the specification: where
    none is drawn at all, that is one question. The sections are from memory.
    """
    buried = [pipe for pipe in segment.pipes if lies(pipe) and in_ground(pipe, context)]
    if not buried:
        return NOT_APPLICABLE
    if any(says_text(material_words(pipe), TRACER) or _is_traced(pipe, context) for pipe in buried):
        return PASS
    return missing(
        TRACERS,
        message=f"No tracer wire is shown along {segment.label} in the ground.",
        elements=tuple(pipe.guid for pipe in buried),
    )


def _segments(context: Context) -> list[GasSegment]:
    piping = context.plumbing.gas
    return [*piping.all_segments] if piping is not None else []


def _is_steel(segment: GasSegment) -> bool:
    """Whether pipe is of steel that rusts."""
    material = segment.material.lower()
    return "steel" in material and not any(w in material for w in ("stainless", "corrugated"))


def _is_coated(pipe: Element) -> bool:
    return says_text(material_words(pipe), COATED)


def _is_traced(pipe: Element, context: Context) -> bool:
    """Whether a tracer wire is drawn beside a pipe."""
    places = [*pipe.places, *filter(None, [middle_of(pipe)])]
    return any(
        is_near(place, wire.box or wire.places)
        for wire in context.plumbing.saying(TRACER)
        if wire.role is not Role.PIPE
        for place in places
    )
