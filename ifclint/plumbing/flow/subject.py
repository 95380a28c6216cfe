"""What a subject that is one element of the model says of itself."""

from __future__ import annotations

from ifclint.ifc.elements import Element, Location, Point, System


def place_of(element: Element, point: Point | None) -> Location:
    x, y, z = point or element.position or (None, None, None)
    return Location(element.storey, element.space, x, y, z)


class OfElement:
    """Key, label, place and system of a subject that is one element, in the service it names."""

    element: Element
    service = System.SANITARY

    @property
    def key(self) -> str:
        return self.element.key

    @property
    def label(self) -> str:
        return self.element.label

    @property
    def system(self) -> str:
        return self.service.value

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid,)

    @property
    def location(self) -> Location:
        return place_of(self.element, self.element.position)
