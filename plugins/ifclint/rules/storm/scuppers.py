"""The rule on scuppers: openings in a parapet through which a roof sheds what its drains do not."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import pi

from ifclint.checks import Answer, Fact, PartKind, check, missing, not_known
from ifclint.engineering.extents import sides_m
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.rules.storm.capacity import by_area, load_of, smallest
from ifclint.rules.storm.roofs import Roof, scuppers, scuppers_at
from ifclint.rules.storm.section import StormSection

SHAPED = PartKind(
    "scuppers in their true size",
    drawn=lambda context: any(e.box is not None for e in scuppers(context)),
    remedy="Draw each scupper as a body of the size of its opening.",
)
OF_ROOF = (
    "State the roof area that the roof drains take ([[storm.areas]]) and the rain (storm.rate) in "
    "the job file: the scupper is as wide as the drain they ask for is round."
)
WIDTH = Fact("whether the scuppers of the {}, {} in wide together, are wide enough", OF_ROOF)
DRAIN_SIZES = Fact(
    "whether the scuppers of the {} are large enough is not known: the size of a roof drain is "
    "not.",
    "Give the roof drains their nominal sizes.",
)


@rule(
    title="Scupper large enough",
    clauses={"upc": "1101.12.2.1", "ipc": "1108.3", "irc": "R903.4.1"},
    of_load=True,
)
def scupper_size(roof: Roof, context: Context) -> Iterator[Answer]:
    """A low slot is stopped by the leaves that stopped the drain, and the roof fills.

    The height and width of the box of each scupper at the roof's height; flanges and all, so that
    what is too small is so for certain. Width: UPC, that all scuppers of the roof are together as
    wide as the circumference of the roof drain that the roof needs by the table; IRC, that their
    openings together have three times the area of the roof drains; IPC, its least, as how wide is a
    matter of the depth of water that the structure bears.
    """
    found = scuppers_at(roof, context)
    if not found:
        return
    sizes = {e.guid: size for e in found if (size := _opening_in(e)) is not None}
    if len(sizes) < len(found):
        shapeless = [e.guid for e in found if e.guid not in sizes]
        message = f"How large the scuppers of the {roof.label} are is not known."
        yield missing(SHAPED, message=message, elements=shapeless)
    yield from _opening_sizes(context, found, sizes)
    if len(sizes) == len(found):
        yield from _by_circumference(roof, found, list(sizes.values()), context)
        yield from _by_area(roof, found, list(sizes.values()), context)


def _opening_sizes(
    context: Context, found: list[Element], sizes: dict[str, tuple[float, float]]
) -> Iterator[Answer]:
    """Height and width of each scupper against the least."""
    least = {"height": context.code.limit("scupper_height_in")}
    if wide := context.code.limit_or_none("scupper_width_in"):
        least["width"] = wide
    for scupper in (e for e in found if e.guid in sizes):
        for of, limit in least.items():
            value = dict(zip(("width", "height"), sizes[scupper.guid], strict=True))[of]
            yield check(
                value,
                at_least=limit,
                message=f"{scupper.label} has a {of} of {number_text(value)} in.",
                remedy=f"Give the scupper a {of} of at least {number_text(limit.value)} in.",
                elements=(scupper.guid,),
                about=f"{scupper.guid} {of}",
            )


def _opening_in(scupper: Element) -> tuple[float, float] | None:
    """Width and height of its box (in); the wider side in plan is along the parapet."""
    if scupper.box is None:
        return None
    x, y, z = (side / M_PER_IN for side in sides_m(*scupper.box))
    return max(x, y), z


def _by_circumference(
    roof: Roof, found: Sequence[Element], sizes: Sequence[tuple[float, float]], context: Context
) -> Iterator[Answer]:
    share = context.code.limit_or_none("scupper_width_circumferences")
    if share is None:
        return
    rows, rate = list(context.code.table("storm_leaders").rows), _rate(context)
    needed: list[float | None] = [min(r.number("size_in") for r in rows), None]
    steps: tuple[Step, ...] = ()
    if rate is not None and by_area(context):
        load = load_of(roof.primary, rate, context)
        needed = [smallest(rows, value, rate, context) for value in (load.low, load.high)]
        steps = load.steps
    least, most = ((None if d is None else pi * d * share.value) for d in needed)
    width, ids = sum(w for w, _ in sizes), tuple(e.guid for e in found)
    if least is None or (
        at_least(width, least, "in") and (most is None or not at_least(width, most, "in"))
    ):
        yield not_known(
            WIDTH, roof, number_text(width), elements=ids, about="width", clause=share.clause
        )
        return
    yield check(
        width,
        at_least=replace(share, value=least, unit="in"),
        message=f"The scuppers of the {roof.label} are {number_text(width)} in wide together.",
        remedy=f"Widen them to {number_text(least)} in: as wide as the roof drain that the roof "
        "needs is round.",
        steps=(*steps, Step("Roof drain that the roof needs", needed[0], "in")),
        limit_step="Its circumference",
        elements=ids,
        about="width",
    )


def _by_area(
    roof: Roof, found: Sequence[Element], sizes: Sequence[tuple[float, float]], context: Context
) -> Iterator[Answer]:
    share = context.code.limit_or_none("scupper_drain_areas")
    drains = [inlet.size_in for inlet in roof.primary]
    known = [d for d in drains if d is not None]
    if share is None:
        return
    area, ids = sum(w * h for w, h in sizes), tuple(e.guid for e in found)
    least = share.value * sum(pi / 4 * d**2 for d in known)
    if len(known) < len(drains) and at_least(area, least, "in²"):
        yield not_known(DRAIN_SIZES, roof, elements=ids, about="area", clause=share.clause)
        return
    yield check(
        area,
        at_least=replace(share, value=least, unit="in²"),
        message=f"The scuppers of the {roof.label} have {number_text(area)} in² together.",
        remedy=f"Enlarge them to {number_text(least)} in², three times the roof drains.",
        steps=(Step("Roof drains, by nominal size", least / share.value, "in²"),),
        limit_step="Three times as much",
        elements=ids,
        about="area",
    )


def _rate(context: Context) -> float | None:
    return context.job.section(StormSection).rate
