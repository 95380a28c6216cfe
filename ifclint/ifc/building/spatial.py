"""Where an element is: its storey and its space, as the relations of a file tell."""

from collections.abc import Sequence
from dataclasses import replace

from ifclint.ifc.elements import Note, Storey
from ifclint.ifc.shape.placement import Placements
from ifclint.ifc.step.relations import Relations
from ifclint.ifc.step.spf import arguments, fields, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

DEEPEST = 50
HIGHEST_M = 20_000.0  # a storey beyond is damage
APART_M = 30.0  # from a storey to all that is drawn: another zero is meant. Ours, no source
SAME_ZERO = "Place each storey at its height, or state its elevation from the zero of the drawing."
STOREY, SPACE = b"IFCBUILDINGSTOREY", b"IFCSPACE"


class SpatialReader:
    """Storeys and spaces of one file, each read once from its text."""

    def __init__(
        self, text: TextIndex, relations: Relations, placements: Placements, metres: float
    ) -> None:
        self._text = text
        self._relations = relations
        self._placements = placements
        self._metres = metres
        self._places: dict[Ref, tuple[str, str]] = {}
        self.notes: list[Note] = []

    def storeys(self, drawn_m: Sequence[float] = ()) -> list[Storey]:
        """The storeys of the file, in which things are drawn at some heights; one at no elevation
        that can be told is noted."""
        found = []
        for line in self._text.of_class(STOREY)[1]:
            written = arguments(line)
            name = clean(string(written[2])) if len(written) > 2 else ""
            try:
                found.append(Storey(name, self._elevation(written), self._stated(written)))
            except ValueError:
                what = (
                    f'The elevation of the storey "{name}" cannot be read; it counts as not there.'
                )
                self.notes.append(Note(what, "Give the storey its elevation.", topic="storey"))
        return self._from_what_is_drawn(found, drawn_m)

    def _from_what_is_drawn(self, storeys: list[Storey], drawn_m: Sequence[float]) -> list[Storey]:
        """Storeys as heights are drawn: those whose elevations are counted from elsewhere (the
        sea), while their placements are not, stand as much lower as the others do, or the lowest
        at zero where all lie far from what is drawn."""
        raised = {
            round(s.stated_m - s.elevation_m, 1)
            for s in storeys
            if s.stated_m is not None and s.stated_m != s.elevation_m
        }
        if not raised and storeys and drawn_m:
            low, high = min(drawn_m) - APART_M, max(drawn_m) + APART_M
            if not any(low <= s.elevation_m <= high for s in storeys):
                raised = {round(min(s.elevation_m for s in storeys), 1)}
        if len(raised) != 1 or abs(by_m := raised.pop()) < APART_M:
            return storeys
        now = [
            replace(s, elevation_m=round(s.elevation_m - by_m, 6)) if _is_stated(s) else s
            for s in storeys
        ]
        if now != storeys:
            way = "higher" if by_m > 0 else "lower"
            what = f"Elevations of storeys are stated {abs(by_m):g} m {way} than things are drawn"
            self.notes.append(Note(f"{what}; they count as drawn.", SAME_ZERO, topic="storey"))
        return now

    def _elevation(self, written: list[bytes]) -> float:
        """The height of a storey's placement, else its elevation, metres; else ValueError."""
        frame = self._placements.frame(number(written[5])) if len(written) > 5 else None
        metres = self._stated(written) or 0.0
        if frame is not None and frame[11] != 0.0:
            metres = frame[11]
        if not abs(metres) < HIGHEST_M:
            raise ValueError("no elevation of a building")
        return metres

    def _stated(self, written: list[bytes]) -> float | None:
        stated = written[9] if len(written) > 9 else b"$"
        return None if stated in (b"$", b"*") else float(stated) * self._metres

    def places(self, elements: list[Ref]) -> list[tuple[str, str]]:
        """Storey and space that elements are contained in; empty where they are in neither."""
        container = self._relations.container
        return [
            self.of_structure(held) if (held := container.get(ref)) else self._of_whole(ref)
            for ref in elements
        ]

    def _of_whole(self, element: Ref) -> tuple[str, str]:
        """Storey and space of what an element is part of."""
        at = element
        for _ in range(DEEPEST):
            at = self._relations.whole.get(at, 0)
            if not at:
                break
            if container := self._relations.container.get(at):
                return self.of_structure(container)
        return "", ""

    def storey_of(self, structure: Ref) -> str:
        """The storey that a spatial structure is, or is part of."""
        return self.of_structure(structure)[0]

    def of_structure(self, structure: Ref) -> tuple[str, str]:
        """The storey and the space that a spatial structure is, or is part of."""
        if structure not in self._places:
            storey = space = ""
            at = structure
            for _ in range(DEEPEST):
                text = self._text.get(at)
                if text is None or storey:
                    break
                if text.startswith(SPACE + b"("):
                    space = space or space_name(fields(text))
                elif text.startswith(STOREY + b"("):
                    storey = clean(string(fields(text)[2]))
                at = self._relations.whole.get(at, 0)
            self._places[structure] = (storey, space)
        return self._places[structure]


def space_name(written: list[bytes]) -> str:
    """What a space is called: its long name, else its name."""
    long_name = clean(string(written[7])) if len(written) > 7 else ""
    return long_name or clean(string(written[2]))


def _is_stated(storey: Storey) -> bool:
    """Whether its height is the elevation that is stated, as no placement tells another."""
    return storey.elevation_m == storey.stated_m
