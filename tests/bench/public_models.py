"""What is understood of the public models, and how long that takes beside a bare open.

    python tests/bench/public_models.py [--rounds 3] [MODEL.ifc ...]

A table, one block a model: elements by role; the share of pipes, and of pipes and fittings, of
which size, system and all joints are known; how many joints are inferred; doubts noted by topic;
seconds to read and connect and the ratio to `ifcopenshell.open` (each measured in a process of its
own, the median of the rounds). A model that is refused has the one sentence it is refused with.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "plugins"), str(Path(__file__).parent)]

from review_speed import measure  # noqa: E402

from ifclint import ifc  # noqa: E402
from ifclint.errors import InputError  # noqa: E402
from ifclint.ifc.elements import Element, Model, Role  # noqa: E402

PUBLIC = Path(os.environ.get("IFCLINT_PUBLIC_MODELS", ROOT.parent / "shared" / "models"))
PIPES = frozenset({Role.PIPE})
PIPING = frozenset({Role.PIPE, Role.FITTING})


def block(path: Path, rounds: int) -> str:
    """What is told of one model."""
    try:
        model = ifc.read([path])
    except InputError as refusal:
        return f"{path.name}\n  refused: {refusal}"
    inferred = sum(joint.inferred for joint in model.joints)
    lines = [
        path.name,
        f"  elements  {_counted(Counter(e.role.value for e in model.elements))}",
        *_shares(model),
        f"  joints    {len(model.joints)}, of which {inferred} inferred",
        f"  doubts    {_counted(Counter(note.topic or 'other' for note in model.notes))}",
        f"  speed     {_speed(path, rounds)}",
    ]
    return "\n".join(lines)


def _counted(counts: Counter[str]) -> str:
    return ", ".join(f"{count} {what}" for what, count in counts.most_common()) or "none"


def _shares(model: Model) -> list[str]:
    joined: dict[int, set[int]] = defaultdict(set)
    for joint in model.joints:
        joined[joint.a].add(joint.a_end)
        joined[joint.b].add(joint.b_end)
    connected = {
        id(e) for i, e in enumerate(model.elements) if e.ends and len(joined[i]) == len(e.ends)
    }
    facts: dict[str, Callable[[Element], bool]] = {
        "size": lambda e: e.size_in is not None,
        "system": lambda e: e.system is not None,
        "all ends joined": lambda e: id(e) in connected,
    }
    lines = []
    for name, roles in (("pipes", PIPES), ("piping", PIPING)):
        members = [e for e in model.elements if e.role in roles]
        stated = "   ".join(f"{fact} {_share(members, known)}" for fact, known in facts.items())
        lines.append(f"  {name:<9} {stated}")
    return lines


def _share(members: Sequence[Element], known: Callable[[Element], bool]) -> str:
    if not members:
        return "–"
    return f"{100 * sum(map(known, members)) / len(members):.0f} %"


def _speed(path: Path, rounds: int) -> str:
    bare, read = (
        statistics.median(measure(step, path, "")[0] for _ in range(rounds))
        for step in ("bare open", "read and connect")
    )
    return f"{read:.3f} s, {read / bare:.2f} × a bare open"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("models", nargs="*", type=Path)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    models = given.models or sorted(PUBLIC.glob("*.ifc"))
    if not models:
        sys.exit(f"No model in {PUBLIC}: name some, or set IFCLINT_PUBLIC_MODELS.")
    for path in models:
        print(block(path, given.rounds), flush=True)


if __name__ == "__main__":
    main()
