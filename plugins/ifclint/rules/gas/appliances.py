"""Rules about what stands before a gas appliance: its pipe, shutoff, sediment trap and union."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, check, unverified, violation
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import feet_text, number_text
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance
from ifclint.rules.gas.caution import gas_rule

UNION_WORDS = ("union", "connector", "flex")
DRIP_WORDS = ("sediment trap", "drip leg", "dirt leg")


def says(element: Element, words: tuple[str, ...]) -> bool:
    """Whether an element's name or type says one of the words."""
    text = f"{element.name} {element.type_name} {element.kind}".lower()
    return any(word in text for word in words)


def _reached(appliance: GasAppliance) -> bool:
    return appliance.segment is not None


@gas_rule(
    title="Every gas appliance fed from the meter",
    subject=GasAppliance,
    clauses={"upc": "1203.1", "ipc": "IFGC 401.1", "irc": "G2412.1"},
)
def gas_reaches_appliance(appliance: GasAppliance, context: Context) -> Answer:
    """A pipe that ends short of its appliance is either a gap in the drawing or an open gas pipe.

    Followed from the meter, element by element. An appliance to which no gas pipe is drawn is
    unverified, as is every one where no meter is known.
    """
    if appliance.length_m is not None:
        return PASS
    piping = context.plumbing.gas
    if not appliance.joined:
        return unverified(
            f"No gas pipe is joined to {appliance.label}.",
            "Model the appliance's gas pipe and join it to the appliance (ports, or ends that "
            "meet); an electric one needs its EnergySource.",
        )
    if piping is None or not piping.source_elements:
        return unverified(
            f"Where the gas of {appliance.label} comes from is not known.",
            "Model the gas meter and join it to the piping, or name where the piping begins in "
            "the job file, gas.source.",
        )
    return violation(
        message=f"No way leads from the meter to {appliance.label}.",
        remedy="Join the pipe of the appliance to the gas piping.",
    )


@gas_rule(
    title="Shutoff at every gas appliance",
    subject=GasAppliance,
    clauses={"upc": "1212.6", "ipc": "IFGC 409.5", "irc": "G2420.5"},
    applies=_reached,
)
def gas_shutoff(appliance: GasAppliance, context: Context) -> Answer:
    """Whoever smells gas must find a valve at the appliance, and whoever replaces it needs one.

    The last valve on the appliance's own branch, its distance along the pipe to the appliance,
    and its room where both rooms are told. A valve before a junction serves other appliances too
    and does not count; one of unknown kind is unverified.
    """
    limit = context.code.limit("gas_valve_distance_ft")
    distance = appliance.shutoff_distance_m
    if distance is None:
        unknown = next((e for e in appliance.own if e.role is Role.VALVE and not e.kind), None)
        if unknown is not None:
            return unverified(
                f"Whether {unknown.label} shuts off the gas of {appliance.label} is not known.",
                "Name the valve, or its type, in trade words, or give it its PredefinedType.",
                (unknown.guid, *appliance.element_ids),
            )
        return violation(
            message=f"{appliance.label} has no gas shutoff of its own.",
            remedy=f"Set a listed gas shutoff in the same room, within {limit.value:g} ft of it.",
            required=Measure(limit.value, "ft", "at most"),
            clause=limit.clause,
        )
    feet = distance / M_PER_FT
    shutoff = appliance.shutoff
    assert shutoff is not None
    rooms = (shutoff.space, appliance.element.space)
    if feet <= limit.value and all(rooms) and rooms[0] != rooms[1]:
        return violation(
            message=f'The gas shutoff of {appliance.label} is in "{rooms[0]}", '
            f'not in its "{rooms[1]}".',
            remedy=f"Set the shutoff in the same room, within {limit.value:g} ft of the appliance.",
            elements=(shutoff.guid, *appliance.element_ids),
            clause=limit.clause,
        )
    return check(
        feet,
        at_most=limit,
        message=f"The gas shutoff of {appliance.label} is {feet_text(feet)} away; "
        f"{limit.value:g} ft is "
        "the most.",
        remedy=f"Set the shutoff in the same room, within {limit.value:g} ft of the appliance.",
        steps=lambda: (
            Step("From the shutoff along the pipe to the appliance", feet, "ft"),
            Step("Farthest shutoff", limit.value, limit.unit, limit.clause),
        ),
        elements=(shutoff.guid, *appliance.element_ids),
    )


