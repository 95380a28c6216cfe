"""A model of another habit than our own grid, for measuring: what many programs write by default.

Pipes are swept disks along polylines, elbows swept disks along arcs; ports have no placement, and
every element has a property set, a name and a placement of its own. Nothing is shared but types.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

RUN = 10  # pipes in one run from a fixture to the drain
PIPE_MM, ELBOW_MM, SPACING_MM = 1500.0, 76.0, 900.0
RUNS_IN_A_ROW = 40
HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('ViewDefinition [ReferenceView]'),'2;1');
FILE_NAME('runs.ifc','2020-01-01T00:00:00',(''),(''),'','Runs of swept disks','');
FILE_SCHEMA(('IFC4'));
ENDSEC;
DATA;
#1=IFCPROJECT('0000000000000000000001',$,'Runs of swept disks',$,$,$,$,(#10),#2);
#2=IFCUNITASSIGNMENT((#3,#4));
#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#4=IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.);
#5=IFCCARTESIANPOINT((0.,0.,0.));
#6=IFCAXIS2PLACEMENT3D(#5,$,$);
#7=IFCDIRECTION((0.,0.,1.));
#8=IFCDIRECTION((1.,0.,0.));
#9=IFCDIRECTION((-1.,0.,0.));
#10=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#6,$);
#11=IFCGEOMETRICREPRESENTATIONSUBCONTEXT('Body','Model',*,*,*,*,#10,$,.MODEL_VIEW.,$);
#12=IFCLOCALPLACEMENT($,#6);
#13=IFCBUILDING('0000000000000000000002',$,'House',$,$,#12,$,$,.ELEMENT.,$,$,$);
#14=IFCLOCALPLACEMENT(#12,#6);
#15=IFCBUILDINGSTOREY('0000000000000000000003',$,'Level 1',$,$,#14,$,$,.ELEMENT.,0.);
#16=IFCRELAGGREGATES('0000000000000000000004',$,$,$,#1,(#13));
#17=IFCRELAGGREGATES('0000000000000000000005',$,$,$,#13,(#15));
#18=IFCPIPESEGMENTTYPE('0000000000000000000006',$,'PVC - DWV',$,$,$,$,$,$,.RIGIDSEGMENT.);
#19=IFCPIPEFITTINGTYPE('0000000000000000000007',$,'Bend - PVC - DWV',$,$,$,$,$,$,.BEND.);
"""
PIPE = """#{0}=IFCCARTESIANPOINT(({x:.4f},{y:.4f},{z:.4f}));
#{1}=IFCAXIS2PLACEMENT3D(#{0},#7,#{axis});
#{2}=IFCLOCALPLACEMENT(#14,#{1});
#{3}=IFCCARTESIANPOINT((0.,0.,0.));
#{4}=IFCCARTESIANPOINT(({length:.4f},0.,{fall:.4f}));
#{5}=IFCPOLYLINE((#{3},#{4}));
#{6}=IFCSWEPTDISKSOLID(#{5},30.1625,26.2128,0.,1.);
#{7}=IFCSHAPEREPRESENTATION(#11,'Body','AdvancedSweptSolid',(#{6}));
#{8}=IFCPRODUCTDEFINITIONSHAPE($,$,(#{7}));
#{9}=IFCPIPESEGMENT('{guid}A',$,'Pipe Types:PVC - DWV:{tag}',$,'Pipe Types:PVC - DWV',#{2},#{8},\
'{tag}',.RIGIDSEGMENT.);
"""
ELBOW = """#{0}=IFCCARTESIANPOINT(({x:.4f},{y:.4f},{z:.4f}));
#{1}=IFCAXIS2PLACEMENT3D(#{0},#7,#{axis});
#{2}=IFCLOCALPLACEMENT(#14,#{1});
#{3}=IFCAXIS2PLACEMENT3D(#5,$,$);
#{4}=IFCCIRCLE(#{3},76.);
#{5}=IFCTRIMMEDCURVE(#{4},(IFCPARAMETERVALUE(0.)),(IFCPARAMETERVALUE(1.5708)),.T.,.PARAMETER.);
#{6}=IFCSWEPTDISKSOLID(#{5},30.1625,26.2128,0.,1.);
#{7}=IFCSHAPEREPRESENTATION(#11,'Body','AdvancedSweptSolid',(#{6}));
#{8}=IFCPRODUCTDEFINITIONSHAPE($,$,(#{7}));
#{9}=IFCPIPEFITTING('{guid}A',$,'Bend - PVC - DWV:Standard:{tag}',$,'Bend - PVC - DWV',#{2},#{8},\
'{tag}',.BEND.);
"""
BESIDE = """#{10}=IFCDISTRIBUTIONPORT('{guid}B',$,'InPort_{tag}',$,$,$,$,.SINK.,.PIPE.,.DRAINAGE.);
#{11}=IFCDISTRIBUTIONPORT('{guid}C',$,'OutPort_{tag}',$,$,$,$,.SOURCE.,.PIPE.,.DRAINAGE.);
#{12}=IFCRELNESTS('{guid}D',$,$,$,#{9},(#{10},#{11}));
#{13}=IFCPROPERTYSINGLEVALUE('Size',$,IFCTEXT('2"\\X2\\00F8\\X0\\'),$);
#{14}=IFCPROPERTYSINGLEVALUE('Length',$,IFCLENGTHMEASURE({length:.6f}),$);
#{15}=IFCPROPERTYSINGLEVALUE('Outside Diameter',$,IFCLENGTHMEASURE(60.325),$);
#{16}=IFCPROPERTYSINGLEVALUE('Invert Elevation',$,IFCLENGTHMEASURE({z:.6f}),$);
#{17}=IFCPROPERTYSINGLEVALUE('System Name',$,IFCTEXT('Sanitary {run}'),$);
#{18}=IFCPROPERTYSINGLEVALUE('Mark',$,IFCLABEL('{tag}'),$);
#{19}=IFCPROPERTYSET('{guid}E',$,'Mechanical',$,(#{13},#{14},#{15},#{16},#{17},#{18}));
#{20}=IFCRELDEFINESBYPROPERTIES('{guid}F',$,$,$,(#{9}),#{19});
"""
EACH = 22  # instances of one element, with the connection to the one before
JOINT = "#{here}=IFCRELCONNECTSPORTS('{guid}G',$,$,$,#{other},#{own},$);\n"


