"""The rule about how deep the water in a trap stands."""

import re

from ifclint.checks import check, due
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Outcome
from ifclint.packs import Context, rule
from ifclint.plumbing import TrapArm

_DEPTH = r"(?:(\d+)[ -])?(\d+(?:[.,]\d+)?)(?:/(\d+))?\s*(in(?:ch(?:es)?)?\b|\"|mm\b)"
# "2 in deep seal" is a 2 in trap whose seal is deep.
_SEALS = (
    re.compile(r"\bseal(?: depth)?(?: of)?[:=]?\s*" + _DEPTH, re.IGNORECASE),
    re.compile(_DEPTH + r"\s*(?:trap |water )?seal\b", re.IGNORECASE),
)
_MM = 0.001


def seal_in(text: str) -> float | None:
    """How deep a seal some text tells, in inches.

    >>> seal_in("P-Trap 2 in, seal 1-1/2 in"), seal_in("floor trap 50 mm seal")
    (1.5, 1.968503937007874)
    """
    found = next((m for pattern in _SEALS if (m := pattern.search(text))), None)
    if found is None:
        return None
    whole, top, bottom, unit = found.groups()
    value = float(top.replace(",", ".")) / float(bottom or 1) + float(whole or 0)
    return value * _MM / M_PER_IN if unit.lower() == "mm" else value


@rule(
    title="Trap seal neither too shallow nor too deep",
    clauses={"upc": "1005.1", "ipc": "1002.4", "irc-2021": "P3201.2"},
    applies=lambda arm: seal_in(arm.element.called) is not None,
)
def trap_seal(arm: TrapArm, context: Context) -> Answer:
    """A shallow seal is blown out or dries up, a deep one holds dirt.

    The depth of seal that the name of the trap tells; none is asked for. One that is too shallow is
    wrong; one deeper than usual is an advisory, for the codes let it be where it is needed.
    """
    seal, label = due(seal_in(arm.element.called)), arm.element.label
    least, most = context.code.limit("trap_seal_least_in"), context.code.limit("trap_seal_most_in")
    message = f"{label} of {arm.fixture.label} has a seal of {number_text(seal)} in."
    remedy = f"Fit a trap whose seal is {number_text(least.value)} in to "
    remedy += f"{number_text(most.value)} in deep."
    if not at_least(seal, least.value, "in"):
        return check(seal, at_least=least, message=message, remedy=remedy)
    return check(seal, at_most=most, wrong=Outcome.ADVISORY, message=message, remedy=remedy)
