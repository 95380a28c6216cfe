"""One defect at a time in the corrected house: it is found on the right element, nothing else is.

The house is read once; each defect changes the elements as read.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Element, Model, Role
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, MODELS, fresh

FT = 0.3048
PACKS = [pack for pack in load_packs().loaded if pack.name in ("gas", "heaters")]
JOB, _ = job.load(MODELS / "dwelling_corrected.toml")
Said = set[tuple[str, str, str]]


class House:
    """The corrected house, to be changed."""

    def __init__(self) -> None:
        self.model: Model = fresh(DWELLING)
        self.by_tag = {e.tag: e for e in self.model.elements}

    def __getitem__(self, tag: str) -> Element:
        return self.by_tag[tag]

    def remove(self, *starts: str) -> None:
        """Take out the elements whose tags begin so ("=" before it: are so), with their joints."""
        exact = {tag[1:] for tag in starts if tag.startswith("=")}
        gone = {
            i
            for i, e in enumerate(self.model.elements)
            if e.tag and (e.tag.startswith(starts) or e.tag in exact)
        }
        assert gone
        new = {}
        for index in range(len(self.model.elements)):
            if index not in gone:
                new[index] = len(new)
        self.model.elements = [e for i, e in enumerate(self.model.elements) if i not in gone]
        self.model.joints = [
            j._replace(a=new[j.a], b=new[j.b])
            for j in self.model.joints
            if j.a not in gone and j.b not in gone
        ]

    def part(self, tag: str, other: str) -> None:
        """Undo the joint of two elements."""
        pair = {self.model.elements.index(self[tag]), self.model.elements.index(self[other])}
        self.model.joints = [j for j in self.model.joints if {j.a, j.b} != pair]

    def move(self, tag: str, feet: tuple[float, float, float], *names: str) -> None:
        """Move the ends of an element by their names (all of them where none is given)."""
        ends = [end for end in self[tag].ends if not names or end.name in names]
        assert len(ends) == (len(names) or len(self[tag].ends))
        for end in ends:
            assert end.position is not None
            x, y, z = (a + b * FT for a, b in zip(end.position, feet, strict=True))
            end.position = (x, y, z)

    def become(self, tag: str, role: Role, kind: str) -> None:
        self[tag].role, self[tag].kind = role, kind

    def said(self, code: str) -> Said:
        plumbing = build(network.connect(self.model))
        made = judge(PACKS, Context(codes.load(code), plumbing, JOB))
        assert not made.failures
        tags = {e.guid: e.tag for e in self.model.elements}
        return {(f.rule, tags[f.element_ids[0]], f.outcome.value) for f in made.findings}


def size(tag: str, inches: float | None) -> Callable[[House], None]:
    def make(house: House) -> None:
        house[tag].size_in = inches

    return make


def kind(tag: str, role: Role, name: str) -> Callable[[House], None]:
    return lambda house: house.become(tag, role, name)


def tell(tag: str, key: str, value: float) -> Callable[[House], None]:
    def make(house: House) -> None:
        house[tag].properties[key] = value

    return make


def material(tag: str, name: str) -> Callable[[House], None]:
    def make(house: House) -> None:
        house[tag].material = name

    return make


def moved(
    *moves: tuple[str, tuple[float, float, float], tuple[str, ...]],
) -> Callable[[House], None]:
    def make(house: House) -> None:
        for tag, feet, names in moves:
            house.move(tag, feet, *names)

    return make


def forget_input(house: House) -> None:
    del house["f1"].properties["input_rating_w"]


def far_shutoff(house: House) -> None:
    house.become("rg1/gas-shutoff", Role.FITTING, "coupling")
    house.become("rg1/gas-north", Role.VALVE, "gas-shutoff")


def short_of_the_tee(house: House) -> None:
    house.part("gas/dryer-tee", TO_DRYER)
    house.move(TO_DRYER, (0.0, 0.0, 0.5), "inlet")


def swing_joint(house: House) -> None:
    house["rg1/gas-wall"].name = "Swing joint, RG-1"


def into_garage(house: House) -> None:
    heater = house["wh1"]
    assert heater.box is not None
    low, high = heater.box
    heater.space = house["wh1/gas-shutoff"].space = "Garage"
    heater.box = ((low[0], low[1], 0.0), high)


VIOLATION, ADVISORY, UNVERIFIED = "violation", "advisory", "unverified"
TRUNK = "pipe/gas/corner>gas/furnace-tee"
TO_DRYER = "pipe/gas/dryer-tee>dr1/gas-up"
BOTH = ("upc-2021", "ipc-2021")
DROP1 = "pipe/wh1/relief/turn-1>wh1/relief/outlet"

# name -> (what is done, findings under both codes, further ones under one)
DEFECTS: dict[str, tuple[Callable[[House], None], Said, dict[str, Said]]] = {
    "gas trunk pipe of 3/4 in": (
        size(TRUNK, 0.75),
        {("gas-pipe-size", TRUNK, VIOLATION)},
        {},
    ),
    "gas trunk pipe without a size": (
        size(TRUNK, None),
        {("gas-pipe-size", TRUNK, UNVERIFIED), ("gas-support", TRUNK, UNVERIFIED)}
        | {("gas-pressure-drop", TRUNK, UNVERIFIED)},
        {},
    ),
    "furnace of 200,000 Btu/h on its old pipe": (
        tell("f1", "input_rating_w", 58614.2),
        {("gas-pipe-size", "pipe/gas/furnace-tee>f1/gas-shutoff", VIOLATION)},
        {},
    ),
    "furnace without a rating": (
        forget_input,
        {("gas-appliance-input", "f1", UNVERIFIED)},
        {},
    ),
    "no sediment trap at WH-2": (
        lambda house: house.remove("wh2/gas-cap", "pipe/wh2/gas-turn>wh2/gas-cap"),
        {
            ("gas-sediment-trap", "wh2/gas-turn", VIOLATION),
            ("gas-outlet-closed", "wh2/gas-turn", VIOLATION),
        },
        {},
    ),
    "no shutoff at WH-2": (
        kind("wh2/gas-shutoff", Role.FITTING, "coupling"),
        {("gas-shutoff", "wh2", VIOLATION)},
        {},
    ),
    "range shutoff in the ceiling": (
        far_shutoff,
        {("gas-shutoff", "rg1/gas-north", VIOLATION)},
        {},
    ),
    "gas pipe drawn up to the dryer's tee and not joined": (
        lambda house: house.part("gas/dryer-tee", TO_DRYER),
        {
            ("gas-reaches-appliance", TO_DRYER, UNVERIFIED),
            ("gas-piping-whole", TO_DRYER, UNVERIFIED),
            ("gas-outlet-closed", "gas/dryer-tee", UNVERIFIED),
            ("gas-pressure-drop", "dr1", UNVERIFIED),
            ("gas-union", "f1", UNVERIFIED),  # now the first that asks
        },
        {},
    ),
    "gas pipe begins half a foot above the dryer's tee": (
        short_of_the_tee,
        {
            ("gas-reaches-appliance", "dr1", VIOLATION),
            ("gas-piping-whole", "pipe/dr1/gas-south>dr1/gas-floor", VIOLATION),  # the first of it
            ("gas-outlet-closed", "gas/dryer-tee", VIOLATION),
            ("gas-pressure-drop", "dr1", UNVERIFIED),
            ("gas-union", "f1", UNVERIFIED),
        },
        {},
    ),
    "PVC in the gas trunk": (
        material(TRUNK, "pvc"),
        {
            ("gas-material", TRUNK, VIOLATION),
            ("gas-pipe-size", TRUNK, UNVERIFIED),
            ("gas-pressure-drop", "dr1", UNVERIFIED),  # one question for all behind the trunk
        },
        {},
    ),
    "polyethylene indoors": (
        material(TRUNK, "polyethylene"),
        {("gas-plastic-place", TRUNK, VIOLATION)},
        {},
    ),
    "gas pipe under the slab": (
        moved(("pipe/rg1/gas-west>rg1/gas-north", (0.0, 0.0, -9.3), ())),
        {
            ("gas-under-building", "pipe/rg1/gas-west>rg1/gas-north", VIOLATION),
            # of steel in the ground it is asked how it is coated
            ("gas-underground-coated", "pipe/rg1/gas-west>rg1/gas-north", UNVERIFIED),
        },
        {},
    ),
    "swing joint in a wall": (
        swing_joint,
        {("gas-concealed-joint", "rg1/gas-wall", VIOLATION)},
        {},
    ),
    "no relief valve at WH-1": (
        lambda house: house.remove("wh1/relief", "pipe/wh1/relief", "pipe/wh1>wh1/relief"),
        # the question of both valves' ratings is asked of the one that is left
        {("heater-relief-valve", "wh1", VIOLATION), ("relief-capacity", "wh2/relief", UNVERIFIED)},
        {},
    ),
    "relief valve of WH-2 set at 200 psi": (
        tell("wh2/relief", "relief_pressure_pa", 1378952.0),
        {("relief-setting", "wh2/relief", VIOLATION)},
        {},
    ),
    "relief line of WH-2 in 1/2 in": (
        size("pipe/wh2/relief/turn-0>wh2/relief/turn-1", 0.5),
        {("relief-line-size", "pipe/wh2/relief/turn-0>wh2/relief/turn-1", VIOLATION)},
        {},
    ),
    "relief line of WH-1 rises": (
        moved(("pipe/wh1/relief/turn-0>wh1/relief/turn-1", (0.0, 0.0, 1.0), ("outlet",))),
        {("relief-line-falls", "pipe/wh1/relief/turn-0>wh1/relief/turn-1", VIOLATION)},
        {},
    ),
    "valve in the relief line of WH-1": (
        kind("wh1/relief/turn-1", Role.VALVE, "isolating"),
        {("relief-line-clear", "wh1/relief/turn-1", VIOLATION)},
        {},
    ),
    "relief line of WH-2 capped": (
        kind("wh2/relief/outlet", Role.FITTING, "cap"),
        {("relief-line-clear", "wh2/relief/outlet", VIOLATION)},
        {},
    ),
    "relief line of WH-1 ends a foot up": (
        moved((DROP1, (0.0, 0.0, 0.75), ("outlet",)), ("wh1/relief/outlet", (0.0, 0.0, 0.75), ())),
        set(),
        {"ipc-2021": {("relief-line-end", "wh1/relief/outlet", VIOLATION)}},
    ),
    "relief line of WH-1 ends on the floor": (
        moved((DROP1, (4.0, 0.0, 0.0), ()), ("wh1/relief/outlet", (4.0, 0.0, 0.0), ())),
        set(),
        {"upc-2021": {("relief-line-end", "wh1/relief/outlet", VIOLATION)}},
    ),
    "pan of WH-1 not drained": (
        lambda house: house.remove("pipe/wh1/pan", "wh1/pan/"),
        {("pan-drained", "wh1/pan", VIOLATION)},
        {},
    ),
    "pan drain of WH-2 in 1/2 in": (
        size("pipe/wh2/pan/turn-1>wh2/pan/turn-2", 0.5),
        {("pan-drain-size", "pipe/wh2/pan/turn-1>wh2/pan/turn-2", VIOLATION)},
        {},
    ),
    "pan drain of WH-2 rises": (
        moved(("pipe/wh2/pan/turn-1>wh2/pan/turn-2", (0.0, 0.0, 0.5), ("outlet",))),
        {("pan-drain-falls", "pipe/wh2/pan/turn-1>wh2/pan/turn-2", VIOLATION)},
        {},
    ),
    "no cold shutoff at WH-2": (
        kind("wh2/cold-valve", Role.FITTING, "coupling"),
        {("heater-cold-shutoff", "wh2", VIOLATION)},
        {},
    ),
    "no expansion tank": (
        lambda house: house.remove("=cold/tank"),
        {
            ("heater-thermal-expansion", "wh1", VIOLATION),
            ("heater-thermal-expansion", "wh2", VIOLATION),
        },
        {},
    ),
    "WH-1 on a garage floor": (
        into_garage,
        {
            ("heater-ignition-height", "wh1", VIOLATION),
            ("heater-vehicles", "wh1", UNVERIFIED),
        },
        {
            "upc-2021": {("heater-vacuum-relief", "wh2", UNVERIFIED)},  # now the first that asks
            "ipc-2021": {("relief-line-in-sight", "wh1/relief/outlet", VIOLATION)},
        },
    ),
    "vent of the heaters stops below the roof": (
        lambda house: (
            house.remove("flue/cap"),
            house.remove("pipe/flue/tee>flue/cap"),
        )[0],
        {
            ("heater-vented", "pipe/wh1>wh1/flue", VIOLATION),
            ("heater-vented", "pipe/wh2>wh2/flue", VIOLATION),
            ("common-vent-size", "flue/tee", UNVERIFIED),  # of a height that is not known
            ("common-vent-proportion", "flue/tee", UNVERIFIED),
            ("vent-connector-size", "flue/tee", UNVERIFIED),
        },
        {},
    ),
    "cap of the heaters' vent not drawn above the roof": (
        lambda house: house.remove("flue/cap"),
        {
            ("heater-vented", "pipe/wh1>wh1/flue", UNVERIFIED),
            ("heater-vented", "pipe/wh2>wh2/flue", UNVERIFIED),
            ("common-vent-size", "pipe/flue/tee>flue/cap", UNVERIFIED),
            ("vent-connector-size", "pipe/flue/tee>flue/cap", UNVERIFIED),
        },
        {},
    ),
    "common vent of 4 in for 150,000 Btu/h": (
        lambda house: (
            size("pipe/flue/tee>flue/cap", 4.0)(house),
            tell("wh1", "input_rating_w", 32237.8)(house),
        )[0],
        {
            ("common-vent-size", "pipe/flue/tee>flue/cap", VIOLATION),
            ("vent-connector-size", "pipe/wh1>wh1/flue", VIOLATION),  # too much with a fan too
            ("gas-pipe-size", "pipe/gas/wh1-tee>wh1/gas-shutoff", VIOLATION),
        },
        {},
    ),
    "vent connector of WH-1 in 3 in": (
        size("pipe/wh1/flue>flue/tee", 3.0),
        {
            ("vent-connector-outlet", "pipe/wh1>wh1/flue", VIOLATION),
            ("vent-connector-size", "wh1", UNVERIFIED),  # whether it is fan-assisted
        },
        {},
    ),
    "vent connector of WH-2 level": (
        moved(
            ("flue/tee", (0.0, 0.0, -0.019), ("end 2",)),
            ("pipe/wh2/flue>flue/tee", (0.0, 0.0, -0.019), ("outlet",)),
        ),
        {("vent-connector-slope", "pipe/wh2/flue>flue/tee", VIOLATION)},
        {},
    ),
}


@pytest.fixture(scope="module")
def clean() -> dict[str, Said]:
    return {code: House().said(code) for code in BOTH}


def test_there_are_enough_and_the_corrected_house_has_no_violation(clean: dict[str, Said]) -> None:
    assert len(DEFECTS) >= 15
    for said in clean.values():
        assert not [s for s in said if s[2] == VIOLATION]


@pytest.mark.parametrize("name", DEFECTS)
def test_the_defect_is_found_and_nothing_else(name: str, clean: dict[str, Said]) -> None:
    make, expected, further = DEFECTS[name]
    house = House()
    make(house)
    for code in BOTH:
        assert house.said(code) - clean[code] == expected | further.get(code, set()), code
