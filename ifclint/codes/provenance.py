"""What kind of source a value rests on, read from the words of its `source` column.

| it is | where the source |
|---|---|
| amended here | begins with "amended: ": a local amendment of the job file |
| common practice | says so: no code clause stands behind the value |
| from memory | says so, or the row is carried over from another edition, unseen |
| quoted second hand | is a forum, magazine, handbook, web page or course that tells of the code |
| derived | is a calculation ("computed: ..."), or another code's twin of the rule |
| state adoption | is a state's or city's code that copies or amends the model code |
| read in a published source | is anything else: the code, its publisher, a standard |

Of several sources the weakest counts: the first in this list. "section from memory" among them
tells of the clause and not of the value: it is left out, and findings ask for the number.
"""

import re
from enum import StrEnum
from functools import cache

AMENDED = "amended: "  # begins the source of an amended cell
FROM_MEMORY = "from memory"
SECTION_RECALLED = "section from memory"  # the value was read, the number of its section was not
NO_SOURCE = "common practice, no source"


class SourceKind(StrEnum):
    """From the weakest to the strongest, but for an amendment, which outranks them all."""

    AMENDED = "amended here"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    SECOND_HAND = "quoted second hand"
    DERIVED = "derived"
    STATE_ADOPTION = "state adoption"
    PUBLISHED = "read in a published source"


_SECOND_HAND = re.compile(  # small letters: a title ("Copper Tube Handbook") is a publication
    r"forum|quiz|magazine|handbook|field guide|trade (?:article|column)|worksheet"
    r"|study (?:deck|notes)|course text|question-and-answer|exam-preparation|final checklist"
    r"|handout|bulletin|code card"
    r"|[Ww]eb page|page on |page quoting|public page|review note|FAQ|furnace manual"
    r"|Engineering ToolBox|Journal of|longest-length example"
)
_DERIVED = re.compile(r"computed|twin|the same (?:limits|appendix|table)|best fit")
_STATE = re.compile(
    r"derived from|-derived|as adopted in|amendments to|amending the|inspector's decision"
    r"|(?:Administrative|Municipal|State|City|County) (?:Plumbing )?Code|[A-Z]\w+ plumbing code"
    r"|[A-Z]\w+ Plumbing Code \d{4}|[A-Z]\w+ (?:residential )?code \d{4}|County \w\w"
)


@cache  # the rows of a code share few sources, and every limit is asked for its own
def source_kind(source: str, carried_from: str = "", amended: bool = False) -> SourceKind:
    """The kind of the weakest of the sources of a row, which semicolons part."""
    kinds = [_kind_of(part) for part in _on_values(source)]
    if amended:
        kinds.append(SourceKind.AMENDED)
    if carried_from:
        kinds.append(SourceKind.FROM_MEMORY)
    return min(kinds, key=list(SourceKind).index)


def value_recalled(source: str) -> bool:
    """Whether a source says that a value, not only the number of its section, is from memory."""
    return any(FROM_MEMORY in part for part in _on_values(source))


def _on_values(source: str) -> list[str]:
    parts = source.split("; ")
    return [part for part in parts if part != SECTION_RECALLED] or parts


def _kind_of(source: str) -> SourceKind:
    if source.startswith(AMENDED):
        return SourceKind.AMENDED
    if source.startswith(NO_SOURCE.partition(",")[0]):
        return SourceKind.COMMON_PRACTICE
    if FROM_MEMORY in source:
        return SourceKind.FROM_MEMORY
    if _SECOND_HAND.search(source):
        return SourceKind.SECOND_HAND
    if _DERIVED.search(source):
        return SourceKind.DERIVED
    return SourceKind.STATE_ADOPTION if _STATE.search(source) else SourceKind.PUBLISHED
