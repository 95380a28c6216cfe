"""What a pipe is made of, and the profile its material set may carry."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.text import clean


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


def profile(material: Any) -> Any:
    """The one profile of a material profile set, or None."""
    if material is not None and material.is_a() == "IfcMaterialProfileSetUsage":
        material = material[0]
    if material is None or material.is_a() != "IfcMaterialProfileSet":
        return None
    profiles: Any = material[2]
    return profiles[0][3] if profiles and len(profiles) == 1 else None
