"""The schedule of water heaters: what stands on each, and how several stand to each other."""

from ifclint.engineering.units import M3_PER_US_GAL
from ifclint.findings import Column, Schedule
from ifclint.packs import Context
from ifclint.plumbing import Heater
from ifclint.rules.heaters.ends import place_of_end
from ifclint.rules.heaters.venting import input_kbtuh


def heater_schedule(context: Context) -> Schedule:
    """Every water heater of the model."""
    return Schedule(
        "water-heaters",
        "Water heaters",
        (
            Column("heater", "Heater"),
            Column("kind", "Kind"),
            Column("energy", "Energy"),
            Column("storey", "Storey"),
            Column("space", "Space"),
            Column("stored_gal", "Stored", "gal"),
            Column("input_kbtuh", "Input", "kBtu/h"),
            Column("arrangement", "Stands"),
            Column("relief_in", "Relief outlet", "in"),
            Column("relief_ends", "Relief line ends"),
            Column("pan", "Pan"),
            Column("vent_in", "Vent connector", "in"),
        ),
        tuple(_row(heater, context) for heater in context.plumbing.heaters.heaters),
    )


def _row(heater: Heater, context: Context) -> dict[str, object]:
    volume = heater.element.properties.number("storage_volume_m3")
    relief = heater.relief[0] if heater.relief else None
    return {
        "element_id": heater.key,
        "heater": heater.label,
        "kind": heater.kind,
        "energy": heater.element.properties.text("energy"),
        "storey": heater.element.storey,
        "space": heater.element.space,
        "stored_gal": volume / M3_PER_US_GAL if isinstance(volume, float) else None,
        "input_kbtuh": input_kbtuh(heater.element, context),
        "arrangement": heater.arrangement or "not joined to water",
        "relief_in": relief.outlet_in if relief else None,
        "relief_ends": place_of_end(relief.line, context).words if relief else "no relief valve",
        "pan": heater.pan.element.label if heater.pan else "",
        "vent_in": heater.connector.size_in if heater.connector else None,
    }
