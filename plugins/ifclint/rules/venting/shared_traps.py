"""Rule about fixtures that share a trap."""

from collections.abc import Iterator, Sequence
from math import dist

from ifclint.checks import PASS, Fact, advise, check, not_known, require, violation
from ifclint.codes import Limit
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Outcome
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture, TrapArm
from ifclint.plumbing.drainage.loads import INTO_THE_SINK
from ifclint.plumbing.drainage.receptors import RECEIVING, STANDPIPE
from ifclint.plumbing.drainage.through_air import is_public
from ifclint.plumbing.words import says, says_text
from ifclint.rules.venting.traps import is_drawn

LAUNDRY = {"laundry-sink", "clothes-washer"}  # which may share a trap
SINKS = frozenset({"sink", "kitchen-sink", "bar-sink", "laundry-sink", "lavatory"})
OF_BATH = frozenset({"lavatory"})
OF_WORK = frozenset({"kitchen-sink", "laundry-sink"})  # no lavatory is like one
DISPOSER = ("disposer", "disposers", "food waste grinder", "garbage disposal")
COMMERCIAL = (
    "restaurant", "commercial", "industrial", "pot sink", "pot wash*", "scullery", "compartment",
)  # fmt: skip
TRAPPED_ALONE = frozenset(
    {"bathtub", "shower", "bidet", "urinal", "water-closet", "clothes-washer", "mop-sink"}
)
SPACING = Fact(
    "how far apart the outlets on {} are is not known.", "Give every fixture a placed outlet port."
)


