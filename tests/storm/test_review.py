"""A whole review of storm drainage drawn in IFC: what is read, judged, corrected and set aside."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.findings import Finding, Review, Settles, Verdict
from ifclint.ifc import read
from ifclint.review import review
from tests.ifc.small_models import SmallModel

AREA = """
[[storm.areas]]
element = "{guid}"
area = "{feet} ft**2"
"""


def hall(
    folder: Path, schema: str = "IFC4", drained: str = "", fall: float = 0.4
) -> tuple[Path, dict[str, str]]:
    """A flat roof of 20 m by 13 m with one roof drain, its leader, and 20 m of DN100 storm drain
    at 2 %; a yard drain beside, which is the site's. Metres."""
    m = SmallModel(schema, "METRE")
    roof = m.block("IfcSlab", "Roof slab", (0, 0, 5.8), (20, 13, 6), PredefinedType="ROOF")
    wall = m.block(
        "IfcWall" if schema != "IFC2X3" else "IfcWallStandardCase", "W", (0, 0, 0), (20, 0.2, 6)
    )
    m.contain(roof, m.storey)
    m.contain(wall, m.storey)
    drain = m.element(
        "IfcWasteTerminal", "Roof drain RD-1", predefined="ROOFDRAIN", at=m.placement((10, 6, 6))
    )
    port = m.ports(drain, (10, 6, 5.9))
    leader = m.pipe((10, 6, 5.9), (10, 6, -0.5), diameter=0.110, name="Leader")
    level = m.pipe((10, 6, -0.5), (30, 6, -0.5 - fall), diameter=0.110, name="Storm drain")
    if drained:
        m.property_set(drain, "Roof", [m.single("DrainageArea", "IfcAreaMeasure", float(drained))])
    for pipe, ends in (
        (leader, ((10, 6, 5.9), (10, 6, -0.5))),
        (level, ((10, 6, -0.5), (30, 6, -0.5 - fall))),
    ):
        m.ports(pipe, *ends)
        m.properties(
            pipe, "Pset_PipeSegmentTypeCommon",
            NominalDiameter=("IfcPositiveLengthMeasure", 0.100),
        )  # fmt: skip
        m.material(pipe, "PVC-U")
    yard = m.pipe((40, 20, -0.5), (60, 20, -0.9), diameter=0.160, name="Yard drain")
    assert port
    m.system("Rain water", [drain, leader, level, yard], "STORMWATER")
    guids = {"drain": drain.GlobalId, "leader": leader.GlobalId, "level": level.GlobalId}
    return m.write(folder), guids


def reviewed(path: Path, job: str, code: str = "upc-2021") -> Review:
    job_file = path.with_suffix(".toml")
    job_file.write_text(f'adopted_code = "{code}"\n' + job, encoding="utf-8")
    done = review([path], job_file)
    assert not done.failures
    return done


def of(done: Review, rule: str) -> list[Finding]:
    return [finding for finding in done.findings if finding.rule == rule]


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4", "IFC4X3_ADD2"])
def test_a_roof_too_large_is_found_and_corrected(tmp_path: Path, schema: str) -> None:
    path, guids = hall(tmp_path, schema)
    job = '[storm]\nrate = "4 in/hour"\nparapets = false\n' + AREA.format(
        guid=guids["drain"], feet=2700
    )
    done = reviewed(path, job)
    (wrong,) = of(done, "storm-drain-size")
    assert wrong.element_ids == (guids["level"],)
    assert wrong.measured is not None
    assert wrong.required is not None
    assert (wrong.measured.value, wrong.required.value) == pytest.approx((2700, 2650), abs=0.5)
    (correction,) = [c for c in done.corrections if wrong.id in c.finding_ids]
    assert [(c.what, c.value) for c in correction.changes] == [("size", 5.0)]
    assert correction.reviewed_again is not None
    assert wrong.id in correction.reviewed_again.clears
    assert not correction.reviewed_again.raises
    assert [(s.service, s.elements) for s in done.set_aside] == [("storm drainage", 1)]


