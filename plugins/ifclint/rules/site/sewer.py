"""Rules about the building sewer: its fall to the street, its depth."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, given, known, not_known, violation
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import IN_PER_FT, M_PER_FT, M_PER_IN, in_per_ft_from_slope
from ifclint.engineering.wording import feet_text, number_text, slope_text, tape_text
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import BuildingDrain
from ifclint.plumbing.drainage.least_slope import least_slope, meets_slope, slope_rows
from ifclint.plumbing.drainage.outlets import LEAVING
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.rules.site.depth import cover_answer
from ifclint.rules.site.outside import Buried, approved_inside, buried_sewer
from ifclint.rules.site.section import SiteSection

INVERT = "Give the invert of the street's connection in the job file (site.sewer_invert)."
FIRM = "Give it a material that tells (PVC schedule 40 or DWV, PVC SDR 35, cast iron, clay)"
THIN = Fact("whether {}, which lies shallow, is pipe that may lie in a building", f"{FIRM}.")
THIN_OR_DEEP = Fact(
    "whether {}, which may lie shallow, is pipe that may lie in a building",
    f"{FIRM}, and the job file the ground (building.grade_elevation).",
)
FALL = Fact("how far {} may fall to the street", INVERT)
CONNECTION = Fact(
    "which connection {} leads to is not stated: the job file tells one invert, and several drains "
    "leave the building.",
    "Join the drains up to the street in the model.",
)
END = Fact(
    "the height or size of the end of {} is not known.",
    "Give its last pipe a place and a nominal diameter.",
)
DISTANCE = Fact(
    "how far it is from {} to the street",
    "Give the distance in the job file (site.sewer_distance).",
)
OUTSIDE = Fact("what of {} lies outside", "Draw the walls or the slab.")
LEAST = Fact(
    "how deep {} must lie is left to the jurisdiction, and not stated.",
    "Give the least cover in the job file (site.sewer_cover).",
)


def _by_gravity(drain: BuildingDrain) -> bool:
    return drain.outlet.kind != PUMPED


@rule(
    title="Enough fall from the building drain to the street",
    clauses={"upc": "718.1", "ipc": "704.1", "irc": "P3005.3"},
    severity=Severity.HIGH,
    applies=_by_gravity,
)
def sewer_fall(drain: BuildingDrain, context: Context) -> Answer:
    """A house that is set too low for its sewer is found out when the trench is open.

    The invert at which the drawn drain ends (its axis less half its size) against that of the
    connection in the street, over the distance between (job file, site.sewer_invert and
    sewer_distance; 0 where the model draws the connection itself): the slope that is left, against
    the least for its size. Where the job file tells no invert and the model draws the connection,
    its fall is judged as drawn, with the drains; where the drawing stops short, it is asked. Of
    several drains that leave the building, the connection is that of the one with most fixtures.
    """
    section = context.job.section(SiteSection)
    drawn = drain.outlet.kind in LEAVING
    if section.sewer_invert is None:
        return NOT_APPLICABLE if drawn or drain.outlet.kind == "named" else not_known(FALL, drain)
    if drain is not _main(context):
        return not_known(CONNECTION, drain)
    distance = 0.0 if drawn and section.sewer_distance is None else section.sewer_distance
    end = known(_invert_m(drain), END)
    left, street = end - section.sewer_invert, section.sewer_invert / M_PER_FT
    steps = (
        Step("Invert at the end of the drawn drain", end / M_PER_FT, "ft"),
        Step("Invert of the connection", street, "ft", "job file, sewer_invert"),
    )
    if not at_least(left, 0.0, "m"):
        return violation(
            message=f"{drain.label} ends {feet_text(-left / M_PER_FT)} below the connection in the "
            "street.",
            remedy=f"Raise the end of the drain by more than {feet_text(-left / M_PER_FT)}, "
            "connect farther down the street, or pump.",
            steps=steps,
            measured=Measure(end / M_PER_FT, "ft"),
            required=Measure(street, "ft", "at least"),
        )
    return _over(drain, left, known(distance, DISTANCE), steps, context)


def _main(context: Context) -> BuildingDrain | None:
    """The drain that the job file's connection is meant for: the one that takes most fixtures; of
    sewers of which no fixture is drawn, the only one."""
    plumbing = context.plumbing
    drains = [drain for drain in plumbing.building_drains if _by_gravity(drain)]
    if not drains:
        bare = plumbing.bare_sewers
        return bare[0] if len(bare) == 1 else None
    return max(drains, key=lambda drain: len(drain.fixtures))


def _over(
    drain: BuildingDrain,
    left_m: float,
    distance_m: float,
    steps: tuple[Step, ...],
    context: Context,
) -> Answer:
    """The fall that is left over the distance, against the least slope for the size."""
    asked = least_slope(
        slope_rows(given(drain.size_in), context, "building sewer", "drainage"), context
    )
    if distance_m == 0.0 or asked is None:
        return PASS
    slope = left_m / distance_m
    if meets_slope(slope, asked.value, context):
        return PASS
    needed = distance_m / M_PER_FT * asked.value
    up_ft = (needed - left_m / M_PER_IN) / IN_PER_FT
    return violation(
        message=f"{drain.label} has {number_text(left_m / M_PER_IN)} in of fall left for "
        f"{feet_text(distance_m / M_PER_FT)} to the street, {slope_text(slope)}; "
        f"{number_text(needed)} in are needed.",
        remedy=f"Raise the end of the drain by {tape_text(up_ft)}, "
        "connect farther down the street, or pump.",
        steps=(
            *steps,
            Step("Distance between", distance_m / M_PER_FT, "ft", "job file, sewer_distance"),
            Step("Slope that is left", in_per_ft_from_slope(slope), "in/ft"),
            asked.step("Least slope"),
        ),
        measured=Measure(in_per_ft_from_slope(slope), "in/ft"),
        required=Measure(asked.value, "in/ft", "at least"),
        clause=asked.clause,
        provenance=asked.provenance,
    )


def _invert_m(drain: BuildingDrain) -> float | None:
    """The invert at the lower end of its last pipe."""
    piping = drain.piping
    pipes = [i for i in drain.path if piping.is_pipe(i)]
    ends = piping.ends(pipes[-1]) if pipes else []
    if not ends or drain.size_in is None:
        return None
    out = piping.exit(pipes[-1]) or min(ends, key=lambda p: p[2])
    return out[2] - drain.size_in * M_PER_IN / 2


@rule(
    title="Building sewer deep enough",
    clauses={"upc": "718.3", "ipc": "305.4.1", "irc": "P2603.5.1"},
    applies=_by_gravity,
)
def sewer_cover(drain: BuildingDrain, context: Context) -> Answer:
    """A sewer just under the lawn is crushed by the first truck and freezes in the first winter.

    The cover over the main line where it lies outside the walls and slabs, least at its shallowest,
    below the ground (job file, building.grade_elevation, or the terrain). IPC and IRC leave the
    depth to the jurisdiction (job file, site.sewer_cover). The UPC asks for 12 in over pipe that
    may not lie in a building (clay, concrete, thin sewer pipe), and the job file may ask more.
    """
    own, asked = context.job.section(SiteSection).sewer_cover, context.code.limit_or_none
    lying = [b for b in buried_sewer(context, drain) or () if b.is_level]
    least = _asked(own, asked("sewer_cover_in"))
    if buried_sewer(context, drain) is None and least is not None and own is not None:
        return not_known(OUTSIDE, drain)
    if not lying:
        return NOT_APPLICABLE
    if least is None:
        return not_known(LEAST, drain)
    return _shallowest(drain, context, lying, least, own)


def _shallowest(
    drain: BuildingDrain,
    context: Context,
    lying: list[Buried],
    least: Limit | float,
    own: float | None,
) -> Answer:
    """The cover over a building sewer where that lies shallowest."""
    if own is None:
        lying = [b for b in lying if approved_inside(b.pipe) is not True]
    shallow = max(lying, key=lambda b: b.highest_m, default=None)
    if shallow is None:
        return PASS
    answer = cover_answer(shallow, least, drain.label, context)
    if own is None and answer is not PASS and approved_inside(shallow.pipe) is None:
        fact = THIN if answer.outcome is Outcome.VIOLATION else THIN_OR_DEEP
        return not_known(fact, drain, elements=(shallow.pipe.guid,))
    return answer


def _asked(own_m: float | None, limit: Limit | None) -> Limit | float | None:
    """The jurisdiction's cover (in) where it is told, else the code's."""
    return limit if own_m is None else own_m / M_PER_IN
