"""From files to a Model: each file is read alone, then everything is joined."""

from collections.abc import Callable, Mapping, Sequence
from operator import attrgetter
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.gc_pause import collector_paused
from ifclint.ifc.building.by_place import tell_area_drains, tell_kitchen_sinks, tell_roof_drains
from ifclint.ifc.building.federation import Federation
from ifclint.ifc.building.grids import distinct
from ifclint.ifc.building.spatial_assignment import assign_storeys_and_spaces
from ifclint.ifc.elements import Box, Model, PropertyFact
from ifclint.ifc.facts.connectors import tell_connectors
from ifclint.ifc.facts.fitting_kinds import set_kinds_and_sizes
from ifclint.ifc.facts.job_words import check_words
from ifclint.ifc.facts.one_shower import join_showers
from ifclint.ifc.facts.phases import set_aside
from ifclint.ifc.facts.service import systems_by_ends
from ifclint.ifc.facts.service.spreading import spread
from ifclint.ifc.facts.service.systems import name_terminals
from ifclint.ifc.facts.service.systems_at_bodies import tell_by_connections
from ifclint.ifc.facts.service.water_by_ends import (
    forgive_returns,
    tell_feeds_of_returns,
    tell_sides,
    tell_vacuum_breakers,
)
from ifclint.ifc.facts.unread import unread_notes
from ifclint.ifc.facts.vocabulary import Vocabulary, own_vocabulary, vocabulary
from ifclint.ifc.file_reader import FileReader
from ifclint.ifc.joints.crossings import note_crossings, note_services_in_touch
from ifclint.ifc.joints.doubles.drawn_twice import set_doubles_aside
from ifclint.ifc.joints.doubles.duplicates import note_duplicates, note_identities
from ifclint.ifc.joints.doubles.furniture import without_cabinets, without_unmet
from ifclint.ifc.joints.drawn_traps import tell_drawn_traps
from ifclint.ifc.joints.flue_ducts import tell_flue_ends
from ifclint.ifc.joints.free_ends import free_ends
from ifclint.ifc.joints.joining import join_free_ends
from ifclint.ifc.joints.nearby import join_beside_later, name_services
from ifclint.ifc.joints.pieces import cut_at_bends, cut_at_sides
from ifclint.ifc.joints.relief_lines import tell_relief_lines
from ifclint.ifc.joints.touching import lead_to_strangers
from ifclint.ifc.joints.turned_flows import forget_contradictions, turn_flows
from ifclint.ifc.steady_order import order_steadily
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.opening import EXPORT_AGAIN, opened
from ifclint.ifc.step.paths import where

Progress = Callable[[str, int, int], None]


def read_model(
    paths: list[Path],
    vocabulary_extra: Mapping[str, Any],
    brought: Sequence[PropertyFact],
    joining_tolerance_m: float,
    progress: Progress | None,
) -> Model:
    """Read every file, join what meets, and spread what is known along the joints."""
    if not paths:
        raise InputError("No model was given: name at least one IFC file.")
    if vocabulary_extra:
        check_words(vocabulary_extra, own_vocabulary())
    words = vocabulary(vocabulary_extra, brought)
    model = Model(joining_tolerance_m=joining_tolerance_m)
    boxes: dict[int, Box] = {}
    strangers: list[tuple[str, Box]] = []
    federation = Federation(model, boxes)
    with collector_paused():
        for number, path in enumerate(paths):
            if progress:
                progress(path.name, number, len(paths))
            several = federation if len(paths) > 1 else None
            strangers += _read_file(path, number, words, model, boxes, several)
        set_aside(model, boxes)
        set_doubles_aside(model, boxes)
        without_cabinets(model, boxes)
        if len(paths) > 1:
            order_steadily(model, boxes)
        note_identities(model)
        join_free_ends(model, boxes)
        without_unmet(model, boxes)
        lead_to_strangers(model, strangers)
        cut_at_sides(model)
        join_showers(model)
        turn_flows(model)
        forget_contradictions(model)
        note_services_in_touch(model)
        model.grid = distinct(model.grid)
        systems_by_ends.tell_by_most_ends(model.elements)
        systems_by_ends.tell_junctions(model.elements, ((j.a, j.b) for j in model.joints))
        systems_by_ends.tell_rain_by_inlets(model.elements, model.joints)
        systems_by_ends.outrank_patterns(model.elements, model.joints)
        systems_by_ends.outrank_ports(model.elements, model.joints)
        systems_by_ends.outrank_names(model.elements, model.joints)
        spread(model.elements, model.joints)
        systems_by_ends.tell_by_ends(model.elements, model.joints)
        tell_by_connections(model.elements, model.joints)
        tell_sides(model.elements, model.joints)
        join_beside_later(model, boxes)
        systems_by_ends.tell_by_terminals(model)
        tell_vacuum_breakers(model.elements)
        tell_connectors(model.elements, model.joints)
        name_terminals(model.elements)
        tell_relief_lines(model.elements, model.joints)
        tell_flue_ends(model.elements, model.joints)
        tell_feeds_of_returns(model.elements, model.joints)
        forgive_returns(model)
        name_services(model)
        cut_at_bends(model)
        tell_drawn_traps(model)
        systems_by_ends.note_unknown_systems(model)
        set_kinds_and_sizes(model)
        assign_storeys_and_spaces(model)
        tell_roof_drains(model)
        tell_area_drains(model)
        tell_kitchen_sinks(model)
        note_crossings(model)
        note_duplicates(model)
    model.notes.sort(key=attrgetter("topic", "what"))
    if progress:
        progress("", len(paths), len(paths))
    return model


def _refuse_a_revision(path: Path, model: Model, before: int) -> None:
    """Refuse a file that holds the elements of the ones before it: they would count twice."""
    known = {element.guid for element in model.elements[:before]} - {""}
    own = {element.guid for element in model.elements[before:]} - {""}
    shared = len(known & own)
    if shared > 1 and 2 * shared >= min(len(known), len(own)):
        raise InputError(
            f"{path} holds {shared} of the elements of the model given before it, by their "
            "GlobalIds, as another revision of one building does: name one of the two."
        )


def _read_file(
    path: Path,
    number: int,
    words: Vocabulary,
    model: Model,
    boxes: dict[int, Box],
    federation: Federation | None,
) -> list[tuple[str, Box]]:
    """Add one file to the model, and tell what of it is not understood, if pipes of it end open.
    Its instances are parsed as they are met, so this is where text that breaks the rules of the
    format comes to light."""
    try:
        with opened(path) as file:
            if any(known.sha256 == file.info.sha256 for known in model.files):
                raise InputError(f"{path} is given twice, or as a copy: name it once.")
            before = len(model.elements)
            reader = FileReader(file, number, words, model, boxes)
            reader.read()
            if doubt := reader.unit_doubt():
                raise InputError(f"{path} {doubt}")
            _refuse_a_revision(path, model, before)
            model.files.append(file.info)
            model.notes += unread_notes(file)
            strangers = [*reader.strangers()] if free_ends(model) else []
            if federation:
                federation.add(file, reader.turned_rad)
            return strangers
    except DAMAGE as error:
        raise InputError(
            f"{where(path)} cannot be read: something in it is damaged; {EXPORT_AGAIN}."
        ) from error