def test_a_storm_drain_too_flat_is_steepened(tmp_path: Path) -> None:
    path, guids = hall(tmp_path, fall=0.1)
    job = '[storm]\nrate = "1 in/hour"\nparapets = false\n'
    job += AREA.format(guid=guids["drain"], feet=1000)
    done = reviewed(path, job)
    (flat,) = of(done, "storm-slope")
    (correction,) = [c for c in done.corrections if flat.id in c.finding_ids]
    assert [(c.what, c.value) for c in correction.changes] == [("slope", pytest.approx(1 / 96))]
    assert correction.reviewed_again is not None
    assert flat.id in correction.reviewed_again.clears
    assert not correction.reviewed_again.raises


def test_the_roof_drain_tells_its_area(tmp_path: Path) -> None:
    path, _ = hall(tmp_path, drained="260")
    (wrong,) = of(reviewed(path, '[storm]\nrate = "4 in/h"\n'), "storm-drain-size")
    assert wrong.measured is not None
    assert wrong.measured.value == pytest.approx(260 / 0.3048**2)


def test_the_roof_is_no_larger_than_its_slab(tmp_path: Path) -> None:
    """The box of the slab is enough for a pass, and never for a violation."""
    path, _ = hall(tmp_path)
    small = reviewed(path, '[storm]\nrate = "2 in/hour"\nparapets = false\n')
    assert of(small, "storm-drain-size") == []
    large = reviewed(path, '[storm]\nrate = "4 in/hour"\nparapets = false\n')
    assert [f.outcome.value for f in of(large, "storm-drain-size")] == ["unverified"]


def test_storm_drainage_alone_is_reviewed(tmp_path: Path) -> None:
    path, guids = hall(tmp_path)
    job = '[storm]\nrate = "2 in/hour"\nparapets = false\n' + AREA.format(
        guid=guids["drain"], feet=2700
    )
    done = reviewed(path, job)
    assert done.verdict is Verdict.PASS, done.reason
    (line,) = [j for j in done.judged if j.pack == "storm"]
    assert (line.question, line.asked, line.judged) == (Settles.PIPE, 2, 2)


def test_without_the_rain_nothing_of_it_passes(tmp_path: Path) -> None:
    path, _ = hall(tmp_path)
    done = reviewed(path, "")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    (asked,) = of(done, "storm-drain-size")
    assert asked.message.startswith("The model is judged without the rain of the place: ")


def test_an_area_of_no_element_is_refused(tmp_path: Path) -> None:
    from ifclint.errors import InputError

    path, _ = hall(tmp_path)
    with pytest.raises(InputError, match=r'storm\.areas\.element: no element has the GlobalId "x"'):
        reviewed(path, AREA.format(guid="x", feet=100))


def test_an_area_of_what_is_no_plumbing_says_what_it_is(tmp_path: Path) -> None:
    from ifclint.errors import InputError

    path, _ = hall(tmp_path)
    guid = "3vB2YO$MX4xv5uCqZZG05x"
    text = path.read_text()
    at = text.index("ENDSEC;", text.index("DATA;"))
    beam = f"#990001=IFCBEAM('{guid}',$,'Purlin 7',$,$,$,$,$,$);\n"
    path.write_text(text[:at] + beam + text[at:])
    with pytest.raises(InputError) as raised:
        reviewed(path, AREA.format(guid=guid, feet=100))
    said = (
        f'Job file, storm.areas.element: IFCBEAM "Purlin 7" of {path.name} is not read as plumbing'
    )
    assert str(raised.value).startswith(said)


