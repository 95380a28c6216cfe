"""A tall apartment building for measuring: the demo dwelling many times over, on common risers.

    python tests/bench/apartments.py OUT.ifc [--dwellings 112]

Twelve storeys, two to each dwelling; 112 dwellings are 60,000 elements. The dwellings of a column
share a soil stack, a water riser and a gas riser, and the columns a building drain and mains; each
dwelling keeps its own meters, vents and heaters. It is drawn for its size: vents end below the
dwelling above, and nobody has sized the mains.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import dist
from pathlib import Path
from typing import TextIO

DWELLING = Path(__file__).parents[2] / "models" / "dwelling_corrected.ifc"
LAYERS = 6
LAYER_FT, COLUMN_FT, STOREY_FT, ROOF_FT = 22.0, 60.0, 10.0, 21.0
HEAD, OWN = 19, 37  # a dwelling's last line of units and project, and first that is copied
SITE, LEVEL_1, LEVEL_2, ROOF = 21, 25, 29, 33  # of the dwelling, as are the numbers of placements
PLACED = {20: 0.0, 22: 0.0, 24: 0.0, 28: STOREY_FT, 32: ROOF_FT}
SEWER = (22.6, -39.583424, -3.191321)  # where a dwelling's own pipes begin and end
WATER = (36.15, -38.166667, -2.0)
GAS = (44.8, 12.8125, 2.5)
SYSTEMS = {"soil": "SEWAGE", "water": "DOMESTICCOLDWATER", "gas": "GAS"}
DRAIN_FT, FALL, MAIN_FT, MARGIN_FT = -14.0, 1 / 48, -8.0, 3.0
GUID = "'([0-3][0-9A-Za-z_$]{21})'"
TOKEN = re.compile(rf"#(\d+)|{GUID}")
DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
Point = tuple[float, float, float]


@dataclass
class Writer:
    """Lines with entity numbers of their own."""

    out: TextIO
    last: int = 99
    members: dict[str, list[int]] = field(default_factory=dict)  # of each common system

    def add(self, text: str) -> int:
        self.last += 1
        self.out.write(f"#{self.last}={text};\n")
        return self.last

    def guid(self) -> str:
        return f"'3{_code(self.last)}CommonToAllDwelli'"

    def place(self, at: Point, towards: Point | None = None) -> int:
        """A placement, its z axis along a pipe."""
        point = self.add(f"IFCCARTESIANPOINT({_triple(at)})")
        axis = "$,$"
        if towards is not None:
            z = tuple((b - a) / dist(at, towards) for a, b in zip(at, towards, strict=True))
            x = (1.0, 0.0, 0.0) if abs(z[0]) < 0.5 else (0.0, 1.0, 0.0)
            axis = ",".join(f"#{self.add(f'IFCDIRECTION({_triple(v)})')}" for v in (z, x))
        frame = self.add(f"IFCAXIS2PLACEMENT3D(#{point},{axis})")
        return self.add(f"IFCLOCALPLACEMENT($,#{frame})")

    def pipe(self, system: str, name: str, size_in: float, a: Point, b: Point) -> None:
        place = self.place(a, b)
        profile = self.add(f"IFCCIRCLEPROFILEDEF(.AREA.,$,$,{size_in / 24!r})")
        up = self.add("IFCDIRECTION((0.,0.,1.))")
        solid = self.add(f"IFCEXTRUDEDAREASOLID(#{profile},#17,#{up},{dist(a, b)!r})")
        body = self.add(f"IFCSHAPEREPRESENTATION(#18,'Body','SweptSolid',(#{solid}))")
        shape = self.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,(#{body}))")
        pipe = self.add(
            f"IFCPIPESEGMENT({self.guid()},#5,'{size_in:g} in {name}',$,$,#{place},#{shape},$,"
            ".RIGIDSEGMENT.)"
        )
        self.members.setdefault(system, []).append(pipe)


def write_apartments(path: Path | str, dwellings: int = 112) -> None:
    """Write an IFC4 model in feet."""
    text = DWELLING.read_text()
    head, own = _split(text)
    with Path(path).open("w", newline="\n") as out:
        out.write(head)
        writer = Writer(out)
        storeys = _write_building(writer)
        columns = -(-dwellings // LAYERS)
        _write_common(writer, columns)
        for number in range(dwellings):
            column, layer = divmod(number, LAYERS)
            at = (column * COLUMN_FT, 0.0, layer * LAYER_FT)
            known = {k: writer.place((*at[:2], at[2] + up)) for k, up in PLACED.items()}
            levels = storeys[2 * layer :]
            known |= {SITE: SITE, LEVEL_1: levels[0], LEVEL_2: levels[1], ROOF: levels[2]}
            shift = writer.last
            for line in own:
                out.write(_copy(line, number, shift, known))
            writer.last += int(own[-1][1]) + 1
        out.write("ENDSEC;\nEND-ISO-10303-21;\n")


def _split(text: str) -> tuple[str, list[list[str]]]:
    """The lines that stand once, and those of each dwelling, cut where numbers and GlobalIds are;
    without its own sewer connection, so that its sewer ends at the stack."""
    head: list[str] = []
    own: list[list[str]] = []
    chamber = re.search(r"#(\d+)=IFCDISTRIBUTIONCHAMBERELEMENT\(", text)
    assert chamber is not None
    nested = re.search(rf"IFCRELNESTS\('[^']*',#5,\$,\$,#{chamber[1]},\(#(\d+)\)\)", text)
    assert nested is not None
    gone = re.compile(rf"#{chamber[1]}=|IFCRELNESTS.*#{chamber[1]},|#{nested[1]}\b")
    for line in text.splitlines(keepends=True):
        number = int(line[1 : line.index("=")]) if line.startswith("#") else 0
        if (number <= HEAD and not line.startswith("END")) or (line == "ENDSEC;\n" and not own):
            head.append(line)
        elif number >= OWN and not gone.search(line):
            kept = line.replace(f"#{chamber[1]},", "").replace(f",#{chamber[1]})", ")")
            own.append(TOKEN.split(kept))
    return "".join(head), own


def _copy(parts: list[str], number: int, shift: int, known: dict[int, int]) -> str:
    """One line of a dwelling with entity numbers and GlobalIds of its own."""
    made = [parts[0]]
    for entity, guid, text in zip(parts[1::3], parts[2::3], parts[3::3], strict=True):
        if entity is not None:
            old = int(entity)
            made.append(f"#{known.get(old, old if old <= HEAD else old + shift)}")
        else:
            made.append(f"'{guid[0]}{_code(number)}{guid[5:]}'")
        made.append(text)
    return "".join(made)


def _write_building(writer: Writer) -> list[int]:
    """Site, building and storeys; the numbers of the storeys, the roof last."""
    place = writer.place((0.0, 0.0, 0.0))
    writer.out.write(
        f"#{SITE}=IFCSITE({writer.guid()},#5,'Apartments',$,$,#{place},$,$,.ELEMENT.,$,$,$,$,$);\n"
    )
    building = writer.add(
        f"IFCBUILDING({writer.guid()},#5,'Apartments',$,$,#{place},$,$,.ELEMENT.,$,$,$)"
    )
    heights = [n * LAYER_FT + up for n in range(LAYERS) for up in (0.0, STOREY_FT)]
    storeys = []
    for number, height in enumerate([*heights, LAYERS * LAYER_FT], 1):
        at, name = writer.place((0.0, 0.0, height)), f"Storey {number}"
        storeys.append(
            writer.add(
                f"IFCBUILDINGSTOREY({writer.guid()},#5,'{name}',$,$,#{at},$,$,.ELEMENT.,{height!r})"
            )
        )
    for whole, members in ((HEAD, [SITE]), (SITE, [building]), (building, storeys)):
        listed = ",".join(f"#{member}" for member in members)
        writer.add(f"IFCRELAGGREGATES({writer.guid()},#5,$,$,#{whole},({listed}))")
    return storeys


def _write_common(writer: Writer, columns: int) -> None:
    """Stacks, risers and mains, and the systems that they are of."""
    for system, name, size_in, a, b in _common(columns):
        writer.pipe(system, name, size_in, a, b)
    for system, members in writer.members.items():
        group = writer.add(
            f"IFCDISTRIBUTIONSYSTEM({writer.guid()},#5,'Common {system}',$,$,$,.{SYSTEMS[system]}.)"
        )
        listed = ",".join(f"#{member}" for member in members)
        writer.add(f"IFCRELASSIGNSTOGROUP({writer.guid()},#5,$,$,({listed}),$,#{group})")


def _common(columns: int) -> Iterator[tuple[str, str, float, Point, Point]]:
    """System, name, size and ends of every common pipe; branches end on the sides of others."""
    top, end = (LAYERS - 1) * LAYER_FT + MARGIN_FT, columns * COLUMN_FT
    for column in range(columns):
        x = column * COLUMN_FT
        for system, name, size_in, (ax, ay, az), aside in (
            ("water", "water riser", 3.0, WATER, -2.0),
            ("gas", "gas riser", 4.0, GAS, -3.0),
        ):
            riser = ay + aside
            yield system, name, size_in, (x + ax, riser, MAIN_FT), (x + ax, riser, az + top)
            for layer in range(LAYERS):
                z = az + layer * LAYER_FT
                yield system, f"{system} to a meter", 1.25, (x + ax, riser, z), (x + ax, ay, z)
        sx, sy, sz = x + SEWER[0], SEWER[1], SEWER[2]
        yield "soil", "soil stack", 6.0, (sx, sy, sz + top), (sx, sy, DRAIN_FT + FALL * sx)
    for system, name, size_in, y in (
        ("water", "water main", 6.0, WATER[1] - 2.0),
        ("gas", "gas main", 8.0, GAS[1] - 3.0),
    ):
        yield system, name, size_in, (-20.0, y, MAIN_FT), (end, y, MAIN_FT)
    drain = [(x, SEWER[1], DRAIN_FT + FALL * x) for x in (end, -20.0)]
    yield "soil", "building drain", 12.0, drain[0], drain[1]


def _code(number: int) -> str:
    """Four characters that tell GlobalIds apart."""
    return "".join(DIGITS[number >> shift & 63] for shift in (18, 12, 6, 0))


def _triple(point: tuple[float, ...]) -> str:
    return "({})".format(",".join(repr(round(c, 9)) for c in point))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--dwellings", type=int, default=112)
    given = parser.parse_args()
    write_apartments(given.out, given.dwellings)


if __name__ == "__main__":
    main()
