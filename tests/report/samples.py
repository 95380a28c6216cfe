"""Reviews made up for the report's tests: none of them came out of a model."""

from __future__ import annotations

import datetime
from dataclasses import replace
from math import inf, nan

from ifclint.drawings import Plan, PlanBox, PlanPipe, Riser, RiserLine, RiserMark
from ifclint.findings import (
    AdoptedCodeInfo,
    Column,
    Correction,
    Count,
    Coverage,
    Failure,
    Finding,
    Measure,
    NetworkSummary,
    Outcome,
    Review,
    ReviewedAgain,
    Schedule,
    Severity,
    Step,
    Verdict,
)
from ifclint.ifc.elements import GridAxis, Location, ModelFile, Point

FALL = 1 / 48
LEVELS = (("Crawl space", -0.6), ("Ground floor", 0.0), ("Upper floor", 3.1), ("Roof", 6.2))
HOSTILE = (
    "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7*7 }}\x00\x1b[31m\u202e\ud800"
)


def empty() -> Review:
    """A model without plumbing."""
    return Review(
        generator="ifclint 0.1.0",
        models=(),
        adopted_code=AdoptedCodeInfo("upc-2021", "2021 Uniform Plumbing Code", "2021"),
        job={},
        verdict=Verdict.NOT_REVIEWABLE,
        reason="The model holds no pipe that is in a drainage system.",
        findings=(),
        coverage=(),
        failures=(),
        network=NetworkSummary(),
    )


def passing() -> Review:
    coverage = Coverage("drainage-sizing", "drain-size", "A drain is large enough", "703.1", 12, 12)
    return replace(
        empty(), verdict=Verdict.PASS, reason="Nothing to correct was found.", coverage=(coverage,)
    )


def full() -> Review:
    """A two-storey house with findings of every outcome, a riser, schedules and a failed rule."""
    return _corrected(_house())


def _corrected(review: Review) -> Review:
    """With a correction for each violation, in their order."""
    made = tuple(
        Correction(
            id=f"correction-of-{finding.id}",
            title=finding.remedy,
            severity=finding.severity,
            subject=finding.subject,
            system=finding.system,
            location=finding.location,
            near="" if finding.location.space else "Kitchen sink K-1",
            element_ids=finding.element_ids,
            changes=(),
            finding_ids=(finding.id,),
            reviewed_again=ReviewedAgain((finding.id,), ())
            if "in 3 in" in finding.remedy
            else None,
        )
        for finding in review.findings
        if finding.outcome is Outcome.VIOLATION
    )
    return replace(review, corrections=made)


def _plan() -> Plan:
    return Plan(
        "Upper floor",
        (PlanBox((0.0, 0.0), (9.0, 0.2)), PlanBox((0.0, 0.2), (0.2, 6.0))),
        (PlanBox((4.0, 2.0), (7.0, 5.0), "Bath 2"),),
        (PlanBox((5.0, 3.0), (5.6, 3.7), "Water closet WC-2"),),
        (
            PlanPipe("d-wc2", (5.2, 3.4, 2.8), (8.0, 3.4, 2.7), "drain", 2.0),
            PlanPipe("s-1", (8.0, 3.4, 2.7), (8.0, 3.4, 0.0), "drain", 3.0),
            PlanPipe("c-1", (5.2, 3.2, 2.8), (40.0, 3.2, 2.8), "cold", None),
        ),
    )


def _house() -> Review:
    return Review(
        generator="ifclint 0.1.0",
        models=(ModelFile("quince_house.ifc", "9f" * 32, "IFC4", "Drawing Board 4"),),
        adopted_code=AdoptedCodeInfo(
            "upc-2021",
            "2021 Uniform Plumbing Code",
            "2021",
            tables=("Table 702.1", "Table 703.2", "708.1"),
            from_memory=("Table 703.2",),
        ),
        job={
            "name": "Quince House, permit set 2",
            "address": "14 Orchard Lane, Harrow Bend",
            "building": {"occupancy": "private", "freezing": False},
            "water": {"static_pressure": "68 psi"},
            "variance": [{"until": datetime.date(2026, 5, 1)}],
        },
        verdict=Verdict.CORRECTIONS_REQUIRED,
        reason="3 drains and 1 fitting do not meet the adopted code; 3 facts are missing.",
        findings=_findings(),
        coverage=_coverage(),
        failures=(Failure("venting", "dry-vent-rise", "division by zero on one subject"),),
        network=_network(),
        schedules=(_fixture_schedule(), _drain_schedule()),
        risers=(house_riser(),),
        plans=(_plan(),),
        assumptions=("Flush volume of WC-2 is not stated: 1.6 gal or less taken.",),
        cautions=("Table 703.2 is quoted from memory.",),
    )


