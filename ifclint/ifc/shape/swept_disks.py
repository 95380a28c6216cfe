"""Many disks swept along polylines at once. What is written in an unusual way is left out."""

from __future__ import annotations

import numpy as np

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.polylines import polylines
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.columns import numbers
from ifclint.ifc.step.text_index import Ref, TextIndex

LARGEST_RADIUS_M = 50.0
SweptDisk = tuple[tuple[Point, ...], float, float | None]  # path, outside and inside diameter


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
