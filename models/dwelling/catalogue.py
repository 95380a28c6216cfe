"""How each thing of the trade is said in IFC, and what pipe is made of."""

from __future__ import annotations

from dataclasses import dataclass

# Outside diameter of iron-pipe-size pipe (ASME B36.10M; ASTM D1785 and D2665 PVC share it).
IRON_PIPE_OUTSIDE_IN = {
    0.5: 0.84, 0.75: 1.05, 1.0: 1.315, 1.25: 1.66, 1.5: 1.9, 2.0: 2.375, 3.0: 3.5, 4.0: 4.5,
    6.0: 6.625,
}  # fmt: skip


@dataclass(frozen=True)
class Material:
    name: str
    series: str  # "iron": the table above; "tube": nominal + 1/8 in (ASTM B88); "wall": nominal

    def outside_in(self, size_in: float) -> float:
        if self.series == "iron":
            return IRON_PIPE_OUTSIDE_IN[size_in]
        return size_in + (0.125 if self.series == "tube" else 0.25)


MATERIALS = {
    "dwv": Material("PVC DWV Schedule 40", "iron"),
    "copper": Material("Copper tube type L", "tube"),
    "steel": Material("Steel pipe Schedule 40, black", "iron"),
    "flue": Material("Type B double-wall gas vent", "wall"),
    "pvc-pan": Material("PVC Schedule 40", "iron"),
}

COMBINATION = "Combination wye and eighth bend"
SWEEP = "Long sweep quarter bend"

# Trade word -> IFC class, PredefinedType. USERDEFINED carries the trade word as ObjectType.
CATALOGUE: dict[str, tuple[str, str]] = {
    "Pipe": ("IfcPipeSegment", "RIGIDSEGMENT"),
    "Quarter bend": ("IfcPipeFitting", "BEND"),
    SWEEP: ("IfcPipeFitting", "BEND"),
    "Eighth bend": ("IfcPipeFitting", "BEND"),
    "Closet bend": ("IfcPipeFitting", "BEND"),
    "Elbow": ("IfcPipeFitting", "BEND"),
    "Sanitary tee": ("IfcPipeFitting", "JUNCTION"),
    "Double sanitary tee": ("IfcPipeFitting", "JUNCTION"),
    "Wye": ("IfcPipeFitting", "JUNCTION"),
    COMBINATION: ("IfcPipeFitting", "JUNCTION"),
    "Double combination wye and eighth bend": ("IfcPipeFitting", "JUNCTION"),
    "Tee": ("IfcPipeFitting", "JUNCTION"),
    "Cleanout tee": ("IfcPipeFitting", "JUNCTION"),
    "Closet flange": ("IfcPipeFitting", "CONNECTOR"),
    "Coupling": ("IfcPipeFitting", "CONNECTOR"),
    "Reducer": ("IfcPipeFitting", "TRANSITION"),
    "Cap": ("IfcPipeFitting", "OBSTRUCTION"),
    "Open outlet": ("IfcPipeFitting", "EXIT"),
    "Cleanout": ("IfcPipeFitting", "USERDEFINED"),
    "Two-way cleanout": ("IfcPipeFitting", "USERDEFINED"),
    "P-trap": ("IfcWasteTerminal", "WASTETRAP"),
    "Floor drain": ("IfcWasteTerminal", "FLOORWASTE"),
    "Food waste disposer": ("IfcWasteTerminal", "WASTEDISPOSALUNIT"),
    "Clothes washer standpipe": ("IfcWasteTerminal", "USERDEFINED"),
    "Washer pan": ("IfcWasteTerminal", "USERDEFINED"),
    "Water heater pan": ("IfcWasteTerminal", "USERDEFINED"),
    "Water closet": ("IfcSanitaryTerminal", "TOILETPAN"),
    "Lavatory": ("IfcSanitaryTerminal", "WASHHANDBASIN"),
    "Bathtub": ("IfcSanitaryTerminal", "BATH"),
    "Shower": ("IfcSanitaryTerminal", "SHOWER"),
    "Kitchen sink": ("IfcSanitaryTerminal", "SINK"),
    "Laundry sink": ("IfcSanitaryTerminal", "SINK"),
    "Hose bibb": ("IfcValve", "DRAWOFFCOCK"),
    "Ice maker box": ("IfcValve", "USERDEFINED"),
    "Vent through roof": ("IfcStackTerminal", "COWL"),
    "Gas vent cap": ("IfcStackTerminal", "COWL"),
    "Isolating valve": ("IfcValve", "ISOLATING"),
    "Stop valve": ("IfcValve", "STOPCOCK"),
    "Pressure reducing valve": ("IfcValve", "PRESSUREREDUCING"),
    "Temperature and pressure relief valve": ("IfcValve", "PRESSURERELIEF"),
    "Trap primer": ("IfcValve", "USERDEFINED"),
    "Gas shutoff": ("IfcValve", "GASCOCK"),
    "Gas service regulator": ("IfcValve", "PRESSUREREDUCING"),
    "Water meter": ("IfcFlowMeter", "WATERMETER"),
    "Gas meter": ("IfcFlowMeter", "GASMETER"),
    "Expansion tank": ("IfcTank", "EXPANSION"),
    "Gas storage water heater": ("IfcBoiler", "WATER"),
    "Gas furnace": ("IfcUnitaryEquipment", "USERDEFINED"),
    "Gas range": ("IfcBurner", "USERDEFINED"),
    "Gas clothes dryer": ("IfcElectricAppliance", "TUMBLEDRYER"),
    "Clothes washer": ("IfcElectricAppliance", "WASHINGMACHINE"),
    "Dishwasher": ("IfcElectricAppliance", "DISHWASHER"),
    "Refrigerator": ("IfcElectricAppliance", "FRIDGE_FREEZER"),
    "Sewer main connection": ("IfcDistributionChamberElement", "MANHOLE"),
}

# Service -> system name, IfcDistributionSystem PredefinedType.
SYSTEMS: dict[str, tuple[str, str]] = {
    "sanitary": ("Sanitary drainage", "SEWAGE"),
    "vent": ("Sanitary vent", "VENT"),
    "cold": ("Domestic cold water", "DOMESTICCOLDWATER"),
    "hot": ("Domestic hot water", "DOMESTICHOTWATER"),
    "gas": ("Fuel gas", "GAS"),
    "relief": ("Relief and pan discharge", "USERDEFINED"),
    "flue": ("Gas vent (flue)", "EXHAUST"),
}

# IFC2X3 says the kind on the type; its occurrences are generic.
OCCURRENCE_2X3 = {
    "IfcPipeSegment": "IfcFlowSegment",
    "IfcPipeFitting": "IfcFlowFitting",
    "IfcWasteTerminal": "IfcFlowTerminal",
    "IfcSanitaryTerminal": "IfcFlowTerminal",
    "IfcStackTerminal": "IfcFlowTerminal",
    "IfcElectricAppliance": "IfcFlowTerminal",
    "IfcBurner": "IfcFlowTerminal",
    "IfcValve": "IfcFlowController",
    "IfcFlowMeter": "IfcFlowController",
    "IfcTank": "IfcFlowStorageDevice",
    "IfcBoiler": "IfcEnergyConversionDevice",
    "IfcUnitaryEquipment": "IfcEnergyConversionDevice",
}
TYPE_2X3 = {"Gas range": ("IfcGasTerminalType", "GASAPPLIANCE")}
