"""The verdict: corrections where the code is not met, a pass only where it is earned."""

from collections.abc import Sequence

from ifclint.findings import Coverage, Failure, Finding, Judged, Outcome, Settles, Verdict
from ifclint.ifc.elements import APART, SCALE, WATER_SUPPLY, Model, Role
from ifclint.ifc.joints.free_ends import TAKES_NO_WATER
from ifclint.judged import all_is_set_aside, set_aside, unearned
from ifclint.packs import Packs
from ifclint.plumbing import Plumbing

DAMAGED = (
    "Nothing to correct was found, but the file is damaged and was not read as a whole; the notes "
    "on reading say where."
)
IN_DOUBT = (
    "Nothing to correct was found, but the units of the file are in doubt and so is every measure "
    "taken from it; the notes on reading say which."
)
NO_SCALE = (
    "Every size, length, height and fall rests on a unit that is not known, and so does every "
    "correction."
)


def verdict_of(
    plumbing: Plumbing,
    packs: Packs,
    findings: list[Finding],
    all_coverage: list[Coverage],
    corrected: int,
    settled: Sequence[Judged],
    failures: Sequence[Failure] = (),
) -> tuple[Verdict, str]:
    """Corrections where a violation was found; a pass only where it is earned (`judged`), and
    more questions were answered than left open, and no rule failed.

    A subject that was answered with pass or advisory was judged, one that is unverified was not.
    Rules about the model itself judge no plumbing and do not count, nor do accepted variances.
    """
    about_model = {(p.name, r.name) for p in packs.loaded for r in p.rules if r.is_about_model}
    coverage = [c for c in all_coverage if (c.pack, c.rule) not in about_model]
    wrong = [f for f in findings if f.outcome is Outcome.VIOLATION]
    accepted = sum(f.variance is not None for f in wrong)
    unverified = sum(c.unverified for c in coverage)
    answered = sum(c.passed + c.advisories for c in coverage) + accepted
    network = plumbing.network
    others = {pack.name for pack in packs.loaded if not pack.is_ours}
    of_others = any(f.pack in others for f in wrong)  # of what no rule of ours judges
    held = of_others or len(network.elements) > len(network.of_roles(Role.OTHER))
    if not held and plumbing.network.model.set_aside:
        return Verdict.NOT_REVIEWABLE, _nothing_judged(plumbing)
    if not held:
        return Verdict.NOT_REVIEWABLE, "The model holds no plumbing that could be read."
    if not of_others and all_is_set_aside(plumbing.network):
        return Verdict.NOT_REVIEWABLE, _nothing_judged(plumbing)
    if any(note.topic == SCALE for note in network.model.notes):
        return Verdict.NOT_REVIEWABLE, NO_SCALE
    if corrected:
        noun = "correction is" if corrected == 1 else "corrections are"
        return Verdict.CORRECTIONS_REQUIRED, f"{corrected} {noun} required."
    if failures:
        return Verdict.NOT_REVIEWABLE, _incomplete(failures)
    if not answered and not unverified:
        return Verdict.NOT_REVIEWABLE, _nothing_judged(plumbing)
    if unverified > answered:
        noun = "question" if unverified == 1 else "questions"
        could = f"only {answered}" if answered else "none"
        return (
            Verdict.NOT_REVIEWABLE,
            f"{unverified} {noun} could not be answered and {could} could.",
        )
    if any(note.topic == "damage" for note in plumbing.network.model.notes):
        return Verdict.NOT_REVIEWABLE, DAMAGED
    if any(note.topic == "unit" for note in plumbing.network.model.notes):
        return Verdict.NOT_REVIEWABLE, IN_DOUBT
    if not packs.not_asked and all(line.question is Settles.SERVICE for line in settled):
        return Verdict.NOT_REVIEWABLE, _nothing_judged(plumbing)
    if why := unearned(settled, {e.guid: e.label for e in plumbing.network.elements}):
        return Verdict.NOT_REVIEWABLE, why
    said = "Nothing to correct"
    if accepted:
        said += f" beyond {accepted} accepted by variance"
    left = sum(f.outcome is Outcome.UNVERIFIED and f.variance is None for f in findings)
    if left:
        noun = "question was" if left == 1 else "questions were"
        said += f", but {left} {noun} left open"
    return Verdict.PASS, " ".join(filter(None, (f"{said}.", without_water(plumbing, packs))))


def first_to_mend(model: Model) -> str:
    """What lies before all corrections and questions: files that do not lie in one place, or of
    which the unit of length is not known."""
    return " ".join(f"{n.what} {n.remedy}" for n in model.notes if n.topic in (APART, SCALE))


def of_a_part(packs: Packs) -> str:
    """That not all rules were asked; "" where they were."""
    if not packs.not_asked:
        return ""
    asked = sum(len(pack.rules) for pack in packs.loaded)
    were = "rules was" if asked == 1 else "rules were"
    return f"Only {asked} of {asked + packs.not_asked} {were} asked: this review is of a part."


def without_water(plumbing: Plumbing, packs: Packs) -> str:
    """That no water piping is drawn, where it was to be judged; a file of drains alone has none."""
    is_asked = any(rule.settles is Settles.WATER for pack in packs.loaded for rule in pack.rules)
    taking = sum(f.is_drawn and f.kind not in TAKES_NO_WATER for f in plumbing.fixtures)
    elements = plumbing.network.elements
    is_piped = any(e.role is Role.PIPE and e.system in WATER_SUPPLY for e in elements)
    if not is_asked or not taking or is_piped or plumbing.supply.fixtures:
        return ""
    of = "a fixture" if taking == 1 else f"{taking} fixtures"
    return (
        f"No water piping is drawn: the water of {of} was not judged. Review the file that has it "
        "with this one, or put supply out of scope in the job file (out_of_scope)."
    )


def _incomplete(failures: Sequence[Failure]) -> str:
    """What failed, the first by name."""
    first = f"{failures[0].pack} {failures[0].rule}".strip()
    named = first if len(failures) == 1 else f"{first} and {len(failures) - 1} more"
    return f"Nothing wrong was found, but {named} failed and judged nothing."


def _nothing_judged(plumbing: Plumbing) -> str:
    """Why no rule had anything to judge: what was read instead."""
    aside = set_aside(plumbing)
    elements = [e for e in plumbing.network.elements if e.role is not Role.OTHER]
    if not elements or all_is_set_aside(plumbing.network):
        named = "; ".join(f"{s.service} ({s.elements})" for s in aside)
        return f"The model holds no plumbing that any rule judges; read and set aside: {named}."
    named = ", ".join(
        sorted({e.system.value if e.system else "no known service" for e in elements})
    )
    roles = {e.role for e in elements}
    if Role.PIPE in roles and roles.isdisjoint({Role.FIXTURE, Role.APPLIANCE}):
        return (
            "The model holds no fixtures or appliances, without which nothing of its piping "
            f"({named}) is judged: review it together with the file that has them."
        )
    return f"The model holds no plumbing that any rule judges; what was read is of {named}."
