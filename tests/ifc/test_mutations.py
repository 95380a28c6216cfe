"""Damaged models: whatever is done to a file, it is read, or refused in one sentence.

Mutations of our own smallest model and of the demo, each read in a process of its own kind, so
that a crash of the library's parser would show as a failure here and not take the tests down.
"""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
SMALLEST = ROOT / "models" / "smallest.ifc"
_READ = """
import sys, time
from pathlib import Path
from ifclint import ifc
from ifclint.errors import InputError
from ifclint.network import connect
from ifclint.plumbing import see
for path in map(Path, sys.argv[1:]):
    start = time.perf_counter()
    try:
        see(connect(ifc.read([path])))
        said = "read"
    except InputError as error:
        said = "refused" if len(str(error).splitlines()) == 1 else "refused in several lines"
    except Exception as error:
        said = f"{type(error).__name__}: {error}"
    print(f"{path.name}|{said}|{time.perf_counter() - start:.1f}", flush=True)
"""
NUMBERS = ("1E300", "-1E300", "1E-300", "NAN", "0.", "-0.", "99999999999999999999", "1.E", "$", "*")
WORDS = (
    "''",
    "$",
    "*",
    "#999999",
    "#1",
    ".NOTDEFINED.",
    "'\\\\X2\\\\00e9\\\\X0\\\\'",
    "()",
    "((#1))",
)


def _mutate(text: str, chance: random.Random) -> str:
    """One to three random damages, most of them inside one line."""
    for _ in range(chance.randint(1, 3)):
        damage = chance.choice((_number, _argument, _line_gone, _line_twice, _bytes, _long, _cut))
        text = damage(text, chance)
    return text


def _place(text: str, chance: random.Random, sign: str) -> int:
    places = [i for i, c in enumerate(text) if c == sign]
    return chance.choice(places) if places else 0


def _number(text: str, chance: random.Random) -> str:
    at = _place(text, chance, ".")
    end = at + 1
    while end < len(text) and (text[end].isdigit() or text[end] in "E-+"):
        end += 1
    start = at
    while start and text[start - 1].isdigit():
        start -= 1
    return text[:start] + chance.choice(NUMBERS) + text[end:]


def _argument(text: str, chance: random.Random) -> str:
    at = _place(text, chance, ",")
    end = min((i for i in (text.find(",", at + 1), text.find(")", at + 1)) if i > 0), default=at)
    return text[: at + 1] + chance.choice(WORDS) + text[end:]


def _line_gone(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    del lines[chance.randrange(len(lines))]
    return "".join(lines)


def _line_twice(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    lines.insert(chance.randrange(len(lines)), chance.choice(lines))
    return "".join(lines)


def _bytes(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text))
    noise = "".join(chr(chance.randrange(1, 256)) for _ in range(chance.randint(1, 6)))
    return text[:at] + noise + text[at + chance.randint(0, 6) :]


def _long(text: str, chance: random.Random) -> str:
    at = _place(text, chance, "'")
    return text[: at + 1] + chance.choice(("<b>&\x07\t", "Ä", "\\", "x")) * 3000 + text[at + 1 :]


def _cut(text: str, chance: random.Random) -> str:
    return text[: chance.randrange(len(text) // 2, len(text))]


def _read(paths: list[Path], seconds: float) -> list[str]:
    command = [sys.executable, "-c", _READ, *map(str, paths)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=seconds, check=False)
    said = done.stdout.splitlines()
    assert len(said) == len(paths), f"died at {paths[len(said)].name}: {done.stderr[-500:]}"
    return said


@pytest.mark.parametrize("seed", range(4))
def test_damaged_files_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    whole = SMALLEST.read_text(encoding="utf-8")
    paths = []
    for number in range(60):
        path = tmp_path / f"damaged_{seed}_{number}.ifc"
        path.write_bytes(_mutate(whole, chance).encode("latin-1", "replace"))
        paths.append(path)
    said = [line.split("|") for line in _read(paths, 300)]
    wrong = [line for line in said if line[1] not in ("read", "refused")]
    assert wrong == []
    assert max(float(line[2]) for line in said) < 10
    assert {line[1] for line in said} == {"read", "refused"}


def test_the_demo_with_cyclic_and_dangling_references(tmp_path: Path) -> None:
    chance = random.Random(7)
    whole = (ROOT / "models" / "dwelling_early.ifc").read_text(encoding="utf-8")
    lines = whole.splitlines(keepends=True)
    placements = [i for i, line in enumerate(lines) if "=IFCLOCALPLACEMENT(" in line]
    for number in chance.sample(placements, 40):  # placed on itself, or on nothing
        own = lines[number].partition("=")[0]
        parent = chance.choice((own, "#99999999"))
        head, _, rest = lines[number].partition("(")
        lines[number] = f"{head}({parent},{rest.partition(',')[2]}"
    path = tmp_path / "cyclic.ifc"
    path.write_text("".join(lines), encoding="utf-8")
    (said,) = _read([path], 60)
    assert said.split("|")[1] in ("read", "refused")
