"""The architecture: imports point down only, and every module has its layer."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# From the top: a module may import what stands in a lower line, and its own package.
LAYERS = (
    ("cli",),
    ("exit_status", "options", "streams"),
    ("batch", "catalogue", "job_keys", "element_report", "requirements"),
    ("gate",),
    ("review", "comparison", "fieldsheet"),
    ("report",),
    ("again", "testing"),
    (
        "amendments",
        "background",
        "corrections",
        "judge",
        "plans",
        "schedules",
        "variances",
        "verdict",
    ),
    ("as_findings",),
    ("judged",),
    ("packs",),
    ("rule", "checks", "sound", "read_only", "lost_track"),
    ("known", "part_kinds"),
    ("findings",),
    ("drawings",),
    ("plumbing",),
    ("network",),
    ("ifc",),
    ("job", "codes"),
    ("engineering",),
    ("guard",),
    ("errors", "files", "gc_pause"),
)
# The same within the reader: from what puts a model together down to plain data.
READER = (
    "reading", "file_reader", "element_builder", "building", "joints", "facts", "shape", "step",
    "steady_order", "elements",
)  # fmt: skip
# And within what a plumber sees, system by system.
PLUMBING = (
    "subjects", "resized", "graphs", "heaters", "gas", "supply", "pieces", "cleanouts", "venting",
    "surroundings", "storm", "drainage", "bathrooms", "flow", "floors", "crawl_spaces",
    "footprint", "context", "facts", "words",
)  # fmt: skip
# What is used across layers for its words alone.
ELEMENTS = "ifclint.ifc.elements"
FOR_PACKS = {
    "checks",
    "part_kinds",
    "packs",
    "rule",
    "drawings",
    "findings",
    "plumbing",
    "job",
    "codes",
    "engineering",
    "ifc",
}


def _level(part: str) -> int:
    for level, names in enumerate(LAYERS):
        if part in names:
            return level
    raise AssertionError(f"ifclint.{part} has no layer: add it to LAYERS and to DEVELOPERS.md")


def _modules(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


def _imports(path: Path) -> set[str]:
    """The ifclint modules a file imports, as dotted names."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "ifclint":
                found |= {f"ifclint.{alias.name}" for alias in node.names}
            else:
                found.add(node.module)
    return {name for name in found if name.split(".")[0] == "ifclint"}


@pytest.mark.parametrize("path", _modules("ifclint"), ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_down(path: Path) -> None:
    parts = path.relative_to(ROOT / "ifclint").with_suffix("").parts
    if parts == ("__init__",):
        return
    own = parts[0]
    for name in _imports(path):
        if name in ("ifclint", "ifclint.__version__"):
            continue
        other = name.split(".")[1]
        if other in (own, "errors", "__version__"):
            continue
        assert _level(own) < _level(other), f"{path.name} imports {name}, which stands above it"


@pytest.mark.parametrize("path", _modules("ifclint/ifc"), ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_within_the_reader_point_down(path: Path) -> None:
    own, *_ = path.relative_to(ROOT / "ifclint" / "ifc").with_suffix("").parts
    if own == "__init__":
        return
    assert own in READER, f"ifclint.ifc.{own} has no place: add it to READER and to DEVELOPERS.md"
    for name in _imports(path):
        if name.startswith("ifclint.ifc."):
            other = name.split(".")[2]
            assert READER.index(own) <= READER.index(other), f"{path.name} imports {name}"


@pytest.mark.parametrize(
    "path", _modules("ifclint/plumbing"), ids=lambda p: str(p.relative_to(ROOT))
)
def test_imports_within_the_plumbing_point_down(path: Path) -> None:
    own, *_ = path.relative_to(ROOT / "ifclint" / "plumbing").with_suffix("").parts
    if own == "__init__":
        return
    assert own in PLUMBING, f"ifclint.plumbing.{own} has no place: add it to PLUMBING"
    for name in _imports(path):
        if name.startswith("ifclint.plumbing."):
            other = name.split(".")[2]
            assert PLUMBING.index(own) <= PLUMBING.index(other), f"{path.name} imports {name}"


PACKS = ROOT / "plugins" / "ifclint" / "rules"


@pytest.mark.parametrize("path", _modules("plugins"), ids=lambda p: str(p.relative_to(ROOT)))
def test_packs_see_only_what_a_third_party_sees(path: Path) -> None:
    own, *_ = path.relative_to(PACKS).with_suffix("").parts
    for name in _imports(path):
        part = name.split(".")[1]
        if part == "rules":
            assert name.split(".")[2] == own, f"{path.name} imports another pack: {name}"
            continue
        assert part in FOR_PACKS, f"{path.name} imports {name}"
        assert part != "ifc" or name == ELEMENTS, f"{path.name} reads IFC: {name}"


def test_only_the_reader_knows_ifcopenshell() -> None:
    knowing = [
        path
        for folder in ("ifclint", "plugins")
        for path in _modules(folder)
        if "ifcopenshell" in path.read_text(encoding="utf-8")
        and (ROOT / "ifclint" / "ifc") not in path.parents
    ]
    assert knowing == []
