"""Fixtures taken out of the corrected demos, a kind at a time: the count that lacks them is found,
and no other.

A kind is taken out by drawing something else in its place. The demos are counted as a dormitory of
four, with a mop sink each, and as what they are.
"""

from __future__ import annotations

from typing import Any

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Model
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, RESTAURANT, fresh

LOADED = load_packs()
PACKS = [pack for pack in LOADED.loaded if pack.name == "fixtures"]
HOME: dict[str, Any] = {"building": {"occupancy": "private"}}


def _use(classification: str, occupants: int) -> dict[str, Any]:
    use = {"classification": classification, "occupants": occupants}
    told = {"occupancies": [use], "drinking_water_served": True}
    return {"building": {"occupancy": "public"}, "fixtures": told}


DORMITORY = _use("dormitory", 4)
Said = set[tuple[str, str]]
TAKEN: list[tuple[tuple[str, ...], str, dict[str, Any], Said]] = [
    (
        ("water-closet",), "ipc-2021", DORMITORY,
        # a basin in a room without a closet may be there for something else
        {("closets-enough", "violation"), ("lavatories-enough", "unverified")},
    ),
    (("lavatory",), "upc-2021", DORMITORY, {("lavatories-enough", "violation")}),
    (("lavatory",), "ipc-2021", DORMITORY, {("lavatories-enough", "violation")}),
    (("bathtub", "shower"), "upc-2021", DORMITORY, {("baths-enough", "violation")}),
    (("bathtub", "shower"), "ipc-2021", DORMITORY, {("baths-enough", "violation")}),
    (("mop-sink",), "upc-2021", DORMITORY, {("service-sink-provided", "violation")}),
    (("mop-sink",), "ipc-2021", DORMITORY, {("service-sink-provided", "violation")}),
    # a model without any may leave them out: of a home they are asked for
    (("kitchen-sink",), "upc-2021", HOME, {("dwelling-equipped", "unverified")}),
    (("kitchen-sink",), "irc-2021", HOME, {("dwelling-equipped", "unverified")}),
    (("bathtub", "shower"), "irc-2021", HOME, {("baths-enough", "unverified")}),
]  # fmt: skip


def _with_a_mop_sink(name: str) -> Model:
    model = fresh(name)
    if name == DWELLING:
        next(e for e in model.elements if e.kind == "laundry-sink").kind = "mop-sink"
    return model


def _said(model: Model, code: str, told: dict[str, Any]) -> Said:
    plumbing = build(network.connect(model))
    made = judge(PACKS, Context(codes.load(code), plumbing, job.job_of(told, LOADED.sections)))
    assert not made.failures
    return {(f.rule, f.outcome.value) for f in made.findings}


@pytest.mark.parametrize("name", [DWELLING, RESTAURANT])
@pytest.mark.parametrize(("kinds", "code", "told", "expected"), TAKEN)
def test_what_is_taken_out_is_missed(
    kinds: tuple[str, ...], code: str, told: dict[str, Any], expected: Said, name: str
) -> None:
    right, wrong = _with_a_mop_sink(name), _with_a_mop_sink(name)
    taken = [e for e in wrong.elements if e.kind in kinds]
    assert taken
    for element in taken:
        element.kind = "bar-sink"
    new = _said(wrong, code, told) - _said(right, code, told)
    assert new == expected


@pytest.mark.parametrize("name", [DWELLING, RESTAURANT])
def test_toilet_rooms_for_patients_alone_are_no_ones_who_work_there(name: str) -> None:
    told = _use("institution-employees", 10)
    for called, wrong in (("Staff toilet", False), ("Patient toilet", True)):
        model = fresh(name)
        rooms = {e.space for e in model.elements if e.kind == "water-closet"}
        for element in model.elements:
            if element.space in rooms:
                element.space = called
        assert (("staff-rooms-apart", "violation") in _said(model, "ipc-2021", told)) is wrong
