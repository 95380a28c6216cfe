"""Links of pipe to pipe past the fitting that is drawn between them: the ends that lie at its
openings are joined to these instead."""

from __future__ import annotations

import math

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Joint, Model, Note, Role
from ifclint.ifc.joints.free_ends import free_ends, positions_of

REMEDY = "Give the fitting ports, and link each pipe to its own."


def unlink_past_parts(model: Model) -> None:
    """Drop the stated joints of two pipes that end apart, each at an opening of one third part."""
    apart = [joint for joint in model.joints if _is_apart(model, joint)]
    openings = [at for at in free_ends(model) if model.elements[at[0]].role is not Role.PIPE]
    if not apart or not openings:
        return
    at_openings = NearPlaces(positions_of(model, openings))
    firsts, seconds = (
        at_openings.around(positions_of(model, ends), model.joining_tolerance_m)
        for ends in ([(j.a, j.a_end) for j in apart], [(j.b, j.b_end) for j in apart])
    )
    passed = {
        joint
        for joint, one, other in zip(apart, firsts, seconds, strict=True)
        if {openings[k][0] for k in one} & {openings[k][0] for k in other}
    }
    if passed:
        model.joints = [joint for joint in model.joints if joint not in passed]
        count = "1 pair" if len(passed) == 1 else f"{len(passed)} pairs"
        what = f"The file links {count} of pipes past the fitting drawn between them"
        model.notes.append(Note(f"{what}; each was joined to the fitting.", REMEDY, "", "joint"))


def _is_apart(model: Model, joint: Joint) -> bool:
    a, b = model.elements[joint.a], model.elements[joint.b]
    if a.role is not Role.PIPE or b.role is not Role.PIPE:
        return False
    p, q = a.ends[joint.a_end].position, b.ends[joint.b_end].position
    return p is not None and q is not None and math.dist(p, q) > model.joining_tolerance_m
