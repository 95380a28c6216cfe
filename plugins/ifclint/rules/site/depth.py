"""The cover over pipe in the ground, and the rule about that of the water service."""

from dataclasses import replace

from ifclint.checks import Answer, Fact, check, due, known, not_known
from ifclint.codes import Limit
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import apart_text, number_text, tape_text
from ifclint.findings import Outcome, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterService
from ifclint.plumbing.floors import Ground
from ifclint.rules.site.outside import Buried, buried_service
from ifclint.rules.site.section import SiteSection

GRADE = (
    "Give the height of the finished ground in the job file (building.grade_elevation), or draw "
    "the terrain."
)
GROUND = Fact("how deep {} lies is not known: the ground is not stated.", GRADE)
SLOPES = Fact("how deep {} lies is not known: the ground slopes.", GRADE)
SIZE = Fact(
    "the size of {}, and so the cover over it, is not known.", "Give the pipe a nominal diameter."
)
FROST = Fact(
    "how deep the frost reaches, below which {} must lie, is not known.",
    "Give the frost depth in the job file (site.frost_depth or building.freezing = false).",
)


def cover_answer(lying: Buried, least: Limit | float, label: str, context: Context) -> Answer:
    """The cover over a pipe, in inches, against the least: as the model states it, else drawn.

    Where the ground slopes, what lies deep enough at its lowest passes, and what does not at its
    highest is wrong.
    """
    stated = lying.pipe.properties.number("cover_m")
    if stated is not None:
        steps = (Step("Cover, as the model states it", stated / M_PER_IN, "in"),)
        return _against(stated / M_PER_IN, least, label, lying, steps)
    ground = context.ground
    if ground is None or not ground.is_told:
        return not_known(GROUND, label, elements=(lying.pipe.guid,))
    known(lying.radius_m, SIZE, lying.pipe)
    low, high = (
        _check(lying, level, least, label, ground) for level in (ground.low_m, ground.high_m)
    )
    if low.outcome is Outcome.PASS or high.outcome is Outcome.VIOLATION:
        return high
    return not_known(SLOPES, label, elements=(lying.pipe.guid,))


def _check(
    lying: Buried, level_m: float, least: Limit | float, label: str, ground: Ground
) -> Answer:
    assert lying.radius_m is not None
    cover = (level_m - lying.highest_m - lying.radius_m) / M_PER_IN
    steps = (
        Step("Ground", level_m / M_PER_IN, "in", ground.basis),
        Step("Axis of the pipe, at its highest", lying.highest_m / M_PER_IN, "in"),
        Step("Half its outside diameter", lying.radius_m / M_PER_IN, "in"),
    )
    return _against(cover, least, label, lying, steps)


def _against(
    cover_in: float, least: Limit | float, label: str, lying: Buried, steps: tuple[Step, ...]
) -> Answer:
    value = least.value if isinstance(least, Limit) else least
    return check(
        cover_in,
        at_least=least,
        unit="in",
        message=f"{label} lies under {apart_text(cover_in, value, 'in')} of cover; "
        f"{number_text(value)} in are asked for.",
        remedy=f"Lay the pipe at least {tape_text((value - cover_in) / IN_PER_FT)} deeper.",
        steps=steps,
        limit_step="Cover, at least",
        elements=(lying.pipe.guid,),
    )


@rule(
    title="Water service below the frost",
    clauses={"upc": "609.1", "ipc": "305.4", "irc": "P2603.5"},
)
def service_cover(service: WaterService, context: Context) -> Answer:
    """A service that freezes in the yard is thawed by digging.

    The cover over the buried water pipe outside the walls and slabs, at its shallowest: the code's
    least, and so far below the frost (job file, site.frost_depth; 0 where building.freezing is
    false). Pipe that rises from the ground is not asked.
    """
    lying = [b for b in buried_service(context, service) or () if b.is_level]
    shallow = due(max(lying, key=lambda b: b.highest_m, default=None))
    least, frost = context.code.limit("service_cover_in"), _frost_in(context)
    below = context.code.limit("service_below_frost_in")
    deeper = None if not frost else replace(below, value=frost + below.value)
    asked = deeper if deeper is not None and deeper.value > least.value else least
    answer = cover_answer(shallow, asked, f'the water service "{shallow.pipe.label}"', context)
    if frost is None and answer.outcome is Outcome.PASS:
        return not_known(FROST, shallow.pipe)
    return answer


def _frost_in(context: Context) -> float | None:
    """The depth of the frost; None where the job file does not tell."""
    stated = context.job.section(SiteSection).frost_depth
    if stated is not None:
        return stated / M_PER_IN
    return 0.0 if context.job.building.freezing is False else None
