"""One run, start to finish: job file, model, network, plumbing, packs, review."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from ifclint import __version__, codes, ifc, job, network
from ifclint.again import Again
from ifclint.amendments import amended
from ifclint.background import CAUTIONS, assumptions, code_info, elements_of, summarise
from ifclint.corrections import DrainRun, agreed, corrections
from ifclint.drawings import Riser
from ifclint.errors import RAISED, InputError
from ifclint.findings import Coverage, Failure, Review, Schedule
from ifclint.gc_pause import collector_paused
from ifclint.ifc.elements import Basis, Model, Note, Role, System
from ifclint.judge import judge
from ifclint.judged import is_site, judged, set_aside
from ifclint.network import Network
from ifclint.packs import Context, Packs, adopt, explain, load_packs
from ifclint.plans import plans
from ifclint.plumbing import Plumbing, Service, build
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.surroundings.obstacles import Surroundings
from ifclint.schedules import schedules
from ifclint.variances import accept
from ifclint.verdict import first_to_mend, of_a_part, verdict_of

Progress = Callable[[str, int, int], None]

REDUCING = "pressure-reducing"
ROOMS_NAMED = 8  # of those there are, the likest to one that there is not


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
    return review_with_context(models, job_file, code, progress, packs, today)[0]


def review_with_context(
    models: Sequence[Path],
    job_file: Path | None = None,
    code: str | None = None,
    progress: Progress | None = None,
    packs: Packs | None = None,
    today: date | None = None,
) -> tuple[Review, Context]:
    """The same, with the plumbing, code and job that were reviewed."""
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
) -> tuple[Review, Context]:
    packs = packs or load_packs()
    the_job, written, packs = _job(job_file, packs)
    loaded = codes.load(_code_name(code or the_job.adopted_code))
    packs, loaded = adopt(packs, loaded)
    packs, left_out = _in_scope(packs, the_job)
    adopted = amended(loaded, the_job)
    say = progress or (lambda what, done, total: None)
    model = _read(models, the_job, packs, progress)
    _name_regulators(the_job, model)
    surroundings = Surroundings(model)
    lowest = next((f.level_m for f in surroundings.floors.likely), model.zero_m)
    the_job, raised = job.in_model_heights(the_job, model.zero_m, lowest)
    say("Tracing the network", 0, 1)
    connected = network.connect(model)
    plumbing = _build(connected, the_job, surroundings)
    _refuse_unknown_elements(the_job, model, models)
    _refuse_unknown_rooms(the_job, model)
    say("Reviewing", 0, 1)
    if is_site(connected):
        packs = _about_the_model(packs)
    context = Context(adopted, plumbing, the_job)
    judgement = judge(packs.loaded, context)
    findings, variances = accept(judgement.findings, the_job.variances, today or date.today())
    say("Reviewing again with the corrections", 0, 1)
    again = Again(
        model, packs.loaded, context, judgement.findings,
        lambda changed, around: _build(changed, the_job, around),
    )  # fmt: skip
    corrected = corrections(
        findings, connected, again, _runs(plumbing), again.bearing, _drained(plumbing)
    )
    findings = agreed(findings, corrected)
    given, risers, failures = _extras(packs, context)
    settled_by_variance = {f.id for f in findings if f.variance is not None}
    settled = judged(judgement.said, plumbing, settled_by_variance)
    verdict, reason = verdict_of(
        plumbing, packs, findings, judgement.coverage, len(corrected), settled,
        (*packs.failures, *judgement.failures),
    )  # fmt: skip
    told = first_to_mend(model), reason, of_a_part(packs)
    done = Review(
        generator=f"ifclint {__version__}",
        models=tuple(model.files),
        adopted_code=code_info(adopted),
        job=written,
        verdict=verdict,
        reason=" ".join(filter(None, told)),
        findings=tuple(findings),
        coverage=(*judgement.coverage, *left_out),
        failures=(*packs.failures, *judgement.failures, *failures),
        network=summarise(connected),
        corrections=corrected,
        schedules=tuple(schedules(given, corrected)),
        risers=tuple(risers),
        elements=tuple(elements_of(model)),
        plans=plans(model),
        turned_rad=model.turned_rad,
        judged=settled,
        set_aside=set_aside(plumbing),
        variances=tuple(variances),
        amendments=tuple(
            f"{change.place}, {change.column}: {change.text}" for change in adopted.changes
        ),
        assumptions=tuple(assumptions(the_job, plumbing, raised)),
        cautions=CAUTIONS,
    )
    return done, context


def read(
    models: Sequence[Path], job_file: Path | None = None, progress: Progress | None = None
) -> Model:
    """The models of one building as the job file has them read."""
    packs = load_packs()
    the_job, _, packs = _job(job_file, packs)
    return _read(models, the_job, packs, progress)


def _job(job_file: Path | None, packs: Packs) -> tuple[job.Job, dict[str, Any], Packs]:
    """The job with the sections of those packs whose sections there can be, and the packs without
    any whose section broke on what is written in it."""
    sections = job.fitting(packs.sections, packs.broken)
    if job_file is None:
        return job.job_with(sections)(), {}, packs
    try:
        return *job.load(job_file, sections), packs
    except job.SectionFailed as failed:
        return _job(job_file, packs.without(failed.name, explain(failed.error)))


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


def _refuse_unknown_elements(the_job: job.Job, model: Model, models: Sequence[Path]) -> None:
    known = {element.guid for element in model.elements}
    for name, section in the_job:
        for key, guid in section.named_elements() if isinstance(section, job.Section) else ():
            if guid in known:
                continue
            if (found := ifc.name_in_file(guid, models)) is not None:
                raise InputError(
                    f"Job file, {name}.{key}: {found} is not read as plumbing; say what it is in "
                    "the job file ([[reading.vocabulary.element]]) or by its class or name."
                )
            raise InputError(f'Job file, {name}.{key}: no element has the GlobalId "{guid}".')


def _refuse_unknown_rooms(the_job: job.Job, model: Model) -> None:
    """Raises InputError for a room that is not among those of the model. Where a file without any
    rooms is reviewed alone, that is noted."""
    known = {space.name for space in model.spaces} | {e.space for e in model.elements if e.space}
    for name, section in the_job:
        for key, room in section.named_rooms() if isinstance(section, job.Section) else ():
            if room in known:
                continue
            what = f'Job file, {name}.{key}: the model has no room "{room}"'
            if not known:
                remedy = "Give the file with the rooms (IfcSpace) to the review."
                model.notes.append(Note(f"{what}, nor any other.", remedy, topic="rooms"))
                return
            like = get_close_matches(room, sorted(known), n=ROOMS_NAMED, cutoff=0.0)
            raise InputError(f"{what}; it has {', '.join(like)}.")


def _name_regulators(the_job: job.Job, model: Model) -> None:
    """A valve of no known kind that the job file names for the pressure behind it regulates it.

    Raises InputError for what it names as a gas regulator and is read as something else.
    """
    of_gas = {regulator.element for regulator in the_job.gas.regulators}
    behind = {pressure.element for pressure in the_job.water.pressures}
    for element in model.elements:
        is_one = element.role in (Role.REGULATOR, Role.METER) or element.kind == REDUCING
        if element.guid not in of_gas | behind or is_one:
            continue
        if element.role is Role.VALVE and not element.kind:
            element.kind = REDUCING
            element.basis = {**element.basis, "kind": Basis("job file")}
        elif element.guid in of_gas:
            raise InputError(
                f"Job file, gas.regulators.element: {element.label} is read as "
                f"{element.kind or element.role.value}, which regulates no gas; name the "
                "regulator, or say in the job file that it is one ([[reading.vocabulary.element]])."
            )


def _code_name(name: str | None) -> str:
    if name is None:
        known = " or ".join(codes.editions())
        raise InputError(
            f"No adopted code is given; add --code or adopted_code in the job file ({known})."
        )
    return name


def _build(
    connected: Network, the_job: job.Job, surroundings: Surroundings | None = None
) -> Plumbing:
    return build(
        connected,
        the_job.drainage.outlets,
        [flow.element for flow in the_job.drainage.continuous_flow],
        the_job.gas.source,
        the_job.water.source,
        surroundings,
        [load.element for load in the_job.gas.loads],
    )


def _runs(plumbing: Plumbing) -> dict[str, DrainRun]:
    """How the pipes of the drainage are used: as vents also those that are drawn as drains."""
    storm = plumbing.storm.segments if plumbing.storm is not None else []
    vent = System.VENT.value
    used = [
        *((s, vent if s.service is Service.VENT else System.SANITARY.value)
          for s in plumbing.segments),
        *((s.segment, vent) for s in plumbing.venting.segments),
        *((s, System.STORM.value) for s in storm),
    ]  # fmt: skip
    return {
        pipe.element.key: DrainRun(pipe.up, service, "" if service == vent else segment.part.value)
        for segment, service in used
        for pipe in segment.pipes
    }


def _drained(plumbing: Plumbing) -> list[Drainage]:
    """The sanitary and the storm drainage, where there is one."""
    storm = [plumbing.storm.drainage] if plumbing.storm is not None else []
    return [plumbing.drainage, *storm]


def _apart_from(known: list[Schedule], brought: list[Schedule]) -> list[Schedule]:
    """The schedules of a pack; ValueError where another pack has the key for another table."""
    titles = {schedule.key: schedule.title for schedule in known}
    for each in brought:
        if titles.get(each.key, each.title) != each.title:
            raise ValueError(f'there is a schedule "{each.key}" already: {titles[each.key]}')
    return brought


def _extras(packs: Packs, context: Context) -> tuple[list[Schedule], list[Riser], list[Failure]]:
    """Schedules and drawings of the packs, each pack by itself."""
    schedules: list[Schedule] = []
    risers: list[Riser] = []
    failures: list[Failure] = []
    for pack in packs.loaded:
        try:
            schedules += _apart_from(schedules, pack.schedules(context))
            risers += pack.drawings(context)
        except RAISED as error:
            failures.append(Failure(pack.name, "", explain(error)))
        if printed := pack.guard.printed():
            failures.append(Failure(pack.name, "", printed))
    return schedules, risers, failures
