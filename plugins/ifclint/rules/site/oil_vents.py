"""The rule about the vapour vents of oil interceptors."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, Fact, check, missing, not_known, violation
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Change, Severity
from ifclint.packs import Context, rule
from ifclint.part_kinds import VENTS
from ifclint.plumbing import VentTree
from ifclint.rules.site.interceptors import Interceptor, interceptors, is_vented, takes_any
from ifclint.rules.site.wastes import OIL, kind_of

SIZE = Fact("the size of the vapour vent of {} is not known.", "Give it a nominal diameter.")


@rule(
    title="Oil interceptor with a vapour vent by itself",
    clauses={"upc": "1017.1", "ipc": "", "irc": ""},
    severity=Severity.HIGH,
    applies=lambda interceptor: kind_of(interceptor.element) == OIL,
)
def oil_vapor_vented(interceptor: Interceptor, context: Context) -> Iterator[Answer]:
    """Petrol stands above the water in an oil interceptor: its vapour must reach the open air, and
    no drain or room.

    The vents joined to the interceptor itself, of the code's least size, which meet no vent of a
    drain, its own sewer side included; those of oil interceptors may meet. A vent on the pipe
    beside it is none of its compartment.
    """
    if not takes_any(interceptor):
        yield NOT_APPLICABLE
        return
    vents = _vents(interceptor, context)
    if not vents:
        yield _none(interceptor, context)
    own = {i.index for i in interceptors(context) if kind_of(i.element) == OIL}
    for index, tree in vents:
        pipe, least = tree.piping.elements[index], context.code.limit("oil_vapor_vent_in")
        size = pipe.size_in
        if size is None:
            yield not_known(SIZE, interceptor)
        else:
            text = f"Make the vapour vent {trade_size(least.value)}."
            yield check(
                size,
                at_least=least,
                message=f"The vapour vent of {interceptor.label} is {trade_size(size)}.",
                remedy=Change("size", (pipe.guid,), least.value, text),
                limit_step="Vapour vent, at least",
                elements=(pipe.guid, interceptor.element.guid),
                about=pipe.guid,
            )
        others = [joint for joint in tree.joints if joint.drain not in own]
        if others:
            drain = tree.piping.elements[others[0].drain]
            yield violation(
                message=f"The vapour vent of {interceptor.label} meets the vent of a drain, that "
                f"at {drain.label}.",
                remedy="Carry the vapour vent of the oil interceptor to the open air by itself.",
                elements=(pipe.guid, interceptor.element.guid, drain.guid),
                about="meets",
            )


def _vents(interceptor: Interceptor, context: Context) -> list[tuple[int, VentTree]]:
    """The dry pipes joined to an interceptor itself, each with its tree."""
    trees = {
        i: tree for tree in context.plumbing.venting.trees if tree.is_vent for i in tree.members
    }
    joined = context.plumbing.network.neighbours(interceptor.index)
    return [(i, trees[i]) for i in joined if i in trees]


def _none(interceptor: Interceptor, context: Context) -> Answer:
    beside = is_vented(interceptor, context)
    has = "a vent on its drain, and no vapour vent of its own" if beside else "no vapour vent"
    return missing(
        VENTS,
        message=f"{interceptor.label} has {has}.",
        remedy="Carry a vent from the separation compartment to the open air by itself.",
    )
