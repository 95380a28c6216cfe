"""Equipment that is drained by vacuum: dental units, and whatever is led to a vacuum line."""

from __future__ import annotations

from ifclint.ifc.elements import Element, System
from ifclint.packs import Context
from ifclint.plumbing import Fixture
from ifclint.plumbing.words import says, says_text

VACUUM = (
    "vacuum", "vac", "dvac", "dv", "medvac", "suction", "vakuum", "absaugung", "saugleitung",
    "aspiration", "vide", "aspiracion", "vacio", "afzuiging", "vacuumleiding",
)  # fmt: skip


def drains_by_vacuum(fixture: Fixture, context: Context) -> bool:
    """Whether a vacuum line is joined to a fixture: by the name of its end, or of what meets it
    there."""
    network, index, element = context.plumbing.network, fixture.index, fixture.element
    for other, number in network.joined[index]:
        joint = network.joints[number]
        end = joint.a_end if joint.a == index else joint.b_end
        if _is_of_vacuum(network.elements[other], element.ends[end].name):
            return True
    return False


def _is_of_vacuum(met: Element, end: str) -> bool:
    if says_text(end, VACUUM):
        return True
    of_none = met.system in (System.OTHER, None)
    return of_none and (says(met, VACUUM) or says_text(met.system_name, VACUUM))
