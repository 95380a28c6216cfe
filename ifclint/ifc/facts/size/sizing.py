"""The nominal size of an element from what is known of it, best source first."""

from collections.abc import Sequence
from dataclasses import replace

from ifclint.engineering.wording import trade_size
from ifclint.ifc.elements import Confidence, Element, Note, Role
from ifclint.ifc.facts.notes import LABEL
from ifclint.ifc.facts.properties import StatedFact
from ifclint.ifc.facts.size.diameters import Doubt, dn_text, from_inside, from_nominal
from ifclint.ifc.facts.size.readings import (
    BLANK,
    NAMED_BY_BORE,
    DrawnDiameters,
    SizeReader,
    SizeReading,
    from_bore,
    use_of,
)

SIZED_BY_NAME = frozenset(
    {Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.VALVE, Role.VENT_TERMINAL, Role.METER,
     Role.REGULATOR}
)  # fmt: skip
KINDS_SIZED_BY_NAME = frozenset({"roof-drain"})  # whose names tell the outlet
NEEDS_SIZE = frozenset({Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT})
REMEDY = "Export nominal sizes in the unit of the file."
DIAMETER_TOLERANCE = 0.02  # two places that tell one diameter agree within this share,
DRAWN_NOMINAL = 0.25  # or this one, where the pipe is drawn with its nominal size outside


def _is_sized_by_name(element: Element) -> bool:
    return element.role in SIZED_BY_NAME or element.kind in KINDS_SIZED_BY_NAME


def set_size(
    element: Element,
    stated: StatedFact | None,
    outside: StatedFact | None,
    texts: list[tuple[str, str]],
    drawn: Sequence[DrawnDiameters],
    metres_per_unit: float,
    notes: list[Note],
    inside: StatedFact | None = None,
) -> tuple[float, ...]:
    """Set `size_in` and its basis; the sizes the words name are returned (largest is the size), or
    where that is not known, those it may be one of.

    A stated nominal size that is no pipe size leaves the size unknown. One that fits two sizes
    is settled by the next source that tells, or stays unknown. Either is noted, and so is every
    place that says another size than the one taken.
    """
    reader = SizeReader(element.material, use_of(element.system), metres_per_unit, tuple(drawn))
    if _is_sized_by_name(element):
        worded = [reading for text, what in texts for reading in reader.words(text, what)]
        reader = replace(reader, named=frozenset(s for r in worded for s in r.sizes))
    else:
        worded = []
    readings = [
        c for f in (stated, stated and stated.rival) if f for c in reader.stated(f)
    ] + worded
    if element.role is Role.PIPE or element.kind in KINDS_SIZED_BY_NAME:
        readings = [reading.of_a_pipe() for reading in readings]
    readings += reader.measured(outside, inside)
    readings += [reading for d in drawn for reading in reader.drawn(d)]
    final = bool(readings) and stated is not None and readings[0].refuses(stated)
    taken = None if final else _taken(readings) or _taken([r.settled(drawn) for r in readings])
    if taken is not None:
        element.size_in = max(taken.sizes)
    _note_bores(element, inside, drawn, notes)
    if taken is None or element.size_in is None:
        _note_unknown(element, readings, drawn, reader, notes)
        return next((r.either for r in readings if r.either), ())
    element.basis["size"] = taken.basis
    if taken.by_dn:
        element.properties["designation"] = taken.dn(element.size_in)
    if taken.unit:
        _note_unit(taken, notes)
    elif stated is not None and stated.is_length and readings[0].doubt is Doubt.NO_SIZE:
        _note_slip(taken, readings[0], notes)
    _note_conflicts(element, taken, readings, notes)
    return taken.sizes


def _taken(readings: Sequence[SizeReading]) -> SizeReading | None:
    """The first that tells a size, and one of those that an ambiguous one before it fits."""
    either: frozenset[float] = frozenset()
    for reading in readings:
        if reading.sizes and (not either or either.intersection(reading.sizes)):
            return reading
        either = either or frozenset(reading.either)
    return None


