"""Facts that rule packs ask for beside size, system and geometry, as `Element.properties`."""

import re

from ifclint.engineering.denial import says_undenied
from ifclint.ifc.elements import Basis, Confidence, Element, Role
from ifclint.ifc.facts.bare_powers import NAMES as BARE
from ifclint.ifc.facts.languages import energy_words
from ifclint.ifc.facts.properties import StatedFacts
from ifclint.ifc.facts.property_names import is_ours
from ifclint.ifc.facts.size.valve_plates import set_regulator_plate, set_relief_plate
from ifclint.ifc.facts.vocabulary import phrases_of
from ifclint.ifc.facts.written_values import GALLON_M3, LITRE_M3, UNITS
from ifclint.ifc.step.text import words

IN_ITS_NAME = Basis("words of its name", Confidence.WORDS)
IN_WORDS = Basis("words of its name or type", Confidence.WORDS)
AS_READ = (
    "input_rating_w", "storage_volume_m3", "flow_rate_m3s", "shower_heads", "flood_level_rim_m",
    "cover_m", "ehd", "relief_pressure_pa", "relief_capacity_w", "working_pressure_pa",
    "downstream_pressure_pa", "integral_trap",
    "outside_diameter", "inside_diameter", "bend_angle", "drained_area_m2", "cut_in_pa",
    "cut_out_pa", "total_cooling_w", "sensible_cooling_w", "latent_cooling_w",
)  # fmt: skip
RENAMED = {
    "outside_diameter": "outside_diameter_m",
    "inside_diameter": "inside_diameter_m",
    "bend_angle": "bend_angle_rad",
}
BURNS_FUEL = frozenset({Role.HEATER, Role.APPLIANCE})
GAS_WORDS = {
    "gas", "gaseou", "propane", "lpg", "naturalga", "gasherd", "gasfornui", "gaz", "gastherme",
    "gasboiler", "gasheater",
}  # fmt: skip
ELECTRIC_WORDS = {
    "electric", "electricity", "electrical", "elektrisch", "elektrische", "elektro", "electrico",
    "electrica", "electrique", "elettrico",
}  # fmt: skip
_ELECTRIC = re.compile(
    r"\bheat[\s-]*pump|w(?:ä|ae|a)rmepumpe|\b(?:208|220|230|240|277|400|480)\s*v\b", re.I
)
FLUSHED = ("water-closet", "urinal")
_NUMBER = r"(?<![\d.])(?<!\d,)(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)"
_FLUSH = re.compile(_NUMBER + r"\s*-?\s*(gpf|lpf|gal\w* per flush|l/flush)", re.I)
_INPUT = re.compile(_NUMBER + r"\s*(k?btu/?hr?|btuh|mbh)\b", re.I)
_KILOWATTS = re.compile(_NUMBER + r"\s*-?\s*kw\b", re.I)  # of gas it may be the output
_CAPACITY = re.compile(_NUMBER + r"\s*-?\s*(?:us\s*)?gal(?:lon)?s?\b", re.I)
_LITRES = re.compile(_NUMBER + r"\s*-?\s*(?:l|ltr|litres?|liters?)\b(?!\s*/)", re.I)
_SWITCH = re.compile(  # 30/50 psi, 2-3.5 bar: where a pump starts and stops
    r"(?<![\d./])(\d{1,3}(?:\.\d+)?)\s*(?:/|-|–|to)\s*(\d{1,3}(?:\.\d+)?)\s*(psi|kpa|bar)\b", re.I
)
_MADE_FOR = re.compile(  # MAWP 30 psi, max. working pressure 50 psi
    r"\b(?:mawp|max\w*\.?(?:\s*working)?(?:\s*pressure)?)\W*(\d+(?:\.\d+)?)\s*(psig?|kpa|bar)\b",
    re.I,
)
_HEADS = re.compile(r"\b(\d)\s+(?:shower\s*)?heads?\b", re.I)
_WITH_TRAP = re.compile(  # in words without case and accents
    r"\b(?:(?:integral|integrated|built in|internal) (?:p )?trap|"
    r"with (?:p )?trap(?! (?:primer|seal))|"
    r"mit (?:geruchsverschluss|siphon)|avec siphon|con sifon|met (?:sifon|stankafsluiter))\b"
)
_NONWATER = re.compile(  # toilets and urinals that take no water, in words without case and accents
    r"\b(?:compost\w*|incinerat\w*|waterless|water free|non ?water|dry (?:toilet|urinal|closet)|"
    r"(?:chemical|portable) (?:toilet|urinal|closet)|trockentoilette|trockenurinal|"
    r"wasserlose\w*|komposttoilette|toilettes? seches?|sans eau|inodoro seco|sin agua|"
    r"composttoilet|watervrij|waterlo(?:os|ze))\b"
)
PRESSES = frozenset({Role.PUMP, Role.TANK})
TRAPPED = frozenset({"FLOORTRAP", "GULLYTRAP"})
FLUSH_TYPES = (
    ("flushometer-tank", ("flushometer tank", "pressure assisted", "pressure assist")),
    ("flushometer-valve", ("flushometer valve", "flushometer", "flush valve")),
    ("gravity-tank", ("tank", "gravity", "close coupled")),
)


