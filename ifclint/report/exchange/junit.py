"""JUnit XML: a suite for each pack, a case for each rule; questions are skipped cases. The first
suite is the review itself."""

from collections.abc import Iterable
from itertools import groupby
from xml.etree import ElementTree as ET

from ifclint.findings import Coverage, Failure, Finding, Outcome, Review, Verdict
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.exchange.wording import in_full, sentence, xml_bytes, xml_text

SHOWN = 50  # findings written out in one case


def junit_bytes(review: Review, sources: SourceLines) -> bytes:
    by_rule: dict[tuple[str, str], list[Finding]] = {}
    for finding in review.findings:
        if finding.variance is None:
            by_rule.setdefault((finding.pack, finding.rule), []).append(finding)
    root = ET.Element("testsuites")
    _review(root, review)
    covered = sorted(review.coverage, key=lambda c: (c.pack, c.rule))
    for pack, rules in groupby(covered, key=lambda c: c.pack):
        _suite(root, pack, list(rules), by_rule, review.failures)
    asked = {coverage.pack for coverage in covered}
    for name in dict.fromkeys(f.pack for f in review.failures if f.pack not in asked):
        _suite(root, name, [], by_rule, review.failures)
    return xml_bytes(root)


def _review(root: ET.Element, review: Review) -> None:
    """The review itself as a suite: whether it could be done, and whether its gate lets it pass."""
    suite = ET.SubElement(root, "testsuite", name="review")
    verdict = ET.SubElement(suite, "testcase", name="verdict", classname="review")
    undone = review.verdict is Verdict.NOT_REVIEWABLE
    if undone:
        ET.SubElement(verdict, "error", message=xml_text(review.reason), type=review.verdict.value)
    held = review.gate is not None and not review.gate.passed
    if review.gate is not None:
        gate = ET.SubElement(suite, "testcase", name="gate", classname="review")
        if held:
            ET.SubElement(gate, "failure", message=xml_text(review.gate.reason), type="gate")
    suite.set("tests", str(len(suite)))
    suite.set("failures", str(int(held)))
    suite.set("errors", str(int(undone)))
    suite.set("skipped", "0")


def _suite(
    root: ET.Element,
    pack: str,
    rules: Iterable[Coverage],
    by_rule: dict[tuple[str, str], list[Finding]],
    failures: Iterable[Failure],
) -> None:
    suite = ET.SubElement(root, "testsuite", name=xml_text(pack))
    count = {"failure": 0, "error": 0, "skipped": 0}
    for rule in rules:
        case = ET.SubElement(suite, "testcase", name=xml_text(rule.rule), classname=xml_text(pack))
        kind = _outcome(case, rule, by_rule.get((pack, rule.rule), []))
        count[kind] = count.get(kind, 0) + 1
    for failure in failures:
        if failure.pack == pack:
            name = xml_text(failure.rule or "the whole pack")
            case = ET.SubElement(suite, "testcase", name=name, classname=xml_text(pack))
            ET.SubElement(case, "error", message=xml_text(failure.reason), type="failed")
            count["error"] += 1
    suite.set("tests", str(len(suite)))
    suite.set("failures", str(count["failure"]))
    suite.set("errors", str(count["error"]))
    suite.set("skipped", str(count["skipped"]))


def _outcome(case: ET.Element, rule: Coverage, findings: list[Finding]) -> str:
    """Write what a rule says: a failure with its violations, else what it could not check."""
    for outcome, tag in ((Outcome.VIOLATION, "failure"), (Outcome.UNVERIFIED, "skipped")):
        told = [f for f in findings if f.outcome is outcome]
        if told:
            message = sentence(told[0]) + (f", and {len(told) - 1} more" if len(told) > 1 else "")
            made = ET.SubElement(case, tag, message=xml_text(message), type=outcome.value)
            made.text = xml_text("\n\n".join(map(in_full, told[:SHOWN])))
            return tag
    if not rule.subjects:
        ET.SubElement(case, "skipped", message=xml_text(rule.note or "saw no subject"), type="none")
        return "skipped"
    return "passed"
