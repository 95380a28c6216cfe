"""Joints the model states between services that have nothing to do with each other."""

from __future__ import annotations

from ifclint.ifc.elements import Model, Note
from ifclint.ifc.facts.systems import OF_ONE_SERVICE, same_family


def note_crossings(model: Model) -> None:
    """Note each joint of two pipes or fittings that carry, say, water and gas."""
    elements = model.elements
    for joint in model.joints:
        one, other = elements[joint.a], elements[joint.b]
        if one.system is other.system or one.system is None or other.system is None:
            continue
        if {one.role, other.role} <= OF_ONE_SERVICE and not same_family(one.system, other.system):
            what = (
                f"{one.label} is {one.system.value} but joined to {other.label}, which is "
                f"{other.system.value}."
            )
            remedy = "Take the joint away, or correct the system of one of the two."
            model.notes.append(Note(what, remedy, one.guid, "joint"))
