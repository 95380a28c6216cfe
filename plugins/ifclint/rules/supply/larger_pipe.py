"""The larger pipe that gives all fixtures their pressure, and where more is to be asked for."""

from collections.abc import Mapping
from dataclasses import dataclass
from operator import itemgetter

from ifclint.checks import given
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Change
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.rules.supply.beginnings import beginnings
from ifclint.rules.supply.budget import needed
from ifclint.rules.supply.heads import governing_m
from ifclint.rules.supply.pressure_model import solution, solve_again
from ifclint.rules.supply.sizing import as_remedy, made_larger, upsizings
from ifclint.rules.supply.solved_supply import Solution


def remedy_of(fixture: WaterFixture, solved: Solution, tap: Tap, short_psi: float) -> str | Change:
    """What of the larger pipe for all fixtures leads to this one; where pipe is not enough for one,
    how much more pressure all that begin at one place need there, as the worst off of them."""
    larger, set_at = larger_pipe(solved.context), _set_at(solved, tap)
    worst_psi = _worst_psi(solved.context).get(set_at.guid)
    if worst_psi is None or (tap not in larger.short_psi and short_psi > worst_psi):
        return as_remedy(made_larger(solved, tap, larger.sizes_in))
    needed_psi = max(short_psi, worst_psi)
    text = (
        f"Raise the pressure by {number_text(needed_psi, 3)} psi, by the regulator's setting or a "
        "pump, or take less loss in devices: larger pipe in a few runs is not enough."
    )
    return Change("work", (set_at.guid,), "more pressure", text)


@derived
def _worst_psi(context: Context) -> dict[str, float]:
    """What the worst off of all that is fed there lacks, by GlobalId of where pressure is set."""
    worst, solved = dict[str, float](), solution(context)
    for tap, short_psi in larger_pipe(context).short_psi.items():
        guid = _set_at(solved, tap).guid
        worst[guid] = max(short_psi, worst.get(guid, short_psi))
    return worst


def _set_at(solved: Solution, tap: Tap) -> Element:
    """Where the pressure at a connection is set: the last regulator that governs, or pump or tank
    where it begins anew, on the path to it; else where the water comes from."""
    segment = given(tap.segment)
    begun_at = beginnings(solved.context)
    for line in reversed(segment.to_source):
        if governing_m(solved, line) is not None:
            return line.elements[-1]
        if line.number in begun_at:
            return begun_at[line.number].element
    return segment.distribution.elements[segment.source]


@dataclass(frozen=True)
class LargerPipe:
    """Sizes of lines by number with which fixtures have their pressure, and the connections that
    are short of it with any, with how much as drawn."""

    sizes_in: Mapping[int, float]
    short_psi: Mapping[Tap, float]


@derived
def larger_pipe(context: Context) -> LargerPipe:
    """The larger pipe that all fixtures need together: the fewest runs for the one that is worst
    off, then what the next needs more, and so on."""
    drawn = solved = solution(context)
    short = dict[Tap, float]()
    wanted = [
        (residual - want.psi, n, tap, want.psi)
        for n, fixture in enumerate(solved.supply.fixtures)
        if fixture.joined and (want := needed(fixture, context)) is not None
        for tap, pressure in drawn.by_branch(fixture)
        if (residual := pressure.residual_psi) is not None
        and not at_least(residual, want.psi, "psi")
    ]
    for left, _, tap, want_psi in sorted(wanted, key=itemgetter(0, 1)):
        residual = solved.at(tap).residual_psi
        if residual is None or at_least(residual, want_psi, "psi"):
            continue
        changes = upsizings(solved, tap, (want_psi - residual) * PA_PER_PSI)
        if changes is None:
            short[tap] = -left
            continue
        sizes = {n: size for change in changes for n, size in change.sizes_in.items()}
        solved = solve_again(solved, sizes)
    return LargerPipe(solved.sizes_in, short)
