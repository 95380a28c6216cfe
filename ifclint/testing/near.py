"""A case drawn otherwise: just below, at and just above a limit, or once."""

import ast
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

SHARES = (0.97, 1.0, 1.03)  # of the limit: far enough for the tolerance, near enough to tell
WORDS = ("just below", "at", "just above")
KEYS = frozenset({"limit", "draw", "answers", "remedies", "job", "code", "subject"})
KEYS_OF_ONE = frozenset({"name", "draw", "answer", "job", "code", "subject"})
_OPERATORS: dict[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.Pow: operator.pow, ast.USub: operator.neg,
}  # fmt: skip
_DROPPED = ("from", "change", "add", "measured", "required", "remedy", "clicked", "load")


def near_cases(case: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What is written of a case under `near`, as cases of their own.

    ValueError or KeyError where one lacks something or draws words that the network has not.
    """
    plain = {key: value for key, value in case.items() if key not in _DROPPED} | {"near": []}
    return [one for near in case.get("near", []) for one in _three(plain, near)]


def _three(case: Mapping[str, Any], near: Mapping[str, Any]) -> list[dict[str, Any]]:
    if unknown := set(near) - (KEYS_OF_ONE if "name" in near else KEYS):
        raise ValueError(f"there is no {', '.join(sorted(unknown))}")
    codes = near.get("code", case["code"])
    return [
        {
            **case,
            "name": f"{case['name']}: {name}",
            "code": code,
            "subject": near.get("subject", case.get("subject")),
            "answer": answer,
            **remedy,
            "job": filled(near.get("job", case.get("job", {})), d),
            "network": drawn(case["network"], near.get("draw", []), d),
        }
        for code in ([codes] if isinstance(codes, str) else codes)
        for name, d, answer, remedy in _drawings(near)
    ]


def _drawings(near: Mapping[str, Any]) -> list[tuple[str, float, str, dict[str, str]]]:
    """What each drawing is called, its dimension, and the answer and remedy expected."""
    if "name" in near:
        return [(near["name"], 0.0, near["answer"], {})]
    limit = near["limit"]
    values = limit if isinstance(limit, list) else [share * limit for share in SHARES]
    names = [f"{word} {values[1]:g}" for word in WORDS]
    said = [{"remedy": text} for text in near["remedies"]] if "remedies" in near else [{}] * 3
    return list(zip(names, values, near["answers"], said, strict=True))


def drawn(network: str, draw: list[list[str]], d: float) -> str:
    """A network with whole words of it replaced."""
    for old, new in draw:
        words = re.compile(rf"(?<!\S){re.escape(old)}(?!\S)")
        network, count = words.subn(str(filled(new, d)), network)
        if not count:
            raise KeyError(f"{old!r} to draw anew")
    return network


def filled(written: Any, d: float) -> Any:
    """Texts with the arithmetic in their braces worked out for a dimension `d`.

    A text that is nothing but braces becomes the number itself.
    """
    if isinstance(written, str) and (whole := re.fullmatch(r"\{([^{}]*)\}", written)):
        return _worked_out(whole[1], d)
    if isinstance(written, str):
        return re.sub(r"\{([^}]*)\}", lambda found: repr(_worked_out(found[1], d)), written)
    if isinstance(written, Mapping):
        return {key: filled(value, d) for key, value in written.items()}
    if isinstance(written, list):
        return [filled(value, d) for value in written]
    return written


def _worked_out(text: str, d: float) -> float:
    def value(node: ast.expr) -> float:
        if isinstance(node, ast.BinOp):
            return _OPERATORS[type(node.op)](value(node.left), value(node.right))
        if isinstance(node, ast.UnaryOp):
            return _OPERATORS[type(node.op)](value(node.operand))
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            return node.value
        if isinstance(node, ast.Name) and node.id == "d":
            return d
        raise ValueError(f"{text!r} is no arithmetic of d")

    return round(value(ast.parse(text.strip(), mode="eval").body), 9)
