"""Published worked examples of drains, drawn and put to the rules."""

from __future__ import annotations

import pytest

from ifclint.findings import Answer, Outcome
from ifclint.job import Job
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.drainage.drains import drain_capacity
from ifclint.testing import ask, context_of

# Utilitiesman manual of the U.S. Navy, NAVEDTRA 14259 (constructionmanuals.tpub.com/14259, pages 41
# and 42): 20 closets and 20 urinals with flush valves, 22 lavatories, 15 shower heads, 2 service
# sinks and 4 floor drains of 2 in through one house drain laid at 1/4 in/ft: 270 units, so 5 in; as
# many into a stack of less than three branch intervals: 5 in. The IPC counts a service sink and a
# floor drain at 2 units and not 3, which makes 264, and the same sizes.
BARRACKS = {
    "water-closet": (20, "flush_type=flushometer-valve flush_volume_gal=3.5", 6),
    "urinal": (20, "flush_type=flushometer-valve flush_volume_gal=1.5", 4),
    "lavatory": (22, "", 1),
    "shower": (15, "", 2),
    "mop-sink": (2, "", 2),
    "floor-drain": (4, "", 2),
}

PUBLIC = Job.model_validate({"building": {"occupancy": "public"}})


def barracks(size_in: float) -> str:
    lines, place = [f"pipe {size_in} D  0 0 -2 > 24 0 -2.5", "sewer-connection S  24 0 -2.5"], 0
    for kind, (many, facts, _) in BARRACKS.items():
        for number in range(many):
            place += 1
            at = f"{-0.3 * place:.1f} 8"
            trap = 3 if kind == "water-closet" else 2
            lines += [
                f"{kind} {kind}{number} {facts}  {at} 0",
                f"p-trap {trap} T{place}  {at} 0 > {at} -0.5",
                f"pipe {trap} P{place}  {at} -0.5 > 0 0 -2",
            ]
    return "\n".join(lines)


def of_the_house_drain(size_in: float) -> Answer:
    return ask(drain_capacity, barracks(size_in), "ipc-2021", PUBLIC)["D"]


def test_load_of_the_barracks() -> None:
    context = context_of(barracks(5), "ipc-2021", PUBLIC)
    made = loads(context)
    drain = next(s for s in made.carried if s.first.guid == "D")
    total = sum(many * units for many, _, units in BARRACKS.values())
    assert total == 264
    assert made.carried[drain] == pytest.approx(total)


def test_house_drain_of_the_barracks() -> None:
    assert of_the_house_drain(5).outcome is Outcome.PASS
    wrong = of_the_house_drain(4)
    assert wrong.outcome is Outcome.VIOLATION
    assert wrong.change is not None
    assert wrong.change.value == 5
