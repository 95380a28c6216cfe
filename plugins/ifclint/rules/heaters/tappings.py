"""Openings of heaters and boilers for their relief valves, by name or service."""

from __future__ import annotations

from ifclint.ifc.elements import End, System
from ifclint.plumbing.words import says_text

# A temperature setting on a plate is that of a combined valve.
BOTH_WORDS = ("t&p", "t & p", "t+p", "t/p", "t and p", "p&t", "p & t", "p/t", "tpr", "tprv",
    "tp valve", "tp relief", "210 f", "210°f", "210 °f", "99 c", "99°c", "99 °c")  # fmt: skip
_WORDS = ("relief", "safety", "prv", "psv", "tp", "alivio", "sicherheitsventil", "soupape",
    "overdruk*", *BOTH_WORDS)  # fmt: skip


def is_relief_tapping(end: End) -> bool:
    """Whether an opening is said to be for a relief valve."""
    return end.system is System.RELIEF or says_text(end.name, _WORDS)
