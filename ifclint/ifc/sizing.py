"""The nominal size of an element from what is known of it, best source first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ifclint.ifc.elements import Element, Note, Role
from ifclint.ifc.notes import LABEL
from ifclint.ifc.properties import Fact
from ifclint.ifc.sizes import (
    Doubt,
    SizeFound,
    from_drawn_diameter,
    from_nominal,
    from_outside,
    from_words,
)

SIZED_BY_NAME = frozenset(
    {Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.VALVE, Role.VENT_TERMINAL, Role.METER,
     Role.REGULATOR}
)  # fmt: skip
BLANK = 1e-4  # programs write 0, or 1e-9 where 0 is not allowed
NAMED_BY_BORE = frozenset({"concrete", "vitrified clay"})  # sewer pipe named by its bore
NEEDS_SIZE = frozenset({Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT})


@dataclass(frozen=True, slots=True)
class Drawn:
    """Diameters a shape or profile was drawn with, metres."""

    outside_m: float
    inside_m: float | None
    basis: str


def set_size(
    element: Element,
    stated: Fact | None,
    outside: Fact | None,
    texts: list[tuple[str, str]],
    drawn: Sequence[Drawn],
    metres_per_unit: float,
    notes: list[Note],
) -> tuple[float, ...]:
    """Set `size_in` and its basis; the sizes the words name are returned (largest is the size).

    A stated nominal size that is no pipe size leaves the size unknown. One that fits two sizes
    is settled by the next source that tells, or stays unknown. Either is noted.
    """
    doubt = ""
    if stated is not None and not _blank(stated):
        sizes, reason = _stated(stated, element.material, metres_per_unit)
        if sizes:
            return _take(element, sizes, stated.basis)
        doubt = f"{stated.basis} is {_shown(stated)}, which {reason}"
        if reason is Doubt.NO_SIZE:
            return _unknown(element, doubt, notes)
    if element.role in SIZED_BY_NAME:
        for text, what in texts:
            sizes = from_words(text, element.material)
            if sizes:
                return _take(element, sizes, what)
    for size, basis, why in _measured(element, outside, drawn):
        if size is not None:
            return _take(element, (size,), basis)
        doubt = doubt or why
    return _unknown(element, doubt, notes)


def _blank(fact: Fact) -> bool:
    """Zero and next to zero stand for "not filled in"."""
    return isinstance(fact.value, float) and abs(fact.value) < BLANK


def _stated(fact: Fact, material: str, metres_per_unit: float) -> tuple[tuple[float, ...], Doubt]:
    if isinstance(fact.value, str):
        sizes = from_words(fact.value, material, size_property=True)
        if sizes:
            return sizes, Doubt.NONE
        found = _bare_number(fact, material, metres_per_unit)
    elif fact.is_length:
        found = from_nominal(round(float(fact.value), 6), material)
    else:
        found = _bare_number(fact, material, metres_per_unit)
    return ((found.size_in,) if found.size_in is not None else ()), found.doubt


def _bare_number(fact: Fact, material: str, metres_per_unit: float) -> SizeFound:
    """A size without a unit: millimetres in a DN property, else project units."""
    try:
        number = float(fact.value)
    except ValueError:
        return SizeFound(None, Doubt.NO_SIZE)
    name = fact.basis.rpartition(".")[2].casefold()
    scale = 0.001 if name.startswith(("dn", "nenn")) else metres_per_unit
    return from_nominal(round(number * scale, 6), material)


def _measured(
    element: Element, outside: Fact | None, drawn: Sequence[Drawn]
) -> list[tuple[float | None, str, str]]:
    """Sizes from outside diameters: stated ones, then drawn ones."""
    found: list[tuple[float | None, str, str]] = []
    if outside is not None and isinstance(outside.value, float) and outside.value > 0:
        result = from_outside(round(outside.value, 6), element.material)
        why = f"{outside.basis} is {outside.value * 1000:.1f} mm, which {result.doubt}"
        found.append((result.size_in, outside.basis, why))
    for d in drawn:
        if element.material in NAMED_BY_BORE and d.inside_m:
            result = from_nominal(round(d.inside_m, 6), strict=True)
            why = f"the {d.basis} is {d.inside_m * 1000:.1f} mm wide inside, which {result.doubt}"
            found.append((result.size_in, f"inside diameter of the {d.basis}", why))
            continue
        result = from_drawn_diameter(round(d.outside_m, 6), element.material)
        why = f"the {d.basis} is {d.outside_m * 1000:.1f} mm across, which {result.doubt}"
        found.append((result.size_in, f"diameter of the {d.basis}", why))
    return found


def _take(element: Element, sizes: tuple[float, ...], basis: str) -> tuple[float, ...]:
    element.size_in = max(sizes)
    element.basis["size"] = basis
    return sizes


def _unknown(element: Element, doubt: str, notes: list[Note]) -> tuple[float, ...]:
    if element.role in NEEDS_SIZE and doubt:
        what = f"The size of {LABEL} is not known: {doubt}."
        remedy = "State the nominal diameter, for instance in Pset_PipeSegmentTypeCommon."
        notes.append(Note(what, remedy, "", "size"))
    return ()


def _shown(fact: Fact) -> str:
    if isinstance(fact.value, float) and fact.is_length:
        return f"{fact.value * 1000:g} mm"
    return f'"{fact.value}"'