def test_the_schedule_lists_what_comes_down(tmp_path: Path) -> None:
    path, guids = hall(tmp_path)
    job = '[storm]\nrate = "2 in/hour"\n' + AREA.format(guid=guids["drain"], feet=1000)
    (schedule,) = [s for s in reviewed(path, job, "ipc-2021").schedules if s.key == "storm"]
    rows = {str(row["element_id"]): row for row in schedule.rows}
    assert rows[guids["level"]]["load"] == pytest.approx(1000 * 2 / 12 * 7.48052 / 60, rel=1e-4)
    assert rows[guids["level"]]["capacity"] == 163
    assert rows[guids["leader"]]["capacity"] == 180


def test_gutters_and_scuppers_of_a_file_are_read_and_judged(tmp_path: Path) -> None:
    """A gutter as a pipe segment or as a proxy, told by name or class, its diameter in a property;
    a scupper as a proxy with a body of 0.2 m by 0.12 m in the parapet."""
    m = SmallModel("IFC4", "METRE")
    slab = m.block("IfcSlab", "Roof slab", (0, 0, 5.8), (20, 13, 6), PredefinedType="ROOF")
    m.contain(slab, m.storey)
    drain = m.element(
        "IfcWasteTerminal", "Roof drain RD-1", predefined="ROOFDRAIN", at=m.placement((10, 6, 6))
    )
    m.ports(drain, (10, 6, 5.9))
    leader = m.pipe((10, 6, 5.9), (10, 6, 0.5), diameter=0.110, name="Leader")
    m.ports(leader, (10, 6, 5.9), (10, 6, 0.5))
    scupper = m.block("IfcBuildingElementProxy", "Roof scupper", (19.9, 6, 6), (20.1, 6.15, 6.12))
    m.contain(scupper, m.storey)
    gutter = m.block("IfcBuildingElementProxy", "Half-round gutter", (0, -0.1, 5), (20, 0, 5.05))
    m.contain(gutter, m.storey)
    m.properties(gutter, "Gutter", Diameter=("IfcPositiveLengthMeasure", 0.1016))
    m.system("Rain water", [drain, leader], "STORMWATER")
    job = """
[storm]
rate = "4 in/hour"
"""
    job += AREA.format(guid=drain.GlobalId, feet=1000)
    job += AREA.format(guid=gutter.GlobalId, feet=1200)
    found = reviewed(m.write(tmp_path), job).findings
    said = {f.rule: f for f in found if f.rule in ("scupper-size", "gutter-size")}
    assert (
        said["gutter-size"].outcome.value == "violation"
    )  # 1,020 ft2 at the steepest of the table
    assert said["gutter-size"].element_ids == (gutter.GlobalId,)
    assert said["gutter-size"].required is not None
    assert said["gutter-size"].required.value == pytest.approx(1020)
    assert (
        said["scupper-size"].outcome.value == "violation"
    )  # 5.9 in wide; 2 in drains are 6.3 round
    assert said["scupper-size"].element_ids == (scupper.GlobalId,)


@pytest.mark.parametrize("ports", [True, False])
@pytest.mark.parametrize(("fall_m", "stated", "slope"), [
    (0.0625, None, 0.00625), (-0.0625, None, 0.00625), (0.0, None, None), (0.0625, 0.02, 0.02),
])  # fmt: skip
def test_the_fall_of_a_gutter_is_read_as_drawn(
    tmp_path: Path, ports: bool, fall_m: float, stated: float | None, slope: float | None
) -> None:
    """Extruded along its fall, or told by its ports alone; a stated fall counts before it, and one
    drawn level tells nothing."""
    m = SmallModel("IFC4", "METRE")
    start, end = (0.0, 0.0, 3.0), (10.0, 0.0, 3.0 - fall_m)
    gutter = m.pipe(start, end, shaped=not ports, name="Gutter", predefined="GUTTER")
    if ports:
        m.ports(gutter, start, end)
    if stated is not None:
        m.properties(gutter, "Gutter", Slope=("IfcRatioMeasure", stated))
    (read_again,) = [e for e in read(m.write(tmp_path)).elements if e.kind == "gutter"]
    assert read_again.slope == (None if slope is None else pytest.approx(slope, rel=1e-4))
