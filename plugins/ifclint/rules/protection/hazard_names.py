"""What things that can foul the potable water are called."""

from ifclint.ifc.elements import Element
from ifclint.plumbing.words import says, says_text

NON_POTABLE = (
    "non potable", "nonpotable", "reclaimed", "recycled water", "rain water", "rainwater",
    "greywater", "grey water", "graywater", "gray water", "well water irrigation", "eau de pluie",
    "regenwasser", "betriebswasser", "agua no potable", "agua regenerada", "cistern make up",
    "cistern fill",
)  # fmt: skip
CHEMICALS = (
    "chemical*", "fertilizer*", "fertiliser*", "fertigation", "pesticide*", "herbicide*",
    "proportioner", "dosing", "antifreeze", "anti freeze", "glycol*", "glykol*", "frostschutz*",
    "corrosion inhibitor", "foam concentrate", "antigel", "anticongelante", "antivries",
)  # fmt: skip
BASINS = (  # that animals drink from or goods are dipped in
    "waterer", "livestock", "stock tank", "cattle", "water trough", "drinking trough", "trough",
    "horse wash", "fish tank", "fish pond", "aquarium", "dip tank", "dipping tank", "plating tank",
    "quench tank", "rinse tank", "viehtranke*", "viehtränke*", "abreuvoir", "bebedero",
    "abrevadero", "drinkbak",
)  # fmt: skip
KEEPS_BACK = ("air gap", "airgap", "anti siphon*", "antisiphon*", "vacuum breaker", "backflow")
HUMIDIFIER, OPEN_BASIN = "humidifier", "open-basin"  # that no code lists
TREATED = frozenset({"irrigation", "boiler-make-up", "fire-sprinklers"})  # worse with chemicals
_NAMED = {  # hazard -> what such equipment is called
    "irrigation": (
        "irrigation", "sprinkler connection", "lawn sprinkler", "drip system", "riego",
        "arrosage", "bewasserung", "bewässerung", "beregening",
    ),
    "fire-sprinklers": (
        "fire sprinkler", "sprinkler riser", "fire riser", "fire service", "standpipe riser",
        "fire standpipe", "standpipe fire*", "standpipe system", "standpipe hose*",
    ),
    "still-beverages": (
        "non carbonated", "noncarbonated", "juice dispenser", "juice machine", "tea dispenser",
        "lemonade dispenser",
        "coffee machine", "coffee maker", "coffee brewer", "coffee urn", "espresso*", "tea brewer",
        "kaffeemaschine", "machine a cafe", "cafetera", "koffiemachine",
    ),
    "carbonated-beverages": (
        "carbonator", "carbonated", "soda machine", "soda dispenser", "soda fountain",
        "soda system", "post mix", "bag in box", "beverage dispenser", "drink dispenser",
    ),
    "laboratory": (
        "lab sink", "laboratory", "lab faucet", "aspirator", "fume hood", "laborbecken",
        "laborspul*", "laborarmatur*", "laborabzug*", "digestorium", "laboratoire", "laboratorio",
        "laboratorium", "labwastafel", "zuurkast",
    ),
    "medical": (
        "sterilizer", "steriliser", "sterilisator", "autoclave", "autoclaaf", "bedpan washer",
        "washer disinfector", "dialysis", "hemodialysis", "haemodialysis", "dialyse", "autopsy",
        "mortuary", "embalming",
        "hydrotherapy", "endoscope*",
    ),
    "chemicals": (
        "chemical dispens*", "chemical feed*", "chemical proportioner", "chemical inject*",
        "soap proportioner", "detergent dispens*", "detergent feed*", "rinse aid*",
        "sanitizer dispens*", "cleaner dispens*",
    ),
    "kitchen-equipment": (
        "vegetable peeler", "potato peeler", "peeler", "garbage can wash*", "can washer",
        "trash can wash*", "wok range", "steam table", "steam kettle", "steamer", "combi oven",
        "pasta cooker", "scrap collector", "pulper", "hood wash*", "wash hood", "washing hood",
    ),
    "hand-spray": (
        "shampoo bowl", "shampoo sink", "shampoo station", "hair wash*", "haarwasch*", "pre rinse",
        "bidet spray*", "pet wash*", "dog wash*", "grooming tub", "dog bath*", "pet bath*",
        "dog tub", "pet tub", "hose spray", "spray hose", "hose sprayer",
    ),
    "cooling-tower": ("cooling tower", "evaporative cooler", "kuhlturm", "koeltoren"),
    "swimming-pool": ("swimming pool", "pool fill", "spa fill", "hot tub", "piscine", "piscina"),
    "ornamental-pool": (
        "ornamental pool", "ornamental pond", "ornamental fountain", "decorative fountain",
        "landscape fountain", "water feature", "reflecting pool", "pond fill", "fountain fill",
        "springbrunnen", "zierbrunnen", "bassin d ornement", "fuente ornamental", "vijver",
    ),
    "car-wash": (
        "car wash", "vehicle wash", "truck wash", "bus wash", "train wash", "autowaschanlage",
        "waschanlage", "lavage auto", "lavado de coches", "wasstraat",
    ),
    "film-processor": (
        "x ray process*", "x ray develop*", "x ray film", "xray process*", "xray develop*",
        "film process*", "film develop*", "photo process*", "photo develop*", "photo lab",
        "radiolog* process*", "darkroom", "filmentwickl*", "dunkelkammer", "revelado*",
    ),
    "dental-vacuum": ("dental vacuum", "dental pump", "dental suction", "dental air vac"),
    "vacuum-pump": (
        "vacuum pump", "liquid ring", "water ring", "vakuumpumpe", "wasserringpumpe",
        "pompe a vide", "anneau liquide", "bomba de vacio", "anillo liquido", "vacuumpomp",
    ),
    "water-powered-pump": (
        "water powered", "waterpowered", "water driven", "water jet pump", "wasserstrahlpumpe",
    ),
    "non-potable": NON_POTABLE,
}  # fmt: skip
_SYSTEMS_NAMED = {  # hazard -> what a system alone is called, where an element's name says less
    "swimming-pool": (
        "pool", "spa", "schwimmbad*", "schwimmbecken*", "badewasser", "alberca", "zwembad*",
    ),
    "ornamental-pool": ("fountain circulation", "fountain water", "fountain return", "pond"),
    "cooling-tower": ("condenser water", "tower water", "cwtr", "cndw"),
    "medical": ("dialys*",),
    "dental-vacuum": ("dvac",),
}  # fmt: skip


def named_hazard(element: Element) -> str:
    """The hazard that an element is called; "" for none."""
    return hazard_said(element.called)


def system_hazard(element: Element) -> str:
    """The hazard that the system of an element is called; "" for none."""
    name = element.system_name
    alone = next((kind for kind, words in _SYSTEMS_NAMED.items() if says_text(name, words)), "")
    return hazard_said(name) or alone


def hazard_said(text: str) -> str:
    kind = next((kind for kind, words in _NAMED.items() if says_text(text, words)), "")
    return treated(kind, says_text(text, CHEMICALS))


def treated(kind: str, has_chemicals: bool) -> str:
    return f"{kind}-chemicals" if kind in TREATED and has_chemicals else kind


def basin(element: Element) -> str:
    """The hazard that an open basin is; "" where it is none, or is said to keep its water back."""
    is_one = says(element, BASINS) and not says(element, KEEPS_BACK)
    return OPEN_BASIN if is_one else ""
