"""Rule about backwater valves, where a sewer can back up."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, known, not_known, violation
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import lies_below
from ifclint.engineering.units import feet
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.plumbing.facts import fact

CHECKS = frozenset({"check", "backwater"})
SAY_COVER = (
    "Give the height of the cover of the next upstream manhole in the job file "
    "(drainage.upstream_manhole)."
)
FLOOR = Fact(
    "on what floor {} stands is not known, nor whether the sewer can back up into it.",
    "Give the fixture its storey or its place, or the height of the cover of the next upstream "
    "manhole in the job file (drainage.upstream_manhole).",
)
BACKS_UP = Fact(
    "{} stands below the ground; whether the sewer can back up into it is not known.", SAY_COVER
)
THROUGH = Fact(
    "whether {} lies above the upstream manhole, and may not drain through {}, is not known.",
    SAY_COVER,
)
HEIGHT = Fact("height of the floor and rim", "Give the fixture its storey and its shape.")
IS_BACKWATER = Fact(
    "whether a valve that {} drains through is a backwater valve", fact("valve_kind").remedy
)
SET = "Set a backwater valve in the drain that serves only such fixtures, or pump it up."
PAST = "Set {} where only what lies below the manhole drains through it, or lead the rest past it."


@rule(
    title="Fixtures below the upstream manhole kept from the sewer's backflow, and no others",
    clauses={"upc": "710.1", "ipc": "714.1", "irc": "P3008.1"},
    severity=Severity.HIGH,
    applies=lambda f: f.connected and f.outlet is not None and f.outlet.kind != PUMPED,
)
def backwater_valve(fixture: Fixture, context: Context) -> Answer:
    """A sewer that is stopped in the street rises to the next manhole, and to what lies lower.

    UPC and IPC: the floor of a fixture, IRC: its flood-level rim, against the cover of the next
    upstream manhole of the sewer (job file, drainage.upstream_manhole). What lies lower drains
    through a backwater valve or by a pump, what lies higher does not drain through one. Where the
    job file does not tell the manhole, fixtures on floors below the ground, and those whose floor
    is not known, are asked about. The
    drain is drawn from the fixture to the sewer, so that a valve that is not in it is missing.
    """
    cover, height = context.job.drainage.upstream_manhole, _height_m(fixture, context)
    valve = _backwater_valve(fixture, context)
    if cover is None:
        below = _below_ground(fixture, context)
        if valve is not None:
            return NOT_APPLICABLE if below else not_known(THROUGH, fixture, valve)
        if below is False:
            return NOT_APPLICABLE
        return not_known(FLOOR if below is None else BACKS_UP, fixture)
    height = known(height, HEIGHT)
    return _against_the_manhole(fixture, context, valve, height, cover)


def _against_the_manhole(
    fixture: Fixture, context: Context, valve: Element | None, height: float, cover: float
) -> Answer:
    """The height of a fixture against the cover of the next manhole upstream."""
    is_above = _is_above(height, cover)
    steps = (
        Step("Flood-level rim" if _by_rim(context) else "Floor of the fixture", feet(height), "ft"),
        Step("Cover of the upstream manhole", feet(cover), "ft", "job file, upstream_manhole"),
    )
    if is_above and valve is not None:
        return violation(
            message=f"{fixture.label} lies above the upstream manhole and drains through "
            f"{valve.label}, which then holds back its waste when it shuts.",
            remedy=Change("work", (valve.guid,), "moved", PAST.format(valve.label)),
            steps=steps,
            elements=(valve.guid, fixture.element.guid),
        )
    if is_above or valve is not None:
        return PASS
    if unnamed := [v.guid for v in _valves(fixture, context) if not v.kind]:
        return not_known(IS_BACKWATER, fixture, elements=unnamed)
    return violation(
        message=f"{fixture.label} lies {feet_text(feet(cover - height))} below the cover of the "
        "upstream manhole, and no backwater valve keeps the sewer from it.",
        remedy=Change("part", _of_low_alone(fixture, context), "backwater valve", SET),
        steps=steps,
        measured=Measure(feet(height), "ft"),
        required=Measure(feet(cover), "ft", "at least"),
    )


def _of_low_alone(fixture: Fixture, context: Context) -> tuple[str]:
    """The last of the drain that no fixture above the manhole drains through: one valve there keeps
    the sewer from all that stand as low."""
    drainage, last = context.plumbing.drainage, fixture.element
    for index in onward(drainage.down[fixture.index], drainage.down):
        if _takes_high(context)[index]:
            break
        if drainage.elements[index].role is Role.PIPE:
            last = drainage.elements[index]
    return (last.guid,)


@derived
def _takes_high(context: Context) -> list[bool]:
    """Whether what lies above the upstream manhole drains through each element."""
    cover, fixtures = context.job.drainage.upstream_manhole, context.plumbing.fixtures
    heights = ((f.index, _height_m(f, context)) for f in fixtures if f.connected)
    return context.plumbing.drainage.passed_by(
        i for i, height in heights if height is None or cover is None or _is_above(height, cover)
    )


def _is_above(height: float, cover: float) -> bool:
    return not lies_below(height, cover)


def _by_rim(context: Context) -> bool:
    return context.code.is_edition_of("irc")


def _height_m(fixture: Fixture, context: Context) -> float | None:
    """The height that counts: of the rim, at its lowest, under the IRC, else of the floor."""
    if not _by_rim(context):
        floor = context.plumbing.surroundings.floors.of(fixture.element)
        return None if floor is None else floor.level_m
    rim = context.plumbing.venting.rim_m(fixture)
    return None if rim is None else rim[0]


def _below_ground(fixture: Fixture, context: Context) -> bool | None:
    """Whether its floor may lie below the ground; None where its floor is not known."""
    floors = context.plumbing.surroundings.floors
    floor, ground = floors.of(fixture.element), context.ground
    if floor is None:
        return None
    if ground is None or not ground.is_told:
        return floor.may_be_cellar
    return ground.is_below(floor.level_m) is not False


def _backwater_valve(fixture: Fixture, context: Context) -> Element | None:
    """The first valve its waste passes that shuts against the sewer."""
    return next((v for v in _valves(fixture, context) if v.kind in CHECKS), None)


def _valves(fixture: Fixture, context: Context) -> Iterator[Element]:
    """The valves its waste passes."""
    elements, following = context.plumbing.network.elements, _valve_from(context)
    index = following[fixture.index]
    while index != NONE:
        yield elements[index]
        below = context.plumbing.drainage.down[index]
        index = following[below] if below != NONE else NONE


@derived
def _valve_from(context: Context) -> list[int]:
    """For every element the valve that it is, or the next below it; NONE for none."""
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    found = [NONE] * len(elements)
    for index in drainage.order:  # downstream first
        below = drainage.down[index]
        if elements[index].role is Role.VALVE:
            found[index] = index
        elif below != NONE:
            found[index] = found[below]
    return found
