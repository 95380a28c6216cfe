"""Where new piping is joined to existing piping that is not in the model, as in a remodel."""

from collections.abc import Iterable

from ifclint.network import Network

TIE_IN = "tie-in"


def is_tie_in(network: Network, index: int) -> bool:
    """Whether an element is such a point: named so, and joined on one side at the most."""
    return network.elements[index].kind == TIE_IN and len(network.neighbours(index)) < 2


def tie_ins(network: Network, members: Iterable[int]) -> list[int]:
    """Those of some elements, in order."""
    return [index for index in members if is_tie_in(network, index)]