def write_swept_disks(path: Path | str, segments: int = 20_000) -> int:
    """Write an IFC4 model in millimetres of this many pipes in runs; returns how many."""
    pipes: list[int] = []
    elbows: list[int] = []
    with Path(path).open("w", newline="\n") as out:
        out.write(HEAD)
        last = 20
        for run, piece in _pieces(segments):
            _write_element(out, last, run, piece)
            (elbows if piece % 2 else pipes).append(last + 9)
            last += EACH
        for members, kind in ((pipes, 18), (elbows, 19)):
            listed = ",".join(f"#{member}" for member in members)
            out.write(f"#{last}=IFCRELDEFINESBYTYPE('{last:022d}',$,$,$,({listed}),#{kind});\n")
            last += 1
        listed = ",".join(f"#{member}" for member in sorted(pipes + elbows))
        out.write(
            f"#{last}=IFCRELCONTAINEDINSPATIALSTRUCTURE('{last:022d}',$,$,$,({listed}),#15);\n"
        )
        out.write("ENDSEC;\nEND-ISO-10303-21;\n")
    return len(pipes)


def _pieces(segments: int) -> Iterator[tuple[int, int]]:
    """Each element as its run and its number in it: pipes have even numbers, elbows odd ones."""
    for run in range(-(-segments // RUN)):
        yield from ((run, piece) for piece in range(2 * min(RUN, segments - run * RUN) - 1))


def _write_element(out: TextIO, first: int, run: int, piece: int) -> None:
    """One pipe or elbow of a run that goes to and fro, each pipe below the one before."""
    row, place = divmod(run, RUNS_IN_A_ROW)
    level, forth = piece // 2, piece // 2 % 2 == 0
    fall = -PIPE_MM / 48
    length = ELBOW_MM * 1.5708 if piece % 2 else PIPE_MM
    values = {
        "x": row * 3 * PIPE_MM + (0.0 if forth != bool(piece % 2) else PIPE_MM),
        "y": place * SPACING_MM,
        "z": -level * 200.0 + (fall if piece % 2 else 0.0),
        "axis": 8 if forth else 9,
        "length": length,
        "fall": fall,
        "guid": f"{first:021d}",
        "tag": 1_000_000 + first,
        "run": run,
    }
    text = (ELBOW if piece % 2 else PIPE) + BESIDE
    out.write(text.format(*range(first, first + EACH), **values))
    if piece:
        joint = {"here": first + EACH - 1, "other": first - EACH + 11, "own": first + 10}
        out.write(JOINT.format(guid=f"{first:021d}", **joint))
