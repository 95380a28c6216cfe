"""Bent tube: disks swept along polylines, many at once, or a mesh, by the middles of its rings of
corners."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Point
from ifclint.ifc.shape.frames import FARTHEST, pairs, triples
from ifclint.ifc.step.arrays import Floats, Ints
from ifclint.ifc.step.columns import lists, numbers, references, rows_of
from ifclint.ifc.step.text_index import Ref, TextIndex

LARGEST_RADIUS_M = 50.0
SweptDisk = tuple[tuple[Point, ...], float, float | None]  # path, outside and inside diameter
LEAST_SIDES = 6  # a round tube is drawn with at least so many
MOST_CORNERS = 6_000  # of a mesh that is looked at: what has more is no plain tube. Ours
FLAT = 1e-3  # faces whose normals differ less lie in one plane, and
ROUND = 0.03  # corners whose distances from the middle differ by no more lie on one ring
Face = tuple[int, ...]


class BentTube(NamedTuple):
    """The line along the middle of a tube, and how wide it is outside."""

    points: tuple[Point, ...]
    outside_m: float


def fit_tube(corners: Sequence[Point], faces: Sequence[Face]) -> BentTube | None:
    """The tube of which these are the faces; None where they are none with two round ends, flat or
    open, between which every ring of corners has as many."""
    if not 2 * LEAST_SIDES <= len(corners) <= MOST_CORNERS or not faces:
        return None
    cloud = np.asarray(corners, dtype=float)
    caps = _caps(cloud, faces) or _openings(cloud, faces)
    if len(caps) != 2:
        return None
    rings = _rings(faces, *caps)
    if rings is None:
        return None
    middles = [_middle(cloud, ring) for ring in rings]
    radius = max(float(np.linalg.norm(cloud[i] - middles[0])) for i in caps[0])
    return BentTube(tuple((float(x), float(y), float(z)) for x, y, z in middles), 2 * radius)


def _caps(cloud: Floats, faces: Sequence[Face]) -> list[frozenset[int]]:
    """The corners of every flat part of the surface that is round."""
    normals = [_normal(cloud, face) for face in faces]
    found = []
    for part in _flat_parts(faces, normals):
        held = frozenset(i for k in part for i in faces[k])
        if _is_round(cloud, held):
            found.append(held)
    return found


def _openings(cloud: Floats, faces: Sequence[Face]) -> list[frozenset[int]]:
    """The round rings of edges that only one face has."""
    sharing: dict[tuple[int, int], int] = defaultdict(int)
    for face in faces:
        for edge in _edges(face):
            sharing[edge] += 1
    joined: dict[int, list[int]] = defaultdict(list)
    for (a, b), shared in sharing.items():
        if shared == 1:
            joined[a].append(b)
            joined[b].append(a)
    rims = (frozenset(piece) for piece in pieces(sorted(joined), joined.__getitem__))
    return [rim for rim in rims if _is_round(cloud, rim)]


def _is_round(cloud: Floats, held: frozenset[int]) -> bool:
    """Whether corners lie on one ring, or on it and on a narrower one, or in its middle."""
    places = cloud[sorted(held)]
    away = np.linalg.norm(places - places.mean(axis=0), axis=1)
    near = ROUND * float(away.max())
    within = away[away < away.max() - near]
    is_ring = len(within) == 0 or float(np.ptp(within)) <= near
    return len(held) - len(within) >= LEAST_SIDES and is_ring


def _flat_parts(faces: Sequence[Face], normals: Sequence[Floats]) -> list[list[int]]:
    """The faces that lie in one plane and touch along edges, together."""
    beside: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, face in enumerate(faces):
        for edge in _edges(face):
            beside[edge].append(k)
    touching: dict[int, list[int]] = defaultdict(list)
    for sharing in beside.values():
        for k in sharing:
            touching[k] += [
                other
                for other in sharing
                if other != k and abs(abs(float(normals[k] @ normals[other])) - 1.0) < FLAT**2
            ]
    return [sorted(part) for part in pieces(range(len(faces)), touching.__getitem__)]


def _edges(face: Face) -> Iterator[tuple[int, int]]:
    for a, b in zip(face, face[1:] + face[:1], strict=True):
        yield min(a, b), max(a, b)


def _rings(
    faces: Sequence[Face], first: frozenset[int], last: frozenset[int]
) -> list[list[int]] | None:
    """The corners one edge after the other from one end; None where they are not rings of as many,
    or do not lead to the other end and nowhere else."""
    joined: dict[int, set[int]] = defaultdict(set)
    for face in faces:
        for a, b in _edges(face):
            joined[a].add(b)
            joined[b].add(a)
    seen = set(first)
    rings = [_rim(first, joined)]
    while ring := sorted({b for a in rings[-1] for b in joined[a]} - seen):
        seen.update(ring)
        rings.append(ring)
    ends_there = set(rings[-1]) <= last or (len(rings) > 1 and set(rings[-2]) <= last)
    if len(seen) != len(joined) or not ends_there:
        return None
    rings = rings[:-1] if len(rings[-1]) == 1 else rings  # the middle of the far end
    return rings if len({len(ring) for ring in rings}) == 1 and len(rings) > 1 else None


def _rim(cap: frozenset[int], joined: dict[int, set[int]]) -> list[int]:
    """The corners of an end that lead on, without one in its middle."""
    return sorted(i for i in cap if not joined[i] <= cap)


def _middle(cloud: Floats, ring: Sequence[int]) -> Floats:
    middle: Floats = cloud[list(ring)].mean(axis=0)
    return middle


def _normal(cloud: Floats, face: Face) -> Floats:
    """The direction a face looks in, by all its corners."""
    places = cloud[list(face)]
    after = np.roll(places, -1, axis=0)
    whole: Floats = np.cross(places - places[0], after - places[0]).sum(axis=0)
    size = float(np.linalg.norm(whole))
    return whole / size if size > 0 else whole


def read_swept_disks(text: TextIndex, scale: float, items: Ints) -> dict[Ref, SweptDisk]:
    """The disks swept along polylines among `items` (references), in metres."""
    items, rows = text.distinct(items, b"IFCSWEPTDISKSOLID")
    written, well = numbers(text.arguments(rows), b"#,,,,", unset=b"$")
    curves, radius, bore = written[:, 0].astype(np.int64), written[:, 1], written[:, 2]
    radius, bore = radius * scale, 2 * bore * scale
    paths = polylines(text, scale, curves)
    well &= (radius > 0) & (radius < LARGEST_RADIUS_M)
    columns = zip(
        items[well].tolist(), curves[well].tolist(), (2 * radius[well]).tolist(),
        bore[well].tolist(), strict=True,
    )  # fmt: skip
    return {
        item: (paths[curve], outside, inside or None)
        for item, curve, outside, inside in columns
        if curve in paths
    }


def polylines(
    text: TextIndex, scale: float, curves: Ints, in_plane: bool = False
) -> dict[Ref, tuple[Point, ...]]:
    """The points, in metres, of the polylines among curves, of those that have two or more; of
    curves in a plane with 0 for z."""
    curves, rows = text.distinct(curves, b"IFCPOLYLINE")
    held = lists(text, text.ends[rows] - 2)
    well = held.well & (held.before + 1 == text.opens[rows]) & (held.counts > 1)
    ids, coordinates = (pairs if in_plane else triples)(text, b"IFCCARTESIANPOINT", held.members)
    at = rows_of(ids, held.members)
    given = coordinates[at] * scale
    owner = np.arange(len(curves)).repeat(held.counts)
    well[owner[(at < 0) | ~(np.abs(given).sum(axis=1) < FARTHEST)]] = False
    points: list[Point] = list(map(tuple, given.tolist()))
    last = np.cumsum(held.counts)
    spans = zip(
        curves[well].tolist(), (last - held.counts)[well].tolist(), last[well].tolist(), strict=True
    )
    return {curve: tuple(points[a:b]) for curve, a, b in spans}


def outlines(text: TextIndex, scale: float, profiles: Ints) -> dict[Ref, tuple[Point, ...]]:
    """The corners of the profiles whose outline is a polyline."""
    profiles, rows = text.distinct(profiles, b"IFCARBITRARYCLOSEDPROFILEDEF")
    curves, _, well = references(text, text.ends[rows] - 2, 1)
    known = polylines(text, scale, curves[well, 0], in_plane=True)
    of_each = zip(profiles[well].tolist(), curves[well, 0].tolist(), strict=True)
    return {profile: known[curve] for profile, curve in of_each if curve in known}
