"""What a subject that is one element of the model says of itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ifclint.ifc.elements import Element, Location, Point, System


def place_of(element: Element, point: Point | None) -> Location:
    x, y, z = point or element.position or (None, None, None)
    return Location(element.storey, element.space, x, y, z)


class OfElement:
    """Key, label, place and system of a subject that is one element, or is known by one, in the
    service it names; None is that which the model gives the element."""

    service: System | None = System.SANITARY

    if TYPE_CHECKING:  # a field of some, worked out by others

        @property
        def element(self) -> Element: ...

    @property
    def key(self) -> str:
        return self.element.key

    @property
    def label(self) -> str:
        return self.element.label

    @property
    def system(self) -> str:
        service = self.service or self.element.system
        return service.value if service is not None else "not known"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid,)

    @property
    def location(self) -> Location:
        return place_of(self.element, self.looked_at)

    @property
    def looked_at(self) -> Point | None:
        """The place to look at."""
        return self.element.position
