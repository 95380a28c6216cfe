"""Arguments and options of commands: what several share, and the further formats of a review."""

from pathlib import Path
from typing import Annotated

import typer

Models = Annotated[
    list[Path],
    typer.Argument(metavar="MODEL.ifc", help="The model, or all models of one building."),
]
JobFile = Annotated[
    Path | None,
    typer.Option(
        "--job",
        metavar="JOB.toml",
        help="Job file: adopted code, site pressures, occupancy and whatever no model holds.",
    ),
]
Code = Annotated[
    str | None,
    typer.Option(metavar="CODE", help="Adopted code, e.g. upc-2021; outranks the job file."),
]

Letter = Annotated[
    bool,
    typer.Option("--letter", help="The corrections as plain text for an e-mail: corrections.txt."),
]
Summary = Annotated[
    bool, typer.Option("--summary", help="The calculations of a permit on one page: summary.html.")
]
Schedules = Annotated[bool, typer.Option("--schedules", help="Every schedule as CSV.")]
Bcf = Annotated[
    bool, typer.Option("--bcf", help="A BCF 2.1 topic for each correction: corrections.bcfzip.")
]
Bcf3 = Annotated[
    bool, typer.Option("--bcf-3.0", help="The same as BCF 3.0: corrections-3.0.bcfzip.")
]
Sarif = Annotated[bool, typer.Option("--sarif", help="For code hosts: findings.sarif.")]
Junit = Annotated[bool, typer.Option("--junit", help="Rules as test cases: findings.junit.xml.")]
CodeQuality = Annotated[
    bool, typer.Option("--code-quality", help="For merge requests: code-quality.json.")
]
