"""Facts a rule may need of its subject: what to call one that is missing, and how to supply it."""

from dataclasses import dataclass

from ifclint.engineering.wording import sentence

JOIN_ENDS = (
    "Join the two ends, or set reading.joining_tolerance in the job file to as much as the ends "
    "of pipes lie apart."
)
ASKING = frozenset({"whether", "how", "where", "which", "what", "on", "at"})


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact that a rule may lack: how it is asked for, and what would tell it.

    `words` are a noun ("nominal size"), a question ("how far {} lies from {}"), or all that is said
    ("No drain is joined to {}."); each {} stands for the label of what the fact is of.
    The remedy names no element, so that reports can group by it; a figure it may take: "{1} ft".
    """

    words: str
    remedy: str
    asked_once: bool = False  # one habit of the drawing: one question, that lists all it is of

    def asked_of(self, *labels: str) -> str:
        """The sentence that asks for it."""
        first, _, _ = self.words.partition(" ")
        if self.words.endswith("."):
            said = self.words.format(*labels)
        elif first in ASKING or "{" in self.words:
            said = f"{self.words.format(*labels)} is not known."
        else:
            said = f"The {self.words} of {labels[0]} is not known."
        return sentence(said)

    def told_by(self, *labels: str) -> str:
        """What would tell it."""
        return self.remedy.format(*labels) if "{" in self.remedy else self.remedy


FACTS = {
    "size_in": Fact(
        "nominal size",
        "Give the pipe a nominal diameter (Pset_PipeSegmentTypeCommon.NominalDiameter, on the "
        "pipe or its type) that is a trade size, or tell the job file which property holds it "
        "(reading.vocabulary.property.size).",
        asked_once=True,
    ),
    "slope": Fact(
        "slope", "Draw the drain with its fall, or give it Pset_PipeSegmentOccurrence.Gradient."
    ),
    "orientation": Fact(
        "orientation (vertical or horizontal)",
        "Give the pipe a shape or two placed ports, so that its ends are known.",
    ),
    "length_m": Fact("developed length", "Give the pipe a shape, or a Length quantity."),
    "path": Fact("path", "Give its pipes shapes or placed ports."),
    "valve_kind": Fact(
        "kind of valve", "Set the PredefinedType of the valve, or name it in trade words."
    ),
    "fitting_kind": Fact(
        "kind of fitting", "Set the PredefinedType of the fitting, or name it in trade words."
    ),
    "trap_size_in": Fact(
        "trap, or its size",
        "Model the trap (IfcWasteTerminal, WASTETRAP) between the fixture and its drain, with a "
        "nominal size.",
    ),
    "drain_size_in": Fact(
        "drain, or its nominal size",
        "Connect the fixture's outlet to its drain and give that pipe a nominal diameter.",
    ),
    "drain_segment": Fact(
        "drain",
        "Model the fixture's drain and connect it to the fixture's outlet (ports, or ends that "
        "meet).",
    ),
    "material_known": Fact(
        "material",
        "Give the pipe or its type a material (IfcRelAssociatesMaterial) named in trade words: "
        "copper, PEX, CPVC, PVC, steel.",
    ),
    "source_known": Fact(
        "source",
        'Model the water meter, or give the job file [water] source = "GlobalId" of where the '
        "supply begins.",
    ),
    "weir": Fact("trap weir", "Model the trap with two placed ports; its outlet is taken as weir."),
    "fall_m": Fact("fall of the trap arm", "Give trap, arm and vent fitting placed ports."),
    "fixture_outlet": Fact(
        "place of the fixture's outlet", "Give the fixture a placed outlet port."
    ),
    "trap_inlet": Fact("place of the trap's inlet", "Give the trap two placed ports."),
    "developed_m": Fact(
        "developed length to the open air",
        "Give the vent's pipes and fittings shapes or placed ports, up to its terminal.",
    ),
    "top": Fact("height of the terminal", "Give the vent terminal a placement and a port."),
    "vent_size_in": Fact(
        "size of the vent terminal", "Give the terminal, or the vent that reaches it, a trade size."
    ),
    "plug_size_in": Fact("size of the cleanout", "Give the cleanout a nominal diameter."),
    "pipe_in": Fact(
        "size of the pipe the cleanout opens",
        "Join the cleanout to its drain, and give that pipe a nominal diameter.",
    ),
    "point": Fact("place of the opening", "Give the cleanout or valve a placement and a port."),
    "inward": Fact(
        "direction in which the cleanout opens",
        "Place the cleanout's port at its opening, and join it to its pipe.",
    ),
    "angle_to_flow_deg": Fact(
        "angle between cleanout and flow", "Give the fitting it joins placed ports."
    ),
    "height_m": Fact("height of the drain", "Give the pipe a shape or two placed ports."),
    "service": Fact(
        "service",
        "Assign it to an IfcDistributionSystem with a PredefinedType, or join it to pipe whose "
        "system is known.",
    ),
    "opening": Fact(
        "place of the opening", "Model the cleanout's riser and plug, joined to the fitting."
    ),
    "feed": Fact(
        "feed",
        "Join its piping to the source: an open end or a missing joint lies between.",
        asked_once=True,
    ),
    "named": Fact(
        "side (hot or cold) of the water connections",
        "Say of each of its ports whether it is for hot or cold water: SystemType "
        "DOMESTICHOTWATER or DOMESTICCOLDWATER, or the name of the port.",
        asked_once=True,
    ),
    "known_kind": Fact(
        "kind of fixture",
        "Set the PredefinedType of the fixture or of its type, or name it in trade words.",
    ),
    "kind_known": Fact("kind", "Name the appliance, or its type, in trade words."),
    "placed": Fact("place", "Give the pipe a shape or two placed ports."),
    "cold_pipe": Fact(
        "cold water pipe",
        "Draw the heater's cold water pipe and join it to the heater and to the water supply "
        "(ports, or ends that meet).",
        asked_once=True,
    ),
    "cold_feed": Fact(
        "cold water feed",
        "Join the heater's cold water pipe to where the water comes from: an open end or a missing "
        "joint lies between.",
        asked_once=True,
    ),
    "burns_fuel": Fact("energy source", "Give it its EnergySource, or join its gas pipe."),
    "room": Fact("room", "Contain it in its space (IfcSpace), named."),
    "set_pressure_pa": Fact(
        "valve setting",
        "Give the valve Pset_ValveTypePressureRelief.ReliefPressure, or name it with its setting "
        "(150 psi).",
    ),
    "outlet_in": Fact(
        "outlet size", "Give the outlet it starts from a nominal diameter, as its port's."
    ),
    "rise_m": Fact(
        "rise", "Give the appliance's outlet, and the fitting where the vents meet, a place."
    ),
}


def fact(name: str) -> Fact:
    """The wording for a need; a pack's own need falls back to its attribute name."""
    words = name.replace("_", " ")
    return FACTS.get(name, Fact(words, f"Add to the model what tells the {words}."))
