"""BCF 2.1 and 3.0 (buildingSMART): a topic for each correction, and one for each kind of question.

A topic's GUID follows from the correction's id, so that a later review updates the topic; a
viewpoint's from what it shows, since a viewpoint does not change. Dates are those of the model.
"""

import io
import uuid
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from ifclint.findings import Finding, Outcome, Review
from ifclint.ifc.elements import Location
from ifclint.report.arrange import by_remedy, counting, entries, numbered, plain, raised
from ifclint.report.exchange.snapshot import snapshot, viewpoint
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.exchange.wording import in_full, xml_bytes, xml_text

OURS = uuid.uuid5(uuid.NAMESPACE_URL, "urn:ifclint:bcf")
AUTHOR = "ifclint"
TITLE_LIMIT = 200
MOST_COMPONENTS = 1000  # viewers become slow beyond
NO_DATE = "1970-01-01T00:00:00"  # where no model says when it was written; never the clock
TYPES, STATUSES = ("Correction", "Question"), ("Open",)
PRIORITIES = ("high", "medium", "low")


@dataclass(frozen=True, slots=True)
class Topic:
    guid: str
    number: int
    kind: str
    title: str
    description: str
    priority: str
    labels: tuple[str, ...]
    element_ids: tuple[str, ...]
    location: Location


def bcf_bytes(review: Review, sources: SourceLines) -> bytes:
    """A BCF 2.1 file."""
    return _written(review, sources, "2.1")


def bcf_3_bytes(review: Review, sources: SourceLines) -> bytes:
    """A BCF 3.0 file."""
    return _written(review, sources, "3.0")


def _written(review: Review, sources: SourceLines, version: str) -> bytes:
    topics = list(_topics(review))
    date = max((m.date for m in review.models if m.date), default=NO_DATE)
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        _put(archive, "bcf.version", _version(version))
        if version == "3.0":
            _put(archive, "extensions.xml", _extensions(topics))
        for topic in topics:
            seen = topic.location.in_file(review.turned_rad)
            guid, shown = viewpoint(topic.element_ids[:MOST_COMPONENTS], seen, version)
            picture = snapshot(review, topic.location, topic.number)
            markup = _markup(topic, guid, picture is not None, sources, version, date)
            _put(archive, f"{topic.guid}/markup.bcf", markup)
            _put(archive, f"{topic.guid}/viewpoint.bcfv", shown)
            if picture is not None:
                _put(archive, f"{topic.guid}/snapshot.png", picture)
    return data.getvalue()


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    """A file of the archive, without the time it was made at."""
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.compress_type = zipfile.ZIP_DEFLATED
    archive.writestr(info, content)


def _topics(review: Review) -> Iterator[Topic]:
    items = counting(numbered(review))
    for entry in entries(review, items):
        correction = entry.correction
        yield Topic(
            _guid(correction.id),
            entry.number,
            "Correction",
            plain(correction.title, TITLE_LIMIT),
            "\n".join(
                filter(None, (raised(correction), _description([i.finding for i in entry.items])))
            ),
            correction.severity.value,
            tuple(filter(None, (correction.system, *entry.clauses[:3]))),
            correction.element_ids,
            correction.location,
        )
    questions = (item for item in items if item.finding.outcome is Outcome.UNVERIFIED)
    for group in by_remedy(questions):
        found = [item.finding for item in group.items]
        yield Topic(
            _guid(f"question {group.remedy}"),
            group.items[0].number,
            "Question",
            plain(group.remedy, TITLE_LIMIT),
            _description(found),
            found[0].severity.value,
            (),
            tuple(dict.fromkeys(guid for f in found for guid in f.element_ids)),
            found[0].location,
        )


def _guid(name: str) -> str:
    return str(uuid.uuid5(OURS, xml_text(name)))


def _description(findings: Sequence[Finding]) -> str:
    shown = [in_full(finding) for finding in findings[:20]]
    if len(findings) > len(shown):
        shown.append(f"And {len(findings) - len(shown)} more.")
    return "\n\n".join(shown)


def _version(version: str) -> bytes:
    root = ET.Element("Version", VersionId=version)
    if version == "2.1":
        ET.SubElement(root, "DetailedVersion").text = version
    return xml_bytes(root)


def _extensions(topics: Sequence[Topic]) -> bytes:
    root = ET.Element("Extensions")
    labels = sorted({xml_text(label) for topic in topics for label in topic.labels})
    for many, one, values in (
        ("TopicTypes", "TopicType", TYPES),
        ("TopicStatuses", "TopicStatus", STATUSES),
        ("Priorities", "Priority", PRIORITIES),
        ("TopicLabels", "TopicLabel", labels),
        ("Users", "User", (AUTHOR,)),
    ):
        parent = ET.SubElement(root, many)
        for value in values:
            ET.SubElement(parent, one).text = value
    return xml_bytes(root)


def _markup(
    topic: Topic, viewpoint_guid: str, pictured: bool, sources: SourceLines, version: str, date: str
) -> bytes:
    three = version == "3.0"
    root = ET.Element("Markup")
    header = ET.SubElement(root, "Header")
    files = ET.SubElement(header, "Files") if three else header
    for name in sources.files:
        file = ET.SubElement(files, "File", {"IsExternal" if three else "isExternal": "true"})
        ET.SubElement(file, "Filename").text = xml_text(name.rpartition("/")[2])
    element = ET.SubElement(
        root, "Topic", Guid=topic.guid, TopicType=topic.kind, TopicStatus=STATUSES[0]
    )
    ET.SubElement(element, "Title").text = xml_text(topic.title)
    ET.SubElement(element, "Priority").text = topic.priority
    ET.SubElement(element, "Index").text = str(topic.number)
    labels = ET.SubElement(element, "Labels") if three else element
    for label in topic.labels:
        ET.SubElement(labels, "Label" if three else "Labels").text = xml_text(label)
    ET.SubElement(element, "CreationDate").text = date + ("Z" if three else "")
    ET.SubElement(element, "CreationAuthor").text = AUTHOR
    ET.SubElement(element, "Description").text = xml_text(topic.description)
    parent = ET.SubElement(element, "Viewpoints") if three else root
    view = ET.SubElement(parent, "ViewPoint" if three else "Viewpoints", Guid=viewpoint_guid)
    ET.SubElement(view, "Viewpoint").text = "viewpoint.bcfv"
    if pictured:
        ET.SubElement(view, "Snapshot").text = "snapshot.png"
    return xml_bytes(root)