def many(count: int = 50_000) -> Review:
    """A review with very many findings, a third of each outcome."""
    kinds = (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED)
    pattern = _findings()[0]
    findings = tuple(
        replace(
            pattern,
            id=f"drain-size-{n}",
            outcome=kinds[n % 3],
            element_ids=(f"{n:022d}",),
            location=Location(f"Level {n % 40}", f"Room {n}", n * 0.1, n * 0.2, n % 40 * 3.0),
            remedy="Give the pipe a nominal diameter." if n % 3 == 2 else "Lay it in 3 in.",
        )
        for n in range(count)
    )
    return _corrected(replace(full(), findings=findings, failures=()))


def hostile() -> Review:
    """Every text that comes from a model or a job file tries to break out."""
    text, long = HOSTILE, "M" * 1_000_000
    finding = Finding(
        id=text,
        pack=text,
        rule=text,
        outcome=Outcome.VIOLATION,
        severity=Severity.HIGH,
        title=text,
        message=text + long,
        clause=text,
        subject=long,
        system=text,
        element_ids=(text, "'onmouseover=alert(3) x='"),
        location=Location(text, long, float("nan"), None, 1.0),
        measured=Measure(float("nan"), text, "at most"),
        required=Measure(float("inf"), "in"),
        remedy=text,
        steps=(Step(text, float("nan"), text, text),),
    )
    place = (0.0, 0.0, 0.0)
    hostile_box = PlanBox((0.0, 0.0), (float("nan"), float("inf")), text)
    made = replace(
        full(),
        plans=(
            Plan(
                text,
                (hostile_box, PlanBox((0.0, 0.0), (5.0, 0.2), text)),
                (hostile_box,),
                (hostile_box,),
                (),
                (replace(hostile_box, label="door"),),
                (GridAxis(text, (1.0, -9.0), (1.0, 9.0)), GridAxis(text, (nan, 0.0), (inf, 1.0))),
                nan,
                nan,
            ),
            Plan(long, (), (), (), ()),
        ),
        models=(ModelFile(long, text, text, text),),
        job={"name": text, "address": text, text: {text: [text, float("nan")]}},
        reason=text,
        findings=(finding, replace(finding, outcome=Outcome.UNVERIFIED), finding),
        coverage=(
            Coverage(text, text, text, text, 0, note=text),
            Coverage(text, text, long, text, 1),
        ),
        failures=(Failure(text, text, long),),
        network=NetworkSummary(
            counts=(Count(text, text, 1, 1, 1),), known_from={text: {text: 1}}, notes=(text, long)
        ),
        schedules=(Schedule(text, text, (Column("a", text, text),), ({"a": text},), text),),
        risers=(
            Riser(
                text,
                text,
                (
                    RiserLine((text,), (place, (1.0, 0.0, 0.0)), text, text, long, float("nan")),
                    RiserLine(("b",), (place, (float("nan"), 0.0, 0.0)), "drain"),
                    RiserLine(("c",), (), "drain", "no path"),
                    RiserLine(("d",), (place, place), "drain", "no length"),
                ),
                (RiserMark(text, text, place, text),),
                ((text, 0.0),),
            ),
            Riser("empty", text, (), ()),
        ),
        assumptions=(text,),
        cautions=(text,),
    )
    return _corrected(made)


