"""The same model written in other ways that the format allows. Seeded: the same each time."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

_INSTANCE = re.compile(r"#(\d+)\s*=\s*(\w+)\s*(\((?:[^';]|'(?:[^']|'')*')*\))\s*;", re.S)
_OUTSIDE = re.compile(r"('(?:[^']|'')*')")
Instances = list[str]
Change = Callable[[Instances, random.Random], Instances]


def instances(text: str) -> tuple[str, Instances]:
    """The header up to the data section, and each instance without its semicolon."""
    head, _, data = text.partition("DATA;")
    return head, [f"#{m[1]}={m[2]}{m[3]}" for m in _INSTANCE.finditer(data)]


def _outside(instance: str, change: Callable[[str], str]) -> str:
    """An instance with what stands outside of its strings changed."""
    parts = _OUTSIDE.split(instance)
    return "".join(part if n % 2 else change(part) for n, part in enumerate(parts))


def spaced(lines: Instances, chance: random.Random) -> Instances:
    gap = chance.choice([" ", "  ", "\t"])
    return [_outside(line, lambda part: part.replace(",", f",{gap}")) for line in lines]


def wrapped(lines: Instances, chance: random.Random) -> Instances:
    return [
        _outside(line, lambda part: part.replace(",", ",\n ")) if chance.random() < 0.3 else line
        for line in lines
    ]


def small(lines: Instances, chance: random.Random) -> Instances:
    return [_outside(line, str.lower) if chance.random() < 0.5 else line for line in lines]


def commented(lines: Instances, chance: random.Random) -> Instances:
    said = chance.choice(["/* #9=IFCPIPESEGMENT('x'); */", "/* it's */", "/**/"])
    return [f"{said}{line}" if chance.random() < 0.2 else line for line in lines]


def shuffled(lines: Instances, chance: random.Random) -> Instances:
    return chance.sample(lines, len(lines))


def padded(lines: Instances, chance: random.Random) -> Instances:
    return [_outside(line, lambda part: re.sub(r"#(\d+)", r"#00\1", part)) for line in lines]


def renumbered(lines: Instances, chance: random.Random) -> Instances:
    step, start = chance.choice([(1, 1000), (7, 3), (1000, 1)])

    def other(part: str) -> str:
        return re.sub(r"#(\d+)", lambda m: f"#{int(m[1]) * step + start}", part)

    return [_outside(line, other) for line in lines]


def in_pairs(lines: Instances, chance: random.Random) -> Instances:
    """Two instances in one line."""
    return [";".join(lines[n : n + 2]) for n in range(0, len(lines), 2)]


def beside_odd_strings(lines: Instances, chance: random.Random) -> Instances:
    """Instances nobody asks for whose strings hold what looks like others."""
    odd = (
        "'begin);\n#99999101=IFCPIPESEGMENT($,end'",
        "'it''s; #99999102=IFCWALL($);'",
        "';;;;'",
        "'/* not a comment'",
    )
    made = [f"#{99999001 + n}=IFCORGANIZATION($,{text},$,$,$)" for n, text in enumerate(odd)]
    at = chance.randrange(len(lines))
    return [*lines[:at], *made, *lines[at:]]


CHANGES: tuple[Change, ...] = (
    spaced, wrapped, small, commented, shuffled, padded, renumbered, in_pairs, beside_odd_strings,
)  # fmt: skip


def variant(text: str, seed: int) -> tuple[str, str]:
    """A variant of a model's text, and in words what was changed."""
    chance = random.Random(seed)
    head, lines = instances(text)
    chosen = chance.sample(CHANGES, chance.randint(1, 3))
    chosen.sort(key=lambda change: change in (commented, in_pairs))  # others take strings apart
    for change in chosen:
        lines = change(lines, chance)
    said = [change.__name__ for change in chosen]
    data = [f"{line};" for line in lines]
    if chance.random() < 0.2:
        at = chance.randrange(1, len(data))
        data.insert(at, "ENDSEC;\nDATA;")
        said.append("two sections")
    end = chance.choice(["\n", "\r\n"])
    body = "\n".join(data).replace("\n", end)
    return f"{head}DATA;{end}{body}{end}ENDSEC;{end}END-ISO-10303-21;{end}", ", ".join(said)
