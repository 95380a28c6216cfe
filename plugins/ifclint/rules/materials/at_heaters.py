"""The rule about plastic pipe that begins too near a water heater."""

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, not_known
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Outcome, Step
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.rules.materials.lots import material_of

SOFT = frozenset({"pex", "multilayer", "pe-rt", "polyethylene"})
BY_CODE = frozenset({"pex"})  # what the clause speaks of; the makers of the others ask for the same
PASSED = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.METER, Role.PUMP})
USUAL_IN = 18.0  # handbook of the Plastic Pipe and Fittings Association, from a quotation

MADE_OF = Fact(
    "what {} is made of, {} in from {}, is not known: PEX may not begin so near.",
    "Give the pipe its material.",
)
LONG = Fact(
    "how far from {} {} begins is not known: {} has no length.",
    "Draw its axis, or state the length (Qto_PipeSegmentBaseQuantities.Length).",
)


@dataclass(frozen=True)
class PipeFromHeater:
    """A pipe on a heater's water connections, and how much pipe and fittings lie before it."""

    pipe: Element
    before_m: float
    unmeasured: Element | None  # a pipe before it whose length is not known


@rule(
    title="No PEX right at a water heater",
    clauses={"upc": "604.10.2", "ipc": "502.1", "irc": "M2005.1"},
)
def plastic_from_heater(heater: Heater, context: Context) -> Iterator[Answer]:
    """What a burner or a stuck thermostat sends up the outlet softens plastic, and it lets go.

    Along the pipe from each water connection of a heater, hot and cold, how much lies before the
    first pipe of PEX, against 18 in under the UPC. A metal connector counts as pipe. Pipe of PEX
    with aluminium, PE-RT and polyethylene is advice, as the makers' instructions ask the same, and
    so is PEX under the IPC and IRC, which leave it to these. Pipe so near whose material is not
    stated is asked about.
    """
    limit = context.code.limit_or_none("pex_from_heater_in")
    least_in = USUAL_IN if limit is None else limit.value
    found = list(_reached(heater, context, least_in * M_PER_IN))
    said = (_far_enough(reached, heater, limit) for reached in found)
    wrong = [answer for answer in said if answer is not PASS]
    yield from wrong or [PASS if found else NOT_APPLICABLE]


def _far_enough(reached: PipeFromHeater, heater: Heater, limit: Limit | None) -> Answer:
    pipe, before_in = reached.pipe, reached.before_m / M_PER_IN
    material = material_of(pipe)
    if not material:
        return not_known(MADE_OF, pipe, number_text(before_in, 2), heater, about=pipe.key)
    if material not in SOFT:
        return PASS
    if reached.unmeasured is not None:
        return not_known(LONG, heater, pipe, reached.unmeasured, about=pipe.key)
    by_code = limit is not None and material in BY_CODE
    least_in = USUAL_IN if limit is None else limit.value
    begins = (
        f"begins {apart_text(before_in, least_in, 'in', 2)} from"
        if before_in
        else "begins right at"
    )
    return check(
        before_in,
        at_least=limit if limit is not None and by_code else least_in,
        unit="in",
        message=f"{pipe.label}, of {material}, {begins} {heater.label}.",
        remedy=f"Begin it {number_text(least_in)} in from the heater: metal pipe, or a listed "
        "metal connector as long.",
        steps=(Step("Pipe and fittings before it", before_in, "in"),),
        limit_step="Least",
        elements=(pipe.guid, heater.element.guid),
        about=pipe.key,
        wrong=Outcome.VIOLATION if by_code else Outcome.ADVISORY,
    )


def _reached(heater: Heater, context: Context, within_m: float) -> Iterator[PipeFromHeater]:
    """The pipes that begin nearer to a heater than so far, the nearest first; past plastic pipe no
    farther."""
    start, network = heater.index, context.plumbing.network
    waiting = [(0.0, at, end, NONE) for at, own, end in neighbours(network, start)
               if _is_water(heater, own, network.elements[at])]  # fmt: skip
    seen = {start}
    while waiting:
        before_m, at, entered, unmeasured = heappop(waiting)
        element = network.elements[at]
        if at in seen or before_m >= within_m or element.role not in PASSED:
            continue
        seen.add(at)
        if element.role is Role.PIPE:
            unknown = network.elements[unmeasured] if unmeasured != NONE else None
            yield PipeFromHeater(element, before_m, unknown)
            if material_of(element) in SOFT:
                continue
            if element.length_m is None:
                unmeasured = at
        for other, own, end in neighbours(network, at):
            further_m = before_m + _passed_m(element, entered, own)
            heappush(waiting, (further_m, other, end, unmeasured))


def _is_water(heater: Heater, own: int, joined: Element) -> bool:
    """Whether water of the supply passes an end of a heater: no gas, flue, relief or drain."""
    system = heater.element.ends[own].system or joined.system
    return system in WATER_SUPPLY and joined.kind != "relief"


def _passed_m(element: Element, entered: int, left: int) -> float:
    """How much of an element lies between two of its ends: of a pipe its length."""
    if element.role is Role.PIPE:
        return or_zero(element.length_m)
    a, b = element.ends[entered].position, element.ends[left].position
    return dist(a, b) if a is not None and b is not None else 0.0
