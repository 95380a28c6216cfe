"""Models made by others with real programs, with what can be counted in them by hand."""

from __future__ import annotations

import math
from collections import Counter

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from ifclint.ifc.elements import Model, Role, System
from ifclint.network import connect


def roles(model: Model) -> Counter[Role]:
    return Counter(e.role for e in model.elements)


def pipes(model: Model) -> list:
    return [e for e in model.elements if e.role is Role.PIPE and not e.piece]


def test_heating_2x3_generic_classes_and_list_values(public):
    model = read(public("heating_2x3.ifc"))
    assert sum(not e.piece for e in pipes(model)) == 231  # a pipe entered on its side is cut there
    assert roles(model)[Role.FITTING] == 154
    # 167 links, 108 of them from fitting to fitting past the pipe that lies between
    assert sum(not j.inferred for j in model.joints) == 167 - 108
    (passed,) = [n for n in model.notes if n.topic == "joint"]
    assert "108 pairs of elements past the pipe" in passed.what
    assert {e.system for e in pipes(model)} == {System.HEATING}
    # sizes are list values of the type: DN 12 is 15 mm copper, DN 20 is 22 mm copper
    assert Counter(e.size_in for e in pipes(model)) == {0.5: 198, 0.75: 21, None: 12}
    copper = next(e for e in pipes(model) if e.size_in == 0.75)
    assert copper.material == "copper"
    assert copper.properties["outside_diameter_m"] == pytest.approx(0.022)
    assert copper.basis["size"].words == "Pset_PipeSegmentTypeCommon.NominalDiameter of the type"
    assert not [n for n in model.notes if n.topic == "damage"]


def test_heating_2x3_pipes_meet_the_fittings_they_point_at(public):
    model = read(public("heating_2x3.ifc"))
    joined: Counter[int] = Counter()
    for joint in model.joints:
        joined[joint.a] += 1
        joined[joint.b] += 1
        names = {model.elements[i].system_name for i in (joint.a, joint.b)}
        boiler = Role.HEATER in {model.elements[i].role for i in (joint.a, joint.b)}
        assert len(names) == 1 or boiler  # never from flow to return
    kinds = Counter(
        (e.kind, joined[i]) for i, e in enumerate(model.elements) if e.role is Role.FITTING
    )
    assert kinds == {("quarter-bend", 2): 120, ("tee", 3): 34}
    # of 231 pipes 39 would have every end joined if only what meets within 10 mm were
    ended = [e for i, e in enumerate(model.elements) if e.role is Role.PIPE and joined[i] >= 2]
    assert len({e.guid for e in ended}) == 189
    assert connect(model).self_joined() == []


def test_heating_ifc4_is_linked_all_over(public):
    model = read(public("heating_ifc4.ifc"))
    assert roles(model)[Role.PIPE] == 100
    assert roles(model)[Role.FITTING] == 97
    assert len(model.joints) == 228
    assert not any(j.inferred for j in model.joints)
    assert all(e.system is System.HEATING for e in pipes(model))
    assert Counter(e.size_in for e in pipes(model)) == {0.75: 28, 1: 22, 3: 22, 6: 16, 2: 12}
    gaps = [_gap(model, j) for j in model.joints]
    assert max(g for g in gaps if g is not None) < 0.01  # the drawn gaps are 1-2 mm


def _gap(model: Model, joint) -> float | None:
    a = model.elements[joint.a].ends[joint.a_end].position
    b = model.elements[joint.b].ends[joint.b_end].position
    return math.dist(a, b) if a and b else None


def test_storm_sewer_with_manholes(public):
    model = read(public("drainage_1.ifc"))
    assert roles(model) == {Role.PIPE: 6, Role.CHAMBER: 7}
    assert len(model.joints) == 12
    assert {e.system for e in model.elements} == {System.STORM}
    assert {e.kind for e in model.elements if e.role is Role.CHAMBER} == {"manhole"}
    # 400 x 60 mm concrete and 239 x 5.5 mm plastic are no pipe sizes: their profiles are drawn
    # with the bore as their outside (see drainage_1b). Unknown, not guessed, and said so.
    assert {e.size_in for e in pipes(model)} == {None}
    told = [n.what for n in model.notes if n.topic == "size"]
    assert len(told) == 6
    assert sum("between DN 250 (250.0 mm) and DN 300 (300.0 mm)" in t for t in told) == 4
    assert sum("would be the bore of DN 400" in t for t in told) == 4
    assert sum("would be the bore of DN 250" in t for t in told) == 2
    assert {e.material for e in pipes(model)} == {"concrete", "pvc"}
    for pipe in pipes(model):
        a, b = (e.position for e in pipe.ends)
        assert pipe.length_m == pytest.approx(math.dist(a, b), rel=1e-3)
        assert {e.flow for e in pipe.ends} == {"in", "out"}


