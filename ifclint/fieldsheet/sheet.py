"""What stands on the field sheet: plain data, lengths in metres and volumes in m3."""

from dataclasses import dataclass
from enum import StrEnum


class Stage(StrEnum):
    """When the inspector comes, in the order of the work."""

    UNDERGROUND = "underground"  # below the lowest floor, before it is covered
    ROUGH_IN = "rough-in"  # in walls and floors, before they are closed
    TOP_OUT = "top-out"  # vents above the highest fixture, to the open air
    FINISH = "finish"  # fixtures and appliances set


@dataclass(frozen=True, slots=True)
class PipingSection:
    """Piping that is filled, plugged and tested as one."""

    stage: Stage
    storeys: tuple[str, ...]
    name: str
    low_m: float  # of its pipe, in the model's heights
    high_m: float
    plugs: tuple[str, ...]
    caps: tuple[str, ...]
    fill_from: str
    fill_to_m: float | None  # how high water is to stand; None where it cannot be told
    available_m: float | None  # from its highest pipe to the top of the stack as drawn
    contents_m3: float  # of its own pipe
    to_fill_m3: float  # of its own pipe and of the pipe above it up to `fill_to_m`
    pipes: int
    materials: tuple[str, ...]
    by_trade_size: int  # pipes whose inside diameter no list tells
    without_size: int  # pipes whose contents are not known
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Procedure:
    """One way to test, as the adopted code asks for it."""

    section: str
    stage: Stage
    storeys: tuple[str, ...]
    what: str  # "Water", "Air instead"
    do: str
    clause: str
    source: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """A line of the walk list: one box to tick."""

    stage: Stage
    storey: str
    text: str
    corrections: tuple[int, ...] = ()  # what the review found wrong
    open_items: tuple[int, ...] = ()  # what it could not show


@dataclass(frozen=True, slots=True)
class TakeoffPiece:
    """What is to be bought, changed or added for the corrections."""

    what: str
    size: str
    material: str
    quantity: float
    unit: str  # "ft" or "pcs"
    corrections: tuple[int, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class FieldSheet:
    job: str
    address: str
    models: tuple[str, ...]
    code: str
    storeys: tuple[str, ...]  # from the lowest up
    sections: tuple[PipingSection, ...]
    procedures: tuple[Procedure, ...]
    looks: tuple[Look, ...]
    takeoff: tuple[TakeoffPiece, ...]
    notes: tuple[str, ...]  # what was taken, and what the model does not show
    cautions: tuple[str, ...]
