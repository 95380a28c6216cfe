"""Published worked examples of storm drainage, drawn and put to the rules."""

from __future__ import annotations

import pytest

from ifclint import job
from ifclint.codes import load
from ifclint.findings import Answer, Outcome
from ifclint.packs import load_packs
from ifclint.rules.storm.sizes import storm_drain_size
from ifclint.testing import ask

PACK = next(pack for pack in load_packs().loaded if pack.name == "storm")
# Louisiana Administrative Code 51:XIV.1803 (casetext.com) and Standard Plumbing Code appendix B
# (in "Plumber's and Pipe Fitter's Calculations Manual", boulderlibrary.net): a roof of 10,000 ft2
# with four drains in Birmingham, Alabama, 3.75 in/h. Each leader takes 2,500 ft2, the storm drains,
# laid at 1/4 in/ft, 2,500, 5,000 and 10,000.
ROOF = """
system=storm_drainage
roof-drain 6 RD1  0 0 20
pipe {leader} L1  0 0 20 > 0 0 -0.5
pipe {one} H1  0 0 -0.5 > 12 0 -0.75
pipe {two} H2  12 0 -0.75 > 24 0 -1
pipe {four} H4  24 0 -1 > 48 0 -1.5
manhole MH  48 0 -1.5
roof-drain 6 RD2  12 12 20
pipe 8 L2  12 12 20 > 12 12 -0.25
pipe 8 B2  12 12 -0.25 > 12 0 -0.75
roof-drain 6 RD3  24 12 20
pipe 8 L3  24 12 20 > 24 12 -0.25
pipe 8 B3  24 12 -0.25 > 24 0 -1
roof-drain 6 RD4  36 12 20
pipe 8 L4  36 12 20 > 36 12 -0.25
pipe 8 B4  36 12 -0.25 > 24 12 -0.25
"""
AREAS = [{"element": f"RD{n}", "area": "2500 ft**2"} for n in (1, 2, 3, 4)]
LISTED = (3, 4, 5, 6, 8)


def asked(sizes: dict[str, float], code: str) -> dict[str, Answer]:
    told = {"storm": {"rate": "3.75 in/hour", "areas": AREAS}}
    assert PACK.section is not None
    the_job = job.job_of(told, {"storm": PACK.section})
    return ask(storm_drain_size, ROOF.format(**sizes), code, the_job, subjects=PACK.subjects)


# The areas that the example reads off its tables at 4 in/h
@pytest.mark.parametrize(("size_in", "at_4_in"), [(4, 2650), (5, 4720), (6, 7550), (8, 16300)])
def test_areas_read_off_the_table(size_in: float, at_4_in: float) -> None:
    row = load("upc-2021").table("storm_drains").one(size_in=size_in, slope_in_per_ft=0.25)
    assert row is not None
    assert row.number("roof_ft2") / 4 == at_4_in


SUBJECTS = {"leader": "L1", "one": "H1", "two": "H2", "four": "H4"}
# By the areas of the UPC, as in the example; the IPC's table by flow (2015 and later) lets the pipe
# that takes all of the roof be 6 in: 390 of 487 gpm.
FOUND = {
    "upc-2021": {"leader": 4, "one": 4, "two": 5, "four": 8},
    "ipc-2021": {"leader": 4, "one": 4, "two": 5, "four": 6},
}


@pytest.mark.parametrize("code", FOUND)
def test_the_sizes_found_are_the_smallest_that_pass(code: str) -> None:
    found = FOUND[code]
    said = asked(found, code)
    for part, size in found.items():
        subject = SUBJECTS[part]
        assert said[subject].outcome is Outcome.PASS
        smaller = max(listed for listed in LISTED if listed < size)
        wrong = asked({**found, part: smaller}, code)[subject]
        assert wrong.outcome is Outcome.VIOLATION
        assert wrong.change is not None
        assert wrong.change.value == size


# A roof drain sizing sheet (scribd.com/document/363583989): gpm = 0.0104 x in/h x ft2
def test_an_inch_an_hour_on_a_square_foot() -> None:
    said = asked({"leader": 3, "one": 4, "two": 5, "four": 8}, "ipc-2021")["L1"]
    assert said.measured is not None
    assert said.measured.value == pytest.approx(0.0104 * 2500 * 3.75, rel=0.002)
