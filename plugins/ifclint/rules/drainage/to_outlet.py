"""Rule about fixtures whose water reaches an outlet."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, missing, not_known, require, violation
from ifclint.engineering.joined import NONE
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, shortened
from ifclint.findings import Answer, Change, PartKind, Settles, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import DRAINS
from ifclint.plumbing import Fixture, Outlet, Service
from ifclint.plumbing.drainage.pumped import PUMPED, discharges_of
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.facts import JOIN_ENDS, fact
from ifclint.plumbing.words import says, says_text
from ifclint.rules.drainage.into_storm import ends_in_storm

VACUUM = (
    "vacuum", "vac", "dvac", "dv", "medvac", "suction", "vakuum", "absaugung", "saugleitung",
    "aspiration", "vide", "aspiracion", "vacio", "afzuiging", "vacuumleiding",
)  # fmt: skip
STRANGE = Fact(
    'The drain of {} leads at {} to "{}", which is not understood.',
    "Give {2} its IFC class, name it in trade words, or tell its words in the job file "
    "([[reading.vocabulary.element]]).",
)
OUTLET = Fact(
    "No outlet is modelled; the drain of {} was followed to {}, {}.",
    "Model the connection to the sewer or septic tank, or name the outlet in the job file "
    "(drainage.outlets).",
)
NO_DRAIN = Fact("No drain is joined to {}.", fact("drain_segment").remedy)
DRAIN_NEAR = Fact("No drain is joined to {}: {} ends {} from it.", JOIN_ENDS)
TWO_TRAPS = Fact(
    "A second outlet of {} drains through {}, which is not followed.",
    "Draw a fixture that has two traps as two fixtures, or lead both outlets into one trap.",
)


def _is_emptied(outlet: Outlet, context: Context) -> bool:
    """Whether a pipe leads on from a sump or pump: more is joined than drains into it or vents."""
    piping = context.plumbing.venting.piping
    if discharges_of(piping, outlet.element):
        return True
    into = piping.wet_above[outlet.element]
    joined = context.plumbing.network.neighbours(outlet.element)
    return any(i not in into and piping.service[i] is not Service.VENT for i in joined)


DISCHARGE = PartKind(
    "discharge pipes of sumps and ejectors",
    drawn=lambda context: any(
        _is_emptied(f.outlet, context)
        for f in context.plumbing.fixtures
        if f.outlet is not None and f.outlet.kind == PUMPED
    ),
    remedy="Model the discharge pipe from the sump or ejector to the drain it pumps into.",
)


@rule(
    title="Every fixture drains to the outlet of the building",
    clauses={"upc": "304.1", "ipc": "301.3", "irc": "P2602.1"},
    severity=Severity.HIGH,
    settles=Settles.DRAIN,
    follows=(System.SANITARY,),
)
def fixture_reaches_outlet(fixture: Fixture, context: Context) -> Iterator[Answer]:
    """A fixture's waste must reach the sewer by gravity, or by a pump that is shown.

    Followed downstream, element by element, from the fixture to a sewer connection, septic tank,
    chamber or open end below the lowest floor, and indirect waste to the receptor it ends over. A
    drain that stops on the way spills sewage into the building, and one that is led into the storm
    drainage spills it into the next creek. A fixture with no drain in the model is unverified, not
    wrong: whether it drains elsewhere than is drawn cannot be told; one that a vacuum line drains
    needs none. Of a fixture of two outlets one is followed: a second that has a trap of its own is
    unverified.
    """
    yield _reaches(fixture, context)
    if (beyond := _second_trap(fixture, context)) is not None:
        ids = (beyond.guid, *fixture.element_ids)
        yield not_known(TWO_TRAPS, fixture, beyond, elements=ids, about=beyond.guid)


def _second_trap(fixture: Fixture, context: Context) -> Element | None:
    """The trap, else the pipe, that takes a further outlet of a fixture past the trap followed
    and ends over no receptor."""
    network, drainage = context.plumbing.network, context.plumbing.drainage
    followed = {fixture.index, *fixture.path}
    for joint in (network.joints[n] for n in _joints_not_followed(context).get(fixture.index, ())):
        other = joint.b if joint.a == fixture.index else joint.a
        number = drainage.outlet[other]
        if number != NONE and drainage.outlets[number].kind == RECEPTOR:
            continue
        for index in reversed(drainage.path(other)):
            element = network.elements[index]
            if element.role is Role.TRAP or index in followed:
                break
        if index not in followed:
            return element
    return None


@derived
def _joints_not_followed(context: Context) -> dict[int, list[int]]:
    """The joints of the drainage through which no water was led, by each of their elements."""
    found: dict[int, list[int]] = {}
    for number in context.plumbing.drainage.cross_joints:
        joint = context.plumbing.network.joints[number]
        for end in (joint.a, joint.b):
            found.setdefault(end, []).append(number)
    return found


def _reaches(fixture: Fixture, context: Context) -> Answer:
    """Where the drain that is followed ends."""
    outlet = fixture.outlet
    if outlet is None:
        return _not_joined(fixture, context)
    last = context.plumbing.network.elements[outlet.element]
    elements = (last.guid, *fixture.element_ids)
    if outlet.kind == PUMPED and not _is_emptied(outlet, context):
        message = f"{fixture.label} drains into {last.label}, whose discharge is not modelled."
        return missing(DISCHARGE, message=message, elements=elements)
    if ends_in_storm(outlet, context):
        return violation(
            message=f"{fixture.label} drains into the storm drainage at {last.label}.",
            remedy=Change(
                "work",
                (last.guid,),
                "led to the sanitary drainage",
                f"Lead what drains into {last.label} to the sanitary drainage.",
            ),
            elements=elements,
        )
    strange = context.plumbing.network.model.leads_elsewhere.get(last.guid)
    if strange is not None and (outlet.kind == "open end" or not outlet.accepted):
        return not_known(STRANGE, fixture, last, strange or "something", elements=elements)
    if not outlet.certain:
        return not_known(OUTLET, fixture, last, outlet.basis, elements=elements)
    if outlet.accepted:
        return PASS
    message = (
        f"The drain of {fixture.label} ends at {last.label}{_height(outlet)} and reaches no outlet."
    )
    if not DRAINS.is_drawn(context):
        return missing(DRAINS, message=message, elements=elements)
    return violation(
        message=message,
        remedy=Change(
            "work",
            (last.guid,),
            "joined",
            f"Join {last.label} to the drain it was meant for, with fall toward it.",
        ),
        steps=lambda: _passed(fixture, context),
        elements=elements,
    )


def _not_joined(fixture: Fixture, context: Context) -> Answer:
    """No sanitary drain is joined to a fixture: storm drainage is wrong, nothing is a question."""
    astray = _storm_pipe(fixture, context)
    if drains_by_vacuum(fixture, context):
        return NOT_APPLICABLE
    if astray is None:
        return _near_drain(fixture, context) or not_known(NO_DRAIN, fixture)
    return require(
        False,
        message=f"{fixture.label} drains into storm drainage, {astray.label}.",
        remedy="Lead the fixture to the sanitary drainage.",
        elements=(astray.guid, *fixture.element_ids),
    )


def _near_drain(fixture: Fixture, context: Context) -> Answer | None:
    """The question where a drain ends at a small gap before a fixture."""
    network = context.plumbing.network
    for near in network.near_at(fixture.index):
        pipe = network.elements[near.b[0]]
        if pipe.system is System.SANITARY:
            ids = (*fixture.element_ids, pipe.guid)
            return not_known(DRAIN_NEAR, fixture, pipe, near.apart, elements=ids)
    return None


def _storm_pipe(fixture: Fixture, context: Context) -> Element | None:
    """A storm drain joined to the fixture."""
    network = context.plumbing.network
    neighbours = (network.elements[i] for i in network.neighbours(fixture.index))
    return next((e for e in neighbours if e.system is System.STORM), None)


def _height(outlet: Outlet) -> str:
    if outlet.position is None:
        return ""
    return f" at a height of {feet_text(outlet.position[2] / M_PER_FT)}"


def _passed(fixture: Fixture, context: Context) -> list[Step]:
    """The elements passed, in order, shortened in the middle."""
    drainage = context.plumbing.drainage
    passed = [drainage.elements[i].label for i in reversed(drainage.path(fixture.index))]
    return [Step(name) for name in shortened(passed, str)]


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
