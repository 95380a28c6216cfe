"""Whole words in what an element is called."""

import re
from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import chain

from ifclint.engineering.denial import says_denied, says_undenied
from ifclint.ifc.elements import Element, Role

# A burner that takes its air from outdoors and has its own listed vent.
ROOM_SEALED = ("direct vent*", "sealed combustion", "room sealed", "balanced flue", "ventouse",
    "raumluftunabhangig", "raumluftunabhängig", "gesloten toestel", "tiro directo",
    "camara estanca", "cámara estanca")  # fmt: skip
# A room heater that gives its flue gas to the room.
UNVENTED = ("unvented", "vent free", "ventless")
# One that cools its flue gas until water falls out of it.
CONDENSES = ("condensing", "category ii", "category iv", "cat ii", "cat iv", "brennwert*",
    "kondensierend*", "condensation", "condenserend*", "condensacion", "condensación",
    "condensazione")  # fmt: skip
# Piping through which a tank spills or is emptied, and that gives no water.
SPILLS = ("overflow", "tank drain", "drain down", "uberlauf*", "überlauf*", "trop plein", "rebose",
    "rebosadero", "overloop")  # fmt: skip
OUTDOOR = ("outdoor*", "exterior", "aussen*", "außen*", "exterieur", "extérieur", "buiten*")
FROM_OUTDOORS = ("outdoor air*", "outdoor combustion", "outdoor reset", "outdoor sensor*",
    "outdoor temperature*", "outdoor intake", "aussenluft*", "außenluft*")  # fmt: skip
INDIRECT = ("indirect", "indirectly", "indirekt*")  # of a heater: a circuit heats it, no flame
COPPER_TYPES = {
    "DWV": ("dwv", "b306", "copper drainage"), "K": ("type k", "copper k"),
    "L": ("type l", "copper l"), "M": ("type m", "copper m"),
}  # fmt: skip
WITHIN = re.compile(r"(?<=[a-z])(?=[A-Z])")  # where a word begins in "PipeHanger"
_UNNUMBERED = str.maketrans("123456789", "0" * 9)
COMMON_LAUNDRIES = (  # what a laundry in which many wash is called
    "laundromat", "launderette", "coin", "coin op*", "common laundry", "public laundry",
    "central laundry", "shared laundry", "community laundry", "guest laundry", "tenant laundry",
    "self service laundry", "waschsalon", "lavanderia automatica", "lavanderia self service",
    "laverie", "wasserette")  # fmt: skip
GROUND_WATER = (
    "ground water", "groundwater", "subsoil", "foundation drain*", "drain tile", "perimeter drain*",
    "footing drain*", "french drain*", "weeping tile", "perforated", "drainrohr", "dränage*",
)  # fmt: skip


def says(element: Element, words: tuple[str, ...]) -> bool:
    """Whether an element's name, type or object type says one of the words, alone or as a plural.

    A word that ends in "*" may go on: "irrigat*". One that is denied is not stated: "not threaded",
    "non-insulated", "ohne Dämmung".
    """
    unnumbered = says_text(_unnumbered_name(element), _unnumbered_words(words))
    return unnumbered and (not _has_number(words) or says_text(element.called, words))


def is_indirect(element: Element) -> bool:
    """Whether a water heater burns nothing and takes no current: a circuit heats it."""
    return element.role is Role.HEATER and says(element, INDIRECT)


def stands_outdoors(element: Element) -> bool:
    """Whether something that is in no room is called an outdoor one, and not after its air or its
    controls."""
    return not element.space and says(element, OUTDOOR) and not says(element, FROM_OUTDOORS)


def listed_to(element: Element, *standards: str) -> bool:
    """Whether an element says one of the standards of ASSE, also as the second of two: "ASSE 1017
    and 1070"."""
    numbers = tuple(chain.from_iterable((each, f"asse{each}") for each in standards))
    return says(element, ("asse*",)) and says(element, numbers)


def material_words(pipe: Element) -> str:
    """All that a pipe and its material are called: "Copper, type M" says more than copper."""
    return f"{pipe.called} {pipe.material} {pipe.properties.text('material_words')}"


def copper_type(pipe: Element) -> str:
    """The type of tube of copper, K, L, M or DWV, by what it or its material is called; "" where
    neither tells."""
    if pipe.material != "copper":
        return ""
    words = material_words(pipe)
    return next((kind for kind, said in COPPER_TYPES.items() if says_text(words, said)), "")


class Names:
    """What elements are called: each name is asked for the same words once."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self._elements = elements
        self._called: dict[str, list[int]] = {}
        for number, element in enumerate(elements):
            self._called.setdefault(_unnumbered_name(element), []).append(number)
        self._saying: dict[tuple[str, ...], list[int]] = {}

    def saying(self, words: tuple[str, ...]) -> list[Element]:
        """The elements that say one of the words, in their order."""
        return [self._elements[number] for number in self.numbers(words)]

    def numbers(self, words: tuple[str, ...]) -> list[int]:
        """The same by their numbers."""
        if words not in self._saying:
            asked = _unnumbered_words(words)
            named = (those for name, those in self._called.items() if says_text(name, asked))
            found = sorted(chain.from_iterable(named))
            self._saying[words] = [n for n in found if says(self._elements[n], words)]
        return self._saying[words]


def _unnumbered_name(element: Element) -> str:
    return _unnumbered(element.name, element.type_name, element.object_type)


@lru_cache(maxsize=200_000)
def _unnumbered(*names: str) -> str:
    """Names with one digit for all: what differs in its number alone is asked for words once."""
    return " ".join(names).translate(_UNNUMBERED)


@cache
def _unnumbered_words(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word.translate(_UNNUMBERED) for word in words)


@cache
def _has_number(words: tuple[str, ...]) -> bool:
    return words != _unnumbered_words(words)


@lru_cache(maxsize=200_000)  # the same names are asked for the same words in every review again
def says_text(text: str, words: tuple[str, ...]) -> bool:
    """The same of any text."""
    lowered = WITHIN.sub(" ", text).lower()
    held = _held(lowered, words)
    return bool(held) and says_undenied(_pattern(held), lowered)


def denies_text(text: str, words: tuple[str, ...]) -> bool:
    """Whether a text says that something is not so: "non-condensing"."""
    lowered = WITHIN.sub(" ", text).lower()
    held = _held(lowered, words)
    return bool(held) and says_denied(_pattern(held), lowered)


def _held(lowered: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the words that a text may say: most say none, and need no pattern."""
    return tuple(word for word, part in _parts(words) if part in lowered)


@cache
def _parts(words: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Each of the words with the longest part of it, without which no text says it."""
    return tuple((word, max(word.split(), key=len, default="").removesuffix("*")) for word in words)


@cache
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    parts = []
    for word in words:
        stem = r"[\s_-]+".join(_part(each) for each in word.split())
        parts.append(stem + ("" if word.endswith("*") else r"s?(?![^\W_])"))
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(parts)})")


def _part(word: str) -> str:
    """One of several words: "tilt*" may go on before the next."""
    return re.escape(word.removesuffix("*")) + (r"\w*" if word.endswith("*") else "")