@gas_rule(
    title="Sediment trap before the appliances that need one",
    subject=GasAppliance,
    clauses={"upc": "1212.9", "ipc": "IFGC 408.4", "irc": "G2419.4"},
    severity=Severity.MEDIUM,
    applies=_reached,
)
def gas_sediment_trap(appliance: GasAppliance, context: Context) -> Answer:
    """Dirt and scale carried into a gas valve hold it open.

    A tee behind the shutoff from which a nipple hangs plumb down to a cap, or a piece of its own
    named as a sediment trap. A nipple shorter than usual is an advisory. Ranges, dryers and
    fireplaces are excused by the code; kinds that it does not name are not.
    """
    if not appliance.kind:
        return unverified(
            f"What kind of appliance {appliance.label} is, is not known.",
            "Name the appliance, or its type, in trade words.",
        )
    row = context.code.table("gas_sediment_trap").one(appliance=appliance.kind)
    if row is not None and row.text("required") == "no":
        return NOT_APPLICABLE
    clause = row.clause if row is not None else context.code.table("gas_sediment_trap").clause
    trap = appliance.sediment_trap or next(
        (e for e in appliance.own if e.kind != "tee" and says(e, DRIP_WORDS)), None
    )
    if trap is None:
        return violation(
            message=f"{appliance.label} has no sediment trap.",
            remedy=(
                "Fit a tee with a capped nipple hanging from it, behind the shutoff and as "
                "near the appliance's inlet as practical."
            ),
            elements=(*_turn_before(appliance), *appliance.element_ids),
            clause=clause,
        )
    shutoff = appliance.shutoff
    if shutoff is not None and appliance.own.index(trap) < appliance.own.index(shutoff):
        return violation(
            message=f"The sediment trap of {appliance.label} stands before its shutoff.",
            remedy="Set the sediment trap behind the shutoff, so that it can be opened.",
            elements=(trap.guid, *appliance.element_ids),
            clause=clause,
        )
    if trap is appliance.sediment_trap:
        return _nipple(appliance, context)
    return PASS


def _nipple(appliance: GasAppliance, context: Context) -> Answer:
    """Whether the nipple of a sediment trap is as long as one is commonly made."""
    limit = context.code.limit("gas_sediment_trap_nipple_in")
    trap, inches = appliance.sediment_trap, (appliance.nipple_m or 0.0) / M_PER_IN
    assert trap is not None
    return check(
        inches,
        at_least=limit,
        message=f"The nipple of the sediment trap of {appliance.label} is "
        f"{number_text(inches)} in long; "
        f"{limit.value:g} in are usual.",
        remedy=f"Make the capped nipple {limit.value:g} in long or longer.",
        steps=lambda: (Step("Usual nipple", limit.value, limit.unit, limit.source),),
        elements=(trap.guid, *appliance.element_ids),
        wrong=Outcome.ADVISORY,
    )


def _turn_before(appliance: GasAppliance) -> tuple[str, ...]:
    """The last fitting before the appliance: where a sediment trap would stand."""
    fittings = [e for e in appliance.own if e.role is Role.FITTING]
    return tuple(e.guid for e in (fittings or appliance.own)[-1:])


@gas_rule(
    title="Union or connector between shutoff and appliance",
    subject=GasAppliance,
    clauses={"upc": "1212.6", "ipc": "IFGC 409.5", "irc": "G2420.5"},
    severity=Severity.LOW,
    applies=lambda appliance: appliance.shutoff is not None,
)
def gas_union(appliance: GasAppliance, context: Context) -> Answer:
    """Without a union or connector the appliance cannot be taken off its pipe.

    A fitting behind the shutoff whose name or type says union, connector or flexible. One that is
    drawn before the shutoff cannot be opened with the gas on. Drawings often leave it out, so that
    a missing one is unverified.
    """
    shutoff = appliance.shutoff
    assert shutoff is not None
    at = appliance.own.index(shutoff)
    unions = [i for i, e in enumerate(appliance.own) if says(e, UNION_WORDS) and e is not shutoff]
    if any(i > at for i in unions):
        return PASS
    if unions:
        return violation(
            message=f"The union of {appliance.label} stands before its shutoff.",
            remedy="Set the union behind the shutoff, so that it can be opened with the gas off.",
            elements=(appliance.own[unions[-1]].guid, *appliance.element_ids),
        )
    return unverified(
        f"No union or connector is drawn between the shutoff and {appliance.label}.",
        "Show the union or listed connector behind each appliance shutoff.",
    )


RULES = (gas_reaches_appliance, gas_shutoff, gas_sediment_trap, gas_union)
