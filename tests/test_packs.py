"""What a pack of somebody else can bring: each by its hook, and none at the cost of the others."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from pydantic import field_validator

from ifclint import codes
from ifclint.checks import PASS, check, unverified
from ifclint.codes import CodeTables
from ifclint.errors import InputError
from ifclint.findings import Failure
from ifclint.job import LengthM
from ifclint.packs import (
    Context,
    Packs,
    PropertyFact,
    Section,
    adopt,
    hookimpl,
    load_packs,
    make_pack,
    rule,
)
from ifclint.plumbing import DrainSegment
from ifclint.plumbing.subjects import finders
from ifclint.review import review
from tests.ifc.small_models import SmallModel

LININGS = """size_from_in,least_mm,clause,source,note
1.25,2,4.2,Acme standard sheet 4,
3,4,4.2,Acme standard sheet 4,
"""
TABLES = """
[lining]
title = "Least thickness of linings"
clause = "Table 4"
status = "complete"
topic = "linings"
used_by = "acme"
row_key = ["size_from_in"]
"""
COLUMNS = """
[number]
least_mm = "least thickness of the lining (mm)"
"""
LIMITS = """key,topic,value,unit,clause,source,note
acme_most_mm,acme,6,mm,4.3,Acme standard sheet 4,
"""


class AcmeSection(Section):
    wear: LengthM = 0.0


@rule(
    title="Lining thick enough",
    subject=DrainSegment,
    clauses={"any": "Acme standard 4.2"},
    needs=("size_in",),
)
def acme_lining(drain: DrainSegment, context: Context):
    """A lining that is too thin wears through, and the pipe behind it rusts.

    The thickness that the model gives each drain against the least for its size.
    """
    found = drain.first.properties.get("acme_lining_m")
    if not isinstance(found, float):
        return unverified(f"The lining of {drain.label} is not known.", "Give it Acme.Lining.")
    table = context.code.table("lining")
    row = max(
        (r for r in table.rows if r.number("size_from_in") <= drain.size_in),
        key=lambda r: r.number("size_from_in"),
    )
    worn_mm = (found - context.job.section(AcmeSection).wear) * 1000
    return check(
        worn_mm,
        at_least=row.limit("least_mm", "mm"),
        message=f"{drain.label} is lined with {worn_mm:.1f} mm.",
        remedy="Line it thicker.",
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "tables"
    made.mkdir()
    (made / "lining.csv").write_text(LININGS)
    (made / "tables.toml").write_text(TABLES)
    (made / "columns.toml").write_text(COLUMNS)
    (made / "limits.csv").write_text(LIMITS)
    return made


def acme(folder: Path, **hooks: object) -> ModuleType:
    module = ModuleType("acme")
    brought = {
        "ifclint_rules": lambda: [acme_lining],
        "ifclint_subjects": lambda: finders(DrainSegment),
        "ifclint_code_tables": lambda: [CodeTables(folder, "Acme standard")],
        "ifclint_job_section": lambda: AcmeSection,
        "ifclint_facts": lambda: [
            PropertyFact("acme_lining_m", "length", ("Acme Pipe Data.Lining",))
        ],
    }
    for name, hook in {**brought, **hooks}.items():
        setattr(module, name, hookimpl(hook))
    return module


@pytest.fixture
def model(tmp_path: Path) -> Path:
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (3, 0, -0.1), name="Drain 4 in")
    lining = m.single("Lining", "IfcPositiveLengthMeasure", m.length(0.0015))
    m.property_set(pipe, "Acme Pipe Data", [lining])
    return m.write(tmp_path)


def test_tables_limits_facts_and_a_section_reach_the_rule(
    tmp_path: Path, folder: Path, model: Path
) -> None:
    packs = Packs([make_pack("acme", acme(folder))])
    (finding,) = review([model], code="upc-2021", packs=packs).findings
    assert finding.clause == "Acme standard 4.2"
    assert finding.measured.value == pytest.approx(1.5)
    assert finding.required.value == 4
    assert "Acme standard sheet 4" in finding.provenance


def test_its_tables_are_amended_and_its_section_is_read_as_ours_are(
    tmp_path: Path, folder: Path, model: Path
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'adopted_code = "ipc-2021"\n[acme]\nwear = "1 mm"\n[[amendments]]\ntable = "lining"\n'
        'row = { size_from_in = 3 }\ncolumn = "least_mm"\nvalue = 0.4\nreason = "Ordinance 7"\n'
    )
    packs = Packs([make_pack("acme", acme(folder))])
    done = review([model], job, packs=packs)
    assert not done.findings
    assert done.coverage[0].passed == 1
    assert any("Ordinance 7" in text for text in done.amendments)
    job.write_text(job.read_text().replace("wear", "waer"))
    with pytest.raises(InputError, match=r'acme\.waer is not a key .* did you mean "wear"'):
        review([model], job, packs=packs)


def test_a_limit_of_a_pack_is_one_of_the_code(folder: Path) -> None:
    code = codes.load("irc-2021").with_tables(CodeTables(folder, "Acme standard"))
    limit = code.limit("acme_most_mm")
    assert (limit.value, limit.unit, limit.clause) == (6, "mm", "Acme standard 4.3")
    assert code.limit("cleanout_clearance_small_in")
    with pytest.raises(ValueError, match="lining already"):
        code.with_tables(CodeTables(folder, "Acme standard"))


def test_a_table_can_differ_by_the_adopted_code(folder: Path) -> None:
    (folder / "upc").mkdir()
    (folder / "upc" / "lining.csv").write_text(LININGS.replace("3,4", "3,5"))
    of = {
        c: codes.load(c).with_tables(CodeTables(folder, "Acme")) for c in ("upc-2024", "ipc-2021")
    }
    least = {
        c: code.table("lining").one(size_from_in=3.0).number("least_mm") for c, code in of.items()
    }
    assert least == {"upc-2024": 5, "ipc-2021": 4}


@pytest.mark.parametrize(
    ("hook", "brought", "why"),
    [
        ("ifclint_facts", lambda: [PropertyFact("size", "length", ("A.B",))], "fact size already"),
        ("ifclint_facts", lambda: [PropertyFact("x", "weight", ("A.B",))], "'weight', which is"),
        ("ifclint_code_tables", lambda: [CodeTables(Path("none"), "A")], "no folder none"),
    ],
)
def test_what_does_not_go_together_is_set_aside_and_named(
    folder: Path, hook: str, brought: object, why: str
) -> None:
    packs = load_packs()
    count = len(packs.loaded)
    packs.loaded.append(make_pack("acme", acme(folder, **{hook: brought})))
    kept, _ = adopt(packs, codes.load("upc-2021"))
    assert len(kept.loaded) == count
    (failure,) = kept.failures
    assert failure.pack == "acme"
    assert why in failure.reason


def test_a_pack_that_is_set_aside_leaves_no_table_behind(folder: Path) -> None:
    twice = [CodeTables(folder, "Acme standard"), CodeTables(folder, "Acme again")]
    packs = Packs([make_pack("acme", acme(folder, ifclint_code_tables=lambda: twice))])
    kept, code = adopt(packs, codes.load("upc-2021"))
    (failure,) = kept.failures
    assert "lining already" in failure.reason
    assert "lining" not in code.tables


def test_of_two_packs_of_one_name_the_second_is_set_aside(folder: Path) -> None:
    plain = {"ifclint_code_tables": lambda: [], "ifclint_facts": lambda: []}
    packs = Packs([make_pack("acme", acme(folder, **plain)) for _ in range(2)])
    kept, _ = adopt(packs, codes.load("upc-2021"))
    assert len(kept.loaded) == 1
    assert "another pack is named acme" in kept.failures[0].reason


def test_a_rule_with_the_name_of_another_packs_is_set_aside_with_its_pack(folder: Path) -> None:
    @rule(title="Mine", subject=DrainSegment, clauses={"any": "our own"})
    def drain_slope(drain: DrainSegment, context: Context):
        return PASS

    packs = load_packs()
    count = len(packs.loaded)
    packs.loaded.append(make_pack("acme", acme(folder, ifclint_rules=lambda: [drain_slope])))
    kept, _ = adopt(packs, codes.load("upc-2021"))
    assert len(kept.loaded) == count
    assert [f.pack for f in kept.failures] == ["acme"]
    assert "the pack drainage has a rule drain-slope already" in kept.failures[0].reason


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"severity": "high"}, "the severity of rule ring is 'high', which is no Severity"),
        ({"title": None}, "the title of rule ring is None"),
        ({"clauses": "UPC 1"}, "the clauses of rule ring is 'UPC 1', which is no Mapping"),
    ],
)
def test_a_rule_that_no_report_could_show_is_none(wrong: dict[str, Any], told: str) -> None:
    def ring(drain: DrainSegment, context: Context):
        return PASS

    made: dict[str, Any] = {"title": "Ring", "clauses": {"any": "our own"}}
    assert rule(**made)(ring).name == "ring"
    with pytest.raises(TypeError, match=told):
        rule(**(made | wrong))(ring)


@pytest.mark.parametrize(
    ("raised", "told"),
    [(RuntimeError("boom"), "RuntimeError: boom"), (SystemExit(0), "SystemExit: 0")],
)
def test_a_section_that_breaks_on_what_is_written_costs_its_pack_alone(
    folder: Path, model: Path, raised: BaseException, told: str
) -> None:
    class Breaking(Section):
        depth: int = 0

        @field_validator("depth")
        @classmethod
        def whole(cls, depth: int) -> int:
            if depth == 1:
                raise raised
            raise ValueError("depth is wrong")

    packs = load_packs()
    packs.loaded.append(make_pack("acme", acme(folder, ifclint_job_section=lambda: Breaking)))
    job_file = folder / "job.toml"
    job_file.write_text('adopted_code = "upc-2021"\n[acme]\ndepth = 1\n', encoding="utf-8")
    done = review([model], job_file, packs=packs)
    (failure,) = done.failures
    assert failure.pack == "acme"
    assert failure.reason.startswith(told)
    assert done.job["acme"] == {"depth": 1}
    job_file.write_text("[acme]\ndepth = 2\n", encoding="utf-8")
    with pytest.raises(InputError, match="depth is wrong"):
        review([model], job_file, code="upc-2021", packs=packs)


def test_a_section_that_there_cannot_be_costs_no_review(folder: Path, model: Path) -> None:
    class Lacking(Section):
        depth: float

    packs = Packs([make_pack("acme", acme(folder, ifclint_job_section=lambda: Lacking))])
    done = review([model], code="upc-2021", packs=packs)
    (failure,) = done.failures
    assert "keys of section [acme] have no default: depth" in failure.reason


def test_a_name_that_is_not_there_may_be_of_a_pack_that_did_not_load() -> None:
    packs = Packs([], [Failure("acme", "", "TypeError: it broke")])
    assert packs.broken == ["acme"]
    with pytest.raises(InputError, match="pack acme is installed and could not be loaded: TypeE"):
        packs.only(packs=["acme"])
    with pytest.raises(InputError, match=r'There is no rule "ring".*could not be loaded'):
        packs.only(rules=["ring"])
