"""Rules about what joins an appliance: taken apart behind the shutoff, and large enough."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import dist, inf

from ifclint.checks import PASS, Fact, check, missing, not_known, require
from ifclint.engineering import tolerance
from ifclint.engineering.arithmetic import largest, or_zero
from ifclint.engineering.data import rows_of
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Change, PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance
from ifclint.plumbing.gas.connectors import is_connector
from ifclint.plumbing.gas.gas_piping import LABORATORY
from ifclint.plumbing.gas.inputs import gas, inputs
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.piping import members
from ifclint.rules.gas.places import UNION_WORDS

LOOSENED = (*UNION_WORDS, "connector", "flex*", "quick disconnect*", "quick connect*", "gas hose")


def _loosens(element: Element) -> bool:
    """Whether an appliance can be taken off its pipe there."""
    return says(element, LOOSENED) or is_connector(element)


UNIONS = PartKind(
    "unions or connectors in gas piping",
    drawn=lambda context: any(map(_loosens, members(context))),
    remedy="Show the union or listed connector behind each appliance shutoff.",
)


@gas_rule(
    title="Union or connector between shutoff and appliance",
    clauses={"upc": "1212.6", "ipc": "IFGC 409.5", "irc": "G2420.5"},
    severity=Severity.LOW,
    applies=lambda appliance: appliance.shutoff is not None and appliance.kind not in LABORATORY,
)
def gas_union(appliance: GasAppliance, context: Context) -> Answer:
    """Without a union or connector the appliance cannot be taken off its pipe.

    A fitting behind the shutoff whose name or type says union, connector, quick disconnect or
    flexible, or a hose. One that is drawn before the shutoff cannot be opened with the gas on.
    Where a model draws none at all they are left out of the drawing, and that is unverified.
    """
    shutoff = appliance.shutoff
    unions = [e for e in appliance.own if _loosens(e) and e is not shutoff]
    if not unions:
        text = "Fit a union or listed connector between the shutoff and the appliance."
        return missing(
            UNIONS,
            message=f"No union or connector is drawn between the shutoff and {appliance.label}.",
            remedy=Change("part", appliance.element_ids, "union", text),
        )
    last = unions[-1]
    return require(
        shutoff not in appliance.own[appliance.own.index(last) :],
        message=f"The union of {appliance.label} stands before its shutoff.",
        remedy="Set the union behind the shutoff, so that it can be opened with the gas off.",
        elements=(last.guid, *appliance.element_ids),
    )


INSIDE_OF = {0.375: 0.25, 0.5: 0.375, 0.625: 0.5}  # connectors are sold by outside or inside
OUTSIDE_WORDS, INSIDE_WORDS = ("od", "o.d.", "outside diameter"), ("id", "i.d.", "inside diameter")
CARRIES = Fact(
    "whether {} carries the {} kBtu/h of {}",
    "Tell its length and its inside diameter (ID), or show its listed capacity.",
)


@dataclass(frozen=True)
class Listed:
    """What a connector of natural gas carries at a drop of 0.5 in of water."""

    inside_in: float
    length_in: float
    kbtuh: float
    source: str


LISTED = tuple(
    Listed(
        float(str(r["inside_in"])),
        float(str(r["length_in"])),
        float(str(r["kbtuh"])),
        str(r["source"]),
    )
    for r in rows_of("gas_connectors")
)
PROPANE = 1.6  # times the heat, in the same connector; what makers print, from memory
KBTUH = "kBtu/h"


@gas_rule(
    title="Appliance connector large enough",
    clauses={"upc": "1212.3", "ipc": "IFGC 411.1.3.2", "irc": "G2422.1.2.2"},
    severity=Severity.MEDIUM,
    of_load=True,
)
def gas_connector_size(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """A range on a thin connector starves its burners, and their flames lift and make soot.

    The input of the appliance against what its flexible connector carries by the tables of its
    makers, by length and inside diameter. A size that is called neither inside nor outside may be
    either: wrong is only what is too small even by the inside, and what depends on it is asked
    about. So is more than 1/2 in inside, which has no row. Longer than 6 ft no connector is listed,
    and another rule finds it. Of an input that nothing states the least listed has to be too much.
    """
    known = inputs(context).get(appliance)
    if known is None:
        return
    is_propane = (supplied := gas(context)) is not None and supplied.name == "propane"
    for connector in appliance.own:
        length = _length_m(connector)
        if connector.role is Role.VALVE or not is_connector(connector) or length is None:
            continue
        if tolerance.at_most(length / M_PER_IN, LISTED[-1].length_in, "in"):
            bounds = _bounds_kbtuh(connector, length, PROPANE if is_propane else 1.0)
            steps = known.least_step(appliance), known.step(appliance)
            yield _answer(appliance, connector, steps, bounds)


def _answer(
    appliance: GasAppliance,
    connector: Element,
    inputs: tuple[Step, Step],
    bounds: tuple[float, float],
) -> Answer:
    """The least and the most that the appliance may take against what the connector carries."""
    (load, highest), (least, most) = (or_zero(step.value) / 1000 for step in inputs), bounds
    clicked = (connector.guid, *appliance.element_ids)
    if tolerance.at_most(highest, least, KBTUH):
        return PASS
    if tolerance.at_most(load, most, KBTUH):
        asked = f"{highest:.0f}" if load in (0.0, highest) else f"{load:.0f} to {highest:.0f}"
        return not_known(CARRIES, connector, asked, appliance, about=connector.guid)
    return check(
        load,
        at_most=most,
        unit=KBTUH,
        message=f"{appliance.label} takes {apart_text(load, most, KBTUH)}; {connector.label} "
        f"carries {number_text(most)}.",
        remedy="Fit a listed connector that is larger or shorter.",
        steps=(inputs[0], Step("By the tables of makers", most, KBTUH, LISTED[0].source)),
        elements=clicked,
        about=connector.guid,
    )


def _length_m(connector: Element) -> float | None:
    points = connector.places
    drawn = dist(*points) if len(points) == 2 else None
    return connector.length_m if connector.length_m is not None else drawn


def _bounds_kbtuh(connector: Element, length_m: float, factor: float) -> tuple[float, float]:
    """What a connector carries at the least and at the most, as far as its size tells."""
    size = connector.size_in
    if size is None:
        return 0.0, inf
    inside, outside = size, INSIDE_OF.get(size, size)
    if says(connector, OUTSIDE_WORDS):
        inside = outside
    elif says(connector, INSIDE_WORDS):
        outside = inside
    return _listed(outside, length_m)[0] * factor, _listed(inside, length_m)[1] * factor


def _listed(inside_in: float, length_m: float) -> tuple[float, float]:
    """What is listed for an inside diameter over a length, kBtu/h: bounds where it is none of the
    listed ones."""
    inches = length_m / M_PER_IN
    enough = sorted(
        (r for r in LISTED if tolerance.at_most(inches, r.length_in, "in")),
        key=lambda r: -r.length_in,
    )
    carries = {r.inside_in: r.kbtuh for r in enough}  # the shortest that is enough comes last
    least = largest(kbtuh for d, kbtuh in carries.items() if d <= inside_in)
    most = min((kbtuh for d, kbtuh in carries.items() if d >= inside_in), default=inf)
    return least, most
