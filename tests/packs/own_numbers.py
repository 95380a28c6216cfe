"""The numbers that our packs set themselves, and the page that lists them.

Most are no values of a code: distances by which a drawing is understood, how many of a list are
shown. Whoever changes one sees it in plugins/NUMBERS.md, and so does the reader of that page.
"""

from __future__ import annotations

import ast
import sys
from importlib import import_module
from pathlib import Path

from tests.packs.test_rule_cases import OURS

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "plugins" / "ifclint" / "rules"
PAGE = ROOT / "plugins" / "NUMBERS.md"
HEAD = """# Numbers of ours

By these our packs understand a drawing: how near counts as beside, how short as a stub, how many of
a list are shown. No code sets them, unless what is said beside one names it; values of the codes
stand in [SOURCES.md](../ifclint/codes/SOURCES.md). Lengths end in M (metres), IN (inches) or FT
(feet), angles in DEG. Made by `tests/packs/test_own_numbers.py`.

| where | number | value | what it is |
|---|---|---|---|
"""
Key = tuple[str, str]  # pack and module; name


def numbers() -> dict[Key, str]:
    """Every number, and group of numbers, that a module of our packs sets as it is imported."""
    return {key: value for key, (value, _) in _found().items()}


def listed() -> dict[Key, str]:
    """As the page lists them."""
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    cells = [line.strip("| ").split(" | ") for line in lines if line.startswith("| ")]
    return {(row[0], row[1].strip("`")): row[2].strip("`") for row in cells if "/" in row[0]}


def page() -> str:
    rows = (
        f"| {where} | `{name}` | `{value}` | {said} |"
        for (where, name), (value, said) in _found().items()
    )
    return HEAD + "\n".join(rows) + "\n"


def _found() -> dict[Key, tuple[str, str]]:
    found = {}
    for pack in OURS:
        for path in sorted((FOLDER / pack).glob("*.py")):
            name = f"ifclint.rules.{pack}" + ("" if path.stem == "__init__" else f".{path.stem}")
            import_module(name)
            source = path.read_text(encoding="utf-8")
            lines = source.splitlines()
            for node in ast.parse(source).body:
                target = _target(node)
                value = getattr(sys.modules[name], target, "")
                if target and _has_number(node) and _is_plain(value):
                    said = lines[(node.end_lineno or 0) - 1].partition("  # ")[2]
                    found[f"{pack}/{path.stem}", target] = _shown(value), _plainly(said)
    return found


def _target(node: ast.stmt) -> str:
    """The name a statement gives a value; "" for any other statement."""
    target = node.target if isinstance(node, ast.AnnAssign) else None
    target = node.targets[0] if isinstance(node, ast.Assign) else target
    return target.id if isinstance(target, ast.Name) else ""


def _plainly(said: str) -> str:
    return "" if said.startswith("fmt:") else said.replace("|", "/")


def _has_number(node: ast.stmt) -> bool:
    """Whether a number is written in it."""
    constants = (n.value for n in ast.walk(node) if isinstance(n, ast.Constant))
    return any(isinstance(v, int | float) and not isinstance(v, bool) for v in constants)


def _is_plain(value: object) -> bool:
    if isinstance(value, dict):
        return all(_is_plain(part) for pair in value.items() for part in pair)
    if isinstance(value, tuple | list):
        return all(map(_is_plain, value))
    return isinstance(value, int | float | str)


def _shown(value: object) -> str:
    """A number to six digits; of what is made of them each by itself."""
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, dict):
        return ", ".join(f"{_shown(key)}: {_shown(part)}" for key, part in value.items())
    if isinstance(value, tuple | list):
        return f"({', '.join(map(_shown, value))})"
    return str(value).replace("|", "/")
