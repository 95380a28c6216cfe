"""Write the demo dwelling: `python models/build.py` makes both revisions beside this file."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
if __package__ in (None, ""):
    sys.path.insert(0, str(HERE.parent))

from models.dwelling.design import Design  # noqa: E402
from models.dwelling.drainage import drainage  # noqa: E402
from models.dwelling.gas import gas, refrigerator  # noqa: E402
from models.dwelling.heating import heating  # noqa: E402
from models.dwelling.ifc_building import write_building  # noqa: E402
from models.dwelling.mistakes import REVISIONS  # noqa: E402
from models.dwelling.parts import Plan  # noqa: E402
from models.dwelling.shell import shell  # noqa: E402
from models.dwelling.water import water  # noqa: E402


def draw(design: Design) -> Plan:
    """The whole dwelling as this design has it."""
    plan = Plan()
    shell(plan)
    drainage(plan, design)
    water(plan, design)
    heating(plan, design)
    gas(plan, design)
    refrigerator(plan, design)
    return plan


def write(
    path: Path | str,
    revision: str = "corrected",
    schema: str = "IFC4",
    length_unit: str = "FOOT",
    ports: bool = True,
    design: Design | None = None,
) -> None:
    """Write one revision, "early" or "corrected", or a design of your own, as an IFC file.

    `schema` is IFC2X3, IFC4 or IFC4X3_ADD2; `length_unit` METRE, MILLIMETRE or FOOT; without
    ports the parts only touch.
    """
    plan = draw(design or REVISIONS[revision])
    write_building(plan, Path(path), schema, length_unit, ports, revision)


if __name__ == "__main__":
    for name in REVISIONS:
        write(HERE / f"dwelling_{name}.ifc", name)
