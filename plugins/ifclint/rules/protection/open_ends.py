"""The rule about indirect waste of what is not understood: how high its pipe ends."""

from dataclasses import dataclass

from ifclint.checks import check, due, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.protection.indirect import SIZE, gap_of_size


@dataclass(eq=False)
class IndirectEnd(OfElement):
    """A pipe of indirect waste that ends over a receptor, and that no fixture drains through."""

    element: Element
    outlet: Outlet
    begins_at: str  # the name of what it begins at and that is not understood; "" where none

    @property
    def label(self) -> str:
        of = f" of {self.begins_at}" if self.begins_at else ""
        return f"The indirect waste pipe{of} ({self.element.label})"


@derived
def indirect_ends(context: Context) -> list[IndirectEnd]:
    network, drainage = context.plumbing.network, context.plumbing.drainage
    beginnings = _beginnings(context)
    judged = {f.outlet for f in context.plumbing.fixtures if f.is_drawn}
    return [
        IndirectEnd(network.elements[outlet.element], outlet, beginnings.get(number, ""))
        for number, outlet in enumerate(drainage.outlets)
        if outlet.kind == RECEPTOR and outlet not in judged
    ]


def _beginnings(context: Context) -> dict[int, str]:
    """What is not understood and the piping of an outlet begins at, by name, of each outlet."""
    drainage, network = context.plumbing.drainage, context.plumbing.network
    found: dict[int, str] = {}
    for index in drainage.members:
        if name := network.model.leads_elsewhere.get(network.elements[index].guid, ""):
            found.setdefault(drainage.outlet[index], name)
    return found


@rule(
    title="Indirect waste of what is not understood ends above its receptor",
    clauses={"upc": "801.2", "ipc": "802.1", "irc": "P2909.2"},
    severity=Severity.HIGH,
)
def indirect_pipe_end(end: IndirectEnd, context: Context) -> Answer:
    """Whatever stands at its other end, what the floor sink throws up must not run into it.

    Pipes of indirect waste through which no fixture drains that is understood: as far above the rim
    of the receptor as an air gap asks for. An advisory, since some equipment may end in an air
    break.
    """
    network, at = context.plumbing.network, end.outlet.position
    receptor = due(receptor_under(network, at))
    above = (due(at)[2] - due(receptor.box)[1][2]) / M_PER_IN
    gap = gap_of_size(end.element.size_in, context)
    if end.element.size_in is None and at_least(above, gap.value, "in"):
        return not_known(SIZE, end, elements=(end.element.guid, receptor.guid))
    return check(
        above,
        at_least=gap,
        message=f"{end.label} ends {number_text(abs(above))} in {above_or_below(above)} the rim of "
        f"{receptor.label}.",
        remedy=f"End it {number_text(gap.value)} in above the rim, or say what drains there, "
        "which may end in an air break: its IFC class, or a name in trade words.",
        limit_step="Least air gap for the size of the line",
        elements=(end.element.guid, receptor.guid),
        wrong=Outcome.ADVISORY,
    )
