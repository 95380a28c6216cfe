"""Writes the restaurant's files again, byte for byte: `python -m models.restaurant.build`."""

from pathlib import Path

from .architecture import Architecture
from .design import CORRECTED, EARLY, Design
from .equipment import Equipment
from .gas import Gas
from .piping import Piping
from .project import Project
from .waste import Waste
from .water import Water

FILES = {"restaurant_early.ifc": EARLY, "restaurant_corrected.ifc": CORRECTED}
ARCHITECTURE = "restaurant_architecture.ifc"


def write_plumbing(path: Path, design: Design) -> None:
    """Write one revision of the plumbing."""
    project = Project("plumbing")
    piping = Piping(project)
    equipment = Equipment(piping)
    for discipline in (Waste, Water, Gas):
        discipline(piping, equipment, design).draw()
    piping.draw()
    equipment.finish()
    project.finish()
    project.step.write(path)


def write_architecture(path: Path) -> None:
    """Write the building itself, the same for both revisions."""
    architecture = Architecture()
    architecture.draw()
    architecture.project.step.write(path)


def main(folder: Path) -> None:
    """Write all files of the restaurant into a folder."""
    for name, design in FILES.items():
        write_plumbing(folder / name, design)
    write_architecture(folder / ARCHITECTURE)


if __name__ == "__main__":
    main(Path(__file__).parents[1])
