"""A page read the way a browser would: elements in order, with their attributes and text."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "img", "input", "hr"}


@dataclass
class Node:
    tag: str
    attributes: dict[str, str]
    own: list[str] = field(default_factory=list)
    children: list[Node] = field(default_factory=list)

    @property
    def text(self) -> str:
        inner = " ".join([*self.own, *(child.text for child in self.children)])
        return " ".join(inner.split())

    def all(self, tag: str = "", **attributes: str) -> list[Node]:
        """Descendants with a tag and attributes (`class_` asks for one of the classes)."""
        found = []
        for child in self.children:
            if tag in ("", child.tag) and child._has(attributes):
                found.append(child)
            found += child.all(tag, **attributes)
        return found

    def _has(self, wanted: dict[str, str]) -> bool:
        for name, value in wanted.items():
            actual = self.attributes.get(name.rstrip("_"), "")
            if value not in (actual.split() if name == "class_" else [actual]):
                return False
        return True


class Page(HTMLParser):
    """The tree of a page. An end tag that does not fit its start tag is an error."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.root = Node("", {})
        self._open = [self.root]
        self.feed(source)
        assert self._open == [self.root], f"not closed: {[node.tag for node in self._open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs})
        self._open[-1].children.append(node)
        if tag not in VOID:
            self._open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open[-1].children.append(Node(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        node = self._open.pop()
        assert node.tag == tag, f"</{tag}> closes <{node.tag}>"

    def handle_data(self, data: str) -> None:
        self._open[-1].own.append(data)
