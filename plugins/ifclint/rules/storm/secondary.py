"""Rules about secondary (emergency) drainage: present, apart, seen where it discharges."""

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    given,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Inlet, StormOutlet
from ifclint.plumbing.words import says
from ifclint.rules.storm.capacity import M2_PER_FT2
from ifclint.rules.storm.roofs import Roof, apart_m, roofs, scuppers_at, told_m2, without_own
from ifclint.rules.storm.section import StormSection
from ifclint.rules.storm.sills import is_enough, scuppers_too_low

SLOPES = Fact(
    "whether the secondary drainage at {} ends above the ground is not known: the ground slopes.",
    "Give the ground at its end in the job file (building.grade_elevation).",
)
EVERY = Fact(
    "whether every {} has secondary drainage is not known: no roof is drawn, and {} roof drains of "
    "that height have {} secondary ones.",
    "Draw the roofs (IfcRoof or IfcSlab), so that the drains of each are told apart.",
)
NEAR_EACH = Fact(
    "whether the water that {} takes finds a secondary drain when it is stopped is not known: each "
    "of those drawn stands beside another primary drain.",
    "Draw the secondary drain beside it, or show that the water runs on to another (job file, "
    "storm.areas of the secondary drains).",
)
ALL_OF_IT = Fact(
    "whether the secondary drains of the {} take all of it is not known: they are stated to take "
    "{}, its primary drains {}.",
    "Draw the secondary drains that are missing, or divide the whole roof among them (job file, "
    "storm.areas).",
)
PARAPETS = Fact(
    "whether the {} holds water when its drains are stopped is not known; no secondary drain is "
    "drawn.",
    "Draw the secondary drains or scuppers, or say in the job file whether roofs have parapets "
    "(storm.parapets).",
)
ABOVE_GROUND = Fact(
    "whether the secondary drainage at {} ends above the ground",
    "Give the ground in the job file (building.grade_elevation), and the end a place.",
)


RIMS = Fact(
    "whether the rim of {} stands {} {}: their places are {} in apart in height, the tops of their "
    "bodies {} in.",
    "Draw both drains with their rims, or name the dam or weir of the secondary one.",
)
HAS_DAM = ("dam", "weir", "standpipe", "collar", "raised", "2 in above", "two inches above")


def _has_secondary(roof: Roof, context: Context) -> bool:
    """Whether secondary drains stand on a roof, or scuppers at its height."""
    dual = any(inlet.is_dual for inlet in roof.inlets)
    return bool(roof.secondary) or dual or bool(scuppers_at(roof, context))


def _told_less(roof: Roof, context: Context) -> tuple[float, float] | None:
    """What secondary drains alone are stated to take, and the more that the primary ones do (m2);
    None where that is as much, or not all of it is stated."""
    told, primary, secondary = told_m2(context), roof.primary, roof.secondary
    alone = secondary and not scuppers_at(roof, context) and not any(i.is_dual for i in primary)
    if not alone or any(i.element.guid not in told for i in (*primary, *secondary)):
        return None
    takes, drained = (sum(told[i.element.guid] for i in those) for those in (secondary, primary))
    return None if at_least(takes, drained) else (takes, drained)


def _all_told(roof: Roof, context: Context) -> bool:
    """Whether it is stated what each drain of a roof takes."""
    return all(inlet.element.guid in told_m2(context) for inlet in roof.inlets)


SECONDARY_DRAINS = PartKind(
    "secondary roof drains or scuppers",
    drawn=lambda context: any(_has_secondary(roof, context) for roof in roofs(context)),
    remedy="Model the secondary drains or scuppers, named so (overflow drain, scupper).",
)


@rule(
    title="Roof with secondary drainage",
    clauses={"upc": "1101.12.2", "ipc": "1108.1", "irc": "R903.4.1"},
    severity=Severity.HIGH,
    applies=lambda roof: bool(roof.primary),
)
def secondary_drainage(roof: Roof, context: Context) -> Answer:
    """When leaves stop the drain, a roof with a parapet becomes a pool that it was not built for.

    Roofs with roof drains: a drain called secondary, overflow or emergency on the same roof, or a
    scupper at its height. A roof with open sides (job file, storm.parapets = false) sheds the
    water itself; where the job file does not say, it is asked. So it is where the secondary drains
    are stated to take less of the roof than the primary ones, or stand each beside a primary drain
    and one has none. Where scuppers alone are secondary, the sill of the highest (the bottom of its
    box) stands above the primary drain: its outlet, or the top of the roof where that is level.
    """
    parapets = context.job.section(StormSection).parapets
    if parapets is False:
        return NOT_APPLICABLE
    if _has_secondary(roof, context):
        if (low := scuppers_too_low(roof, context)) is not None:
            return low
        if (told := _told_less(roof, context)) is not None:
            secondary, primary = (f"{number_text(m2 / M2_PER_FT2, 4)} sq ft" for m2 in told)
            return not_known(ALL_OF_IT, roof, secondary, primary)
        is_enough = len(roof.secondary) >= len(roof.primary)
        if is_enough or (roof.is_one and _all_told(roof, context)):
            return PASS
        if roof.is_one:
            left = without_own(roof)
            return PASS if left is None else not_known(NEAR_EACH, left)
        return not_known(EVERY, roof, str(len(roof.primary)), str(len(roof.secondary)))
    known(parapets, PARAPETS)
    text = "Set secondary drains or scuppers where the water rises to what the roof may bear."
    return missing(
        SECONDARY_DRAINS,
        message=f"The {roof.label} has no secondary drainage.",
        remedy=Change("part", roof.element_ids, "secondary drain", text),
    )