def _findings() -> tuple[Finding, ...]:
    bath = Location("Upper floor", "Bath 2", 5.2, 3.4, 2.85)
    table = "Table 703.2"
    closet = Finding(
        id="drain-size-1kTvXnbbzCWw8lcMd1dR4o",
        pack="drainage-sizing",
        rule="drain-size",
        outcome=Outcome.VIOLATION,
        severity=Severity.HIGH,
        title="A drain is large enough for what it carries",
        message="The branch from WC-2 is 2 in; a water closet may not drain into less than 3 in.",
        clause=table,
        subject="2 in branch from WC-2 to stack S-1",
        system="sanitary drainage",
        element_ids=("d-wc2", "1kTvXnbbzCWw8lcMd1dR4o"),
        location=bath,
        measured=Measure(2.0, "in"),
        required=Measure(3.0, "in", "at least"),
        remedy="Lay the branch in 3 in from the closet bend to the stack.",
        steps=(
            Step("WC-2, private, 1.6 gal flush or less", 3.0, "DFU", "Table 702.1"),
            Step("Lavatory L-2, private", 1.0, "DFU", "Table 702.1"),
            Step("Load on the branch: 3 + 1", 4.0, "DFU"),
            Step("Smallest horizontal drain that may take a water closet", 3.0, "in", table),
        ),
    )
    slope = replace(
        closet,
        id="slope-d-main-2",
        rule="drain-slope",
        severity=Severity.MEDIUM,
        title="A horizontal drain falls enough",
        message="The building drain falls too little between the kitchen wye and the sewer.",
        clause="708.1",
        subject="4 in building drain, kitchen wye to sewer",
        element_ids=("d-main-2",),
        location=Location("Crawl space", "", 1.2, 2.0, -0.52),
        measured=Measure(0.125, "in/ft"),
        required=Measure(0.25, "in/ft", "at least"),
        remedy="Lower the sewer end by 5-3/8 in, or have 1/8 in/ft approved.",
        steps=(Step("Fall 0.036 m over a run of 3.46 m", 0.125, "in/ft", "port positions"),),
    )
    kitchen = replace(
        closet,
        id="drain-size-kitchen",
        severity=Severity.MEDIUM,
        message="The kitchen drain is 1-1/2 in beyond its trap arm.",
        clause="Table 702.1, footnote 2",
        subject="1-1/2 in drain from kitchen sink K-1",
        element_ids=("d-k1",),
        location=Location("Ground floor", "Kitchen", 9.1, 2.0, -0.3),
        measured=Measure(1.5, "in"),
        required=Measure(2.0, "in", "at least"),
        remedy="Lay it in 2 in from the sanitary tee down.",
        steps=(),
    )
    tee = replace(
        closet,
        id="fitting-tee",
        rule="fitting-for-turn",
        title="A fitting suits the change of direction",
        message="A sanitary tee lies on its back where a horizontal branch joins a drain.",
        clause="706.3",
        subject="Sanitary tee at the laundry branch",
        element_ids=("d-lau",),
        location=Location("Ground floor", "Laundry"),
        measured=None,
        required=None,
        remedy="Use a wye or a combination wye and eighth bend.",
        steps=(),
    )
    velocity = replace(
        slope,
        id="velocity",
        rule="self-cleansing",
        outcome=Outcome.ADVISORY,
        severity=Severity.LOW,
        title="A drain keeps itself clean",
        message="At half full the 3 in branch runs slower than solids need.",
        clause="good practice",
        subject="3 in branch from Bath 1",
        element_ids=("d-wc1",),
        location=Location("Ground floor", "Bath 1", 3.0, 5.5, -0.35),
        measured=Measure(1.7, "ft/s"),
        required=Measure(2.0, "ft/s", "at least"),
        remedy="Give it 1/4 in/ft.",
    )
    size = replace(
        closet,
        id="size-missing",
        outcome=Outcome.UNVERIFIED,
        severity=Severity.MEDIUM,
        message="Its nominal size is not stated and its outside diameter fits no trade size.",
        subject="Drain from lavatory L-1",
        element_ids=("d-l1",),
        location=Location("Ground floor", "Bath 1", 2.1, 5.0, 0.4),
        measured=None,
        required=None,
        remedy="State NominalDiameter in Pset_PipeSegmentTypeCommon.",
        steps=(),
    )
    load = replace(
        size, id="load-missing", subject="3 in branch from Bath 1", element_ids=("d-wc1",)
    )
    outlet = replace(
        size,
        id="outlet-missing",
        rule="reaches-outlet",
        title="Every drain leads to an outlet",
        message="It ends 0.4 m short of any other pipe.",
        subject="Condensate drain C-1",
        element_ids=("0absent",),
        location=Location(),
        remedy="Join it to a receptor, or model the receptor.",
    )
    return closet, slope, kitchen, tee, velocity, size, load, outlet


