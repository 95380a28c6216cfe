"""The reports of this distribution, by the same hook as anybody's."""

from collections.abc import Iterable
from functools import partial

from ifclint.findings import Review
from ifclint.packs import ReportFormat, hookimpl
from ifclint.report.as_json import json_bytes


@hookimpl
def ifclint_report_formats() -> Iterable[ReportFormat]:
    return formats()


def formats(for_crew: str = "") -> list[ReportFormat]:
    """The page, with what stands on the field sheet, and the document."""
    page = partial(_page, for_crew)
    return [ReportFormat("report.html", page), ReportFormat("findings.json", json_bytes)]


def _page(for_crew: str, review: Review) -> bytes:
    from ifclint.report.html import html_bytes  # jinja2 takes a while to start

    return html_bytes(review, for_crew)
