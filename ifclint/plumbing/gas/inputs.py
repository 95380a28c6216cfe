"""The gas supplied and what every appliance takes of it, and where each was known from."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ifclint.codes import Row
from ifclint.codes.fixture_units import choose_row, holds
from ifclint.engineering.arithmetic import Step
from ifclint.engineering.units import (
    J_PER_M3_PER_BTU_PER_FT3,
    M3_PER_S_PER_CFH,
    M3_PER_S_PER_GPM,
    M3_PER_US_GAL,
    W_PER_BTU_PER_H,
)
from ifclint.engineering.wording import number_text
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.gas.gas_piping import GasAppliance, GasOutlet

CFH, KBTUH = "ft³/h", "kBtu/h"
SAME = 0.02  # two statements of one input agree within this share


@dataclass(frozen=True)
class Gas:
    """The gas supplied. `specific_gravity` is None where nobody tells it."""

    name: str  # "natural" or "propane"
    heating_value_j_per_m3: float
    specific_gravity: float | None
    basis: str = "job file"  # of its heating value

    def flow_m3_per_s(self, input_w: float) -> float:
        return input_w / self.heating_value_j_per_m3

    def amount(self, input_w: float, unit: str) -> float:
        """An input in the unit of a table: ft3/h of this gas, or thousands of Btu/h."""
        if unit == KBTUH:
            return input_w / W_PER_BTU_PER_H / 1000
        return self.flow_m3_per_s(input_w) / M3_PER_S_PER_CFH


@dataclass(frozen=True)
class Input:
    """What an appliance takes. `is_usual` where neither model nor job file tells it: then `watts`
    is the most that is listed for such an appliance, and `least_watts` the least, or nothing where
    but one value is listed; these differ also where a number without a unit may be in either of
    two."""

    watts: float
    basis: str
    clause: str = ""
    is_usual: bool = False
    job_watts: float | None = None  # what the job file says, where that is something else
    least: Input | None = None

    @property
    def least_watts(self) -> float:
        return self.least.watts if self.least is not None else self.watts

    @property
    def btu_per_h(self) -> float:
        return self.watts / W_PER_BTU_PER_H

    def step(self, taker: GasAppliance | GasOutlet) -> Step:
        words = f"{taker.label}: {self.basis}"
        return Step(words, float(round(self.btu_per_h)), "Btu/h", self.clause)

    def least_step(self, appliance: GasAppliance) -> Step:
        return (self.least or self).step(appliance)


@derived
def gas(context: Context) -> Gas | None:
    """The gas of the job file; None where it does not show which, or its heating value. Propane
    has what the code's own tables are made for, where none is stated."""
    stated = context.job.gas
    if stated.name is None:
        return None
    if stated.heating_value is not None:
        return Gas(stated.name, stated.heating_value, stated.specific_gravity)
    row = context.code.table("gas_properties").one(gas=stated.name)
    if row is None or stated.name != "propane":
        return None
    per_m3 = row.number("heating_value_btu_per_ft3") * J_PER_M3_PER_BTU_PER_FT3
    gravity = stated.specific_gravity or row.number("specific_gravity")
    return Gas(stated.name, per_m3, gravity, row.clause)


@derived
def inputs(context: Context) -> dict[GasAppliance, Input | None]:
    """The input of every gas appliance; None where nothing tells it."""
    piping = context.plumbing.gas
    said = {load.element: load.input for load in context.job.gas.loads}
    return (
        {a: _input(a, said.get(a.element.guid), context) for a in piping.appliances}
        if piping
        else {}
    )


@derived
def outlet_inputs(context: Context) -> dict[GasOutlet, Input]:
    """What the capped outlets are to give, of those of which the job file tells it."""
    piping = context.plumbing.gas
    said = {load.element: load.input for load in context.job.gas.loads}
    return {
        outlet: Input(said[outlet.element.guid], "job file, gas.loads")
        for outlet in (piping.outlets if piping else ())
        if outlet.element.guid in said
    }


def _input(appliance: GasAppliance, said_w: float | None, context: Context) -> Input | None:
    """From the model, else from the job file, else the code's usual input of such an appliance."""
    told = appliance.element.properties
    stated, least_w = told.positive("input_rating_w"), told.positive("least_input_rating_w")
    basis = str(appliance.element.basis.get("input_rating_w", "the model"))
    if stated is not None and least_w is not None and said_w is None:
        return Input(stated, basis, least=Input(least_w, basis))
    if stated is not None and least_w is None:
        differs = said_w is not None and abs(said_w - stated) > SAME * stated
        return Input(stated, basis, job_watts=said_w if differs else None)
    if said_w is not None:
        return Input(said_w, "job file, gas.loads")
    return _usual(appliance, context)


def _usual(appliance: GasAppliance, context: Context) -> Input | None:
    rows: tuple[Row, ...] = context.code.table("gas_appliance_inputs").where(
        appliance=appliance.kind
    )
    if not rows:
        return None
    facts = _facts(appliance)
    name = f"usual input of a {appliance.kind.replace('-', ' ')}"
    may_apply = [row for row in rows if holds(row.text("condition"), facts) is None]
    told = [row for row in rows if row.text("condition") and holds(row.text("condition"), facts)]
    taken = _listed(choose_row(rows, facts)[0], name)
    if may_apply and not told:
        may_apply += [row for row in rows if not row.text("condition")]
        most = max(may_apply, key=lambda row: row.number("btu_per_h"))
        taken = _listed(most, f"{name}, the largest listed")  # so as not to undersize
    least = min(rows, key=lambda row: row.number("btu_per_h"))
    if len(rows) > 1:
        return replace(taken, least=_listed(least, f"{name}, the least listed"))
    return replace(taken, least=Input(0.0, "nothing states what it takes"))


def _listed(row: Row, words: str) -> Input:
    return Input(row.number("btu_per_h") * W_PER_BTU_PER_H, words, row.clause, True)


def _facts(appliance: GasAppliance) -> dict[str, float | str | bool]:
    """What is known of an appliance, in the units in which the code's conditions ask."""
    facts = dict(appliance.element.properties)
    volume, flow = facts.get("storage_volume_m3"), facts.get("flow_rate_m3s")
    if isinstance(volume, float):
        facts["storage_gal"] = volume / M3_PER_US_GAL
    if isinstance(flow, float):
        facts["heater_gpm"] = flow / M3_PER_S_PER_GPM
    return facts


def btu_text(watts: float) -> str:
    """An input as a plate says it: "40,000 Btu/h"."""
    return f"{number_text(float(round(watts / W_PER_BTU_PER_H)))} Btu/h"
