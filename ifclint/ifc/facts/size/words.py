"""Sizes that names and designations tell: '4"x3"', "DN 100/70", "Ø110", "22x1,0"."""

import re
from collections.abc import Sequence
from functools import lru_cache

from ifclint.ifc.facts.size.diameters import from_nominal, from_outside, trade_sizes

_INCHES = r'(?:"|”|″|\'\'|in\b|inch(?:es)?\b|-in\b|-inch\b|ips\b|pulg\w*|zoll\b|duim\b)'
_FRACTION = r"(?:(\d+)\s*[- ]\s*)?(\d+)\s*[/\u2044]\s*(\d+)"
_CLASS_OF_PIPE = re.compile(
    r"\b(?:schedule|sched|sch|sdr|dr|class|cl|type)[\s.-]*\d{2,}(?:\.\d+)?(?![\d/])", re.I
)  # "Schedule 40 - 1/2 in" is no 40-1/2
_PRESSURE = re.compile(  # "2 psi to 7 in wc"; a "4 in WC drain" is of a water closet
    r"\d+(?:\.\d+)?\s*-?\s*(?:inch(?:es)?|in\.?|\"|”|″)\s*"
    r"(?:w\.\s*[cg]\b\.?|wg\b|h2o\b|hg\b|of\s+water\b|water\s+col|(wc)\b)",
    re.I,
)
_OF_GAS = re.compile(
    r"\bpsi|regulator|pressure|\bgas\b|propane|\blpg?\b|furnace|heater|boiler|burner", re.I
)
_GLYPHS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅜": " 3/8", "⅛": " 1/8"}
_NO_LENGTH = r"(?<![HL]=)"
_ALONE = rf"(?<![\w./])(?<!\w-)(?<!\d,)(?<!\":){_NO_LENGTH}"  # not the tail of "L-2" or "1.5"
_NO_SIZE_OF_PIPE = (
    r"(?!\s*(?:long(?!\s*(?:sweep|turn|radius))|high|wide|deep(?![\s-]*seal)|tall|thick|above|below|aff|off|from|away|length|insul|per\b"
    r"|dam\b|weir\b|grat(?:e|ing)\b|grille\b"  # of a drain
    r"|/\s*(?:ft|foot|lf)\b|:\s*\d|rough|r\.i\.|stud|partition|door\b|cabinet|counter"
    r"|wall\b(?![\s-]*(?:clean|c\.?o\b|hydrant|mount|hung|box|drain|outlet|sleeve|penet))))"
)
_OF_SOMETHING_ELSE = re.compile(  # what stands before a length that is none of a pipe
    r"(?:rough[\s-]*in|(?<!in[\s-])wall|stud|partition|door|offset|spacing|centers?|centres?"
    r"|height|width|depth|length)\s*[:=@]?\s*$",
    re.I,
)
_NPS = re.compile(r"\bNPS\s*[:=-]?\s*(?:(?:(\d+)[- ])?(\d+)/(\d+)|(\d+(?:\.\d+)?))(?![\d/])", re.I)
_IN_FRACTION = re.compile(rf"{_ALONE}{_FRACTION}\s*-?\s*{_INCHES}{_NO_SIZE_OF_PIPE}", re.I)
_IN_NUMBER = re.compile(rf"{_ALONE}(\d+(?:[.,]\d+)?)\s*-?\s*{_INCHES}{_NO_SIZE_OF_PIPE}", re.I)
_NUMBER = r"\d+(?:[- ]\d+/\d+|/\d+|\.\d+)?"
_TIMES = re.compile(r'(?<=["”″\d])\s*(?:[x×х]|[øØ∅⌀φΦϕ]\s*-)\s*(?=\d)', re.I)
_SERIES = re.compile(
    rf"(?<![\w./])({_NUMBER})\s*[x×х]\s*(?=(?:{_NUMBER}\s*[x×х]\s*)*{_NUMBER}\s*-?\s*{_INCHES})",
    re.I,
)
_FEET_AND_INCHES = re.compile(
    r"\d\s*['’′]\s*-?\s*\d+(?:\.\d+|(?:[- ]\d+)?/\d+)?\s*(?:[\"”″]|''|in\b)", re.I
)
_NO_FEET = re.compile(r"(?<![\d.])0\s*['’′](?!')\s*-?\s*(?=\d)")  # 0' - 1 1/2"
_WHOLE_FEET = re.compile(r"(?<![\d.])(\d+)\s*['’′]\s*-?\s*0\s*(?=[\"”″]|''|in\b)")  # 1'-0"
_MAY_BE_INCHES = re.compile(r"nps|\d\s*-?\s*[\"”″'a-z/\u2044]", re.I)
_MAY_BE_METRIC = re.compile(
    r"\d\s*mm|(?:dn|nw|ду)[\s-]*\d|[øØ∅⌀φΦϕ]|\d\s*[x×х]\s*\d|(?:d[nea]?|д[ну]|od|dia)\W{0,3}\d",
    re.I,
)
_PLASTICS = frozenset({
    "pvc", "cpvc", "abs", "pex", "pe-rt", "multilayer", "polyethylene", "polypropylene",
    "polybutylene",
})  # fmt: skip
_MM_NUMBER = r"(\d+(?:[.,]\d+)?)"
_MM_UNIT = r"mm(?:\b|(?=[øØ∅⌀φΦϕ]))"  # "50 mmø"
_DN = re.compile(rf"\b(?:DN|NW|Ду)\s*-?\s*{_MM_NUMBER}(?![\d.])", re.I)
_DN_OUTSIDE = re.compile(rf"\b[dD]n\s*-?\s*{_MM_NUMBER}(?![\d.])")  # of plastics, as in ISO 4427
_DN_BRANCH = re.compile(
    r"(?<=[/x×х])(?<!\b1/)\s*(\d+)(?=\s*(?:[/x×х]|$|[^\d\s°.,]))(?!\s*(?:°|deg|grad))", re.I
)
_ROUND_AFTER = re.compile(r"(?<![\w.,/øØ∅⌀φΦϕ])(\d+(?:[.,]\d+)?)\s*[øØ∅⌀φΦϕ](?!\s*\d)")  # "100ø"
_JAPANESE = re.compile(r"(?<![\w.,/])(\d+)\s*A(?=\s*(?:$|[x×/-]))")  # "100A", a DN
_ANGLES = frozenset({15, 30, 45, 67, 87, 88, 90})  # "DN 110/45" is a bend, as a "1/8 bend" is
_WALLED = re.compile(rf"(?<![\w.,/]){_MM_NUMBER}\s*[x×х]\s*\d{{1,2}}[.,]\d+(?!\s*[x×х])")
_WALLED_SIZE = re.compile(rf"^\s*{_MM_NUMBER}\s*[x×х]\s*\d\s*(?:mm)?\s*$")
_MM = re.compile(
    rf"{_NO_LENGTH}(?<![\d.,x×х/])(?<![x×х]\s){_MM_NUMBER}\s*{_MM_UNIT}(?!\s*[x×х]|\s*p\b){_NO_SIZE_OF_PIPE}",
    re.I,
)
_ROUND = re.compile(
    r"(?:[øØ∅⌀φΦϕ]\s*|(?<![\w.-])(?:D|De|Da|OD|Дн|Dia\.?)\s*[=:]?\s*(?=\d\d))"
    rf"{_MM_NUMBER}(?![\d.,]*\s*(?:°|deg|[\"”″]|in\b))(?:\s*mm)?",
    re.I,
)
_PAIR = re.compile(
    rf"(?<![\d.,x×х/])(?<![x×х]\s){_MM_NUMBER}\s*[x×х/]\s*{_MM_NUMBER}\s*{_MM_UNIT}"
    r"(?!\s*[x×х])",
    re.I,
)  # two sizes of a fitting, where both are sizes
_PLAIN_FRACTION = re.compile(rf"^\s*{_FRACTION}\s*$")


