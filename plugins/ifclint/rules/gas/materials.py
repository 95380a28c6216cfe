"""Rules about what gas pipe is made of, and about pipe in the ground."""

from collections import defaultdict
from collections.abc import Iterator

from ifclint.checks import PASS, Fact, drawn, missing, not_known, require, violation
from ifclint.engineering.tolerance import lies_above
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Point
from ifclint.packs import Context
from ifclint.part_kinds import FLOORS, SHELL
from ifclint.plumbing import GasSegment
from ifclint.plumbing.words import copper_type, material_words, says_text
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import is_inside, is_sleeved, is_within, under_floor

ALLOWED = ("steel", "copper", "brass", "aluminum", "aluminium", "ductile iron", "polyethylene")
REFUSED = (
    "pvc", "cpvc", "abs", "pex", "pe-rt", "polybutylene", "polypropylene", "cast iron", "lead",
    "clay", "concrete",
)  # fmt: skip
THIN_COPPER = {"DWV": "copper DWV", "M": "copper type M"}  # tube whose wall is too thin for gas
CASED = ("anodeless", "steel cased")
UNDER_BUILDING = Fact(
    "whether {} runs under the building or over a floor below",
    "Review together with the file that has the slabs or spaces (IfcSlab, IfcSpace).",
)
CONDUIT_VENTED = Fact(
    "whether the conduit of {} under the building is vented outdoors",
    "Show that the conduit is gastight, ends outdoors and is vented there.",
)
IN_GROUND = Fact(
    "whether {} lies in the ground is not known: {}.",
    "Give the height of the ground in the job file (building.grade_elevation).",
)
ALLOWED_FOR_GAS = Fact(
    "whether {} is allowed for gas ({}) is not known here.",
    "Name the material in trade words, or show its listing for fuel gas.",
)


def _says(material: str, words: tuple[str, ...]) -> bool:
    return any(word in material.lower() for word in words)


