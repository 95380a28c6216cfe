"""A pipe drawn as a mesh: the cylinder its corners lie on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.ifc.elements import Point
from ifclint.ifc.step.arrays import Floats, Ints

RING_TOLERANCE = 0.015  # corners whose distances from the axis differ less are one ring
RING_CORNERS = 12  # six at either end
WIDEST_BELL = 2.0  # of the barrel; what is wider is no bell or flange
LEAST_SIDES = 6  # a round pipe is drawn with at least so many
ANGLE_STEP = 0.05  # rad; corners closer than this around the axis are one direction
MOST_RINGS = 5  # bore, barrel, and a bell with its own bore
BARREL_SHARE = 0.8  # of the whole length; a shorter ring is a bell, a collar or a flange
LEAST_SLENDERNESS = 0.1  # length over outside diameter: a close nipple, no plate


@dataclass(frozen=True, slots=True)
class Cylinder:
    ends: tuple[Point, Point]
    outside_m: float
    inside_m: float | None


def fit_cylinder(corners: list[Point]) -> Cylinder | None:
    """The longest round body the corners fit; None where they are not round about any axis.

    Each principal direction is tried. Across the right one, the distances from the axis fall
    into few rings. The barrel is the widest ring that runs most of the length, the bore the
    narrowest; a wider, shorter ring is a bell and does not count. The ends are the barrel's.
    """
    cloud = np.asarray(corners, dtype=float)
    _, _, directions = np.linalg.svd(cloud - cloud.mean(axis=0), full_matrices=False)
    fitted = [c for c in (_about(cloud, direction) for direction in directions) if c is not None]
    return max(fitted, key=_length, default=None)


def _about(cloud: Floats, direction: Floats) -> Cylinder | None:
    """The cylinder about an axis in this direction, if the corners are round about it."""
    direction = direction if direction[np.argmax(np.abs(direction))] > 0 else -direction
    side = np.linalg.svd(direction[None, :])[2][1:]
    flat, along = cloud @ side.T, cloud @ direction
    centre = (flat.max(axis=0) + flat.min(axis=0)) / 2
    radii = np.hypot(*(flat - centre).T)
    rings = _rings(radii)
    whole = float(np.ptp(along))
    if rings is None or whole < LEAST_SLENDERNESS * 2 * float(radii.max()):
        return None
    barrel = [r for r in rings if np.ptp(along[r]) >= BARREL_SHARE * whole]
    if not barrel or len(barrel[0]) < RING_CORNERS:
        return None
    bore, skin = barrel[0], barrel[-1]
    if radii.max() > WIDEST_BELL * radii[skin].mean():
        return None
    if _sides(flat[skin] - centre) < LEAST_SIDES:
        return None
    low, high = along[bore].min(), along[bore].max()
    base = centre @ side
    ends = tuple(tuple(float(c) for c in base + at * direction) for at in (low, high))
    hollow = len(barrel) > 1
    inside = 2 * float(radii[bore].mean()) if hollow else None
    return Cylinder(ends, 2 * float(radii[skin].mean()), inside)  # type: ignore[arg-type]


def _sides(spokes: Floats) -> int:
    """In how many directions from the axis there are corners."""
    angles = np.arctan2(spokes[:, 1], spokes[:, 0])
    return int(distinct(np.round(angles / ANGLE_STEP)).size)


def _rings(radii: Floats) -> list[Ints] | None:
    """Indices of the corners by ring, narrowest first; None where there are no clear rings."""
    order = np.argsort(radii)
    steps = np.diff(radii[order])
    largest = float(radii.max())
    if largest <= 0:
        return None
    rings: list[Ints] = np.split(order, np.flatnonzero(steps > RING_TOLERANCE * largest) + 1)
    on_axis = [r for r in rings if radii[r].max() < RING_TOLERANCE * largest]
    rings = [r for r in rings if radii[r].max() >= RING_TOLERANCE * largest]
    clear = all(np.ptp(radii[r]) <= 2 * RING_TOLERANCE * largest for r in rings)
    return rings if clear and len(rings) <= MOST_RINGS and len(on_axis) <= 1 else None


def _length(cylinder: Cylinder) -> float:
    a, b = cylinder.ends
    return sum((p - q) ** 2 for p, q in zip(a, b, strict=True))