def _coverage() -> tuple[Coverage, ...]:
    pack = "drainage-sizing"
    size = "A drain is large enough for what it carries"
    return (
        Coverage(pack, "drain-size", size, "Table 703.2", 31, 26, 2, 0, 2, 1),
        Coverage(pack, "drain-slope", "A horizontal drain falls enough", "708.1", 14, 13, 1),
        Coverage(pack, "fitting-for-turn", "A fitting suits the turn", "706", 22, 21, 1),
        Coverage(pack, "reaches-outlet", "Every drain leads to an outlet", "", 15, 14, 0, 0, 1),
        Coverage(pack, "self-cleansing", "A drain keeps itself clean", "", 14, 13, 0, 1),
        Coverage(
            pack, "sump-lift", "A sump lifts what it takes", "710", note="no sump in this model"
        ),
    )


def _network() -> NetworkSummary:
    return NetworkSummary(
        counts=(
            Count("pipe", "sanitary drainage", 64, 63, 64),
            Count("fitting", "sanitary drainage", 58, 58, 58),
            Count("fixture", "", 9, 0, 9),
        ),
        elements=131,
        joints=140,
        inferred_joints=6,
        bridged_joints=2,
        widest_gap_m=0.0127,
        joining_tolerance_m=0.005,
        islands=2,
        connected_share=0.992,
        sizes_known_share=0.923,
        known_from={
            "size": {"Pset_PipeSegmentTypeCommon": 60, "type name": 61},
            "role": {"class": 131},
        },
        notes=("Pipe 'P-77' is 2.1 m by its quantity and 2.4 m by its axis.",),
    )


def _fixture_schedule() -> Schedule:
    rows = [
        {
            "element_id": "WC-1",
            "name": "Water closet WC-1",
            "place": "Bath 1",
            "trap": 3.0,
            "dfu": 3.0,
        },
        {"element_id": "L-1", "name": "Lavatory L-1", "place": "Bath 1", "trap": 1.25, "dfu": 1.0},
        {
            "element_id": "K-1",
            "name": "Kitchen sink K-1",
            "place": "Kitchen",
            "trap": 1.5,
            "dfu": 2.0,
        },
        {"element_id": "FD-1", "name": "Floor drain FD-1", "place": "", "trap": 2.0, "dfu": None},
    ]
    columns = (
        Column("name", "Fixture"),
        Column("place", "Space"),
        Column("trap", "Trap", "in"),
        Column("dfu", "Load", "DFU"),
    )
    return Schedule("fixtures", "Fixtures", columns, tuple(rows), "Loads by Table 702.1, private.")


def _drain_schedule() -> Schedule:
    columns = (
        Column("run", "Run"),
        Column("size", "Size", "in"),
        Column("dfu", "Load", "DFU"),
        Column("capacity", "Capacity", "DFU"),
        Column("slope", "Slope", "in/ft"),
        Column("length", "Length", "ft"),
        Column("vertical", "Vertical"),
    )
    rows = tuple(
        {
            "element_id": line.element_ids[0],
            "run": line.detail or line.element_ids[0],
            "size": line.size_in,
            "dfu": 2 + n,
            "capacity": 35,
            "slope": 0.25 if n % 3 else None,
            "length": 3.281 * (n + 1),
            "vertical": n % 3 == 0,
        }
        for n, line in enumerate(house_riser().lines)
        if line.service == "drain"
    )
    return Schedule("drains", "Drains", columns, rows)


