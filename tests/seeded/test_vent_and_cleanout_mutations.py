"""One change at a time in the corrected house, made in the model as read: each is found on the
right element by the venting and cleanout packs, and nothing else is."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Element, Model, Point, Role, Surface, System
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, fresh

FT = 0.3048
PACKS = [pack for pack in load_packs().loaded if pack.name in ("venting", "cleanouts")]
JOB = job.Job.model_validate({"building": {"occupancy": "private", "freezing": False}})
Change = Callable[[Model], None]
Found = set[tuple[str, str]]  # rule, tag of the element to click


def found(model: Model, code: str) -> Found:
    plumbing = build(network.connect(model))
    judgement = judge(PACKS, Context(codes.load(code), plumbing, JOB))
    assert judgement.failures == []
    tags = {element.guid: element.tag for element in model.elements}
    return {(f.rule, tags[f.element_ids[0]]) for f in judgement.findings}


# -- ways to spoil a model ----------------------------------------------------------------------


def at(model: Model, tag: str) -> Element:
    return next(element for element in model.elements if element.tag == tag)


def moved(point: Point | None, by_ft: Point) -> Point | None:
    if point is None:
        return None
    x, y, z = (a + b * FT for a, b in zip(point, by_ft, strict=True))
    return (x, y, z)


def shift(model: Model, by_ft: Point, *tags: str) -> None:
    """Move whole elements, and the ends of others that are joined to them."""
    numbers = {i for i, element in enumerate(model.elements) if element.tag in tags}
    assert len(numbers) == len(tags), tags
    for number in numbers:
        element = model.elements[number]
        element.position = moved(element.position, by_ft)
        for end in element.ends:
            end.position = moved(end.position, by_ft)
        if element.box is not None:
            low, high = (moved(corner, by_ft) for corner in element.box)
            assert low is not None
            assert high is not None
            element.box = (low, high)
    for other, end_number in ends_joined_to(model, numbers):
        end = model.elements[other].ends[end_number]
        end.position = moved(end.position, by_ft)
        model.elements[other].length_m = None


def ends_joined_to(model: Model, numbers: set[int]) -> Iterator[tuple[int, int]]:
    for joint in model.joints:
        if (joint.a in numbers) != (joint.b in numbers):
            inside = joint.a in numbers
            yield (joint.b, joint.b_end) if inside else (joint.a, joint.a_end)


def remove(model: Model, *tags: str) -> None:
    """Take elements out: their joints go, and they are plumbing no more."""
    numbers = {i for i, element in enumerate(model.elements) if element.tag in tags}
    assert len(numbers) == len(tags), tags
    model.joints = [j for j in model.joints if not {j.a, j.b} & numbers]
    for number in numbers:
        model.elements[number].role, model.elements[number].system = Role.OTHER, System.OTHER


def resize(model: Model, tag: str, size_in: float) -> None:
    element = at(model, tag)
    element.size_in = size_in
    for end in element.ends:
        end.size_in = size_in


def become(model: Model, tag: str, role: Role, kind: str) -> None:
    element = at(model, tag)
    element.role, element.kind = role, kind


def grow(model: Model, tag: str, by_ft: float) -> None:
    """Make a fixture taller."""
    element = at(model, tag)
    assert element.box is not None
    low, (x, y, z) = element.box
    element.box = (low, (x, y, z + by_ft * FT))


def end_short(model: Model, tag: str, by_ft: float) -> None:
    """A vent pipe ends so far below where it was joined above."""
    number = next(i for i, element in enumerate(model.elements) if element.tag == tag)
    ends = model.elements[number].ends
    top = max(range(len(ends)), key=lambda k: (ends[k].position or (0, 0, 0))[2])
    model.joints = [
        j for j in model.joints if (number, top) not in ((j.a, j.a_end), (j.b, j.b_end))
    ]
    ends[top].position = moved(ends[top].position, (0.0, 0.0, -by_ft))


def box(kind: str, low_ft: Point, high_ft: Point) -> Surface:
    low, high = moved((0.0, 0.0, 0.0), low_ft), moved((0.0, 0.0, 0.0), high_ft)
    assert low is not None
    assert high is not None
    return Surface(f"new {kind}", kind, f"New {kind}", low, high)


def without_trap(model: Model) -> None:
    become(model, "l2/trap", Role.PIPE, "")


def s_trap(model: Model) -> None:
    become(model, "l3/trap", Role.TRAP, "s-trap")


def second_trap(model: Model) -> None:
    become(model, "pipe/sh1/sweep>s3/shower", Role.TRAP, "running-trap")


def far_sink(model: Model) -> None:
    shift(model, (6.0, 0.0, 0.0), "ls1", "ls1/trap", "pipe/ls1>ls1/trap")


def crown_vent(model: Model) -> None:
    shift(model, (-2.75, 0.0, -0.058), "sh1", "sh1/trap", "pipe/sh1>sh1/trap")


def high_trap(model: Model) -> None:
    shift(model, (0.0, 0.0, 0.2), "l1/trap")


def high_lavatory(model: Model) -> None:
    shift(model, (0.0, 0.0, 2.0), "l2")


def tall_standpipe(model: Model) -> None:
    grow(model, "sp1", 2.0)


def low_standpipe_trap(model: Model) -> None:
    """The floor of the laundry a foot higher: the trap lies below it."""
    model.storeys = [
        type(s)(s.name, s.elevation_m + FT) if s.name == "Level 2" else s for s in model.storeys
    ]


def vent_forgotten(model: Model) -> None:
    remove(model, "pipe/header/lav3>l3/tee")


def vent_ends_in_the_attic(model: Model) -> None:
    end_short(model, "pipe/fd1/vent-bend>fd1/vent", 2.0)


def low_terminal(model: Model) -> None:
    shift(model, (0.0, 0.0, -0.8), "s2/vtr")


def window_beside_terminal(model: Model) -> None:
    model.surfaces.append(box("window", (22.0, 11.0, 21.7), (25.0, 13.0, 23.0)))


def wall_beside_terminal(model: Model) -> None:
    model.surfaces.append(box("wall", (30.5, 24.0, 21.6), (31.0, 26.0, 26.0)))


def thin_vent(model: Model) -> None:
    resize(model, "pipe/header/lav2>l2/tee", 1.0)


def thin_header(model: Model) -> None:
    resize(model, "pipe/header/lav3>header/tub", 1.25)


def tall_lavatory(model: Model) -> None:
    lavatory = at(model, "l1")
    assert lavatory.box is not None
    lavatory.box = tuple((x, y, z + 0.8) for x, y, z in lavatory.box)


def sag_under_the_slab(model: Model) -> None:
    shift(model, (0.0, 0.0, -0.5), "k1/foot-sweep")


def vent_from_the_side(model: Model) -> None:
    """The closet's vent leaves the fitting level with its centre."""
    pipe = at(model, "pipe/wc1/vent-tee>wc1/vent")
    fitting = at(model, "wc1/vent")
    low = min(pipe.ends, key=lambda e: (e.position or (0, 0, 0))[2])
    mouth = next(e for e in fitting.ends if e.position == pytest.approx(low.position, abs=1e-4))
    assert fitting.position is not None
    x, y, z = fitting.position
    low.position = mouth.position = (x, y + 0.25 * FT, z)


