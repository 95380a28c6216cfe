"""One mistake at a time in the corrected demos, of the site and of the storm drainage: found on the
right element, and nothing else.

Each building is read once; a mistake changes the elements as read. The demos have no storm
drainage, so the flat roof of the restaurant is given some.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role, System
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, RESTAURANT, fresh

PACKS = [pack for pack in load_packs().loaded if pack.name in ("site", "storm")]
SECTIONS = {pack.name: pack.section for pack in PACKS if pack.section is not None}
FT, IN = 0.3048, 0.0254
SITE = {
    DWELLING: {
        "building": {"occupancy": "private", "freezing": False, "grade_elevation": "-0.5 ft"},
        "site": {"sewer_cover": "12 in"},
    },
    RESTAURANT: {
        "building": {"occupancy": "public", "freezing": False, "grade_elevation": "-0.5 ft"},
        "site": {"sewer_cover": "12 in", "interceptor_takes": ["dishwasher"]},
        "storm": {
            "rate": "3 in/hour",
            "areas": [
                {"element": "RD-1", "area": "450 ft**2"}, {"element": "RD-2", "area": "450 ft**2"},
            ],
        },
    },
}  # fmt: skip
Said = set[tuple[str, str, str]]


def _said(name: str, model: Model, code: str, told: dict[str, Any]) -> Said:
    the_job = job.job_of({**SITE[name], **told}, SECTIONS)
    made = judge(PACKS, Context(codes.load(code), build(network.connect(model)), the_job))
    assert not made.failures
    labels = {e.guid: e.label for e in model.elements}
    return {(f.rule, labels[f.element_ids[0]], f.outcome.value) for f in made.findings}


def _named(model: Model, start: str) -> Element:
    return next(e for e in model.elements if e.name.startswith(start))


def _pipe(name: str, size: float, start: Point, end: Point, **more: Any) -> Element:
    a, b = (tuple(c * FT for c in p) for p in (start, end))
    ends = [End((a[0], a[1], a[2]), size), End((b[0], b[1], b[2]), size)]
    middle = tuple((a[k] + b[k]) / 2 for k in range(3))
    made = Element(name, name=name, role=Role.PIPE, system=System.STORM, size_in=size, ends=ends)
    made.position = (middle[0], middle[1], middle[2])
    made.length_m = sum((a[k] - b[k]) ** 2 for k in range(3)) ** 0.5
    return replace(made, **more)


def _roof_drain(name: str, at: Point, size: float = 3.0) -> Element:
    x, y, z = (c * FT for c in at)
    made = Element(name, name=name, role=Role.FIXTURE, kind="roof-drain", system=System.STORM)
    made.size_in, made.position, made.ends = size, (x, y, z), [End((x, y, z), size)]
    return made


def with_storm(model: Model, **changed: Any) -> None:
    """Two roof drains, one leader each, a storm drain to a manhole in the yard, and overflow drains
    that end over the ground. Feet."""
    at = {"size": 4.0, "fall": 0.25 / 12, "overflow_end": 1.5, "into": "open", "cleanout": True}
    at |= changed
    z, size = 22.0, at["size"]
    low = -2.0 - 20 * at["fall"]
    parts = [
        _roof_drain("RD-1", (27, 10, z)),
        _pipe("Leader 1", 3.0, (27, 10, z), (27, 10, -2)),
        _pipe("Storm drain 1", size, (27, 10, -2), (27, -10, low)),
        _roof_drain("RD-2", (35, 10, z)),
        _pipe("Leader 2", 3.0, (35, 10, z), (35, 10, -1.5)),
        _pipe("Storm drain 2", 3.0, (35, 10, -1.5), (27, -10, low)),
        _pipe("Storm drain 3", 4.0, (27, -10, low), (27, -40, low - 30 * 0.25 / 12)),
        Element("MH-1", name="MH-1", role=Role.CHAMBER, kind="manhole", system=System.STORM),
        _roof_drain("Overflow drain OD-1", (28, 12, z + 0.2)),
        _pipe("Overflow leader", 4.0, (28, 12, z + 0.2), (28, 12, at["overflow_end"])),
    ]
    end = parts[6].ends[1].position
    parts[7].ends, parts[7].position = [End(end)], end
    if at["cleanout"]:
        for number, place in enumerate(((27, 10, -2), (35, 10, -1.5), (28, 12, 1.5)), 1):
            cleanout = Element(f"SCO-{number}", name=f"SCO-{number}", role=Role.CLEANOUT)
            cleanout.system = System.STORM
            cleanout.position = (place[0] * FT, (place[1] - 1) * FT, (place[2] + 1) * FT)
            parts.append(cleanout)
    if at["into"] == "drain":
        parts.append(_pipe("Overflow branch", 4.0, (28, 12, at["overflow_end"]), (27, -10, low)))
    first = len(model.elements)
    model.elements += parts
    _join(model, first)


def _join(model: Model, first: int) -> None:
    at: dict[tuple[int, ...], list[tuple[int, int]]] = {}
    for index, element in enumerate(model.elements[first:], first):
        for number, end in enumerate(element.ends):
            assert end.position is not None
            key = tuple(round(c * 1e4) for c in end.position)
            at.setdefault(key, []).append((index, number))
    model.joints += [Joint(*a, *b) for a, *others in at.values() for b in others]


def _sewer_of_clay_beside_the_water(model: Model) -> None:
    sewer = _named(model, "4 in building sewer")
    water = _named(model, "1-1/4 in water service")
    sewer.material = "vitrified clay"
    sewer.type_name = ""
    for end, of in zip(water.ends, sewer.ends, strict=True):
        assert of.position is not None
        assert end.position is not None
        end.position = (of.position[0] + 0.1, of.position[1], of.position[2])


def _sewer_raised(model: Model) -> None:
    sewer = _named(model, "4 in building sewer")
    for end in sewer.ends:
        assert end.position is not None
        x, y, z = end.position
        end.position = (x, y, z + 0.5)


def _closet_through_the_interceptor(model: Model) -> None:
    _named(model, "Three Compartment").kind = "water-closet"


def _interceptor_of_500_gallons(model: Model) -> None:
    _named(model, "Grease Interceptor").name = "Grease Interceptor - 500 Gal"


def _interceptor_gone(model: Model) -> None:
    interceptor = _named(model, "Grease Interceptor")
    interceptor.role, interceptor.kind = Role.FITTING, "coupling"
    interceptor.position = interceptor.ends[0].position


MISTAKES: list[tuple[str, str, str, Callable[[Model], None] | None, dict[str, Any], Said]] = [
    (
        "clay sewer in one trench with the water", DWELLING, "ipc-2021",
        _sewer_of_clay_beside_the_water, {},
        {("water-sewer-apart", "1-1/4 in water service, meter to house", "violation")},
    ),
    (
        "sewer in the frost of the lawn", DWELLING, "ipc-2021", _sewer_raised, {},
        {("sewer-cover", "4 in building sewer", "violation")},
    ),
    (
        "the street lies higher than thought", DWELLING, "upc-2021", None,
        {"site": {"sewer_cover": "12 in", "sewer_invert": "-3 ft"}},
        {("sewer-fall", "4 in building sewer", "violation")},
    ),
    (
        "the street of the restaurant lies higher than thought", RESTAURANT, "upc-2021", None,
        {"site": {**SITE[RESTAURANT]["site"], "sewer_invert": "-2 ft"}},
        {("sewer-fall", "Pipe Types:PVC - DWV:546544", "violation")},
    ),
    (
        "frost deeper than the service", DWELLING, "upc-2021", None,
        {"site": {"sewer_cover": "12 in", "frost_depth": "42 in"}},
        {("service-cover", "1-1/4 in water service, meter to house", "violation")},
    ),
    (
        "no interceptor", RESTAURANT, "upc-2021", _interceptor_gone, {},
        {("grease-intercepted", "Three Compartment Sink:346859", "violation")},
    ),
    (
        "interceptor too small", RESTAURANT, "upc-2021", _interceptor_of_500_gallons, {},
        {("grease-interceptor-size", "Grease Interceptor - 500 Gal", "violation")},
    ),
    (
        "closet through the interceptor", RESTAURANT, "upc-2021",
        _closet_through_the_interceptor, {},
        {("interceptor-passed", "Three Compartment Sink:346859", "violation")},
    ),
    (
        "storm drain too small", RESTAURANT, "upc-2021", lambda m: with_storm(m, size=3.0),
        {"storm": {**SITE[RESTAURANT]["storm"], "rate": "4 in/hour", "areas": [
            {"element": "RD-1", "area": "1200 ft**2"}, {"element": "RD-2", "area": "450 ft**2"}]}},
        {("storm-drain-size", "Storm drain 1", "violation")},
    ),
    (
        "storm drain too flat", RESTAURANT, "ipc-2021", lambda m: with_storm(m, fall=0.04 / 12), {},
        {("storm-slope", "Storm drain 1", "violation")},
    ),
    (
        "overflow into the storm drain", RESTAURANT, "upc-2021",
        lambda m: with_storm(m, into="drain"), {},
        {("secondary-separate", "Overflow drain OD-1", "violation")},
    ),
    (
        "overflow that ends in the ground", RESTAURANT, "upc-2021",
        lambda m: with_storm(m, overflow_end=-1.0), {},
        {("secondary-discharge", "Overflow leader", "violation")},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("what", "name", "code", "change", "told", "expected"), MISTAKES, ids=[m[0] for m in MISTAKES]
)
def test_a_mistake_is_found_and_nothing_else(
    what: str,
    name: str,
    code: str,
    change: Callable[[Model], None] | None,
    told: dict[str, Any],
    expected: Said,
) -> None:
    right, wrong = fresh(name), fresh(name)
    is_storm = any(rule.startswith(("storm", "secondary")) for rule, _, _ in expected)
    if is_storm:
        with_storm(right)
    if change is not None:
        change(wrong)
    before = _said(name, right, code, {})
    assert not {said for said in before if said[2] == "violation"}
    new = _said(name, wrong, code, told) - before
    assert {said for said in new if said[2] == "violation"} == expected
