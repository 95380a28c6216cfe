"""The summary on a terminal: the same words, with corrections and counts as tables; into a pipe,
the words alone."""

import io
from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ifclint.findings import Review, Severity, Verdict
from ifclint.report.arrange import NAME_LIMIT, counting, numbered, plain, raised
from ifclint.report.text import CORRECTIONS_SHOWN, blocks, count_rows, subject_told, summary, where

PRINTED = ("text", "json")
STYLES = {Severity.HIGH: "bold red", Severity.MEDIUM: "", Severity.LOW: "dim"}
VERDICTS = {Verdict.PASS: "bold green", Verdict.CORRECTIONS_REQUIRED: "bold red"}
NARROWEST = 40


def shown(review: Review, width: int, files: Sequence[Path] = ()) -> str:
    """What is printed, with the signs that a terminal takes for colours."""
    paper = io.StringIO()
    console = Console(file=paper, force_terminal=True, width=max(width, NARROWEST))
    for n, part in enumerate(_parts(review, console.width, files)):
        if n:
            console.print()
        console.print(part)
    return paper.getvalue()


def _parts(review: Review, width: int, files: Sequence[Path]) -> Iterator[RenderableType]:
    for name, lines in blocks(review, width, files).items():
        if name == "corrections" and review.corrections:
            yield _corrections(review)
        elif name == "findings" and len(rows := count_rows(counting(numbered(review)))) > 1:
            yield _counts(rows)
        elif lines:
            text = Text("\n".join(lines))
            if name == "head":
                text.highlight_words([lines[1]], VERDICTS.get(review.verdict, "bold"))
            if name == "failures":
                text.stylize("bold red")
            yield text


def _corrections(review: Review) -> Table:
    table = Table(box=None, pad_edge=False, title_justify="left", title="Corrections", expand=True)
    table.add_column("No.", justify="right")
    table.add_column("Where", ratio=1)
    table.add_column("What to do", ratio=2)
    for number, made in enumerate(review.corrections[:CORRECTIONS_SHOWN], 1):
        todo = Text(plain(made.title, 300))
        if about := subject_told(made):
            todo.append(f"\n{plain(about, NAME_LIMIT)}", "dim")
        if told := raised(made):
            todo.append(f"\n{told}", "red")
        place = Text(plain(where(made), NAME_LIMIT))
        table.add_row(Text(f"{number:,}", STYLES[made.severity]), place, todo)
    left = len(review.corrections) - CORRECTIONS_SHOWN
    if left > 0:
        table.add_row(f"{left:,}", "", "more, see the report")
    return table


def _counts(rows: Sequence[Sequence[str]]) -> Table:
    """The counts; the first row is the heading."""
    table = Table(box=None, pad_edge=False, title_justify="left", title="Findings by pack")
    for n, name in enumerate(rows[0]):
        table.add_column(Text(name), justify="right" if n else "left")
    for row in rows[1:]:
        table.add_row(*map(Text, row))
    return table


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
