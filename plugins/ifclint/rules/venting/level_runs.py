"""What lies level in a vent and is moved as one: a header with its fittings, between uprights."""

from __future__ import annotations

from ifclint.packs import Context, derived
from ifclint.plumbing import VentTree


def level_run(tree: VentTree, index: int, context: Context) -> str:
    """The GlobalId by which the level run of a vent is known; of an upright its own."""
    first = _runs(context, tree).get(index, index)
    return tree.piping.elements[first].guid


@derived
def _runs(context: Context, tree: VentTree) -> dict[int, int]:
    """For each element of a vent that stands not upright, the first of those it lies level with."""
    level = (i for i in tree.members if not tree.piping.is_vertical(i))
    return {i: min(run) for run in context.plumbing.network.pieces(level) for i in run}
