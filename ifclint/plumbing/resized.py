"""The plumbing with other sizes: what no size bears on is kept, the rest is derived anew."""

from collections.abc import Mapping
from dataclasses import replace

from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, System
from ifclint.network import Network
from ifclint.plumbing import Plumbing, plumbing_of
from ifclint.plumbing.drainage.hoses import is_as_small
from ifclint.plumbing.drainage.pressure import lifting_in
from ifclint.plumbing.pieces import find_pieces

OF_DRAINAGE = (
    "venting", "lines", "cleanouts", "building_drains", "bare_sewers", "drains", "_ends_of_drains",
)  # fmt: skip
KEPT = (  # what is derived when it is asked for, and the services whose sizes bear on it
    *((name, DRAINAGE) for name in OF_DRAINAGE),
    ("supply", WATER_SUPPLY | {System.RELIEF}),
    ("gas", frozenset({System.GAS})),
    ("storm", frozenset({System.STORM})),
)


def resized(
    before: Plumbing, changed: Mapping[int, tuple[Element, Element]], sized: frozenset[System]
) -> Plumbing | None:
    """The plumbing where elements, each as it was and as it is, differ in size alone and are of
    some services. None where sizes may bear on where the water flows: of hoses, and where any is
    lifted."""
    old = before.network
    if any(
        old.elements[i] is not was or _may_be_hose(was, now) for i, (was, now) in changed.items()
    ):
        return None
    if any(lifting_in(before.drainage)):
        return None
    elements = list(old.elements)
    for index, (_, now) in changed.items():
        elements[index] = now
    network = Network(replace(old.model, elements=elements), old.joined)
    drainage = replace(before.drainage, network=network)
    if sized & DRAINAGE:
        made = plumbing_of(
            network, drainage, before.surroundings, before.gas_sources, before.water_source,
            before.gas_loads, before.discharging,
        )  # fmt: skip
    else:
        pieces = find_pieces(network, drainage)
        made = replace(before, network=network, drainage=drainage, pieces=pieces)
    for name, services in KEPT:
        if name in vars(before) and not sized & services:
            vars(made)[name] = vars(before)[name]
    return made


def _may_be_hose(was: Element, now: Element) -> bool:
    """Whether an element is of a hose by one of its sizes alone."""
    return is_as_small(was) is not is_as_small(now)
