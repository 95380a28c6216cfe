"""Rules about where a heater stands: reached in an attic, held fast in an earthquake."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, known, missing, violation
from ifclint.engineering.extents import level_m, middle, thickness_m
from ifclint.engineering.tolerance import at_most, lies_above, lies_below
from ifclint.engineering.units import inches
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Point, Surface, System
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.attic import in_attic

# What counts as close to a heater, and as before it; ours, no source.
NEAR_M = 1.5  # level
NEAR_HEIGHT_M = 2.5  # up or down
IN_ATTIC = Fact(
    "whether {} stands in an attic",
    "Draw the rooms and the attic as spaces (IfcSpace); a level is no room.",
)
SEISMIC = Fact(
    "whether heaters must be held against earthquakes here",
    "Write building.seismic = true or false into the job file.",
    asked_once=True,
)


def end_of(element: Element, system: System) -> Point | None:
    """The place of its first end of a system."""
    ends = (e.position for e in element.ends if e.system is system)
    return next((point for point in ends if point is not None), None)


def near(heater: Heater, words: tuple[str, ...], context: Context) -> list[Element]:
    """Elements named with one of the words, close to a heater."""
    others = [e for e in context.plumbing.saying(words) if e is not heater.element]
    return [e for e in others if _is_near(heater.element.position, e.position)]


def _is_near(a: Point | None, b: Point | None) -> bool:
    if a is None or b is None:
        return False
    is_beside = at_most(level_m(a, b), NEAR_M, "m")
    return is_beside and at_most(abs(b[2] - a[2]), NEAR_HEIGHT_M, "m")


@rule(
    title="Heater in an attic on a platform that can be reached",
    clauses={"upc": "508.4", "ipc": "502.3", "irc": "M1305.1.2"},
)
def heater_attic_access(heater: Heater, context: Context) -> Answer:
    """A heater that is reached over bare joists is not looked after.

    A platform close to the heater, by name (a slab may be one), and its size each way where it has
    a shape. The passage to it must be checked by eye. Where nothing but the name of a level, or a
    roof close above, says that it stands in an attic, that is asked.
    """
    attic = known(in_attic(context, heater), IN_ATTIC)
    if not attic:
        return NOT_APPLICABLE
    limit = context.code.limit("heater_platform_in")
    passage = context.code.limit("heater_passage_ft")
    steps = limit.step("Platform, each way, at least"), passage.step("Passage, at most")
    platforms: list[Element | Surface] = [*near(heater, parts.PLATFORM_WORDS, context)]
    platforms += [s for s in parts.platform_slabs(context) if _is_near_slab(heater, s)]
    if not platforms:
        message = f"How {heater.label} in the attic is reached is not known."
        return missing(parts.PLATFORMS, message=message, steps=steps)
    drawn = [(p.low, p.high) if isinstance(p, Surface) else p.box for p in platforms]
    boxes = [box for box in drawn if box is not None]
    widths = [thickness_m(*box) for box in boxes]
    widest = inches(max(widths)) if widths else limit.value
    return check(
        widest,
        at_least=limit,
        message=f"The platform at {heater.label} is {apart_text(widest, limit.value, 'in')} wide.",
        remedy=f"Make the platform {limit.value:g} in each way, or larger.",
        steps=steps,
        elements=(*heater.element_ids, *(p.guid for p in platforms)),
    )


def _is_near_slab(heater: Heater, slab: Surface) -> bool:
    return _is_near(heater.element.position, middle(slab.low, slab.high))


@rule(
    title="Heater held against earthquakes",
    clauses={"upc": "507.2", "ipc": "502.4", "irc": "P2801.8"},
    severity=Severity.HIGH,
    applies=lambda heater: not heater.is_tankless,
)
def heater_seismic(heater: Heater, context: Context) -> Answer:
    """A tank that topples breaks its gas pipe while the water mains lie in the street.

    Where the job file says that the site is seismic: two straps by name close to the heater, in
    its upper and lower thirds.
    """
    if not known(context.job.building.seismic, SEISMIC):
        return NOT_APPLICABLE
    straps = near(heater, parts.STRAP_WORDS, context)
    remedy = "Strap the heater in the upper and in the lower third."
    if not straps:
        message = f"No seismic strap is drawn at {heater.label}."
        return missing(parts.STRAPS, message=message, remedy=remedy)
    ids = (*heater.element_ids, *(strap.guid for strap in straps))
    enough = check(
        len(straps),
        at_least=context.code.limit("heater_straps"),
        message=f"{heater.label} is held by one strap; two are asked for.",
        remedy=remedy,
        elements=ids,
    )
    bare = _bare_thirds(heater, straps)
    if enough is not PASS or not bare:
        return enough
    return violation(
        message=f"The straps of {heater.label} leave its {' and its '.join(bare)} third unheld.",
        remedy=remedy,
        elements=ids,
        clause=context.code.limit("heater_straps").clause,
    )


def _bare_thirds(heater: Heater, straps: list[Element]) -> list[str]:
    """The upper and the lower third of a heater, where no strap is; none where it has no shape."""
    if heater.element.box is None:
        return []
    (_, _, low), (_, _, high) = heater.element.box
    third = (high - low) / 3
    heights = [strap.position[2] for strap in straps if strap.position is not None]
    held = {
        "upper": any(not lies_below(z, high - third) for z in heights),
        "lower": any(not lies_above(z, low + third) for z in heights),
    }
    return [name for name, is_held in held.items() if not is_held]
