"""A page's own style and scripts, and the policy that lets nothing else run."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path

from ifclint.findings import Review
from ifclint.report.arrange import NAME_LIMIT, plain

MODELS_AT_FOOT = 3  # of a printed page
TEMPLATES = Path(__file__).with_name("templates")


def source(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")


def running_foot(review: Review) -> str:
    """A rule of the style sheet: what every printed page says of the model and the code."""
    lines = [
        f"{model.name}{f' of {model.date[:10]}' if model.date else ''}, {model.sha256[:12]}"
        for model in review.models[:MODELS_AT_FOOT]
    ]
    if len(review.models) > MODELS_AT_FOOT:
        lines.append(f"and {len(review.models) - MODELS_AT_FOOT} more models")
    written = "\\a ".join(_in_style(line) for line in (*lines, review.adopted_code.title))
    foot = f'content: "{written}"; font: 7pt/1.25 sans-serif; white-space: pre;'
    return f"@media print {{ @page {{ @bottom-left {{ {foot} }} }} }}\n"


def _in_style(text: str) -> str:
    """Text as a string of a style sheet has it."""
    shown = plain(text, NAME_LIMIT)
    return "".join(c if c.isalnum() and c.isascii() else f"\\{ord(c):x} " for c in shown)


def policy(style: str, scripts: Sequence[str]) -> str:
    """A content security policy that lets this page's own style and scripts run, nothing else."""
    allowed = " ".join(f"'{_hash(script)}'" for script in scripts)
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src {allowed}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()