def valve_on_the_roof(model: Model) -> None:
    become(model, "s2/vtr", Role.VENT_TERMINAL, "air-admittance-valve")


def closets_of_two_floors(model: Model) -> None:
    """The storey follows from where a fixture stands, whatever level it is stated on."""
    closet = at(model, "wc3")
    closet.position = moved(closet.position, (0.0, 0.0, -10.0))
    if closet.box is not None:
        low, high = (moved(corner, (0.0, 0.0, -10.0)) for corner in closet.box)
        assert low is not None
        assert high is not None
        closet.box = low, high


def low_island_loop(model: Model) -> None:
    shift(model, (0.0, 0.0, -1.0), "k1/loop-up", "k1/loop-down", "pipe/k1/loop-up>k1/loop-down")


def small_cleanout(model: Model) -> None:
    resize(model, "s1/cleanout", 1.5)


def no_laundry_cleanout(model: Model) -> None:
    remove(
        model, "s2/head/plug", "s2/head/sweep", "pipe/s2/head/plug>s2/head/sweep",
        "pipe/s2/head/sweep>s2/base",
    )  # fmt: skip


def no_kitchen_cleanout(model: Model) -> None:
    become(model, "k1/cleanout", Role.FITTING, "cap")


def no_sewer_cleanout(model: Model) -> None:
    become(model, "main/two-way", Role.FITTING, "wye")
    become(model, "main/two-way/plug", Role.FITTING, "cap")


def no_stack_cleanout(model: Model) -> None:
    become(model, "s1/cleanout", Role.FITTING, "cap")


def cleanout_in_the_wall(model: Model) -> None:
    shift(model, (-0.3, 0.0, 0.0), "s3/cleanout")


def cleanout_under_the_slab(model: Model) -> None:
    shift(model, (0.0, 0.0, -0.6), "s2/head/plug")


