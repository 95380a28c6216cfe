"""A sink of no stated kind, alone in a household's kitchen, is its kitchen sink."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


def kinds(tmp_path, room, *names):
    m = SmallModel()
    place = m.space(room, (0, 0, 0), (4, 4, 3))
    for name in names:
        m.contain(m.element("IfcSanitaryTerminal", name, predefined="SINK", storey=False), place)
    return [e.kind for e in read(m.write(tmp_path)).elements]


@pytest.mark.parametrize(
    ("room", "name", "kind"),
    [
        ("Kitchen", "Elkay_Lustertone_LR3322", "kitchen-sink"), ("Kitchen 2", "", "kitchen-sink"),
        ("Küche", "Sink", "kitchen-sink"), ("Laboratory", "Sink", "sink"),
        ("Restaurant kitchen", "Sink", "sink"), ("Kitchen", "Lab sink", "sink"),
    ],
)  # fmt: skip
def test_the_room_tells_the_kind(tmp_path, room, name, kind):
    assert kinds(tmp_path, room, name) == [kind]


def test_several_are_those_of_a_restaurant(tmp_path):
    assert kinds(tmp_path, "Kitchen", "Sink A", "Sink B") == ["sink", "sink"]