def _note_conflicts(
    element: Element, taken: SizeReading, readings: list[SizeReading], notes: list[Note]
) -> None:
    size = element.size_in or 0.0
    worded = set[tuple[float, ...]]()  # name, type and object type often repeat each other
    for reading in readings if _is_sized_by_name(element) else ():
        if reading is not taken and reading.contradicts(size):
            if reading.basis.confidence is Confidence.WORDS:
                if reading.sizes in worded:
                    continue
                worded.add(reading.sizes)
            what = (
                f"{LABEL} is {_named(taken)} by {taken.basis} ({taken.shown}) but "
                f"{_named(reading)} by {reading.basis} ({reading.shown}); the first was taken."
            )
            notes.append(Note(what, "Make the two say the same size.", "", "size"))


def _note_unit(taken: SizeReading, notes: list[Note]) -> None:
    size = _named(taken)
    what = (
        f"{LABEL} is {taken.shown} wide by {taken.basis}, which is in another unit than the file's "
        f"or its own: taken as {taken.unit}, it is {size}, and was read so."
    )
    notes.append(Note(what, REMEDY, "", "size", f"sizes told in {taken.unit}"))


def _note_slip(taken: SizeReading, stated: SizeReading, notes: list[Note]) -> None:
    what = f"{stated.basis} of {LABEL} is {stated.shown}, which is no size of any pipe"
    what = f"{what}; {taken.basis} ({taken.shown}) was taken."
    notes.append(Note(what, REMEDY, "", "size", f"{stated.basis} is no size of any pipe"))


def _named(reading: SizeReading) -> str:
    sizes = sorted(reading.sizes, reverse=True)
    return " x ".join(reading.dn(s) if reading.by_dn else trade_size(s) for s in sizes)


def _note_bores(
    element: Element, inside: StatedFact | None, drawn: Sequence[DrawnDiameters], notes: list[Note]
) -> None:
    """Note a stated inside diameter that is not the one drawn."""
    if inside is None or not isinstance(inside.value, float) or inside.value <= BLANK:
        return
    for d in drawn:
        off = abs((d.inside_m or inside.value) - inside.value) / inside.value
        if off > (DRAWN_NOMINAL if _at_nominal(d, element.size_in) else DIAMETER_TOLERANCE):
            what = (
                f"{LABEL} is {inside.value * 1000:.1f} mm wide inside by {inside.basis} but "
                f"{(d.inside_m or 0.0) * 1000:.1f} mm by the {d.of}."
            )
            notes.append(Note(what, "Make the two say the same diameter.", "", "size"))
            return


def _at_nominal(d: DrawnDiameters, size_in: float | None) -> bool:
    """Whether a shape is drawn with its nominal size as its outside."""
    named = from_nominal(round(d.outside_m, 6), strict=True).size_in
    return named is not None and named == size_in


def _note_unknown(
    element: Element,
    readings: list[SizeReading],
    drawn: Sequence[DrawnDiameters],
    reader: SizeReader,
    notes: list[Note],
) -> None:
    doubt = next((c.why for c in readings if not c.sizes), "")
    if element.role not in NEEDS_SIZE or not doubt:
        return
    bore = next((hint for d in drawn if (hint := _drawn_at_its_bore(d, reader))), "")
    what = f"The size of {LABEL} is not known: {doubt}{bore}."
    remedy = "State the nominal diameter, for instance in Pset_PipeSegmentTypeCommon."
    notes.append(Note(what, remedy, "", "size"))


def _drawn_at_its_bore(d: DrawnDiameters, reader: SizeReader) -> str:
    """A profile whose outside is a bore of its material: the walls were drawn inward."""
    if d.inside_m is None:
        return ""
    read = from_bore if reader.material in NAMED_BY_BORE else from_inside
    found = read(round(d.outside_m, 6), reader.material, reader.use)
    if found.size_in is None:
        return ""
    named = dn_text(found.size_in) if found.by_dn else trade_size(found.size_in)
    return (
        f"; the outside of the {d.of}, {d.outside_m * 1000:.1f} mm, would be the bore of "
        f"{named}, had its wall been drawn inward by mistake"
    )
