"""What a pipe is made of, and the profile its material set may carry."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.step.spf import fields, number
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex


def material_texts(material: Any) -> list[str]:
    """Names in a material definition, the material's own first."""
    return [t for t in (clean(n) for n in _names(material, 0)) if t]


def _names(material: Any, depth: int) -> list[Any]:
    if material is None or depth > 4:
        return []
    kind = material.is_a()
    if kind == "IfcMaterial":
        return [material[0]]
    if kind == "IfcMaterialProfileSetUsage" or kind == "IfcMaterialLayerSetUsage":
        return _names(material[0], depth + 1)
    if kind == "IfcMaterialProfileSet":
        return [n for p in material[2] or () for n in _names(p[2], depth + 1)] + [material[0]]
    if kind == "IfcMaterialLayerSet":
        return [n for layer in material[0] or () for n in _names(layer[0], depth + 1)]
    if kind == "IfcMaterialConstituentSet":
        return [n for c in material[2] or () for n in _names(c[2], depth + 1)] + [material[0]]
    if kind == "IfcMaterialList":
        return [n for m in material[0] or () for n in _names(m, depth + 1)]
    return []


def profile(material: Any, text: TextIndex) -> Ref:
    """The one profile of a material profile set, 0 for none."""
    if material is not None and material.is_a() == "IfcMaterialProfileSetUsage":
        material = material[0]
    if material is None or material.is_a() != "IfcMaterialProfileSet":
        return 0
    profiles: Any = material[2]
    if not profiles or len(profiles) != 1:
        return 0
    written = fields(text.get(profiles[0].id()) or b"()")
    return number(written[3]) if len(written) > 3 else 0
