"""One run, start to finish: job file, model, network, plumbing, packs, review."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from ifclint import __version__, codes, ifc, job, network
from ifclint.again import Again
from ifclint.amendments import amended
from ifclint.codes import AdoptedCode
from ifclint.corrections import Run, corrections
from ifclint.errors import RAISED, InputError
from ifclint.findings import (
    AdoptedCodeInfo,
    Count,
    Coverage,
    Failure,
    Finding,
    Judged,
    NetworkSummary,
    Outcome,
    Review,
    ReviewedElement,
    Riser,
    Schedule,
    Settles,
    Verdict,
)
from ifclint.gc_pause import collector_paused
from ifclint.ifc.elements import Location, Model, Role, System
from ifclint.judge import judge
from ifclint.judged import all_is_set_aside, is_site, judged, set_aside, unearned
from ifclint.network import Network
from ifclint.packs import Context, Packs, adopt, explain, load_packs
from ifclint.plans import plans
from ifclint.plumbing import Plumbing, Service, build
from ifclint.variances import accept

Progress = Callable[[str, int, int], None]

CAUTIONS = (
    "This review reads a model; it does not see the building. It does not replace the plan review "
    "or inspection of the authority having jurisdiction, nor the judgement of a licensed engineer "
    "or plumber. Where local code, amendment or approval differs, it governs.",
    "Sewer gas, fuel gas, hot water and pressure injure and kill. Have drains and vents tested, "
    "gas piping pressure-tested and relief valves verified by licensed persons before use.",
    "Values marked as from memory were not read from a published code; check them against the "
    "adopted code book before relying on a finding that rests on them.",
)


DAMAGED = (
    "Nothing to correct was found, but the file is damaged and was not read as a whole; the notes "
    "on reading say where."
)


def review(
    models: Sequence[Path],
    job_file: Path | None = None,
    code: str | None = None,
    progress: Progress | None = None,
    packs: Packs | None = None,
    today: date | None = None,
) -> Review:
    """Review the models of one building. Raises InputError where that cannot be done.

    `code` outranks the job file's adopted code. `packs` defaults to all that are installed.
    `today` decides which variances have expired.
    """
    with collector_paused():
        try:
            return _review(models, job_file, code, progress, packs, today)
        except (SystemExit, KeyboardInterrupt) as stop:
            raise InputError(f"A rule pack ended the run: {explain(stop)}.") from stop


def _review(
    models: Sequence[Path],
    job_file: Path | None,
    code: str | None,
    progress: Progress | None,
    packs: Packs | None,
    today: date | None,
) -> Review:
    packs = packs or load_packs()
    the_job, written = _job(job_file, packs)
    loaded = codes.load(_code_name(code or the_job.adopted_code))
    packs, loaded = adopt(packs, loaded)
    packs, left_out = _in_scope(packs, the_job)
    adopted = amended(loaded, the_job)
    say = progress or (lambda what, done, total: None)
    model = _read(models, the_job, packs, progress)
    say("Tracing the network", 0, 1)
    connected = network.connect(model)
    plumbing = _build(connected, the_job)
    _refuse_unknown_elements(the_job, model)
    say("Reviewing", 0, 1)
    if is_site(connected):
        packs = _about_the_model(packs)
    context = Context(adopted, plumbing, the_job)
    judgement = judge(packs.loaded, context)
    findings, variances = accept(judgement.findings, the_job.variances, today or date.today())
    say("Reviewing again with the corrections", 0, 1)
    again = Again(model, packs.loaded, context, judgement.findings, lambda n: _build(n, the_job))
    corrected = corrections(findings, connected, again, _runs(plumbing))
    schedules, risers, failures = _extras(packs, context)
    settled_by_variance = {f.id for f in findings if f.variance is not None}
    settled = judged(judgement.said, plumbing, settled_by_variance)
    verdict, reason = _verdict(
        plumbing, packs, findings, judgement.coverage, len(corrected), settled
    )
    return Review(
        generator=f"ifclint {__version__}",
        models=tuple(model.files),
        adopted_code=_code_info(adopted),
        job=written,
        verdict=verdict,
        reason=reason,
        findings=tuple(findings),
        coverage=(*judgement.coverage, *left_out),
        failures=(*packs.failures, *judgement.failures, *failures),
        network=summarise(connected),
        corrections=corrected,
        schedules=tuple(schedules),
        risers=tuple(risers),
        elements=tuple(_elements(model)),
        plans=plans(model),
        judged=settled,
        set_aside=set_aside(plumbing),
        variances=tuple(variances),
        amendments=tuple(
            f"{change.place}, {change.column}: {change.text}" for change in adopted.changes
        ),
        assumptions=tuple(_assumptions(the_job, plumbing, packs.not_asked)),
        cautions=CAUTIONS,
    )


def read(
    models: Sequence[Path], job_file: Path | None = None, progress: Progress | None = None
) -> Model:
    """The models of one building as the job file has them read."""
    packs = load_packs()
    the_job, _ = _job(job_file, packs)
    return _read(models, the_job, packs, progress)


def _job(job_file: Path | None, packs: Packs) -> tuple[job.Job, dict[str, Any]]:
    """The job with the sections of those packs whose sections there can be."""
    sections = job.fitting(packs.sections)
    return job.load(job_file, sections) if job_file else (job.job_with(sections)(), {})


def _in_scope(packs: Packs, the_job: job.Job) -> tuple[Packs, list[Coverage]]:
    """The packs without the rules of those that the job file puts out of scope, and these rules.

    Raises InputError for a pack that is not there.
    """
    known = {pack.name for pack in packs.loaded} | {failure.pack for failure in packs.failures}
    for name in the_job.out_of_scope:
        if name not in known:
            raise InputError(
                f'Job file, out_of_scope: there is no pack "{name}" ({", ".join(sorted(known))}).'
            )
    left_out = [pack for pack in packs.loaded if pack.name in the_job.out_of_scope]
    kept = [replace(p, rules=()) if p in left_out else p for p in packs.loaded]
    note = "out of scope by the job file"
    return replace(packs, loaded=kept), [
        Coverage(pack.name, rule.name, rule.title, "", note=note)
        for pack in left_out
        for rule in pack.rules
    ]


def _about_the_model(packs: Packs) -> Packs:
    """The packs with the rules that ask what the model tells, and judge no plumbing."""
    kept = [
        replace(pack, rules=tuple(rule for rule in pack.rules if rule.is_about_model))
        for pack in packs.loaded
    ]
    return replace(packs, loaded=kept)


def _read(
    models: Sequence[Path], the_job: job.Job, packs: Packs, progress: Progress | None
) -> Model:
    return ifc.read(
        models,
        vocabulary_extra=the_job.reading.vocabulary,
        facts=packs.facts,
        joining_tolerance_m=the_job.reading.joining_tolerance,
        progress=progress,
    )


def _refuse_unknown_elements(the_job: job.Job, model: Model) -> None:
    known = {element.guid for element in model.elements}
    named = [
        *((f"gas.{key}", guid) for key, guid in the_job.gas.named_elements()),
        *((f"water.{key}", guid) for key, guid in the_job.water.named_elements()),
    ]
    for key, guid in named:
        if guid not in known:
            raise InputError(f'Job file, {key}: no element has the GlobalId "{guid}".')


def _code_name(name: str | None) -> str:
    if name is None:
        known = " or ".join(codes.editions())
        raise InputError(
            f"No adopted code is given; add --code or adopted_code in the job file ({known})."
        )
    return name


def _build(connected: Network, the_job: job.Job) -> Plumbing:
    return build(
        connected,
        the_job.drainage.outlets,
        [flow.element for flow in the_job.drainage.continuous_flow],
        the_job.gas.source,
        the_job.water.source,
    )


def _elements(model: Model) -> Iterator[ReviewedElement]:
    for e in model.elements:
        if e.role is not Role.OTHER:
            place = Location(e.storey, e.space, *(e.position or (None, None, None)))
            yield ReviewedElement(e.guid, e.ifc_class, e.name, e.type_name, e.tag, place)


def _runs(plumbing: Plumbing) -> dict[str, Run]:
    """How the pipes of the drainage are used."""
    return {
        pipe.element.guid: Run(
            pipe.up, (System.VENT if segment.service is Service.VENT else System.SANITARY).value
        )
        for segment in plumbing.segments
        for pipe in segment.pipes
    }


def _extras(packs: Packs, context: Context) -> tuple[list[Schedule], list[Riser], list[Failure]]:
    """Schedules and drawings of the packs, each pack by itself."""
    schedules: list[Schedule] = []
    risers: list[Riser] = []
    failures: list[Failure] = []
    for pack in packs.loaded:
        try:
            schedules += pack.schedules(context)
            risers += pack.drawings(context)
        except RAISED as error:
            failures.append(Failure(pack.name, "", explain(error)))
    return schedules, risers, failures


def _verdict(
    plumbing: Plumbing,
    packs: Packs,
    findings: list[Finding],
    all_coverage: list[Coverage],
    corrected: int,
    settled: Sequence[Judged],
) -> tuple[Verdict, str]:
    """Corrections where a violation was found; a pass only where it is earned (`judged`), and
    more questions were answered than left open.

    A subject that was answered with pass or advisory was judged, one that is unverified was not.
    Rules about the model itself judge no plumbing and do not count, nor do accepted variances.
    """
    about_model = {(p.name, r.name) for p in packs.loaded for r in p.rules if r.is_about_model}
    coverage = [c for c in all_coverage if (c.pack, c.rule) not in about_model]
    wrong = [f for f in findings if f.outcome is Outcome.VIOLATION]
    accepted = sum(f.variance is not None for f in wrong)
    unverified = sum(c.unverified for c in coverage)
    answered = sum(c.passed + c.advisories for c in coverage) + accepted
    held = [element for element in plumbing.network.elements if element.role is not Role.OTHER]
    if not held:
        return Verdict.NOT_REVIEWABLE, "The model holds no plumbing that could be read."
    if all_is_set_aside(plumbing.network):
        return Verdict.NOT_REVIEWABLE, _nothing_judged(plumbing)
    if corrected:
        noun = "correction is" if corrected == 1 else "corrections are"
        return Verdict.CORRECTIONS_REQUIRED, f"{corrected} {noun} required."
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
    if not packs.not_asked and not any(
        line.judged for line in settled if line.question is not Settles.SERVICE
    ):
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
    return Verdict.PASS, f"{said}."


def _nothing_judged(plumbing: Plumbing) -> str:
    """Why no rule had anything to judge: what was read instead."""
    aside = set_aside(plumbing)
    if all_is_set_aside(plumbing.network):
        named = ", ".join(f"{s.service} ({s.elements})" for s in aside)
    else:
        elements = [e for e in plumbing.network.elements if e.role is not Role.OTHER]
        named = ", ".join(
            sorted({e.system.value if e.system else "no known service" for e in elements})
        )
    return f"The model holds no plumbing that any rule judges; what was read is of {named}."


def _code_info(code: AdoptedCode) -> AdoptedCodeInfo:
    tables = [t for t in map(code.table, code.tables) if not t.used_by.startswith("none")]
    return AdoptedCodeInfo(
        code.id,
        code.title,
        code.edition,
        tuple(f"{t.title} ({t.clause})" if t.clause else t.title for t in tables),
        tuple(
            f"{t.title} ({t.clause}): {t.rows_from_memory} of {len(t.rows)} rows"
            for t in tables
            if t.rows_from_memory
        ),
    )


def _assumptions(the_job: job.Job, plumbing: Plumbing, not_asked: int) -> list[str]:
    """What was taken where neither the model nor the job file says, and what was not asked."""
    said = []
    if not_asked:
        said.append(
            f"{not_asked} rules were not asked, as the command was given; this review is of a part."
        )
    if the_job.building.occupancy is None:
        said.append("Occupancy not given: private use taken (job file, building.occupancy).")
    elements = plumbing.network.elements
    used = {fixture.outlet for fixture in plumbing.fixtures}
    for outlet in plumbing.drainage.outlets:
        taken = outlet.accepted and outlet.basis not in ("model", "job file")
        if taken and outlet in used:
            element = elements[outlet.element]
            said.append(
                f'Drainage outlet taken: {outlet.kind} of "{element.label}" ({outlet.basis}); '
                "name outlets in the job file, drainage.outlets, if that is wrong."
            )
    return said


def summarise(connected: Network) -> NetworkSummary:
    """How the model was read, counted."""
    elements = connected.elements
    joined = {index for joint in connected.joints for index in (joint.a, joint.b)}
    whole = [(i, e) for i, e in enumerate(elements) if not e.piece]  # a pipe by its first piece
    groups: dict[tuple[str, str], list[int]] = {}
    alike = Counter((e.role, e.system, e.size_in is not None, i in joined) for i, e in whole)
    for (role, system, sized, is_joined), count in alike.items():
        named = system.value if system else "not known"
        counted = groups.setdefault((role.value, named), [0, 0, 0])
        counted[0] += count
        counted[1] += count * sized
        counted[2] += count * is_joined
    known_from: dict[str, Counter[str]] = {}
    for bases, count in Counter(tuple(e.basis.items()) for _, e in whole).items():
        for fact, basis in bases:
            known_from.setdefault(fact, Counter())[basis] += count
    pipes = [e for e in elements if e.role is Role.PIPE]
    joints = [j for j in connected.joints if not elements[j.a].one_pipe_with(elements[j.b])]
    gaps = [joint.gap_m for joint in joints if joint.gap_m > 0]
    notes = Counter((note.what, note.remedy) for note in connected.model.notes)
    return NetworkSummary(
        counts=tuple(Count(*key, *counted) for key, counted in sorted(groups.items())),
        elements=len(whole),
        joints=len(joints),
        inferred_joints=sum(joint.inferred for joint in joints),
        bridged_joints=len(gaps),
        widest_gap_m=max(gaps, default=0.0),
        joining_tolerance_m=connected.model.joining_tolerance_m,
        islands=connected.components(),
        connected_share=connected.connected_share(),
        sizes_known_share=sum(e.size_in is not None for e in pipes) / len(pipes) if pipes else 0.0,
        known_from={fact: dict(sorted(c.items())) for fact, c in sorted(known_from.items())},
        notes=tuple(
            f"{what} {remedy}" + (f" ({count} times)" if count > 1 else "")
            for (what, remedy), count in notes.items()
        ),
    )
