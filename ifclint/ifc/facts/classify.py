"""What an element is: its IFC class and PredefinedType, refined by the words of its names.

`classes.csv` lists, for each class and enumeration literal, the role and kind it stands for and
which meanings of words may refine it (column `words`: "role" or "role/kind"). A row without a
role is plumbing only when a word says so. An empty literal stands for all not listed. The column
`nouns` lists meanings that a text tells only by its last noun, beside a size of pipe: a segment
called '2" elbow DWV' is a fitting, one called '2" trap arm' is a pipe.
"""

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from itertools import takewhile

from ifclint.engineering.data import CsvRow, read_csv
from ifclint.ifc.elements import Basis, Confidence, Role
from ifclint.ifc.facts.size.words import from_words, without_pressures
from ifclint.ifc.facts.vocabulary import APART, BESIDE, Meaning, Vocabulary
from ifclint.ifc.step.text import words

_BEHIND_THE_NOUN = re.compile(  # what may follow the noun that names a piece of pipework
    r"\d.*|dwv|psi|kpa|bar|f|c|gal|gpm|in|inch|mm|deg|degree|asse|astm|nsf|ansi|csa|sch|sched"
    r"|schedule|std|standard|type|class|black|malleable|threaded|lead|free|no|hub|l|m|k|x|dn|and"
)
A_VALVE = Meaning(Role.VALVE, "")  # of which nothing more is told
A_PIPE = Meaning(Role.PIPE, "")
RUNS = frozenset({  # what a run of pipe is called, where its size is said before: "2 in vent, WC-1"
    "pipe", "piping", "tubing", "branch", "drain", "vent", "arm", "tailpiece", "riser", "stack",
    "header", "main", "trunk", "drop", "lateral", "nipple", "line", "run", "loop", "return",
    "discharge", "connector", "water", "waste", "sewer", "leader",
})  # fmt: skip
TOWARD = frozenset({"to", "from", "at", "of", "for", "above", "below", "through", "in"})
WHICH_WAY = frozenset({"north", "south", "east", "west", "up", "down", "upper", "lower"})
_PLACE = re.compile(r"(?<=\w)\s+(?:at|for|beside|near|behind|under|around)\s", re.I)
HAVE_PIECES = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.METER})
PIECES = frozenset({  # what is named last after a fixture is no fixture: a urinal screen
    "accessory", "accessories", "alarm", "backsplash", "bag", "bar", "bars", "bench", "blocking",
    "bollard", "bollards", "bracket", "brackets", "cabinet", "carrier", "clearance", "closet",
    "cover", "curtain", "door", "enclosure", "escutcheon", "guard", "handle", "holder", "hook",
    "label", "lid", "louver", "louvre", "marker", "mirror", "niche", "pad", "panel", "panels",
    "partition", "partitions", "pedestal", "platform", "rack", "rod", "room", "screen", "shelf",
    "sign", "stand", "strap", "straps", "symbol", "tag", "tray", "trim", "zone",
})  # fmt: skip
UNITS_OF_LENGTH = frozenset({"in", "inch", "ft", "mm", "cm", "m"})
VALVES = frozenset(
    {"valve", "ventil", "vanne", "valvula", "afsluiter", "valvola", "zawor", "клапан", "кран"}
)
STOPS = frozenset({"stop", "stops"})
REGULATORS = frozenset({"regulator", "regler", "detendeur", "regulador", "regelaar"})
OF_OTHERS = frozenset(  # what else is regulated, and what belongs to a regulator or stands by it
    {"vent", "draft", "draught", "flow", "temperature", "level", "speed", "voltage", "relief",
     "before", "after", "behind", "upstream", "downstream", "at"}
)  # fmt: skip
ROLE_OF_SUPERTYPE = {
    "IfcFlowController": Role.VALVE, "IfcFlowFitting": Role.FITTING, "IfcFlowSegment": Role.PIPE,
}  # fmt: skip
NAMED_AS = {  # words that name one of the role, whatever it serves
    Role.VALVE: VALVES | STOPS | REGULATORS
    | {"cock", "diverter", "strainer", "shutoff", "robinet"},
    Role.FITTING: frozenset({"fitting", "formstuck", "raccord", "racor", "accesorio", "hulpstuk"}),
}  # fmt: skip
FITTINGS = frozenset({"IfcPipeFitting", "IfcFlowFitting"})
ACCESSORIES = frozenset({Role.METER, Role.PUMP, Role.REGULATOR, Role.INTERCEPTOR})
LONGEST_NOUN = 4  # words
GENERAL = "shape told by"  # words that name a fitting in general only, as "tee"
PROXY = "IfcBuildingElementProxy"
FURNITURE = frozenset({"IfcFurnishingElement", "IfcFurniture", "IfcSystemFurnitureElement"})
NAMED_ALONE = FURNITURE | {PROXY}  # classes that tell nothing
NOTHING_SAID = frozenset({"", "NOTDEFINED", "USERDEFINED"})


