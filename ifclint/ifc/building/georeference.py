"""Where the coordinates of a file lie: its world coordinate system and its map conversion."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ifclint.ifc.shape.placement import IDENTITY, Frame, Placements, compose, inverse
from ifclint.ifc.step.spf import arguments, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

MAP_CONVERSIONS = (b"IFCMAPCONVERSION", b"IFCMAPCONVERSIONSCALED")
CONTEXT = b"IFCGEOMETRICREPRESENTATIONCONTEXT"
NEAR_ONE = 0.01  # a map scale further from 1 forgets the units
Placed = tuple[Frame, float, str]


@dataclass(frozen=True, slots=True)
class Georeference:
    """How the coordinates of a file lie in the world.

    `wcs` is its world coordinate system. `on_map` are the axes and the origin of the map
    conversion (metres), `scale` its metres on the map for a metre of the building, `crs` the map's
    name. `north` is the angle of true north (radians), None where it is not stated.
    """

    wcs: Frame = IDENTITY
    on_map: Frame | None = None
    scale: float = 1.0
    crs: str = ""
    north: float | None = None

    def comparable(self, other: Georeference) -> bool:
        """Whether both are on one map, or neither is on any."""
        if self.on_map is None or other.on_map is None:
            return self.on_map is other.on_map
        return self.crs.casefold() == other.crs.casefold()

    def seen_from(self, first: Georeference) -> Frame:
        """This file's coordinates in those of another; by their world coordinate systems alone
        where they are not `comparable`.

        With a map conversion the world coordinate system tells where the map's point lies in the
        file's own coordinates; without one, where these lie in the world (so IFC describes the
        attribute; from memory).
        """
        if self.on_map is None or first.on_map is None or not self.comparable(first):
            return compose(inverse(first.wcs), self.wcs)
        between = [
            (a - b) / first.scale for a, b in zip(self.on_map[9:], first.on_map[9:], strict=True)
        ]
        turned = compose(inverse((*first.on_map[:9], 0.0, 0.0, 0.0)), (*self.on_map[:9], *between))
        return compose(compose(first.wcs, turned), inverse(self.wcs))


def georeference(
    text: TextIndex, metres: float, factor_of: Callable[[Ref], float | None]
) -> Georeference:
    """The georeference of a file; `metres` in its unit of length, `factor_of` a unit instance.

    Raises ValueError where a world coordinate system is given and cannot be read.
    """
    placements = Placements(text, metres)
    wcs, written = IDENTITY, _context(text)
    if written:
        given = placements.axis_placement(number(written[4]))
        if given is None:
            raise ValueError("no world coordinate system")
        wcs = given
    north = true_north(text, placements)
    on_map, scale, crs = _conversion(text, metres, factor_of) or (None, 1.0, "")
    return Georeference(wcs, on_map, scale, crs, north)


def true_north(text: TextIndex, placements: Placements) -> float | None:
    """The angle of true north (radians from y toward -x); None where the file does not tell it."""
    written = _context(text)
    direction = placements.direction(number(written[5])) if written else None
    north = math.atan2(-direction[0], direction[1]) if direction else math.nan
    return north if math.isfinite(north) else None


def _context(text: TextIndex) -> list[bytes]:
    """The first context of what is drawn in space; none of a file without one."""
    for line in text.of_class(CONTEXT)[1]:
        written = arguments(line)
        if len(written) > 5 and written[2] == b"3":
            return written
    return []


def _conversion(
    text: TextIndex, metres: float, factor_of: Callable[[Ref], float | None]
) -> Placed | None:
    """Frame, scale and name of the first map conversion that can be read."""
    for name in MAP_CONVERSIONS:
        for line in text.of_class(name)[1]:
            written = arguments(line)
            values = [_real(field) for field in written[2:8]]
            east, north, height, x, y, stated = (*values, *(None,) * 6)[:6]
            if east is None or north is None or east == north == 0.0:
                continue  # programs write zeros where nobody gave them a place
            crs, unit = _crs(text, number(written[1]), factor_of)
            stated = stated or 1.0
            map_unit = unit or (1.0 if abs(stated / metres - 1.0) < NEAR_ONE else metres)
            scale = stated * map_unit / metres
            angle = math.atan2(y, x) if x is not None and y is not None else 0.0
            c, s = math.cos(angle), math.sin(angle)
            origin = (east * map_unit, north * map_unit, (height or 0.0) * map_unit)
            frame = (c, s, 0.0, -s, c, 0.0, 0.0, 0.0, 1.0, *origin)
            return frame, scale if abs(scale - 1.0) < NEAR_ONE else 1.0, crs
    return None


def _crs(
    text: TextIndex, ref: Ref, factor_of: Callable[[Ref], float | None]
) -> tuple[str, float | None]:
    """Name and unit (metres) of a projected coordinate reference system."""
    line = text.get(ref) or b""
    written = arguments(line[line.find(b"(") + 1 : -1]) if line else []
    name = clean(string(written[0])) if written else ""
    unit = number(written[6]) if len(written) > 6 else 0
    return name, factor_of(unit) if unit else None


def _real(field: bytes) -> float | None:
    try:
        value = float(field.removeprefix(b"IFCLENGTHMEASURE(").rstrip(b")"))
    except ValueError:
        return None
    return value if abs(value) < 1e12 else None
