"""Friction of the lines of a model against the fluids library (its own Colebrook and formulas)."""

from __future__ import annotations

from math import pi

import fluids
import pytest

from ifclint.engineering.friction import (
    WATER_DENSITY_KG_PER_M3,
    WATER_VISCOSITY_PA_S,
    pressure_of_head_pa,
)
from ifclint.rules.supply.losses import coefficient_c, roughness_m
from ifclint.rules.supply.pressure_model import solution
from tests.supply.test_against_epanet import BRANCHES
from tests.supply.trees import context_of, tree

FIXTURES = [(4, "bathtub"), (7, "shower"), (8, "water-closet"), (9, "clothes-washer"),
            (10, "kitchen-sink"), (11, "lavatory")]  # fmt: skip
GIVEN = {"static_pressure": "70 psi", "residual_pressure": "60 psi", "meter_loss": "0 psi"}


@pytest.mark.parametrize("material", ["copper", "pex", "pvc", "steel"])
def test_darcy_and_weisbach(material: str) -> None:
    model = tree(BRANCHES, FIXTURES)
    for element in model.elements:
        element.material = material
    solved = solution(context_of(model, friction="darcy-weisbach", **GIVEN))
    compared = 0
    for line in solved.supply.segments:
        found, flow = solved.loss[line.number], solved.demand.flow_m3_per_s[line.number]
        rough = roughness_m(material)
        assert found.inside_m is not None
        assert flow is not None
        assert rough is not None
        speed = flow / (pi / 4 * found.inside_m**2)
        reynolds = fluids.Reynolds(
            V=speed, D=found.inside_m, rho=WATER_DENSITY_KG_PER_M3, mu=WATER_VISCOSITY_PA_S
        )
        if 2300 <= reynolds < 4000:
            continue  # between laminar and turbulent the two choose differently
        factor = fluids.friction_factor(
            Re=reynolds, eD=rough / found.inside_m, Method="Colebrook" if reynolds > 4000 else None
        )
        drop = fluids.K_from_f(fd=factor, L=found.equivalent_m, D=found.inside_m)
        theirs = fluids.dP_from_K(K=drop, rho=WATER_DENSITY_KG_PER_M3, V=speed)
        assert found.friction_pa == pytest.approx(theirs, rel=2e-3), line.label
        compared += 1
    assert compared >= 8


def test_hazen_and_williams() -> None:
    """Against the formula as its authors wrote it, for velocity, with its rounder exponents."""
    solved = solution(context_of(tree(BRANCHES, FIXTURES), **GIVEN))
    for line in solved.supply.segments:
        found, flow = solved.loss[line.number], solved.demand.flow_m3_per_s[line.number]
        c = coefficient_c(line.material)
        assert found.inside_m is not None
        assert flow is not None
        assert c is not None
        # Hazen and Williams' own form: V = 0.849 C R^0.63 S^0.54, R a quarter of the bore
        speed = flow / (pi / 4 * found.inside_m**2)
        slope = (speed / (0.849 * c * (found.inside_m / 4) ** 0.63)) ** (1 / 0.54)
        theirs = pressure_of_head_pa(slope * found.equivalent_m)
        assert found.friction_pa == pytest.approx(theirs, rel=0.01), line.label


def test_the_two_formulas_are_near() -> None:
    """In smooth pipe at usual speeds they differ by less than a quarter."""
    model = tree(BRANCHES, FIXTURES)
    one = solution(context_of(model, friction="hazen-williams", **GIVEN))
    other = solution(context_of(model, friction="darcy-weisbach", **GIVEN))
    for a, b in zip(one.loss, other.loss, strict=True):
        assert a.friction_pa == pytest.approx(b.friction_pa, rel=0.25)