@dataclass(frozen=True, slots=True)
class ClassRow:
    role: Role | None
    kind: str
    accepted: frozenset[str]
    nouns: frozenset[str]

    def accepts(self, meaning: Meaning) -> bool:
        return _is_among(meaning, self.accepted)

    def accepts_noun(self, meaning: Meaning) -> bool:
        return _is_among(meaning, self.nouns)


@dataclass(frozen=True, slots=True)
class Classification:
    role: Role
    kind: str
    role_basis: Basis
    kind_basis: Basis | None
    contradiction: str = ""  # the meaning of a name that the enumeration does not allow


@lru_cache(maxsize=1)
def class_rows() -> dict[tuple[str, str], ClassRow]:
    """The rows of `classes.csv` by class and literal."""
    rows = read_csv(files("ifclint.ifc.facts").joinpath("classes.csv")).rows
    return {(r.text("ifc_class"), r.text("predefined_type")): _row(r) for r in rows}


def _row(row: CsvRow) -> ClassRow:
    role = Role(row.text("role")) if row.text("role") else None
    return ClassRow(role, row.text("kind"), *(_listed(row, c) for c in ("words", "nouns")))


def _listed(row: CsvRow, column: str) -> frozenset[str]:
    return frozenset(w.strip() for w in row.text(column).split(";") if w.strip())


def _is_among(meaning: Meaning, listed: frozenset[str]) -> bool:
    role = meaning.role.value
    return role in listed or f"{role}/{meaning.kind}" in listed


@lru_cache(maxsize=1)
def classes_read() -> frozenset[str]:
    return frozenset(name for name, _ in class_rows())


def row_for(ifc_class: str, literal: str) -> ClassRow | None:
    rows = class_rows()
    return rows.get((ifc_class, literal)) or rows.get((ifc_class, ""))


@lru_cache(maxsize=1)
def of_proxies() -> ClassRow:
    """What words may mean where the class tells nothing."""
    return class_rows()[PROXY, ""]


@lru_cache(maxsize=1)
def of_pipework() -> ClassRow:
    """What they may mean besides, where the file says otherwise that it is pipework."""
    every = class_rows()["IfcDistributionElement", ""].accepted
    return ClassRow(None, "", of_proxies().accepted | every, of_proxies().nouns)


def classify(
    ifc_class: str,
    literal: str,
    literal_basis: Basis,
    texts: list[tuple[str, str]],
    vocabulary: Vocabulary,
    widened: ClassRow | None = None,
) -> Classification | None:
    """Role and kind of an element, or None where it is no plumbing.

    `texts` are (text, what it is) in the order they are to be believed; `widened` is what its words
    may mean where it is not its class that bounds it.
    """
    row = widened or row_for(ifc_class, literal)
    if row is None:
        return None
    texts = [(without_pressures(text), of) for text, of in texts]
    alone = ifc_class in NAMED_ALONE
    if alone:  # "grab bar at water closet" is a bar
        texts = [(_PLACE.split(text)[0], of) for text, of in texts]
    enumerated = (ifc_class, literal) in class_rows() and literal not in NOTHING_SAID
    found = _by_its_noun(row, texts, vocabulary) if row.nouns and not enumerated else None
    if found is None and row.accepted:
        found = vocabulary.element((t for t, _ in texts), row.accepts)
    if found is None and ifc_class in FITTINGS and not enumerated:
        found = vocabulary.element((t for t, _ in texts), _is_accessory)
    if found is None:
        told = _from_class(ifc_class, literal_basis, row, enumerated, texts, vocabulary)
        return told and _regulates(told, texts)
    meaning, which = found
    if alone and _is_piece(meaning, texts[which][0], vocabulary):
        return None
    role, kind = meaning.role, meaning.kind
    words = Basis(f"words of the {texts[which][1]}", Confidence.WORDS)
    role_basis = literal_basis if row.role is role else words
    general = meaning.general and role is Role.FITTING
    kind_basis = Basis(f"{GENERAL} {words}", Confidence.SHAPE) if general else words
    kind = kind or (row.kind if role is row.role else "")
    return _regulates(Classification(role, kind, role_basis, kind_basis if kind else None), texts)


