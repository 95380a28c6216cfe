"""What a review rests on: how the model was read, what was taken for granted, which code values."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from ifclint import job
from ifclint.codes import AdoptedCode
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import how_many, so_with_more
from ifclint.findings import AdoptedCodeInfo, Count, NetworkSummary, ReviewedElement
from ifclint.ifc.elements import Location, Model, Note, Role
from ifclint.network import Network
from ifclint.plumbing import Plumbing

CAUTIONS = (
    "This review reads a model; it does not see the building. It does not replace the plan review "
    "or inspection of the authority having jurisdiction, nor the judgement of a licensed engineer "
    "or plumber. Where local code, amendment or approval differs, it governs.",
    "Sewer gas, fuel gas, hot water and pressure injure and kill. Have drains and vents tested, "
    "gas piping pressure-tested and relief valves verified by licensed persons before use.",
    "Values marked as from memory were not read from a published code; check them against the "
    "adopted code book before relying on a finding that rests on them.",
)

NO_RULE = ("none", "fieldsheet")  # who uses a table that no finding can rest on


def elements_of(model: Model) -> Iterator[ReviewedElement]:
    for e in model.elements:
        if e.role is not Role.OTHER:
            place = Location(e.storey, e.space, *(e.position or (None, None, None)))
            yield ReviewedElement(e.guid, e.ifc_class, e.name, e.type_name, e.tag, place)


def code_info(code: AdoptedCode) -> AdoptedCodeInfo:
    tables = [t for t in map(code.table, code.tables) if not t.used_by.startswith(NO_RULE)]
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


def assumptions(the_job: job.Job, plumbing: Plumbing, raised: Sequence[str]) -> list[str]:
    """What was taken where neither the model nor the job file says."""
    said = []
    if raised:
        zero_ft = plumbing.network.model.zero_m / M_PER_FT
        said.append(
            f"Heights in the job file counted from the storeys' own zero, which the model places "
            f"at {zero_ft:,.2f} ft: {', '.join(raised)}."
        )
    if existing := sum(e.is_existing and not e.piece for e in plumbing.network.elements):
        said.append(
            f"{existing} element{' is' if existing == 1 else 's are'} stated to be existing: "
            "beside new piping, what is wrong with them alone is advice, unless it is a danger; "
            "their load is judged."
        )
    if the_job.building.occupancy is None:
        said.append("Occupancy not given: private use taken (job file, building.occupancy).")
    stated = [p.element for s in plumbing.drains for p in s.pipes if p.falls_as_stated]
    if stated:
        first = f'"{stated[0].label}"'
        said.append(
            f"Gradient stated taken for {how_many(len(stated), 'drain pipe')} drawn level, the "
            f"first {first}; heights are as drawn."
        )
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
    whole = [(i, e) for i, e in enumerate(elements) if not e.piece]  # a pipe by its first piece
    groups: dict[tuple[str, str], list[int]] = {}
    alike = Counter(
        (e.role, e.system, e.size_in is not None, bool(connected.joined[i])) for i, e in whole
    )
    for (role, system, sized, is_joined), count in alike.items():
        named = system.value if system else "not known"
        counted = groups.setdefault((role.value, named), [0, 0, 0])
        counted[0] += count
        counted[1] += count * sized
        counted[2] += count * is_joined
    known_from: dict[str, Counter[str]] = {}
    known = chain.from_iterable(e.basis.items() for _, e in whole)
    for (fact, basis), count in Counter(known).items():
        known_from.setdefault(fact, Counter())[basis.words] += count
    pipes = connected.of_role[Role.PIPE]
    joints = [j for j in connected.joints if not elements[j.a].one_pipe_with(elements[j.b])]
    gaps = [joint.gap_m for joint in joints if joint.gap_m > 0]
    return NetworkSummary(
        counts=tuple(Count(*key, *counted) for key, counted in sorted(groups.items())),
        elements=len(whole),
        joints=len(joints),
        inferred_joints=sum(joint.inferred for joint in joints),
        bridged_joints=len(gaps),
        widest_gap_m=largest(gaps),
        joining_tolerance_m=connected.model.joining_tolerance_m,
        islands=connected.components(),
        connected_share=connected.connected_share(),
        sizes_known_share=sum(e.size_in is not None for e in pipes) / len(pipes) if pipes else 0.0,
        known_from={fact: dict(sorted(c.items())) for fact, c in sorted(known_from.items())},
        notes=tuple(_told_once(connected.model.notes)),
    )


def _told_once(notes: Iterable[Note]) -> Iterator[str]:
    """Notes of one cause, or one wording, as one."""
    alike: dict[tuple[str, str], list[Note]] = {}
    for note in notes:
        alike.setdefault((note.cause or note.what, note.remedy), []).append(note)
    for first, *others in alike.values():
        if any(other.what != first.what for other in others):
            yield f"{first.what}{so_with_more(len(others) + 1)} {first.remedy}"
        else:
            times = f" ({len(others) + 1} times)" if others else ""
            yield f"{first.what} {first.remedy}{times}"