def range_over_the_cleanout(model: Model) -> None:
    low, high = (22.0, 26.5, 0.1), (24.0, 28.5, 3.0)
    surface = box("", low, high)
    at(model, "rg1").box = (surface.low, surface.high)


BOTH = ("upc-2021", "ipc-2021")
UPC, IPC = ("upc-2021",), ("ipc-2021",)
MUTATIONS: list[tuple[Change, tuple[str, ...], Found]] = [
    (without_trap, BOTH, {("fixture-trapped", "l2")}),
    (s_trap, BOTH, {("trap-kind", "l3/trap")}),
    (second_trap, BOTH, {("one-trap-only", "pipe/sh1/sweep>s3/shower")}),
    (far_sink, UPC, {("trap-arm-length", "ls1/trap")}),  # the IPC takes 12 ft to a single stack
    (crown_vent, BOTH, {("trap-arm-minimum", "sh1/trap")}),
    (high_trap, BOTH, {("trap-arm-fall", "l1/trap")}),
    (high_lavatory, BOTH, {("outlet-above-weir", "l2/trap")}),
    (tall_standpipe, BOTH, {("standpipe-height", "sp1/trap")}),
    (low_standpipe_trap, UPC, {("standpipe-trap-height", "sp1/trap")}),
    (vent_forgotten, UPC, {("trap-vented", "l3/trap")}),  # the IPC takes the tub as its wet vent
    (vent_ends_in_the_attic, BOTH, {("vent-reaches-outdoors", "pipe/fd1/vent-bend>fd1/vent")}),
    (low_terminal, BOTH, {("terminal-above-roof", "s2/vtr")}),
    (window_beside_terminal, BOTH, {("terminal-from-openings", "s1/vtr")}),
    (wall_beside_terminal, UPC, {("terminal-from-walls", "s2/vtr")}),
    (thin_vent, BOTH, {("vent-least-size", "pipe/header/lav2>l2/tee")}),
    (thin_header, UPC, {("vent-capacity", "pipe/header/lav3>header/tub")}),
    (tall_lavatory, BOTH, {("vent-above-rim", "pipe/wc1/vent-tee>l1/vent-bend")}),
    (sag_under_the_slab, BOTH, {("vent-grade", "pipe/k1/foot-sweep>k1/foot")}),
    (vent_from_the_side, BOTH, {("vent-takeoff", "pipe/wc1/vent-tee>wc1/vent")}),
    (valve_on_the_roof, UPC, {("admittance-valve-allowed", "s2/vtr")}),
    (closets_of_two_floors, BOTH, {("common-vent", "pipe/s1/vent-lower>s1/closets")}),
    (low_island_loop, UPC, {("island-vent", "pipe/k1/loop-up>k1/tee")}),
    (small_cleanout, BOTH, {("cleanout-size", "s1/cleanout")}),
    (no_laundry_cleanout, UPC, {("upper-end-cleanout", "s2/base"),
                                ("stack-base-cleanout", "pipe/s2/sink>s2/base")}),
    (no_laundry_cleanout, IPC, {("stack-base-cleanout", "pipe/s2/sink>s2/base")}),
    (no_kitchen_cleanout, UPC, {("upper-end-cleanout", "k1/sweep"),
                                ("kitchen-drain-rodded", "pipe/k1/sweep>k1/return")}),
    (no_kitchen_cleanout, IPC, {("kitchen-drain-rodded", "pipe/k1/sweep>k1/return")}),
    (no_sewer_cleanout, BOTH, {("sewer-junction-cleanout", "pipe/main/two-way>sewer/main")}),
    (no_stack_cleanout, BOTH, {("stack-base-cleanout", "pipe/s1/cleanout-tee>s1/base")}),
    (cleanout_in_the_wall, BOTH, {("cleanout-access", "s3/cleanout")}),
    (cleanout_under_the_slab, BOTH, {("cleanout-access", "s2/head/plug")}),
    (range_over_the_cleanout, BOTH, {("cleanout-clearance", "main/head/plug")}),
]  # fmt: skip


@pytest.mark.parametrize("code", BOTH)
def test_nothing_is_wrong_with_the_corrected_house(code: str) -> None:
    assert found(fresh(DWELLING), code) == set()


@pytest.mark.parametrize(
    ("change", "where", "expected"), MUTATIONS, ids=lambda c: getattr(c, "__name__", "")
)
def test_each_change_is_found_and_nothing_else(
    change: Change, where: tuple[str, ...], expected: Found
) -> None:
    for code in where:
        model = fresh(DWELLING)
        change(model)
        assert found(model, code) == expected, code


def test_there_are_enough() -> None:
    assert len({change.__name__ for change, _, _ in MUTATIONS}) >= 20
