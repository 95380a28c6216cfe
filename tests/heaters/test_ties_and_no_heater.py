"""What brought rules down: heaters that lie alike, and taps that nothing feeds."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ifclint import codes
from ifclint.ifc.elements import Element, Role
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.plumbing.heaters.pans import _stands_in
from ifclint.review import review
from ifclint.testing import read_network

CORRECTED = Path(__file__).parents[2] / "models" / "dwelling_corrected.ifc"


def test_two_heaters_of_one_id_at_one_place() -> None:
    pan = Element("P", role=Role.OTHER, position=(0.0, 0.0, 0.0))
    place = (0.0, 0.0, 0.1)
    first, second = (Element("H", role=Role.HEATER, position=place) for _ in "ab")
    assert _stands_in(pan, [(first, place), (second, place)]) is first


@pytest.mark.parametrize("method", ["hunter", "low-demand"])
def test_the_house_without_its_heaters_brings_no_rule_down(tmp_path: Path, method: str) -> None:
    text = CORRECTED.read_text(encoding="utf-8")
    text, gone = re.subn(r"(?m)^#\d+=IFCBOILER\(.*water heater.*\n", "", text)
    assert gone == 2
    model, job = tmp_path / "house.ifc", tmp_path / "job.toml"
    model.write_text(text, encoding="utf-8")
    written = CORRECTED.with_suffix(".toml").read_text(encoding="utf-8")
    job.write_text(written.replace("[water]", f'[water]\ndemand_method = "{method}"', 1), "utf-8")
    done = review([model], job)
    assert done.failures == ()
    hot = [f for f in done.findings if f.rule in ("pressure-at-fixture", "supply-is-fed")]
    assert hot


def test_what_no_heater_tells_is_asked_once_for_all() -> None:
    """The outlets of valves without a size, and the room around heaters without a box."""
    one = """
water-heater W{n} system=hot_water space=Utility  24 {y} 4.8
relief V{n} system=relief_discharge  24 {y} 4.8 > 23.3 {y} 4.6
pipe 0.75 R{n} system=relief_discharge  23.3 {y} 4.6 > 23.3 {y} 0.4
"""
    network = "".join(one.format(n=n, y=5 * n) for n in range(3))
    packs = [pack for pack in load_packs().loaded if pack.name == "heaters"]
    found = judge(packs, Context(codes.load("ipc-2021"), build(read_network(network)), Job()))
    for rule in ("relief-line-size", "heater-working-space"):
        asked = [f for f in found.findings if f.rule == rule]
        assert len(asked) == 1
        assert asked[0].message.endswith("So it is with 2 more.")
        assert len(asked[0].element_ids) >= 3