def set_properties(element: Element, facts: StatedFacts, texts: list[str]) -> None:
    """Copy the facts found and read the few that only names tell."""
    for name in (*AS_READ, *(name for name in facts if not is_ours(name))):
        fact = facts.get(name)
        if fact is not None and not (name in BARE and isinstance(fact.value, str)):
            key = RENAMED.get(name, name)
            element.properties[key] = fact.value
            element.basis[key] = fact.basis
    thickness = facts.get("insulation_thickness_m")
    if thickness is not None and isinstance(thickness.value, float):
        element.properties["insulated"] = thickness.value > 0
        element.basis["insulated"] = thickness.basis
    if element.role is Role.FIXTURE and "integral_trap" not in element.properties:
        _set_trap(element, texts)
    if element.kind in FLUSHED:
        if any(says_undenied(_NONWATER, " ".join(words(text))) for text in texts):
            element.properties["nonwater"], element.basis["nonwater"] = True, IN_WORDS
        _set_flush(element, facts, texts)
    if element.role in BURNS_FUEL:
        _set_energy(element, facts, texts)
    if element.role is Role.TANK:
        _set_from_words(element, "storage_volume_m3", _CAPACITY, texts, {}, GALLON_M3)
        _set_from_words(element, "storage_volume_m3", _LITRES, texts, {}, LITRE_M3)
    if element.role in PRESSES and "cut_in_pa" not in element.properties:
        _set_switch(element, texts)
    if element.role is Role.VALVE and element.kind == "relief":
        set_relief_plate(element, texts)
    if element.role is Role.REGULATOR or element.kind == "pressure-reducing":
        set_regulator_plate(element, texts)
    if element.kind in ("shower", "bathtub"):
        _set_from_words(element, "shower_heads", _HEADS, texts, {})


def _set_switch(element: Element, texts: list[str]) -> None:
    """The pressures at which a pump starts and stops, where words tell both."""
    for text in texts:
        if match := _SWITCH.search(text):
            pascals = UNITS["pressure"][match.group(3).casefold()]
            low, high = float(match.group(1)) * pascals, float(match.group(2)) * pascals
            if 0 < low < high:
                for key, value in (("cut_in_pa", low), ("cut_out_pa", high)):
                    element.properties[key] = round(value, 1)
                    element.basis[key] = IN_WORDS
                return


def _set_trap(element: Element, texts: list[str]) -> None:
    """A fixture with its trap, by its enumeration or by words; not one with a trap primer."""
    if element.predefined_type in TRAPPED:
        told = f"{element.ifc_class} {element.predefined_type}"
        element.properties["integral_trap"] = True
        element.basis["integral_trap"] = Basis(told, Confidence.INFERRED)
    elif any(says_undenied(_WITH_TRAP, " ".join(words(text))) for text in texts):
        element.properties["integral_trap"] = True
        element.basis["integral_trap"] = IN_WORDS


def _set_flush(element: Element, facts: StatedFacts, texts: list[str]) -> None:
    volume = facts.get("flush_volume_gal")
    if volume is not None and isinstance(volume.value, float) and volume.value > 0:
        element.properties["flush_volume_gal"] = round(volume.value / GALLON_M3, 3)
        element.basis["flush_volume_gal"] = volume.basis
    else:
        litre = LITRE_M3 / GALLON_M3
        units = {"lpf": litre, "l/flush": litre}
        _set_from_words(element, "flush_volume_gal", _FLUSH, texts, units)
    stated = facts.get("flush_type")
    for text in ([str(stated.value)] if stated else []) + texts:
        spoken = f" {' '.join(words(text))} "
        for kind, phrases in FLUSH_TYPES:
            if any(f" {p} " in spoken for p in phrases):
                element.properties["flush_type"] = kind
                element.basis["flush_type"] = stated.basis if stated else IN_WORDS
                return


def _set_energy(element: Element, facts: StatedFacts, texts: list[str]) -> None:
    stated = facts.get("energy")
    for text in ([str(stated.value)] if stated else []) + texts:
        spoken = set(words(text))
        for energy, signs in (("gas", GAS_WORDS), ("electric", ELECTRIC_WORDS), ("oil", {"oil"})):
            if spoken & signs or phrases_of(energy_words(energy)).find(text):
                element.properties.setdefault("energy", energy)
                element.basis.setdefault("energy", stated.basis if stated else IN_ITS_NAME)
    if "energy" not in element.properties and any(_ELECTRIC.search(t) for t in texts):
        element.properties["energy"], element.basis["energy"] = "electric", IN_ITS_NAME
    factors = {"mbh": 293.07107, "kbtu/h": 293.07107, "kbtu/hr": 293.07107}
    _set_from_words(element, "input_rating_w", _INPUT, texts, factors, 0.29307107)
    if element.role is Role.HEATER and element.properties.text("energy") == "electric":
        _set_from_words(element, "input_rating_w", _KILOWATTS, texts, {}, 1000.0)
    if element.role is Role.HEATER:
        pascals = UNITS["pressure"]
        _set_from_words(element, "working_pressure_pa", _MADE_FOR, texts, pascals)
        _set_from_words(element, "storage_volume_m3", _CAPACITY, texts, {}, GALLON_M3)
        _set_from_words(element, "storage_volume_m3", _LITRES, texts, {}, LITRE_M3)


def _set_from_words(
    element: Element,
    key: str,
    pattern: re.Pattern[str],
    texts: list[str],
    factors: dict[str, float],
    factor: float = 1.0,
) -> None:
    """A number and its unit from the first text that holds one, unless the fact is known."""
    if key in element.properties:
        return
    for text in texts:
        if match := pattern.search(text):
            unit = match.group(2).casefold() if pattern.groups > 1 else ""
            number = float(match.group(1).replace(",", ""))
            element.properties[key] = round(number * factors.get(unit, factor), 4)
            element.basis[key] = IN_WORDS
            return
