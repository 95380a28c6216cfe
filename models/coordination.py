"""A big coordination model for measuring: plumbing among twenty times as many other elements.

The plumbing of `models/grid.py`, and around it walls, slabs, doors, beams, ducts with ports and
furniture, each with its own placement, shape, property set and relations, as programs export them.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

HERE = Path(__file__).resolve().parent
if __package__ in (None, ""):
    sys.path.insert(0, str(HERE.parent))

from models.grid import BASE64, write_grid  # noqa: E402

Place = tuple[float, float, float]

PLUMBING_SHARE = 20  # one element in so many is plumbing
SIDES = ((0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5))


class _Writer:
    """Instances in file order; `add` gives back the number of the one written."""

    def __init__(self, first: int, owner: int, context: int, storey: int, placement: int) -> None:
        self.lines: list[str] = []
        self._next = first
        self._guids = itertools.count(1)
        self.owner, self.context, self.storey, self.placement = owner, context, storey, placement
        self.contained: list[int] = []

    def add(self, text: str) -> str:
        self.lines.append(f"#{self._next}={text};\n")
        self._next += 1
        return f"#{self._next - 1}"

    def root(self, name: str, rest: str) -> str:
        return self.add(f"{name}('{self.guid()}',#{self.owner},{rest})")

    def guid(self) -> str:
        number, signs = next(self._guids), []
        for _ in range(20):
            number, sign = divmod(number, 64)
            signs.append(BASE64[sign])
        return "2z" + "".join(reversed(signs))

    def point(self, *at: float) -> str:
        return self.add(f"IFCCARTESIANPOINT(({','.join(map(_real, at))}))")


def _real(value: float) -> str:
    return f"{value:.6f}".rstrip("0")


def _placed(w: _Writer, at: Place) -> str:
    axes = w.add(f"IFCAXIS2PLACEMENT3D({w.point(*at)},$,$)")
    return w.add(f"IFCLOCALPLACEMENT(#{w.placement},{axes})")


def _shape(w: _Writer, items: str, kind: str) -> str:
    shown = w.add(f"IFCSHAPEREPRESENTATION(#{w.context},'Body','{kind}',({items}))")
    return w.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,({shown}))")


def _extruded(w: _Writer, profile: str, depth: float) -> str:
    axes = w.add(f"IFCAXIS2PLACEMENT3D({w.point(0, 0, 0)},$,$)")
    up = w.add("IFCDIRECTION((0.,0.,1.))")
    return w.add(f"IFCEXTRUDEDAREASOLID({profile},{axes},{up},{depth})")


def _described(w: _Writer, element: str, set_name: str) -> None:
    """A property set of three properties, of this element alone."""
    values = [
        w.add(f"IFCPROPERTYSINGLEVALUE('{name}',$,{value},$)")
        for name, value in (
            ("Reference", "IFCIDENTIFIER('Type 12')"), ("IsExternal", "IFCBOOLEAN(.F.)"),
            ("LoadBearing", "IFCBOOLEAN(.T.)"),
        )
    ]  # fmt: skip
    held = w.root("IFCPROPERTYSET", f"'{set_name}',$,({','.join(values)})")
    w.root("IFCRELDEFINESBYPROPERTIES", f"$,$,({element}),{held}")
    w.contained.append(int(element[1:]))


def _wall(w: _Writer, number: int, at: Place) -> None:
    flat = w.add(f"IFCAXIS2PLACEMENT2D({w.point(0, 0)},$)")
    profile = w.add(f"IFCRECTANGLEPROFILEDEF(.AREA.,$,{flat},4.,0.2)")
    shape = _shape(w, _extruded(w, profile, 3.0), "SweptSolid")
    rest = f"'Wall {number}',$,'Basic wall',{_placed(w, at)},{shape},'{number}',.STANDARD."
    _described(w, w.root("IFCWALL", rest), "Pset_WallCommon")


def _slab(w: _Writer, number: int, at: Place) -> None:
    corners = [w.point(x, y) for x, y in ((0, 0), (5, 0), (5, 4), (0, 4), (0, 0))]
    curve = w.add(f"IFCPOLYLINE(({','.join(corners)}))")
    profile = w.add(f"IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,{curve})")
    shape = _shape(w, _extruded(w, profile, 0.2), "SweptSolid")
    rest = f"'Slab {number}',$,'Floor',{_placed(w, at)},{shape},'{number}',.FLOOR."
    _described(w, w.root("IFCSLAB", rest), "Pset_SlabCommon")


def _beam(w: _Writer, number: int, at: Place) -> None:
    profile = w.add("IFCISHAPEPROFILEDEF(.AREA.,'IPE 200',$,0.1,0.2,0.0056,0.0085,0.012,$,$)")
    shape = _shape(w, _extruded(w, profile, 6.0), "SweptSolid")
    rest = f"'Beam {number}',$,'IPE 200',{_placed(w, at)},{shape},'{number}',.BEAM."
    _described(w, w.root("IFCBEAM", rest), "Pset_BeamCommon")


def _duct(w: _Writer, number: int, at: Place) -> None:
    profile = w.add("IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.4,0.25)")
    shape = _shape(w, _extruded(w, profile, 2.0), "SweptSolid")
    rest = (
        f"'Duct {number}',$,'Rectangular duct',{_placed(w, at)},{shape},'{number}',.RIGIDSEGMENT."
    )
    duct = w.root("IFCDUCTSEGMENT", rest)
    ports = []
    for flow in ("SINK", "SOURCE"):
        says = f"'{flow}',$,$,{_placed(w, at)},$,.{flow}.,.DUCT.,.AIRCONDITIONING."
        ports.append(w.root("IFCDISTRIBUTIONPORT", says))
    w.root("IFCRELNESTS", f"$,$,{duct},({','.join(ports)})")
    _described(w, duct, "Pset_DuctSegmentTypeCommon")


def _furniture(w: _Writer, number: int, at: Place) -> None:
    box = ((x, y, z) for z in (0.0, 0.8) for y in (0.0, 0.6) for x in (0.0, 1.2))
    corners = [w.point(*c) for c in box]
    faces = []
    for sides in SIDES:
        loop = w.add(f"IFCPOLYLOOP(({','.join(corners[i] for i in sides)}))")
        bound = w.add(f"IFCFACEOUTERBOUND({loop},.T.)")
        faces.append(w.add(f"IFCFACE(({bound}))"))
    shell = w.add(f"IFCCLOSEDSHELL(({','.join(faces)}))")
    shape = _shape(w, w.add(f"IFCFACETEDBREP({shell})"), "Brep")
    rest = f"'Desk {number}',$,'Desk',{_placed(w, at)},{shape},'{number}',.DESK."
    _described(w, w.root("IFCFURNITURE", rest), "Pset_FurnitureTypeCommon")


KINDS: tuple[Callable[[_Writer, int, Place], None], ...] = (
    _wall, _beam, _duct, _furniture, _wall, _duct, _furniture, _slab, _beam, _furniture,
)  # fmt: skip


def write_coordination(path: Path, plumbing_segments: int = 2500) -> int:
    """Write the model; returns how many elements are in it beside the plumbing."""
    write_grid(path, segments=plumbing_segments)
    text = path.read_text()
    elements = sum(text.count(f"=IFC{name}(") for name in _PLUMBING)
    others = elements * (PLUMBING_SHARE - 1)
    body, end, trailer = text.rpartition("ENDSEC;")
    writer = _Writer(_last(body) + 1, *_found(body))
    with path.open("w") as out:
        out.write(body)
        for number in range(others):
            at = (number % 100 * 5.0, number // 100 % 100 * 4.0, number // 10000 * 3.0)
            KINDS[number % len(KINDS)](writer, number, at)
            if len(writer.lines) > 10000:
                out.writelines(writer.lines)
                writer.lines.clear()
        related = ",".join(f"#{n}" for n in writer.contained)
        rest = f"$,$,({related}),#{writer.storey}"
        writer.root("IFCRELCONTAINEDINSPATIALSTRUCTURE", rest)
        out.writelines(writer.lines)
        out.write(end + trailer)
    return others


_PLUMBING = (
    "PIPESEGMENT", "PIPEFITTING", "SANITARYTERMINAL", "WASTETERMINAL", "STACKTERMINAL",
    "DISTRIBUTIONCHAMBERELEMENT",
)  # fmt: skip


def _last(body: str) -> int:
    return max(int(line[1:].partition("=")[0]) for line in _instances(body))


def _found(body: str) -> tuple[int, int, int, int]:
    """Owner history, body context, a storey and its placement."""
    first: dict[str, int] = {}
    storey_line = ""
    for line in _instances(body):
        number, _, rest = line[1:].partition("=")
        name = rest.partition("(")[0]
        first.setdefault(name, int(number))
        if name == "IFCBUILDINGSTOREY" and not storey_line:
            storey_line = line
    context = (
        first.get("IFCGEOMETRICREPRESENTATIONSUBCONTEXT")
        or first["IFCGEOMETRICREPRESENTATIONCONTEXT"]
    )
    placement = int(storey_line.split(",")[5].lstrip("#"))
    return first["IFCOWNERHISTORY"], context, first["IFCBUILDINGSTOREY"], placement


def _instances(body: str) -> Iterator[str]:
    return (line for line in body.splitlines() if line.startswith("#"))
