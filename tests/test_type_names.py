"""A type's name has one meaning in the whole project."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def test_no_two_types_have_one_name() -> None:
    where: dict[str, set[str]] = defaultdict(set)
    for folder in ("ifclint", "plugins/ifclint"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    where[node.name].add(str(path.relative_to(ROOT)))
    assert len(where) > 300
    assert {name: paths for name, paths in where.items() if len(paths) > 1} == {}
