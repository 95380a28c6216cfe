"""What a command prints of a review, on a terminal or into a pipe."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ifclint.findings import Review
from ifclint.report.text import summary

PRINTED = ("text", "json")


def printed(
    review: Review, form: str, files: Sequence[Path] = (), terminal_width: int | None = None
) -> str:
    """What the command prints of a review: the summary, or findings.json.

    `terminal_width` is that of the terminal it is printed on, None where it is on none.
    """
    if form == "json":
        from ifclint.report.as_json import json_bytes

        return json_bytes(review).decode("utf-8", "replace")
    if terminal_width is not None:
        from ifclint.report.terminal import shown  # rich takes a while to start

        return shown(review, terminal_width, files) + "\n"
    return summary(review, files=files) + "\n"