@rule(
    title="Secondary drainage apart from the primary",
    clauses={"upc": "1101.12.2.2", "ipc": "1108.2", "irc": "R903.4.1"},
    severity=Severity.HIGH,
    applies=lambda inlet: inlet.is_secondary and inlet.index != NONE,
)
def secondary_separate(inlet: Inlet, context: Context) -> Answer:
    """A secondary drain that runs into the primary pipe is stopped with it.

    The way of each secondary drain to its end: IPC and IRC let it meet no water of a primary drain;
    the UPC lets it join a leader (which then is sized for both), and no horizontal pipe.
    """
    storm = given(context.plumbing.storm)
    met = [i for i in storm.route(inlet) if any(not o.is_secondary for o in storm.above[i])]
    if not met:
        return PASS
    pipes = {i: s for s in storm.segments for i in s.indexes}
    shared = next((pipes[i] for i in met if i in pipes), None)
    if context.code.family == "upc" and shared is not None and shared.vertical:
        return PASS
    at = storm.network.elements[met[0]]
    return violation(
        message=f"{inlet.label} drains into the primary storm drainage at {at.label}.",
        remedy="Give the secondary drainage piping of its own, to where its water is seen.",
        elements=(inlet.element.guid, at.guid),
    )


@rule(
    title="Secondary drainage seen where it discharges",
    clauses={"upc": "1101.12.2.2.1", "ipc": "1108.2", "irc": ""},
    applies=lambda outlet: all(inlet.is_secondary for inlet in outlet.inlets),
)
def secondary_discharge(outlet: StormOutlet, context: Context) -> Answer:
    """Water that runs out over a door says that the roof drain is stopped; in a manhole nobody
    sees it.

    Where piping of secondary drains alone ends: in the open and above the ground (job file,
    building.grade_elevation, or the terrain), not in a chamber or sewer.
    """
    end = outlet.outlet.position
    if outlet.element.role is Role.CHAMBER:
        return violation(
            message=f"The secondary drainage ends in {outlet.label}, where nobody sees it run.",
            remedy="End the secondary drain above the ground, where occupants see it run.",
        )
    ground = context.ground
    if end is None or ground is None or not ground.is_told:
        return not_known(ABOVE_GROUND, outlet)
    if ground.is_below(end[2]) is None:
        return not_known(SLOPES, outlet)
    return check(
        (end[2] - ground.high_m) / M_PER_FT,
        at_least=0.0,
        unit="ft",
        message=f"The secondary drainage at {outlet.label} ends below the ground.",
        remedy="End the secondary drain above the ground, where occupants see it run.",
    )


@rule(
    title="Secondary drain above the primary",
    clauses={"upc": "1101.12.2.2", "ipc": "1108.1", "irc": "R903.4.1"},
    applies=lambda inlet: inlet.is_secondary and inlet.is_roof_drain,
)
def secondary_above_primary(inlet: Inlet, context: Context) -> Answer:
    """An overflow drain at the height of the roof drain takes leaves with every rain, and is
    stopped when it is needed.

    The place of a secondary roof drain, or the top of its box where that is more, above the nearest
    primary drain of its roof, which stands at its low point; where its body shows less than its
    place, and no less than none, it is asked. One whose name tells of a dam, weir or
    standpipe is raised by that.
    """
    roof = next(r for r in roofs(context) if inlet in r.inlets)
    if not roof.primary or says(inlet.element, HAS_DAM):
        return NOT_APPLICABLE
    primary = min(roof.primary, key=lambda other: apart_m(inlet, other))
    found = _higher_in(inlet, primary)
    higher, least = max(found), context.code.limit("secondary_above_primary_in")
    needed = number_text(least.value)
    above = f"{needed} in above" if least.value else "higher than"
    if not least.value and is_enough(higher, least):
        return PASS
    ids = (inlet.element.guid, primary.element.guid)
    low = found[-1]
    if at_least(low, 0.0, "in") and is_enough(higher, least) and not is_enough(low, least):
        place, body = (number_text(one) for one in found)
        return not_known(RIMS, inlet, above, primary, place, body, elements=ids)
    where = f"{number_text(abs(higher))} in {above_or_below(higher)}"
    where = where if round(higher, 2) else "at the height of"
    message = f"{inlet.label} stands {where} {primary.label}."
    remedy = f"Set its rim or weir {above} the primary drain."
    if not least.value:
        return violation(message=message, remedy=remedy, elements=ids)
    return check(higher, at_least=least, message=message, remedy=remedy, elements=ids)


def _higher_in(inlet: Inlet, other: Inlet) -> list[float]:
    """How much higher one stands than another: by their places, and by their boxes."""
    here, there = inlet.element, other.element
    found = [given(here.position)[2] - given(there.position)[2]]
    if here.box is not None and there.box is not None:
        found.append(here.box[1][2] - there.box[1][2])
    return [metres / M_PER_IN for metres in found]
