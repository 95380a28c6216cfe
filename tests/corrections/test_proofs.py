"""Changes of several services reviewed in one go tell of each what it does alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import pytest

from ifclint.corrections import corrections
from ifclint.findings import Change, Finding, Location, Outcome, ReviewedAgain, Severity
from ifclint.ifc.elements import Model, System
from ifclint.testing.networks import read_network

PIPES = """
system=sanitary_drainage
pipe 2 D  0 0 0 > 9 0 0
pipe 2 D2  0 2 0 > 9 2 0
system=cold_water
pipe 1 W  0 5 0 > 9 5 0
system=fuel_gas
pipe 1 G  0 9 0 > 9 9 0
"""
SERVICE = {"D": System.SANITARY, "D2": System.SANITARY, "W": System.COLD_WATER, "G": System.GAS}
Sizes = dict[str, float | None]


def _found(rule: str, guid: str, size_in: float = 0.0) -> Finding:
    asks = Change("size", (guid,), size_in, f"Make {guid} {size_in:g} in.") if size_in else None
    return Finding(
        rule, "pack", rule, Outcome.VIOLATION, Severity.LOW, rule, f"{guid} is wrong.", "", guid,
        "", (guid,), Location(), change=asks,
    )  # fmt: skip


class Reviewed(NamedTuple):
    proofs: dict[str, ReviewedAgain | None]  # by what is changed
    reviews: int


def _reviewed(
    found: Callable[[Sizes], list[Finding]],
    bearing: Callable[[Finding], frozenset[System] | None],
) -> Reviewed:
    net, asked = read_network(PIPES), list[Sizes]()

    def again(model: Model) -> Sequence[Finding]:
        asked.append({element.guid: element.size_in for element in model.elements})
        return found(asked[-1])

    first = found({element.guid: element.size_in for element in net.elements})
    made = corrections(first, net, again, {}, bearing)
    return Reviewed({c.element_ids[0]: c.reviewed_again for c in made if c.changes}, len(asked))


def _own(finding: Finding) -> frozenset[System]:
    return frozenset({SERVICE[finding.element_ids[0]]})


def _each_too_small(*guids: str) -> Callable[[Sizes], list[Finding]]:
    return lambda size: [_found(f"of {g}", g, 4) for g in guids if size[g] != 4]


def test_one_change_is_proved_by_the_review_that_solved_it() -> None:
    proofs, reviews = _reviewed(_each_too_small("D"), _own)
    assert proofs == {"D": ReviewedAgain(("of D",), ())}
    assert reviews == 1


def test_changes_of_three_services_are_proved_by_one_review() -> None:
    proofs, reviews = _reviewed(_each_too_small("D", "W", "G"), _own)
    assert proofs == {guid: ReviewedAgain((f"of {guid}",), ()) for guid in "DWG"}
    assert reviews == 1


def test_two_changes_of_one_service_are_reviewed_apart() -> None:
    proofs, reviews = _reviewed(_each_too_small("D", "D2", "W"), _own)
    assert {guid: proof and proof.clears for guid, proof in proofs.items()} == {
        guid: (f"of {guid}",) for guid in ("D", "D2", "W")
    }
    assert reviews == 3  # all, D with W, and D2


@pytest.mark.parametrize(
    ("bearing", "reviews"), [({System.COLD_WATER}, 1), ({System.COLD_WATER, System.GAS}, 4)]
)
def test_what_is_raised_is_of_the_one_change_that_bears_on_it(
    bearing: set[System], reviews: int
) -> None:
    """Where two of them may have raised it, each is reviewed alone."""

    def found(size: Sizes) -> list[Finding]:
        raised = [_found("raised", "D2")] if size["W"] == 4 else []
        return [*_each_too_small("D", "W", "G")(size), *raised]

    of_it = frozenset(bearing)
    proofs, asked = _reviewed(found, lambda f: of_it if f.rule == "raised" else _own(f))
    assert {guid: proof and proof.raises for guid, proof in proofs.items()} == {
        "D": (), "W": ("raised: D2 is wrong.",), "G": (),
    }  # fmt: skip
    assert asked == reviews


def test_what_any_service_may_bear_on_is_reviewed_alone() -> None:
    def found(size: Sizes) -> list[Finding]:
        also = [_found("also", "D2")] if size["D"] != 4 else []
        return [*_each_too_small("D", "W")(size), *also]

    proofs, reviews = _reviewed(found, lambda f: None if f.rule == "also" else _own(f))
    assert proofs == {"D": ReviewedAgain(("of D", "also"), ()), "W": ReviewedAgain(("of W",), ())}
    assert reviews == 3
