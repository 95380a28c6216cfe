"""The demo written in three schemas and three units, with and without ports, reads the same.

Without ports the same parts are joined as with them, and all packs say the same but for what only
a port tells: what a fixture's connection is meant for, so that without ports `not-crossed` leaves
the question open, and the size of an outlet that a pipe is judged against.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from ifclint.findings import Finding, Outcome
from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from models.build import write
from tests.reviewing import without_corrections

ROOT = Path(__file__).parent.parent
JOB = ROOT / "models" / "dwelling_early.toml"
SCHEMAS = ("IFC2X3", "IFC4", "IFC4X3_ADD2")
UNITS = ("METRE", "MILLIMETRE", "FOOT")
NEEDS_PORTS = {("supply", "not-crossed"), ("protection", "hot-on-left")}
SIZED_BY_PORTS = 2  # vent outlets of the heaters
Said = tuple[list[tuple[object, ...]], Counter[str]]


def _said(model: Path, code: str) -> Said:
    """What matters of each finding, values to four figures, since units round differently; and how
    many questions each pack leaves open."""
    found = without_corrections([model], JOB, code).findings
    unverified = Counter(f.pack for f in found if f.outcome is Outcome.UNVERIFIED)

    def value(finding: Finding) -> str:
        return f"{finding.measured.value:.4g}" if finding.measured else ""

    answered = sorted(
        (f.pack, f.outcome.value, f.rule, f.subject, f.clause, value(f), f.remedy)
        for f in found
        if f.outcome is not Outcome.UNVERIFIED
    )
    return answered, unverified


@pytest.fixture(scope="module")
def expected() -> dict[str, Said]:
    model = ROOT / "models" / "dwelling_early.ifc"
    return {code: _said(model, code) for code in ("upc-2021", "ipc-2021")}


@pytest.mark.parametrize(
    ("schema", "unit", "ports"),
    [  # every two of the three together
        (schema, unit, (i + j) % 2 == 0)
        for i, schema in enumerate(SCHEMAS)
        for j, unit in enumerate(UNITS)
    ],
)
def test_same_findings(tmp_path: Path, expected: dict, schema: str, unit: str, ports: bool) -> None:
    model = tmp_path / "dwelling.ifc"
    write(model, revision="early", schema=schema, length_unit=unit, ports=ports)
    code = "upc-2021" if unit != "FOOT" else "ipc-2021"
    said, unverified = _said(model, code)
    answered, as_many = expected[code]
    if not ports:
        assert sum((f[0], f[2]) in NEEDS_PORTS for f in answered) == len(NEEDS_PORTS)
        answered = [f for f in answered if (f[0], f[2]) not in NEEDS_PORTS]
        assert unverified["supply"] >= as_many["supply"]
        unverified["supply"] = as_many["supply"]
        assert unverified["heaters"] == as_many["heaters"] + SIZED_BY_PORTS
        unverified["heaters"] = as_many["heaters"]
    assert said == answered
    assert unverified == as_many


@pytest.mark.parametrize("revision", ["early", "corrected"])
def test_without_ports_the_same_parts_are_joined(tmp_path: Path, revision: str) -> None:
    """And what the joints do not tell is not taken as known: hot from cold at a fixture."""
    models = []
    for ports in (True, False):
        model = tmp_path / f"{ports}.ifc"
        write(model, revision=revision, ports=ports)
        models.append(read(model))
    with_ports, without = (
        {frozenset(m.elements[i].guid for i in (j.a, j.b)) for j in m.joints} for m in models
    )
    assert without == with_ports
    assert all(j.inferred for j in models[1].joints)
    stated = {e.system for f in models[1].elements if f.role is Role.FIXTURE for e in f.ends}
    assert not stated & {System.COLD_WATER, System.HOT_WATER}
