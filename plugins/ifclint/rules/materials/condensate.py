"""The rule about what the drain of acid condensate is made of."""

from itertools import takewhile

from ifclint.checks import PASS, Fact, known, not_known, violation
from ifclint.findings import Answer
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import CondensateSource
from ifclint.plumbing.facts import fact
from ifclint.plumbing.heaters.condensate import NEUTRALIZERS

CORRODED = frozenset(  # by condensate of flue gas (pH 2 to 4); makers' manuals, no code lists them
    {"copper", "brass", "steel", "galvanized steel", "cast iron", "ductile iron", "lead"}
)
MADE_OF = Fact(
    "what the condensate drain of {} is made of is not known.", fact("material_known").remedy
)


@rule(
    title="Acid condensate drained through what it does not eat",
    clauses={"upc": "310.1", "ipc": "314.1", "irc": "G2408.1"},
    applies=lambda source: source.is_acid is not False and bool(source.line.pipes),
)
def condensate_material(source: CondensateSource, context: Context) -> Answer:
    """Condensate of flue gas eats copper, brass, steel and cast iron through in a few years.

    Every pipe of the line from a condensing heater, boiler or furnace as far as its neutralizer,
    or where it has none to its end: the codes ask for corrosion-resistant material. Plastic and
    stainless steel resist; pipe without a material is asked about, and the energy of what condenses
    where nothing tells it and its pipe would not resist.
    """
    acid = takewhile(lambda e: e.kind not in NEUTRALIZERS, source.line.elements)
    pipes = [e for e in acid if e.role is Role.PIPE]
    eaten = [pipe for pipe in pipes if pipe.material in CORRODED]
    if eaten:
        known(source.is_acid, "burns_fuel", source)
        return violation(
            message=f"The acid condensate of {source.label} runs through {eaten[0].material}.",
            remedy="Run the line in CPVC, PVC, polypropylene or another plastic that the maker "
            "allows, or behind a neutralizer.",
            elements=(*(pipe.guid for pipe in eaten), *source.element_ids),
        )
    unknown = [pipe.guid for pipe in pipes if not pipe.material]
    return not_known(MADE_OF, source, elements=unknown) if unknown else PASS
