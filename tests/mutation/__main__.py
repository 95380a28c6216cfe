"""Which small changes of the code does no test notice?

    python -m tests.mutation --sample 40 --seed 1 --paths plugins ifclint/plumbing

1. `places.py` finds every place that can be changed; a seeded sample of them is drawn, without
   those that `equivalent.toml` accounts for.
2. A change ought to be noticed by the tests of its own pack or module (`own.py`). `instrument.py`
   writes a copy of the project that tells which places of the sample it passes, and those tests are
   run once on it, each file in a process of its own: so each place has its tests, and each test its
   cost (`watching.py`).
3. Each change is written into a copy of the project in a temporary folder and its tests are run on
   it, the cheapest first, until one fails or a minute is over (`running.py`). A change that makes
   its tests hang is caught too, by the processor time they take. Tests that fail in step 2, as
   those do which read the text of the code, are left out and counted.
4. What no test noticed is put to the type checker (`checker.py`): what it refuses can never get in,
   as where `or` becomes `and` in a guard against what is not known.
5. What is caught is written to the file named by `--caught`, and not tried again by a later run, or
   by the same one begun anew, as long as its module is as it was.

Survivors are printed one a line: place, code -> changed code, and the tests that ran; then a table
by folder. Exit status: 0 all were caught, 1 some survived, 2 nothing could be tried. The output is
the same for the same code and seed; how long it took goes to the error stream.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

from tests.mutation.equivalent import StaleList, read_list
from tests.mutation.trying import NotTried, Outcome, mutate
from tests.mutation.watching import by_file


def main() -> int:
    """Run the script; returns its exit status."""
    options = _options()
    options.root = options.root.resolve()
    lacking = [path for path in options.paths if not (options.root / path).exists()]
    if lacking:
        print(f"there is no {', '.join(lacking)} in {options.root}", file=sys.stderr)
        return 2
    begun = time.monotonic()

    def tell(what: str) -> None:
        print(f"{time.monotonic() - begun:.0f} s: {what}", file=sys.stderr)

    try:
        equivalents = read_list(options.root / "tests" / "mutation" / "equivalent.toml")
        outcome = mutate(options, equivalents, tell)
    except StaleList as error:
        print(f"equivalent.toml is stale: {error}", file=sys.stderr)
        return 2
    except NotTried as error:
        print(error, file=sys.stderr)
        return 2
    tell("done")
    for survivor in outcome.survivors:
        print(survivor)
    for file, count in by_file(outcome.failing).items():
        print(f"left out, since they fail on the code that is measured: {count} of {file}")
    for line in _table(outcome):
        print(line)
    sample, survived = len(outcome.sample), len(outcome.survivors)
    print(
        f"{sample} of {outcome.places} places changed (seed {options.seed}): "
        f"{sample - survived} caught, {outcome.hung} of them by hanging or ending the tests and "
        f"{outcome.refused} by the type checker alone; {survived} survived; "
        f"{len(equivalents)} are known to make no difference"
    )
    return 1 if survived else 0


def _table(outcome: Outcome) -> list[str]:
    """Changes and survivors of each folder."""
    changed = Counter(place.folder for place in outcome.sample)
    survived = Counter(survivor.place.folder for survivor in outcome.survivors)
    wide = max(map(len, changed), default=0)
    return [
        f"{folder:{wide}}  {count:3} changed  {survived[folder]:3} survived"
        for folder, count in sorted(changed.items())
    ]


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation", description="Which small changes does no test notice?"
    )
    parser.add_argument("--sample", type=_count, default=40, help="how many places to change")
    parser.add_argument("--seed", type=int, default=1, help="of the sample")
    parser.add_argument("--paths", nargs="+", default=["ifclint", "plugins"], help="where to look")
    parser.add_argument(
        "--timeout",
        type=float,
        default=60.0,
        help="seconds of processor time that the tests of a change may take; over that, it hangs",
    )
    parser.add_argument("--caught", type=Path, help="a file of what was caught, not tried again")
    parser.add_argument("--workers", type=_count, default=2, help="processes at a time")
    parser.add_argument("--root", type=Path, default=Path(), help="the project")
    return parser.parse_args()


def _count(text: str) -> int:
    """A whole number of at least one."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text} is not a whole number of at least 1")
    return int(text)


if __name__ == "__main__":
    sys.exit(main())
