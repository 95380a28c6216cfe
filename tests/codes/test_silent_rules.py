"""Demands of the site and storm packs that a code does not make: there the rule is silent."""

from __future__ import annotations

import pytest

from ifclint.codes import load
from ifclint.packs import load_packs

RULES = {
    rule.name: rule
    for pack in load_packs().loaded
    if pack.name in ("site", "storm")
    for rule in pack.rules
}
SILENT = {
    "upc-2021": {"lint-intercepted", "sump-size", "storm-sump-size", "storm-pump-checked"},
    "ipc-2021": {"oil-vapor-vented", "sump-two-pumps", "sump-alarmed", "roof-drain-size"},
    "irc-2021": {
        "grease-intercepted", "oil-intercepted", "chemicals-neutralized", "lint-intercepted",
        "grease-interceptor-size", "interceptor-passed",
        "interceptor-vented", "interceptor-access", "interceptor-flow-control", "oil-vapor-vented",
        "sump-two-pumps",
        "sump-alarmed",
        "site-distance", "storm-drain-size", "roof-drain-size", "storm-slope", "storm-not-reduced",
        "leader-below-drain", "secondary-discharge", "leader-cleanout", "storm-trapped",
        "gutter-size",
    },
}  # fmt: skip


@pytest.mark.parametrize("code", SILENT)
def test_a_code_is_silent_where_it_makes_no_demand(code: str) -> None:
    adopted = load(code)
    assert {name for name, rule in RULES.items() if rule.clause(adopted) is None} == SILENT[code]