@gas_rule(
    title="Gas pipe of a material allowed for gas",
    clauses={"upc": "1208.6", "ipc": "IFGC 403", "irc": "G2414"},
    needs=("material_known",),
)
def gas_material(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Gas attacks some materials, and fire opens others.

    Steel, wrought iron, copper, brass, aluminum, listed corrugated stainless steel, and
    polyethylene where it may lie; no other plastic, and no cast iron pipe. Copper tube is of Type K
    or L, or made for refrigeration, where its name or that of its material tells (from memory).
    Fittings too, where their material is stated. Piping that goes on in one such material is told
    once, where it begins, with its fittings.
    """
    yield from _refused_fittings(segment)
    if refused := _refused(segment):
        if segment.up is not None and _refused(segment.up) == refused:
            return
        yield violation(
            message=f"{segment.label} is of {refused}, which is not allowed for fuel gas.",
            remedy="Use copper tube of Type K or L, or steel pipe."
            if refused in THIN_COPPER.values()
            else "Use steel pipe, or another material that the code allows for fuel gas.",
            elements=_made_alike(segment, context),
        )
    elif not _says(segment.material, ALLOWED):
        yield not_known(ALLOWED_FOR_GAS, segment.material, segment)
    else:
        yield PASS


def _refused(segment: GasSegment) -> str:
    """The material of a segment's pipes that gas pipe may not be of; "" for none."""
    return next((material for pipe in segment.pipes if (material := _refused_pipe(pipe))), "")


def _refused_pipe(pipe: Element) -> str:
    if _says(pipe.material, REFUSED):
        return pipe.material
    return THIN_COPPER.get(copper_type(pipe), "")


def _refused_fittings(segment: GasSegment) -> Iterator[Answer]:
    """Fittings that gas pipe may not have, by material; those of the pipe's own go with it."""
    made = defaultdict[str, list[str]](list)
    labels = dict[str, str]()
    for fitting in filter(_is_refused_fitting, segment.fittings):
        if fitting.material.lower() != segment.material.lower():
            made[fitting.material].append(fitting.guid)
            labels.setdefault(fitting.material, fitting.label)
    for material, guids in made.items():
        more = f" and {len(guids) - 1} more" if len(guids) > 1 else ""
        yield violation(
            message=f"{labels[material]}{more} in {segment.label}, of {material}: not allowed for "
            "fuel gas.",
            remedy="Use fittings of the pipe's material, made for fuel gas.",
            elements=guids,
            about=guids[0],
        )


def _made_alike(first: GasSegment, context: Context) -> tuple[str, ...]:
    """The pipes and fittings of the material of a segment, from it on as far as it goes on."""
    piping, run, refused = context.plumbing.gas, [first], _refused(first)
    for segment in piping.all_segments if piping is not None else ():
        if segment.up in run and _refused(segment) == refused:
            run.append(segment)
    return tuple(
        e.guid
        for s in run
        for e in s.path
        if (_refused_pipe(e) if e in s.pipes else e.material).lower() == refused.lower()
    )


def _is_refused_fitting(fitting: Element) -> bool:
    """Whether a fitting is of a material that gas pipe may not be; large ones are of cast iron."""
    refused = tuple(word for word in REFUSED if word != "cast iron")
    return _says(fitting.material, refused) and not _says(fitting.material, ALLOWED)


@gas_rule(
    title="Plastic gas pipe outdoors and under ground only",
    clauses={"upc": "1210.1.7", "ipc": "IFGC 404.17.1", "irc": "G2415.17.1"},
    applies=lambda segment: _says(segment.material, ("polyethylene",)),
    needs=("placed",),
)
def gas_plastic_place(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Polyethylene burns through in minutes: it may lie only in the ground, outside the building.

    The height of each plastic pipe against the ground (job file, terrain, else the lowest floor),
    and its place against the outline of walls and slabs. A riser called anodeless is plastic in a
    case of steel, and leads out of the ground.
    """
    ground = context.ground
    if ground is None:
        what = f"whether {segment.label} lies in the ground is not known."
        yield missing(FLOORS, message=what)
        return
    ends = [(pipe, point) for pipe, point in segment.placed or [] if not _is_cased(pipe)]
    above = dict.fromkeys(pipe.guid for pipe, p in ends if lies_above(p[2], ground.high_m))
    doubtful = dict.fromkeys(
        pipe.guid for pipe, p in ends if pipe.guid not in above and lies_above(p[2], ground.low_m)
    )
    if doubtful:
        first = next(iter(doubtful))
        yield not_known(IN_GROUND, segment, ground.basis, elements=tuple(doubtful), about=first)
    yield from _where_it_may_not_run(segment, context, ends, above)


def _is_cased(pipe: Element) -> bool:
    """Whether a plastic pipe is the riser made for it, in a case of steel."""
    return says_text(material_words(pipe), CASED)


def _where_it_may_not_run(
    segment: GasSegment, context: Context, ends: list[tuple[Element, Point]], above: dict[str, None]
) -> Iterator[Answer]:
    """What of a plastic pipe runs above the ground or under the building."""
    pipes = {pipe.guid: pipe for pipe, _ in ends}
    inside = [guid for guid, pipe in pipes.items() if is_within(pipe, context)]
    under = [guid for guid in inside if guid not in above]
    for where, found in (("above ground", [*above]), ("under the building", under)):
        yield require(
            not found,
            message=f"{segment.label} is of {segment.material} and runs {where}.",
            remedy="Change to steel through an anodeless riser outdoors, before the pipe leaves "
            "the ground or comes to the building.",
            elements=found,
            about=found[0] if found else "",
        )


@gas_rule(
    title="No gas pipe in the ground under the building",
    clauses={"upc": "1210.1.6", "ipc": "IFGC 404.14", "irc": "G2415.14"},
    needs=("placed",),
)
def gas_under_building(segment: GasSegment, context: Context) -> Answer:
    """Gas that leaks under a slab rises into the rooms, unseen, through every crack.

    Pipe below the lowest floor and within the outline of walls and slabs, unless a conduit is
    drawn around it, which must then be seen to be vented outdoors.
    """
    low = under_floor(segment, context)
    asked = SHELL if low else FLOORS  # without a floor nothing is known to be low
    drawn(asked, context, "whether {} runs under the building", segment)
    inside = [(pipe, p) for pipe, p, _ in low if is_inside(p, context)]
    pipes = tuple(dict.fromkeys(pipe.guid for pipe, _ in inside))
    if pipes and not any(sure and is_inside(p, context) for _, p, sure in low):
        return not_known(UNDER_BUILDING, segment, elements=pipes)
    if any(is_sleeved(point, context) for _, point in inside):
        return not_known(CONDUIT_VENTED, segment, elements=pipes)
    return require(
        not pipes,
        message=f"{segment.label} runs in the ground under the building.",
        remedy="Run the pipe above the floor, or in a gastight conduit vented outdoors.",
        steps=context.plumbing.surroundings.floors.lowest_steps,
        elements=pipes,
    )
