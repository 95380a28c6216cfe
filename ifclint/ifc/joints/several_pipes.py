"""Several pipes drawn in one element, as where a whole layer of a drawing became one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ifclint.ifc.elements import Element, End, Model, Properties
from ifclint.ifc.facts.size.diameters import from_outside
from ifclint.ifc.joints.ports import axis_ends
from ifclint.ifc.shape.chains import are_as_wide
from ifclint.ifc.shape.solids import Axis


def part_pipes(model: Model, several: Mapping[int, Sequence[Axis]]) -> None:
    """Make each of the pipes that one element holds an element of its own, all of its GlobalId; the
    first is what it was. Where they are not equally wide, each is of the size it is drawn in."""
    for index, axes in several.items():
        first = model.elements[index]
        pieces = [first, *(_piece(first, number) for number in range(1, len(axes)))]
        for pipe, axis in zip(pieces, axes, strict=True):
            _draw(pipe, axis)
            if not are_as_wide(axes):
                _set_size(pipe, axis)
        model.elements += pieces[1:]


def _piece(first: Element, number: int) -> Element:
    made = replace(first, piece=number, properties=Properties(first.properties))
    made.basis = dict(first.basis)
    return made


def _draw(pipe: Element, axis: Axis) -> None:
    ends: list[End] = []
    pipe.ends, pipe.course = ends, ()
    axis_ends(pipe, axis)
    pipe.position = axis.points[0]
    pipe.length_m, pipe.basis["length"] = axis.length_m, axis.basis


def _set_size(pipe: Element, axis: Axis) -> None:
    found = from_outside(axis.outside_m, pipe.material) if axis.outside_m else None
    pipe.size_in, pipe.basis["size"] = found.size_in if found else None, axis.basis
    for name, drawn_m in (("outside", axis.outside_m), ("inside", axis.inside_m)):
        pipe.properties.pop(f"{name}_diameter_m", None)
        pipe.properties.pop(f"drawn_{name}_diameter_m", None)
        if drawn_m:
            pipe.properties[f"drawn_{name}_diameter_m"] = round(drawn_m, 6)
