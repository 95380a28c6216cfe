"""What drains through the air into each waste receptor."""

from collections import defaultdict

from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.receptors import receptor_under


@derived
def _received(context: Context) -> dict[str, list[Fixture]]:
    found: dict[str, list[Fixture]] = defaultdict(list)
    for fixture in context.plumbing.fixtures:
        if fixture.is_indirect and fixture.outlet is not None:
            receptor = receptor_under(context.plumbing.network, fixture.outlet.position)
            if receptor is not None:
                found[receptor.guid].append(fixture)
    return found


def received_by(receptor: Fixture, context: Context) -> list[Fixture]:
    """The fixtures and appliances whose lines end over a receptor; of one that drains through the
    air itself none."""
    return [] if receptor.is_indirect else _received(context).get(receptor.element.guid, [])


def line_size_in(fixture: Fixture, context: Context) -> float | None:
    """The size of the first pipe of its line."""
    elements = context.plumbing.network.elements
    return next((size for i in fixture.path if (size := elements[i].size_in) is not None), None)
