"""What every format says of a finding in words, and of its arithmetic, and of a review that was
not done; and XML as bytes."""

import re
from xml.etree import ElementTree as ET

from ifclint.engineering.wording import measure_text
from ifclint.findings import Finding, Review, Verdict
from ifclint.report.arrange import found_and_required, plain

_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def sentence(finding: Finding) -> str:
    """What is wrong, under which clause."""
    said = plain(finding.message or finding.title)
    return f"{said} ({plain(finding.clause)})" if finding.clause else said


def in_full(finding: Finding) -> str:
    """The finding with its figures, its arithmetic and its remedy; a line each."""
    found, required = found_and_required(finding)
    lines = [sentence(finding)]
    if found:
        lines.append(f"Found: {found}")
    if required:
        lines.append(f"Required: {required}")
    for step in finding.steps:
        value = "" if step.value is None else f" = {measure_text(step.value, step.unit)}"
        lines.append(
            f"  {plain(step.text)}{value}" + (f" [{plain(step.source)}]" if step.source else "")
        )
    if finding.caution:
        lines.append(f"Caution: {plain(finding.caution)}")
    if finding.remedy:
        lines.append(f"Remedy: {plain(finding.remedy)}")
    if finding.element_ids:
        lines.append(f"Elements: {' '.join(map(plain, finding.element_ids[:20]))}")
    return "\n".join(lines)


def not_done(review: Review) -> list[str]:
    """What kept the review from being done as a whole."""
    undone = [review.reason] if review.verdict is Verdict.NOT_REVIEWABLE else []
    failed = (f"{f.pack}, {f.rule or 'the whole pack'}: {f.reason}" for f in review.failures)
    return [plain(said) for said in (*undone, *failed)]


def xml_text(text: object) -> str:
    """Without the characters that XML 1.0 forbids."""
    return _UNWRITABLE.sub(" ", str(text))


def xml_bytes(root: ET.Element) -> bytes:
    ET.indent(root)
    written: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return written + b"\n"