def _is_piece(meaning: Meaning, text: str, vocabulary: Vocabulary) -> bool:
    """Whether a text names a piece beside the fixture or appliance that its first words tell."""
    sump = (meaning.role, meaning.kind) == (Role.CHAMBER, "sump")
    if meaning.role not in HAVE_PIECES and not sump:
        return False
    given = tuple(takewhile(lambda word: word not in BESIDE, words(APART.split(text)[0])))
    found, where = vocabulary.elements.located(given, lambda m: m == meaning)
    after = [w for w in given[where.stop :] if w.isalpha() and w not in UNITS_OF_LENGTH]
    named = after[-1] if found is not None and after else ""
    is_foot = named == "pedestal" and meaning.kind.endswith(("lavatory", "sink"))
    return named in PIECES and not is_foot


def _is_accessory(meaning: Meaning) -> bool:
    """Whether it is what many programs keep with their fittings, as accessories of pipe; told where
    no word names a fitting."""
    return meaning.role in ACCESSORIES or (meaning.role, meaning.kind) == (Role.TANK, "expansion")


def _regulates(told: Classification, texts: list[tuple[str, str]]) -> Classification:
    """The same; a valve of no kind that is named a regulator of pressure is one."""
    if told.role is not Role.VALVE or told.kind:
        return told
    for text, of in texts:
        head = _head(text)
        is_named = any(w in REGULATORS or w.endswith("druckregler") for w in head)
        if is_named and OF_OTHERS.isdisjoint(head):
            basis = Basis(f"words of the {of}", Confidence.WORDS)
            return replace(told, kind="pressure-reducing", kind_basis=basis)
    return told


def by_supertype(
    ifc_class: str, texts: list[tuple[str, str]], wide: Classification | None, is_pipework: bool
) -> Classification | None:
    """What an element is whose class is a supertype and whose words tell no kind of its role, from
    what they tell of other things.

    The class says the role: a controller that is named as one is the valve of whatever else its
    name tells ("Boiler fill valve", "Toilet stop"), a fitting no pipe. Of pipework it is one of
    unknown kind, which lets pass what flows, whatever it is called.
    """
    role = ROLE_OF_SUPERTYPE.get(ifc_class)
    if role is None:
        return wide
    head, of = next(((_head(t), of) for t, of in texts if t), ((), ""))
    is_named = not NAMED_AS.get(role, frozenset()).isdisjoint(head)
    is_outlet = wide is not None and wide.kind in OUTLETS
    if is_named and not is_outlet:
        basis = Basis(f"{ifc_class}, words of the {of}", Confidence.WORDS)
        kind = _kind_of_controller(head) if role is Role.VALVE else ""
        return Classification(role, kind, basis, basis if kind else None)
    is_pipe = wide is not None and wide.role is Role.PIPE
    if (is_pipework and wide is None) or (is_pipe and role is not Role.PIPE):
        return Classification(role, "", Basis(ifc_class), None)
    return wide


def _kind_of_controller(head: tuple[str, ...]) -> str:
    if not REGULATORS.isdisjoint(head):
        return "pressure-reducing"
    return "isolating" if head[-1] in STOPS else ""


def _head(text: str) -> tuple[str, ...]:
    """The words that name a thing, before what else is said of it."""
    return tuple(takewhile(lambda word: word not in BESIDE, words(APART.split(text)[0])))


