"""Places of the code that can be changed so that a test ought to notice.

A place is one small change: a comparison (`<` to `<=`, `==` to `!=` ...), a number (a twentieth
more or less; a whole number below 20 one more), `and` for `or`, a `not` left out, `+` for `-`,
`min` for `max`. Left alone, since no test ought to notice or since nothing is done there:

- what is inside an f-string, and the digits that `round` and the functions of words
  (`number_text`, `fraction_text` ...) are given: wording of messages;
- numbers below 0.00001: guards against rounding and division by nothing;
- annotations, `if TYPE_CHECKING`, `if __name__ == ...`, `__all__`, the size of a cache;
- patterns of `match`, where only a few kinds of expression may stand;
- `+` beside a text: joining words.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass, field

SHOWN = 70  # characters of the code around a place that name it
SMALL = 20  # whole numbers below are counts and positions: one more, not a twentieth more
GUARD = 1e-5

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
}  # fmt: skip
ADDED: dict[type[ast.operator], type[ast.operator]] = {ast.Add: ast.Sub, ast.Sub: ast.Add}
EXTREMES = {"min": "max", "max": "min"}
UNREAD_FIELDS = ("annotation", "returns", "type_params")
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(frozen=True)
class Owner:
    """What takes the value of code that runs once, when its module is imported.

    `names` are given the value, `function` has it as a default or decorator; neither: the module.
    """

    names: tuple[str, ...] = ()
    function: str = ""


@dataclass(frozen=True)
class Place:
    """One change to one module. `owner` is None for code that runs when it is called."""

    path: str
    function: str
    line: int
    what: str
    text: str
    becomes: str
    owner: Owner | None = field(compare=False)
    node: int = field(compare=False)  # its number in `Module.nodes`
    change: int = field(compare=False)  # which of the changes of that node

    @property
    def name(self) -> str:
        return f"{self.path}:{self.line} {self.function} ({self.what})"

    @property
    def folder(self) -> str:
        return self.path.rpartition("/")[0] or "."


class Module:
    """A module's tree, in which one node can be put in another's stead."""

    def __init__(self, path: str, source: str) -> None:
        self.path = path
        self.source = source
        self.tree = ast.parse(source)
        self.nodes = list(ast.walk(self.tree))
        self.numbers = {id(node): number for number, node in enumerate(self.nodes)}
        self.parents: dict[int, tuple[ast.AST, str, int | None]] = {}
        for node in self.nodes:
            for name, value in ast.iter_fields(node):
                if isinstance(value, ast.AST):
                    self.parents[id(value)] = (node, name, None)
                elif isinstance(value, list):
                    for at, one in enumerate(value):
                        self.parents[id(one)] = (node, name, at)

    def put(self, old: ast.AST, new: ast.AST) -> None:
        """`new` where `old` stands."""
        parent, name, at = self.parents[id(old)]
        if at is None:
            setattr(parent, name, new)
        else:
            getattr(parent, name)[at] = new

    def mutated(self, place: Place) -> str:
        """The source with the place changed and every other character as it was."""
        old = self.nodes[place.node]
        new = changes(old)[place.change][1]
        text = ast.unparse(new)
        if isinstance(new, ast.expr) and not isinstance(new, ast.Constant):
            text = f"({text})"
        assert isinstance(old, ast.expr | ast.stmt)
        assert old.end_lineno is not None
        assert old.end_col_offset is not None
        lines = self.source.encode().splitlines(keepends=True)  # columns are counted in bytes
        before = [*lines[: old.lineno - 1], lines[old.lineno - 1][: old.col_offset]]
        after = [lines[old.end_lineno - 1][old.end_col_offset :], *lines[old.end_lineno :]]
        return b"".join([*before, text.encode(), *after]).decode()

    def around(self, node: ast.AST) -> ast.AST:
        """The largest piece of code about a node that can still be shown on one line."""
        while not isinstance(node, ast.stmt):
            parent = self.parents[id(node)][0]
            if not isinstance(parent, ast.expr | ast.keyword | ast.arguments | ast.stmt):
                break
            text = ast.unparse(parent)
            if len(text) > SHOWN or "\n" in text:
                break
            node = parent
        return node

    def places(self) -> list[Place]:
        """All places, in the order of the source."""
        return [p for site in sites(self.tree) for p in self._at(*site)]

    def _at(self, node: ast.AST, function: str, owner: Owner | None) -> Iterator[Place]:
        for number, (what, new) in enumerate(changes(node)):
            shown = self.around(node)
            text = ast.unparse(shown)
            if shown is node:
                becomes = ast.unparse(new)
            else:
                self.put(node, new)
                becomes = ast.unparse(shown)
                self.put(node, node)
            line = getattr(node, "lineno", 0)
            at = self.numbers[id(node)]
            yield Place(self.path, function, line, what, text, becomes, owner, at, number)


def sites(tree: ast.Module) -> Iterator[tuple[ast.AST, str, Owner | None]]:
    """Every node that may be changed, with the function it is in and who takes its value."""
    return _below(tree, (), Owner())


def _below(
    node: ast.AST, scope: tuple[str, ...], owner: Owner | None
) -> Iterator[tuple[ast.AST, str, Owner | None]]:
    """The nodes under one; `owner` is None as soon as the code runs when called."""
    yield node, ".".join(scope) or "(module)", owner
    inner = scope
    if isinstance(node, (*FUNCTIONS, ast.ClassDef)):
        inner = (*scope, node.name)
    for name, child in _children(node):
        if isinstance(node, (*FUNCTIONS, ast.Lambda)) and name == "body":
            yield from _below(child, inner, None)
        elif owner is not None and isinstance(node, FUNCTIONS):
            yield from _below(child, inner, Owner(function=".".join(inner)))
        elif owner is not None and isinstance(node, ast.ClassDef):
            yield from _below(child, inner, Owner((node.name,)))
        elif owner is not None and isinstance(node, ast.Assign | ast.AnnAssign):
            yield from _below(child, scope, Owner((*owner.names, *_targets(node))))
        else:
            yield from _below(child, inner, owner)


def _targets(node: ast.Assign | ast.AnnAssign) -> list[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    return [n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)]


def _children(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """The parts of a node, without those that are left alone."""
    for name, value in ast.iter_fields(node):
        if name in UNREAD_FIELDS:
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not _left_alone(node, name, child):
                yield name, child


def _left_alone(node: ast.AST, name: str, child: ast.AST) -> bool:
    if isinstance(child, ast.JoinedStr | ast.pattern):
        return True
    if isinstance(child, ast.If):
        asked = ast.unparse(child.test)
        return "TYPE_CHECKING" in asked or asked.startswith("__name__ ==")
    if isinstance(child, ast.Assign):
        return _targets(child) == ["__all__"]
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and name != "func":
        words = node.func.id.endswith("_text") and isinstance(child, ast.Constant)
        rounding = (words or node.func.id == "round") and child is not node.args[0]
        return rounding or node.func.id == "lru_cache"
    return False


def changes(node: ast.AST) -> list[tuple[str, ast.AST]]:
    """What can be changed in a node: in words, and the node to put in its stead."""
    if isinstance(node, ast.Compare):
        return [
            (_swap(op, COMPARED[type(op)]()), _with(node, ops=_set(node.ops, at, COMPARED)))
            for at, op in enumerate(node.ops)
            if type(op) in COMPARED
        ]
    if isinstance(node, ast.Constant):
        return [(f"{node.value!r} -> {new}", ast.Constant(new)) for new in _numbers(node.value)]
    if isinstance(node, ast.BoolOp):
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        return [(_swap(node.op, other), _with(node, op=other))]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return [("not left out", node.operand)]
    if isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in ADDED:
        added = ADDED[type(node.op)]()
        return [] if _is_text(node) else [(_swap(node.op, added), _with(node, op=added))]
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in EXTREMES:
        extreme = EXTREMES[node.func.id]
        new = _with(node, func=ast.Name(extreme, ast.Load()))
        return [(f"{node.func.id} -> {extreme}", new)]
    return []


def _numbers(value: object) -> list[float]:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return []
    if isinstance(value, int):
        return [value + 1] if value < SMALL else [round(value * 1.05), round(value * 0.95)]
    if value == 0:
        return [0.05]
    return [] if value < GUARD else [float(f"{value * 1.05:.9g}"), float(f"{value * 0.95:.9g}")]


def _is_text(node: ast.BinOp | ast.AugAssign) -> bool:
    parts = [node.value] if isinstance(node, ast.AugAssign) else [node.left, node.right]
    return any(
        isinstance(p, ast.JoinedStr) or (isinstance(p, ast.Constant) and isinstance(p.value, str))
        for p in parts
    )


def _swap(old: ast.AST, new: ast.AST) -> str:
    return f"{SIGNS[type(old).__name__]} -> {SIGNS[type(new).__name__]}"


SIGNS = {
    "Lt": "<", "LtE": "<=", "Gt": ">", "GtE": ">=", "Eq": "==", "NotEq": "!=",
    "And": "and", "Or": "or", "Add": "+", "Sub": "-",
}  # fmt: skip


def _set(
    ops: list[ast.cmpop], at: int, instead: dict[type[ast.cmpop], type[ast.cmpop]]
) -> list[ast.cmpop]:
    return [*ops[:at], instead[type(ops[at])](), *ops[at + 1 :]]


def _with(node: ast.AST, **fields: object) -> ast.AST:
    new = copy.copy(node)
    for name, value in fields.items():
        setattr(new, name, value)
    return new