@lru_cache(maxsize=16384)
def from_words(
    text: str, material: str = "", *, use: str = "", size_property: bool = False
) -> tuple[float, ...]:
    """The trade sizes a text names, in order, each once: 'PVC 4"x3"' -> (4, 3); 'DN50' -> (2,).

    In a property that is a size anyway, a bare fraction is inches as well, and "22x1" an outside
    diameter and a wall.
    """
    text = _ROUND_AFTER.sub(r"\1 mmø", text)
    if size_property:
        text = _JAPANESE.sub(r"DN\1", text)
    found: Sequence[tuple[int, float]] = _inches(text, size_property)
    if not found and _MAY_BE_METRIC.search(text):
        found = _metric(_TIMES.sub(" x ", text), material, use, size_property)
    return tuple(dict.fromkeys(n for _, n in sorted(found)))


@lru_cache(maxsize=16384)
def either_in_words(text: str, material: str = "", use: str = "") -> tuple[float, ...]:
    """The trade sizes between which the first DN or millimetres of a text leave the choice."""
    for match in (m for pattern in (_DN, _ROUND, _MM) for m in pattern.finditer(text)):
        metres = float(match.group(1).replace(",", ".")) / 1000.0
        if either := from_nominal(metres, material, use=use).either:
            return either
    return ()


