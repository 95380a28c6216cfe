"""Regulators: what they are set to, and what they give while water runs."""

from __future__ import annotations

from ifclint.checks import given
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import SETS_PRESSURE
from ifclint.rules.supply.beginnings import told_of
from ifclint.rules.supply.losses import falloff_pa


def flowing_pa(valve: Element, context: Context) -> float:
    """What a regulator of known setting gives while water runs."""
    told, setting = told_of(valve, context), given(setting_pa(valve, context))
    if told is not None and told.residual_pressure is not None:
        return told.residual_pressure
    return setting - falloff_pa(context)


def setting_pa(valve: Element, context: Context) -> float | None:
    """The setting of a regulator: the job file's, of this one or of all, else the model's."""
    told = told_of(valve, context)
    given = context.job.water.regulator_setting if told is None else told.static_pressure
    if given is not None:
        return given
    return valve.properties.positive("downstream_pressure_pa")


def sets_pressure(element: Element) -> bool:
    """Whether an element is a regulator."""
    return element.kind in SETS_PRESSURE or element.role is Role.REGULATOR