def _by_its_noun(
    row: ClassRow, texts: list[tuple[str, str]], vocabulary: Vocabulary
) -> tuple[Meaning, int] | None:
    """The meaning of the first text that ends with the noun of a piece of pipework and tells its
    size, and which text that was."""
    for n, (text, _) in enumerate(texts):
        if text and from_words(text) and _ends_with_a_noun(row, text, vocabulary):
            found = vocabulary.element([text], row.accepts_noun)
            return (found[0] if found is not None else A_VALVE), n
        if text and row.accepts_noun(A_PIPE) and _is_a_run(text, vocabulary):
            return A_PIPE, n
    return None


def _is_a_run(text: str, vocabulary: Vocabulary) -> bool:
    """Whether a text begins with a size and then names a run of pipe: "2 in shower branch, SH-1".

    What else such a word may end is none: a floor drain, a roof vent.
    """
    head = text.partition(",")[0]
    if not head[:1].isdigit() or not from_words(head):
        return False
    sized = re.sub(r"^[\d\s./-]+(?:in(?:ch)?\b|mm\b|\")?", "", head)
    given = [*takewhile(lambda word: word not in TOWARD | BESIDE, words(sized))]
    while given and given[-1] in WHICH_WAY:
        given.pop()
    if not given or given[-1] not in RUNS:
        return False
    ends = (tuple(given[-length:]) for length in range(2, LONGEST_NOUN + 1))
    return all(_is_pipe_or_nothing(end, vocabulary) for end in ends)


def _is_pipe_or_nothing(end: tuple[str, ...], vocabulary: Vocabulary) -> bool:
    """Whether some last words are no phrase for anything but pipe."""
    found, where = vocabulary.elements.located(end)
    return found is None or where != slice(0, len(end)) or found.role is Role.PIPE


def _ends_with_a_noun(row: ClassRow, text: str, vocabulary: Vocabulary) -> bool:
    """Whether what a text says last, but for sizes, materials and listings, is such a noun."""
    given = [*takewhile(lambda word: word not in BESIDE, words(text))]
    while given:
        if given[-1] in VALVES and row.accepts_noun(A_VALVE):
            return True
        for length in range(1, min(LONGEST_NOUN, len(given)) + 1):
            end = tuple(given[-length:])
            if vocabulary.elements.located(end, row.accepts_noun)[1].stop == length:
                return True
        last = given.pop()
        if not _BEHIND_THE_NOUN.fullmatch(last) and vocabulary.materials.find(last) is None:
            return False
    return False


def _from_class(
    ifc_class: str,
    literal_basis: Basis,
    row: ClassRow,
    enumerated: bool,
    texts: list[tuple[str, str]],
    vocabulary: Vocabulary,
) -> Classification | None:
    if row.role is None:
        return None
    odd = _contradiction(row, texts, vocabulary) if enumerated else ""
    basis = literal_basis if enumerated else Basis(ifc_class)
    return Classification(row.role, row.kind, basis, basis if row.kind else None, odd)


NAMED_EXACTLY = frozenset(
    {Role.FIXTURE, Role.FITTING, Role.VALVE, Role.METER, Role.INTERCEPTOR}
)  # roles whose enumerations and names tell one kind
OUTLETS = frozenset({"hose-bibb", "ice-maker"})  # valves that water leaves the piping by
NEAR_A_SINK = frozenset({"lavatory", "wash-fountain"})


def _contradiction(row: ClassRow, texts: list[tuple[str, str]], vocabulary: Vocabulary) -> str:
    """The kind an element's own name tells, where its enumeration tells another of that role."""
    if row.role not in NAMED_EXACTLY or not row.kind:
        return ""

    def of_role(meaning: Meaning) -> bool:
        return meaning.role is row.role and bool(meaning.kind)

    found = vocabulary.element((t for t, _ in texts), of_role)
    if found is None or found[0].kind == row.kind:
        return ""
    said = found[0].kind
    return "" if _says_little(said, row.kind) else said


def _says_little(said: str, kind: str) -> bool:
    """Whether the word of a kind is said of another kind as well: a lavatory is called a sink."""
    both = {said, kind}
    return (
        said == "coupling"
        or (said == "sink" and ("sink" in kind or kind in NEAR_A_SINK))
        or both == {"gas-shutoff", "isolating"}  # a gas cock shuts off
        or both == {"hammer-arrester", "isolating"}  # a washer's valve with its arrester
    )
