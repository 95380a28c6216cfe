"""A change of sizes or slopes, said in the imperative."""

from collections.abc import Callable, Mapping, Sequence

from ifclint.corrections.heights import DrainRun
from ifclint.corrections.targets import Changed
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import of_size, slope_text, tape_text, trade_size
from ifclint.ifc.elements import Element, Role, System, without_number

STUCK = (
    "Not reviewed again: what stands fixed at both ends of the run leaves no height for this fall. "
    "Set one of them higher or lower, or shorten the run."
)
LEAST_TOLD_M = 0.001  # of what moves. Ours, no source
SAID_APART = 2  # values; of more only the least and the largest are said
PIPES = {
    System.SANITARY: "drain",
    System.STORM: "storm drain",
    System.CONDENSATE: "condensate drain",
    System.RELIEF: "relief line",
    System.VENT: "vent",
    System.COLD_WATER: "cold water pipe",
    System.HOT_WATER: "hot water pipe",
    System.HOT_WATER_RETURN: "hot water return",
    System.WATER: "water pipe",
    System.GAS: "gas pipe",
}


def title(
    elements: Sequence[Element],
    sizes: Mapping[str, float],
    slopes: Mapping[str, float],
    runs: Mapping[str, DrainRun] | None = None,
) -> str:
    """One sentence for all that is changed: 'Make "1-1/2 in kitchen drain" and 2 more pieces
    2 in.'

    `runs` tells by key what pipes of the drainage are used as, whatever system they are drawn in.
    """
    said = [
        *_said(elements, sizes, "Make {} {}", trade_size, runs or {}),
        *_said(elements, slopes, "Give {} a fall of {}", slope_text, runs or {}),
    ]
    return ", and ".join((said[0], *(s[0].lower() + s[1:] for s in said[1:]))) + "."


def moved_text(made: Changed) -> str:
    """How far a change of slopes moves what is joined: "The lower end goes 1 in deeper, to the
    outlet."; nothing where it moves nothing."""
    if made.deeper_m > LEAST_TOLD_M:
        return f"The lower end goes {tape_text(made.deeper_m / M_PER_FT)} deeper, to the outlet."
    if made.lifted_m > LEAST_TOLD_M:
        far = tape_text(made.lifted_m / M_PER_FT)
        return f"The upper end comes {far} higher; cut the uprights there as much."
    return ""


def _said(
    elements: Sequence[Element],
    values: Mapping[str, float],
    words: str,
    text: Callable[[float], str],
    runs: Mapping[str, DrainRun],
) -> list[str]:
    """What is changed to each value, in the order of the elements; many values as a range."""
    of_value: dict[float, list[Element]] = {}
    for element in elements:
        if element.guid in values:
            of_value.setdefault(values[element.guid], []).append(element)
    if len(of_value) <= SAID_APART:
        labels = [own[0].label for own in of_value.values()]
        return [
            words.format(_named(own, runs, again=own[0].label in labels[:n]), text(value))
            for n, (value, own) in enumerate(of_value.items())
        ]
    named = [element for element in elements if element.guid in values]
    span = f"{text(min(of_value))} to {text(max(of_value))}"
    return [words.format(_named(named, runs), span)]


def _named(elements: Sequence[Element], runs: Mapping[str, DrainRun], again: bool = False) -> str:
    """The first by its name, which several may have, and how many more."""
    first = (
        "another piece of that name" if again else _called(elements[0], runs.get(elements[0].key))
    )
    others = len(elements) - 1
    if not others:
        return first
    return f"{first} and {others} more {'piece' if others == 1 else 'pieces'}"


def _called(element: Element, run: DrainRun | None) -> str:
    """An element by its name, and before a name that is a program's own by what it is."""
    name = f'"{element.label}"'
    if element.label == element.name == without_number(element.name):
        return name
    is_pipe = element.role is Role.PIPE
    used = run.service if run is not None else ""
    system = System(used) if used else element.system or System.OTHER
    noun = PIPES.get(system, "pipe") if is_pipe else element.role.value
    return f"the {of_size(element.size_in)}{noun} {name}"
