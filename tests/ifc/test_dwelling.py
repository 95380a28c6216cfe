"""Our own demo building, read with and without its ports."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model, Role
from models.build import write


def joined(model: Model) -> set[tuple[str, str]]:
    tags = [e.tag for e in model.elements]
    return {(min(tags[j.a], tags[j.b]), max(tags[j.a], tags[j.b])) for j in model.joints}


@pytest.mark.parametrize("revision", ["corrected", "early"])
def test_without_ports_almost_all_joints_are_found_and_none_is_wrong(tmp_path, revision):
    stated, drawn = tmp_path / "stated.ifc", tmp_path / "drawn.ifc"
    write(stated, revision)
    write(drawn, revision, ports=False)
    with_ports, without = read(stated), read(drawn)
    true, found = joined(with_ports), joined(without)
    assert found <= true
    assert len(found) >= 0.95 * len(true)
    assert all(j.inferred for j in without.joints)
    roles = {e.tag: e.role for e in with_ports.elements}
    equipment = {Role.FIXTURE, Role.APPLIANCE, Role.HEATER}
    assert all(equipment & {roles[a], roles[b]} for a, b in true - found)  # never pipe to fitting


def test_everything_in_it_is_known(tmp_path):
    path = tmp_path / "model.ifc"
    write(path, "corrected")
    model = read(path)
    plumbing = [e for e in model.elements if e.role in (Role.PIPE, Role.FITTING)]
    assert len(plumbing) > 150
    assert [e.label for e in plumbing if e.size_in is None] == []
    assert [e.label for e in plumbing if e.system is None] == []
    assert [n.what for n in model.notes] == []