@rule(
    title="Fixtures on one trap few, alike and close",
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    applies=is_drawn,
)
def shared_trap(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Several fixtures on one trap let one flood the other, or leave foul pipe between them.

    How many fixtures drain through the trap (a disposer or dishwasher at its sink is none of its
    own, nor what is drawn into a receptor on it), how far apart their outlets are, that the trap
    of three is at the middle one (UPC, IRC), and that they are of one kind: sinks of several kinds
    are advised against, other fixtures are wrong but for a clothes washer at its laundry sink, as
    is a lavatory at a kitchen or laundry sink, and so is, under the UPC, a laundry sink at a
    kitchen sink, and a food waste disposer in a set of commercial sinks, called so or in a room
    called so.
    """
    sharing = _sharing(arm)
    if len(sharing) < 2:
        return
    names, kinds = ", ".join(f.label for f in sharing), {f.kind for f in sharing}
    if _may_not_share(kinds, context):  # which settles how many there are, and where
        yield _of_kinds(arm, kinds, names, context)
        return
    yield _share(
        arm,
        float(len(sharing)),
        context.code.limit_or_none("shared_trap_fixtures"),
        f"{len(sharing)} fixtures share {arm.element.label}: {names}.",
        "number",
    )
    yield _close(arm, sharing, context)
    yield _centered(arm, sharing, context)
    if (ground := _disposer(arm, context)) is not None:
        yield violation(
            message=f"{ground.label} has a food waste disposer and shares {arm.element.label}: "
            f"{names}.",
            remedy="Give the disposer, with its sink, a trap of its own.",
            elements=(arm.element.guid, *(f.element.guid for f in arm.fixtures)),
            about="disposer",
        )
    if len(kinds) > 1 and kinds != LAUNDRY:
        yield _of_kinds(arm, kinds, names, context)


def _sharing(arm: TrapArm) -> list[Fixture]:
    return [f for f in arm.fixtures if f.kind not in INTO_THE_SINK and not _over(f, arm)]


@derived
def unlike_on_a_trap(context: Context) -> frozenset[Fixture]:
    """The fixtures that share a trap and may not, so that one is to get its own."""
    arms = context.plumbing.venting.arms
    unlike = (a for a in arms if _may_not_share({f.kind for f in _sharing(a)}, context))
    return frozenset(fixture for arm in unlike for fixture in arm.fixtures)


def are_too_far_apart(arm: TrapArm, context: Context) -> bool:
    """Whether the outlets on a trap are told to lie too far apart."""
    sharing = _sharing(arm)
    return len(sharing) > 1 and _close(arm, sharing, context).outcome is Outcome.VIOLATION


def _may_not_share(kinds: set[str], context: Context) -> bool:
    if len(kinds) < 2 or kinds == LAUNDRY or not kinds <= TRAPPED_ALONE | SINKS:
        return False
    of_two_rooms = bool(kinds & OF_BATH) and bool(kinds & OF_WORK)
    laundry = kinds >= OF_WORK and context.code.family == "upc"
    return of_two_rooms or laundry or not kinds <= SINKS


def _disposer(arm: TrapArm, context: Context) -> Fixture | None:
    """UPC: the disposer, or the sink told to have one, in a set of commercial sinks: by their
    names or that of their room, in no dwelling."""
    called = (f"{f.element.called} {f.element.space}" for f in arm.fixtures)
    commercial = is_public(context) and any(says_text(one, COMMERCIAL) for one in called)
    if context.code.family != "upc" or not commercial:
        return None
    own = (f for f in arm.fixtures if f.kind == "disposer" or says(f.element, DISPOSER))
    return next(own, None)


def _over(fixture: Fixture, arm: TrapArm) -> bool:
    """Whether its waste is drawn into a receptor on the trap: that asks for an air gap, no trap."""
    receptors = {
        f.index
        for f in arm.fixtures
        if f.kind in RECEIVING and f.kind != STANDPIPE and f is not fixture
    }
    return bool(receptors) and not receptors.isdisjoint(arm.piping.drainage.path(fixture.index))


def _of_kinds(arm: TrapArm, kinds: set[str], names: str, context: Context) -> Answer:
    """Fixtures of different kinds: wrong where they may not share, else advised against."""
    message = f"Fixtures of different kinds share {arm.element.label}: {names}."
    remedy = "Give each kind of fixture a trap of its own"
    if _may_not_share(kinds, context):
        elements = (arm.element.guid, *(f.element.guid for f in arm.fixtures))
        return violation(message=message, remedy=f"{remedy}.", elements=elements, about="kinds")
    return advise(message, f"{remedy}, or have it approved.", about="kinds")


def _close(arm: TrapArm, sharing: Sequence[Fixture], context: Context) -> Answer:
    """Each outlet is near another."""
    outlets = [p for f in sharing if (p := arm.piping.exit(f.index)) is not None]
    if len(outlets) < len(sharing):
        return not_known(SPACING, arm.element.label, about="spacing")
    nearest = (
        min(dist(a, b) for m, b in enumerate(outlets) if m != n) for n, a in enumerate(outlets)
    )
    widest, most = max(nearest) / M_PER_IN, context.code.limit_or_none("shared_trap_spacing_in")
    apart = apart_text(widest, widest if most is None else most.value, "in", 2)
    said = f"Outlets that share {arm.element.label} are {apart} apart."
    return _share(arm, widest, most, said, "spacing")


def _centered(arm: TrapArm, sharing: Sequence[Fixture], context: Context) -> Answer:
    """Of three outlets the middle one is nearest to the trap."""
    three, inlet = context.code.limit_or_none("shared_trap_centered_of"), arm.trap_inlet
    places = {f: p for f in sharing if (p := arm.piping.exit(f.index)) is not None}
    if three is None or len(places) != three.value:
        return PASS
    if inlet is None:
        return not_known("trap_inlet", arm, about="centre")
    middle = min(places, key=lambda f: max(dist(places[f], p) for p in places.values()))
    return require(
        min(places, key=lambda f: dist(places[f][:2], inlet[:2])) is middle,
        message=f"{arm.element.label}, which {number_text(three.value)} fixtures share, is not "
        f"at the middle one, {middle.label}.",
        remedy="Set the trap under the middle outlet, and lead the others to it from both sides.",
        clause=three.clause,
        provenance=three.provenance,
        elements=(arm.element.guid, *(f.element.guid for f in sharing)),
        about="centre",
    )


def _share(arm: TrapArm, measured: float, most: Limit | None, message: str, about: str) -> Answer:
    if most is None:
        return PASS
    return check(
        measured,
        at_most=most,
        message=message,
        remedy="Give the fixtures traps of their own.",
        limit_step="At most",
        elements=(arm.element.guid, *(f.element.guid for f in arm.fixtures)),
        about=about,
    )
