"""A comparison as text, as JSON, and as a page."""

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from ifclint.comparison import Compared, Comparison, State
from ifclint.engineering.wording import wrapped

FORMATS = ("text", "json", "html")
WIDTH = 80
UNFINISHED = tuple(state for state in State if state is not State.CORRECTED)


def as_text(comparison: Comparison) -> str:
    """What was counted, then each correction that is not simply done, most urgent first."""
    lines = [f"{comparison.old} -> {comparison.new}", "", _counted(comparison.corrections)]
    lines += [f"Of findings: {_counted(comparison.findings)}", *comparison.notes]
    for state in UNFINISHED:
        changes = [c for c in comparison.corrections if c.state is state]
        if changes:
            lines += ["", f"{state.value.capitalize()}:"]
            lines += [line for change in changes for line in _lines(change)]
    return "\n".join(lines) + "\n"


def _counted(changes: tuple[Compared, ...]) -> str:
    counts = Counter(change.state for change in changes)
    said = [f"{counts[state]} {state.value}" for state in State if counts[state]]
    return (", ".join(said) or "no correction, then or now") + "."


def _lines(change: Compared) -> Iterator[str]:
    told = "; ".join(filter(None, (change.about, change.place, change.why)))
    said = f"  {change.title}" + (f" ({told})" if told else "")
    yield from wrapped(said, WIDTH, "  ", "    ")


def as_json(comparison: Comparison) -> str:
    document = {"schema_version": "1", **asdict(comparison)}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def as_html(comparison: Comparison) -> str:
    """One page that needs nothing else; everything from the models is escaped."""
    from ifclint.report.pages import environment  # jinja2 takes a while to start

    templates = environment(Path(__file__).with_name("templates"))
    page = templates.get_template("comparison.html.j2")
    return page.render(
        comparison=comparison,
        State=State,
        counted=_counted(comparison.corrections),
        findings_counted=_counted(comparison.findings),
    )


WRITERS = {"text": as_text, "json": as_json, "html": as_html}
