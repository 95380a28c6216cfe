"""What a model must contain, as an IDS: valid, and honest about what it cannot ask for."""

from __future__ import annotations

import os
from pathlib import Path
from xml.etree import ElementTree as ET

import ifcopenshell
import pytest
import xmlschema

from ifclint.packs import load_packs
from ifclint.plumbing.facts import FACTS, fact
from ifclint.requirements import NAMESPACE, ids_bytes, specifications, unexpressed

ROOT = Path(__file__).parents[1]
SCHEMA = Path(os.environ.get("IFCLINT_SCHEMAS", ROOT.parent / "shared/schemas")) / "ids-1.0.xsd"


def test_it_follows_the_schema_of_the_standard() -> None:
    if not SCHEMA.exists():
        pytest.skip("the standard's schema ids-1.0.xsd is not there (IFCLINT_SCHEMAS)")
    schema = xmlschema.XMLSchema(str(SCHEMA), validation="lax", allow="local")
    errors = list(schema.iter_errors(ids_bytes(load_packs()).decode()))
    assert errors == []


def test_every_specification_asks_one_thing_of_a_class_that_there_is() -> None:
    schema = ifcopenshell.schema_by_name("IFC4")
    for one in specifications():
        declared = schema.declaration_by_name(one["class"]).as_entity()
        assert declared is not None
        asks = [k for k in ("property", "attribute", "material", "part_of") if k in one]
        assert len(asks) == 1, one["name"]
        if "attribute" in one:
            names = {a.name() for a in declared.all_attributes()}
            assert one["attribute"] in names


def test_every_fact_is_asked_for_or_named_as_left_out() -> None:
    packs = load_packs()
    needs = {need for pack in packs.loaded for rule in pack.rules for need in rule.needs}
    asked = {name for one in specifications() for name in one["expresses"]}
    assert {fact(n).words for n in needs - asked} == set(unexpressed(packs))
    described = ET.fromstring(ids_bytes(packs)).findtext(
        f"{{{NAMESPACE}}}info/{{{NAMESPACE}}}description"
    )
    assert described is not None
    assert all(words in described for words in unexpressed(packs))


def test_what_is_said_to_be_expressed_is_a_fact() -> None:
    asked = {name for one in specifications() for name in one["expresses"]}
    assert asked <= set(FACTS)