def test_storm_sewer_that_states_its_bores(public):
    model = read(public("drainage_1b.ifc"))
    sizes = Counter((e.material, e.size_in, e.properties.get("designation")) for e in pipes(model))
    assert sizes == {("concrete", 16.0, "DN 400"): 4, ("pvc", 10.0, "DN 250"): 2}
    assert {e.basis["size"].words for e in pipes(model)} == {
        "Pset_PipeSegmentTypeCommon.InnerDiameter"
    }
    # the profiles say another bore: 280 mm and 228 mm
    told = [n.what for n in model.notes if n.topic == "size"]
    assert sum("400.0 mm wide inside" in t and "280.0 mm by" in t for t in told) == 4
    assert sum("239.0 mm wide inside" in t and "228.0 mm by" in t for t in told) == 2


def test_mesh_pipes_get_a_fitted_axis_and_diameter(public):
    model = read(public("sewer_mesh_ifc4.ifc"))
    sewer = pipes(model)
    assert len(sewer) == 24
    assert {round(e.properties["drawn_outside_diameter_m"], 3) for e in sewer} == {0.6}
    assert {round(e.properties["drawn_inside_diameter_m"], 3) for e in sewer} == {0.5}
    assert {round(e.length_m, 3) for e in sewer} == {2.5}  # without the bell
    assert {e.size_in for e in sewer} == {20.0}  # concrete pipe is named by its bore: DN 500
    assert {e.system for e in sewer} == {System.SANITARY}
    # laid spigot to bell: all joined in lines by geometry alone, and to the two manholes
    assert len(model.joints) == 24
    assert all(j.inferred for j in model.joints)


def test_breps_of_the_same_pipes_read_alike(public):
    model = read(public("scene_brep_2x3.ifc"))
    sewer = [e for e in pipes(model) if e.system is not System.FLUE]
    assert len(sewer) == 24
    assert {e.size_in for e in sewer} == {20.0}
    assert {e.name for e in sewer} == {"sewer pipe"}  # no gutter
    (flue,) = [e for e in pipes(model) if e.system is System.FLUE]
    assert flue.ifc_class == "IfcDuctSegment"
    assert Counter(e.kind for e in model.elements)["gutter"] == 3
    assert {s.kind for s in model.surfaces} >= {"wall", "slab"}


def test_ducts_are_no_plumbing(public):
    model = read(public("duct_2x3.ifc"))
    assert model.elements == []
    assert model.joints == []


def test_handover_data_without_geometry(public):
    model = read(public("duplex_handover_2x3.ifc"))
    fixtures = [e for e in model.elements if e.role is Role.FIXTURE]
    assert len(fixtures) == 16
    assert Counter(e.kind for e in fixtures) == {
        "lavatory": 6, "water-closet": 4, "bathtub": 2, "kitchen-sink": 2, "shower": 2
    }  # fmt: skip
    closet = next(e for e in fixtures if e.kind == "water-closet")
    assert closet.properties["flush_volume_gal"] == pytest.approx(6.1 / 3.785411784, abs=1e-3)
    assert closet.properties["flush_type"] == "gravity-tank"
    assert all(e.storey for e in fixtures)
    receptacles = [e for e in model.elements if "Receptacle" in e.name]
    assert receptacles == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("bad_header_backslash.ifc", "byte 99"),
        ("drainage_1_4x3rc3.ifc", "IFC4X3_RC3"),
    ],
)
def test_unreadable_files_say_what_and_what_to_do(public, name, words, capfd):
    with pytest.raises(InputError) as error:
        read(public(name))
    message = str(error.value)
    assert name in message
    assert words in message
    assert "export it again" in message
    assert "\n" not in message
    assert capfd.readouterr() == ("", "")  # the library keeps quiet


def test_a_backslash_in_one_text_is_named_and_the_rest_is_read(public, capfd):
    (note,) = [n for n in read(public("bad_escape.ifc")).notes if n.topic == "damage"]
    assert "semicolons of 1 instance of bad_escape.ifc are wrong, the first in #5949" in note.what
    assert note.remedy == "Export the model again."
    assert capfd.readouterr() == ("", "")