def house_riser() -> Riser:
    """Soil, waste and vents of a two-storey house: baths above one another, kitchen, laundry."""
    lines: list[RiserLine] = []
    marks: list[RiserMark] = []

    def run(
        key: str, points: list[Point], size: float, dfu: int = 0, service: str = "drain"
    ) -> None:
        name = {1.25: "1-1/4", 1.5: "1-1/2"}.get(size, f"{size:g}")
        label = f"{name} in · {dfu} DFU" if dfu else f"{name} in"
        detail = f"{name} in {service} {key}"
        lines.append(RiserLine((key,), tuple(points), service, label, detail, size))

    def fixture(
        name: str,
        kind: str,
        x: float,
        y: float,
        floor: float,
        size: float,
        dfu: int,
        to: Point,
        height: float,
    ) -> None:
        """A fixture with its trap, its fixture drain to `to` and its vent up through the wall."""
        trap = (x, y, floor + height)
        marks.append(RiserMark(name, kind, (x, y, floor + height + 0.35), name))
        key = "d-" + name.lower().replace("-", "")
        low = to[2] + FALL * (abs(x - to[0]) + abs(y - to[1]))
        if kind != "water-closet":
            marks.append(RiserMark(f"trap-{name}", "p-trap", trap))
            wall = (x, y + 0.5, floor + height - 0.01)
            run(f"a-{name}", [trap, wall], size)
            run(
                key,
                [wall, (x, y + 0.5, low), (to[0], y + 0.5, low - FALL * abs(x - to[0])), to],
                size,
                dfu,
            )
            run(f"v-{name}", [wall, (x, y + 0.5, floor + 1.2)], 1.5, service="vent")
        else:
            run(key, [trap, (x, y, low), (to[0], y, low - FALL * abs(x - to[0])), to], size, dfu)

    stack_top: Point = (4.0, 4.0, 2.7)
    stack_low: Point = (4.0, 4.0, -0.35)
    wye_k: Point = (4.0, 1.5, -0.45)
    run("s-1", [stack_top, (4.0, 4.0, 0.0), stack_low], 3, 11)
    run("v-stack", [stack_top, (4.0, 4.0, 6.6)], 3, service="vent")
    run("d-main-1", [stack_low, wye_k], 4, 18)
    run("d-main-2", [wye_k, (4.0, -3.0, -0.5)], 4, 24)
    marks.append(RiserMark("vtr-1", "vent-through-roof", (4.0, 4.0, 6.6), "VTR 3 in"))
    marks.append(RiserMark("sewer", "sewer-connection", (4.0, -3.0, -0.5), "Sewer"))
    marks.append(RiserMark("co-1", "two-way", (4.0, -2.0, 0.0), "Two-way CO"))
    run("co-1", [(4.0, -2.0, -0.49), (4.0, -2.0, 0.0)], 4, service="cleanout")
    for floor, node, tag in ((3.1, stack_top, "2"), (0.0, stack_low, "1")):
        fixture(f"WC-{tag}", "water-closet", 5.4, 4.6, floor, 2 if tag == "2" else 3, 3, node, 0.0)
        fixture(f"L-{tag}", "lavatory", 2.2, 4.4, floor, 1.25, 1, node, 0.45)
        fixture(f"B-{tag}", "bathtub", 6.8, 5.2, floor, 2, 2, node, -0.15)
        header = floor + 1.2
        run(
            f"vh-{tag}",
            [(2.2, 4.9, header), (4.0, 4.9, header + 0.04), (6.8, 5.7, header)],
            1.5,
            service="vent",
        )
        run(f"vr-{tag}", [(4.0, 4.9, header + 0.04), (4.0, 4.0, header + 0.06)], 2, service="vent")
    fixture("K-1", "kitchen-sink", 9.0, 1.0, 0.0, 1.5, 2, wye_k, 0.5)
    fixture("CW-1", "clothes-washer", 9.0, 6.0, 0.0, 2, 3, (4.0, 3.0, -0.39), 0.3)
    lines.append(
        replace(
            lines[-2],
            element_ids=("d-lau",),
            points=((4.0, 3.2, -0.4), (4.0, 3.0, -0.39)),
            label="",
        )
    )
    run("v-k", [(9.0, 1.5, 1.2), (9.0, 1.5, 6.5)], 1.5, service="vent")
    run("v-cw", [(9.0, 6.5, 1.2), (9.0, 6.5, 6.5)], 1.5, service="vent")
    marks.append(RiserMark("vtr-2", "vent-through-roof", (9.0, 1.5, 6.5), "VTR 1-1/2 in"))
    marks.append(RiserMark("vtr-3", "vent-through-roof", (9.0, 6.5, 6.5), "VTR 1-1/2 in"))
    run("co-2", [(9.0, 6.5, -0.28), (9.6, 6.5, -0.27)], 2, service="cleanout")
    marks.append(RiserMark("co-2", "cleanout", (9.6, 6.5, -0.27), "CO 2 in"))
    return Riser("drains", "Soil, waste and vent", tuple(lines), tuple(marks), LEVELS)
