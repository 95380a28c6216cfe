"""A review with its places in the coordinates of the first file, for whoever opens that file."""

from dataclasses import replace
from typing import TypeVar

from ifclint.findings import Correction, Finding, Review, ReviewedElement

Placed = TypeVar("Placed", Finding, Correction, ReviewedElement)


def in_file(review: Review) -> Review:
    """The same, turned from the axes of the building, along which it is drawn and measured, into
    those of the file."""
    turned = review.turned_rad
    if not turned:
        return review

    def placed(item: Placed) -> Placed:
        return replace(item, location=item.location.in_file(turned))

    return replace(
        review,
        turned_rad=0.0,
        findings=tuple(map(placed, review.findings)),
        corrections=tuple(map(placed, review.corrections)),
        elements=tuple(map(placed, review.elements)),
    )