def stated_in_inches(text: str, *, size_property: bool = False) -> bool:
    """Whether the sizes a text names are in inches, not millimetres or DN."""
    return bool(_inches(text, size_property))


def without_pressures(text: str) -> str:
    """A text with blanks for the pressures it tells in inches of water, which are neither sizes
    nor water closets."""
    if "w" not in text.lower() and "h" not in text.lower():
        return text
    is_of_gas = _OF_GAS.search(text)
    return _PRESSURE.sub(lambda m: m[0] if m[1] and not is_of_gas else " " * len(m[0]), text)


def written_dn(text: str) -> float | None:
    """The first DN that a text writes."""
    match = _DN.search(text)
    return float(match.group(1).replace(",", ".")) if match else None


@lru_cache(maxsize=16384)
def _inches(text: str, size_property: bool) -> tuple[tuple[int, float], ...]:
    for glyph, fraction in _GLYPHS.items():
        text = text.replace(glyph, fraction)
    if size_property:
        text = _NO_FEET.sub("", text)
        text = _WHOLE_FEET.sub(lambda m: f"{12 * int(m[1])}", text)
    if not _MAY_BE_INCHES.search(text):
        return ()
    text = _CLASS_OF_PIPE.sub(lambda m: " " * len(m[0]), text)
    text = _TIMES.sub(" x ", _FEET_AND_INCHES.sub(" ", without_pressures(text)))
    text = _SERIES.sub(r"\1 in ", text)  # "4 x 3 in" names two sizes
    found: list[tuple[int, float]] = []
    for m in _IN_FRACTION.finditer(text):
        found.append((m.start(), _mixed(m.group(1), m.group(2), m.group(3))))
    for m in _NPS.finditer(text):
        whole, top, bottom, plain = m.groups()
        found.append((m.start(), float(plain) if plain else _mixed(whole, top, bottom)))
    taken = [m.span() for m in _IN_FRACTION.finditer(text)]
    for m in _IN_NUMBER.finditer(text):
        if not any(a <= m.start() < b for a, b in taken):
            found.append((m.start(), float(m.group(1).replace(",", "."))))
    if size_property and not found and (plain := _PLAIN_FRACTION.match(text)):
        found.append((0, _mixed(plain.group(1), plain.group(2), plain.group(3))))
    return tuple(
        [
            (at, n)
            for at, n in found
            if n in trade_sizes() and not _OF_SOMETHING_ELSE.search(text[:at])
        ]
    )


def _metric(text: str, material: str, use: str, size_property: bool) -> list[tuple[int, float]]:
    walled = list(_WALLED.finditer(text))
    if size_property and not walled:
        walled = list(_WALLED_SIZE.finditer(text))
    named = list(_DN_OUTSIDE.finditer(text)) if material in _PLASTICS else []
    for matches, read in (
        (named, from_outside),
        (_DN.finditer(text), from_nominal),
        (_ROUND.finditer(text), from_nominal),
        (walled, from_outside),
        (_MM.finditer(text), from_nominal),
    ):
        stated = [(m.start(), float(m.group(1).replace(",", ".")) / 1000.0) for m in matches]
        sizes = [(at, read(metres, material, use=use).size_in) for at, metres in stated]
        found = [(at, size) for at, size in sizes if size is not None]
        if found:
            return found + _branches(text, material, use)
    return _pair(text, material, use)


def _pair(text: str, material: str, use: str) -> list[tuple[int, float]]:
    """The sizes of "110 x 50 mm"; none where either number is no size of a pipe."""
    match = _PAIR.search(text)
    if match is None:
        return []
    given = [float(n.replace(",", ".")) / 1000.0 for n in match.groups()]
    sizes = [from_nominal(metres, material, use=use).size_in for metres in given]
    return (
        [(match.start(i + 1), size) for i, size in enumerate(sizes) if size is not None]
        if all(sizes)
        else []
    )


def _branches(text: str, material: str, use: str) -> list[tuple[int, float]]:
    """The other sizes of "DN 100/70"; "DN 110/45" names an angle, "DN 110 x 1000" a length."""
    first = _DN.search(text)
    if first is None:
        return []
    main = float(first.group(1).replace(",", "."))
    found: list[tuple[int, float]] = []
    for m in _DN_BRANCH.finditer(text):
        mm = float(m.group(1))
        if mm in _ANGLES or (text[m.start() - 1] != "/" and mm > main):
            continue
        size = from_nominal(mm / 1000.0, material, use=use).size_in
        if size is not None:
            found.append((m.start(), size))
    return found


def _mixed(whole: str | None, top: str, bottom: str) -> float:
    return (float(whole) if whole else 0.0) + (float(top) / float(bottom) if float(bottom) else 0.0)
