"""What a finding can be known by in another revision of its model.

Programs re-issue GlobalIds when they export, so a finding has three fingerprints: by the GlobalId
of its first element, by that element's tag, and by where the element stands. Each is of the rule
too, and empty where the model does not show it.
"""

from __future__ import annotations

import hashlib
from math import isfinite

from ifclint.findings import Finding, ReviewedElement

PLACE_M = 0.1  # places are rounded to this; whoever compares searches around them


def fingerprints(finding: Finding, element: ReviewedElement | None) -> dict[str, str]:
    """By "guid", "tag" and "place"; sixteen hexadecimal digits each, or empty."""
    place = finding.location if element is None else element.location
    at = [place.x, place.y, place.z]
    rounded = [f"{round(c / PLACE_M)}" for c in at if c is not None and isfinite(c)]
    kind = element.ifc_class if element else ""
    return {
        "guid": _hash(finding.rule, *finding.element_ids[:1]) if finding.element_ids else "",
        "tag": _hash(finding.rule, kind, element.tag) if element and element.tag else "",
        "place": _hash(finding.rule, kind, *rounded) if len(rounded) == 3 else "",
    }


def _hash(*parts: str) -> str:
    return hashlib.sha256("|".join(parts).encode("utf-8", "replace")).hexdigest()[:16]
