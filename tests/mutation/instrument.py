"""Code rewritten so that it tells which places it passes.

A place in code that runs when called is told there: `a < b` becomes `hit(7) or a < b`. A value set
while its module is imported is told where it is read: wherever its name, or a name that is given a
value made of it, is read. Names are matched by themselves whatever module they come from, so a few
tests too many are run rather than one too few.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterable

from tests.mutation.places import FUNCTIONS, Module, Owner, Place, sites

HIT = "__hit__"
IMPORT = f"from mutation_probe import hit as {HIT}"


class Readers:
    """Where places set at import are read: names, functions entered, and whole modules."""

    def __init__(self) -> None:
        self.names: dict[str, set[int]] = defaultdict(set)
        self.functions: dict[tuple[str, str], set[int]] = defaultdict(set)
        self.modules: dict[str, set[int]] = defaultdict(set)

    def add(self, path: str, owner: Owner, places: Iterable[int]) -> None:
        for name in owner.names:
            self.names[name].update(places)
        if owner.function:
            self.functions[path, owner.function].update(places)
        elif not owner.names:
            self.modules[path].update(places)

    def count(self) -> int:
        kinds: list[set[int]] = [
            *self.names.values(),
            *self.functions.values(),
            *self.modules.values(),
        ]
        return sum(map(len, kinds))


def find_readers(modules: list[Module], places: list[Place]) -> Readers:
    """Who reads the places set at import, at first hand and through names made of them."""
    readers = Readers()
    for number, place in enumerate(places):
        if place.owner is not None:
            readers.add(place.path, place.owner, [number])
    loads = [
        (module.path, owner, name)
        for module in modules
        for node, _, owner in sites(module.tree)
        if owner is not None and (name := _read(node))
    ]
    before = -1
    while before != (before := readers.count()):
        for path, owner, name in loads:
            if name in readers.names:
                readers.add(path, owner, set(readers.names[name]))
    return readers


def _read(node: ast.AST) -> str:
    """The name a piece of code reads, empty for none."""
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
        return node.id
    if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
        return node.attr
    return ""


def instrumented(module: Module, places: list[Place], readers: Readers, whole: bool) -> str:
    """The module's source, telling what it passes. `whole`: what it reads at import counts too."""
    passes: dict[int, set[int]] = defaultdict(set)
    for number, place in enumerate(places):
        if place.path == module.path and place.owner is None:
            passes[place.node].add(number)
    return ast.unparse(_Telling(module, passes, readers, whole).rewritten())


class _Telling(ast.NodeTransformer):
    """Puts calls of `hit` into a tree of its own."""

    def __init__(
        self, module: Module, passes: dict[int, set[int]], readers: Readers, whole: bool
    ) -> None:
        self.module, self.passes, self.readers = module, passes, readers
        self.scope: list[str] = []
        self.depth = 1 if whole else 0  # of functions about the code

    def rewritten(self) -> ast.Module:
        tree = self.module.tree
        self.visit(tree)
        body = tree.body
        at = 1 if body and _is_text(body[0]) else 0
        while at < len(body) and _is_future(body[at]):
            at += 1
        body[at:at] = ast.parse(IMPORT).body
        return ast.fix_missing_locations(tree)

    def visit(self, node: ast.AST) -> ast.AST:
        number = self.module.numbers.get(id(node))
        if isinstance(node, ast.pattern):
            return node
        if isinstance(node, (*FUNCTIONS, ast.ClassDef)):
            self._scope(node)
        elif isinstance(node, ast.Lambda):
            self.depth += 1
            self.generic_visit(node)
            self.depth -= 1
        elif isinstance(node, ast.AnnAssign):
            node.value = node.value and self.visit(node.value)  # type: ignore[assignment]
        else:
            self.generic_visit(node)
        told = set(self.passes.get(-1 if number is None else number, ()))
        if self.depth:
            told |= self.readers.names.get(_read(node), set())
        if not told:
            return node
        if isinstance(node, ast.AugAssign):
            node.value = _told(node.value, told)
            return node
        assert isinstance(node, ast.expr)
        return _told(node, told)

    def _scope(self, node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> None:
        """Decorators and defaults belong to the code around; only the body is entered."""
        self._visit_heads(node)
        body = node.body
        inner = isinstance(node, FUNCTIONS)
        self.scope.append(node.name)
        self.depth += inner
        node.body = [self.visit(s) for s in body]  # type: ignore[misc]
        if inner:
            told = self.readers.modules.get(self.module.path, set()) | self.readers.functions.get(
                (self.module.path, ".".join(self.scope)), set()
            )
            if told:
                at = 1 if _is_text(body[0]) else 0
                node.body.insert(at, ast.Expr(_call(told)))
        self.depth -= inner
        self.scope.pop()

    def _visit_heads(self, node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> None:
        node.decorator_list = [self.visit(d) for d in node.decorator_list]  # type: ignore[misc]
        if isinstance(node, FUNCTIONS):
            args = node.args
            args.defaults = [self.visit(d) for d in args.defaults]  # type: ignore[misc]
            args.kw_defaults = [d and self.visit(d) for d in args.kw_defaults]  # type: ignore[misc]


def _told(node: ast.expr, places: set[int]) -> ast.expr:
    return ast.BoolOp(ast.Or(), [_call(places), node])


def _call(places: set[int]) -> ast.expr:
    numbers: list[ast.expr] = [ast.Constant(place) for place in sorted(places)]
    return ast.Call(ast.Name(HIT, ast.Load()), numbers, [])


def _is_text(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _is_future(node: ast.stmt) -> bool:
    return isinstance(node, ast.ImportFrom) and node.module == "__future__"
