"""Rules about when an interceptor is due: of grease, oil and sand, chemicals, lint."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, missing, not_known, violation
from ifclint.engineering.wording import with_article
from ifclint.findings import Answer, Change, PartKind
from ifclint.packs import Context, rule
from ifclint.rules.site.interceptors import Interceptor, interceptors, takes_any
from ifclint.rules.site.section import SiteSection
from ifclint.rules.site.wastes import CHEMICAL, CLEARS, GREASE, LINT, OIL, Waste, clears, kind_of

PASSES = Fact(
    "whether the waste of {} passes {} is not known: nothing drains into it.",
    "Join the interceptor to the waste lines on both of its sides.",
)


def _of_kind(kind: str, context: Context) -> list[Interceptor]:
    return [i for i in interceptors(context) if clears(i.element, kind)]


GREASE_INTERCEPTORS = PartKind(
    "grease interceptors",
    drawn=lambda context: bool(_of_kind(GREASE, context)),
    remedy="Model the grease interceptor (IfcInterceptor, GREASE) in the kitchen's waste line.",
)
OIL_INTERCEPTORS = PartKind(
    "oil and sand interceptors",
    drawn=lambda context: bool(_of_kind(OIL, context)),
    remedy="Model the interceptor (IfcInterceptor, OIL, or one named sand interceptor) in the "
    "line of the drains where vehicles are washed or mended.",
)
LINT_INTERCEPTORS = PartKind(
    "lint interceptors",
    drawn=lambda context: any(clears(i.element, LINT) for i in interceptors(context)),
    remedy="Model the lint interceptor, named so, in the waste line of the laundry's washers.",
)
NEUTRALIZERS = PartKind(
    "neutralizing or dilution tanks",
    drawn=lambda context: any(
        kind_of(i.element) in CLEARS[CHEMICAL] for i in interceptors(context)
    ),
    remedy="Draw the neutralizing or dilution tank in the line, or note that only domestic waste "
    "goes down.",
)


@rule(
    title="Kitchen waste passes a grease interceptor",
    clauses={"upc": "1014.1", "ipc": "1003.3.1", "irc": ""},
    applies=lambda waste: waste.kind == GREASE,
)
def grease_intercepted(waste: Waste, context: Context) -> Answer:
    """Grease that cools in the sewer stops it, for the kitchen and for the whole street.

    Sinks and equipment named as those of a commercial kitchen or bar (pot sink, pre-rinse, wok,
    three compartments), and whatever drains into a line called grease waste: followed to the
    sewer, past receptors, they must pass a grease interceptor. Where closets or urinals join first,
    none can follow, since human waste may not pass it: that is a violation though the model draws
    no interceptor. Where the line leaves by itself, the interceptor may stand outside the model.
    Excused: dwellings (private occupancy), and where the authority asks for none (job file,
    site.grease_interceptor). An ordinary kitchen sink, and a hand or bar sink, are not asked.
    """
    asked = context.job.section(SiteSection).grease_interceptor
    private = context.job.building.occupancy == "private" and asked is not True
    if asked is False or private:
        return NOT_APPLICABLE
    return _intercepted(waste, "grease interceptor", GREASE_INTERCEPTORS, context)


@rule(
    title="Waste of washed and mended vehicles passes an interceptor",
    clauses={"upc": "1017.1", "ipc": "1003.4", "irc": ""},
    applies=lambda waste: waste.kind == OIL,
)
def oil_intercepted(waste: Waste, context: Context) -> Answer:
    """Fuel and oil in a sewer burn, and sand stops it.

    Floor drains and sinks named, or in rooms named, as those of a car wash, a repair garage, a
    service or lubrication bay, and whatever drains into a line called so: they must pass an oil or
    sand interceptor on the way to the sewer.
    A garage in which vehicles only stand is not asked, nor are trench drains outdoors.
    """
    return _intercepted(waste, "oil and sand interceptor", OIL_INTERCEPTORS, context)


@rule(
    title="Waste of laboratories neutralized before the sewer",
    clauses={"upc": "811.1", "ipc": "803.2", "irc": ""},
    applies=lambda waste: waste.kind == CHEMICAL,
)
def chemicals_neutralized(waste: Waste, context: Context) -> Answer:
    """Acid eats the pipe, and what leaks from it the ground under the house.

    Sinks and floor drains called those of a laboratory or a darkroom, and whatever drains into a
    line called acid or chemical waste: they must pass a neutralizing or dilution tank, which may
    be drawn as any interceptor named so. What goes down is not drawn, so that where
    the model draws no such tank this is asked.
    """
    if waste.interceptor is not None:
        return PASS
    return missing(
        NEUTRALIZERS,
        message=f"{waste.label} reaches the sewer past no neutralizing or dilution tank.",
        remedy="Lead this waste through the tank, or note that only domestic waste goes down.",
        elements=waste.element_ids,
    )


@rule(
    title="Waste of public laundries passes a lint interceptor",
    clauses={"upc": "", "ipc": "1003.6", "irc": ""},
    applies=lambda waste: waste.kind == LINT,
)
def lint_intercepted(waste: Waste, context: Context) -> Answer:
    """Lint felts together in the sewer and stops it.

    Washers, their standpipes and laundry sinks called, or in rooms called, those of a coin or
    commercial laundry; several washers in one room, where the building is no dwelling, the room is
    called a common laundry, or they are more than two; and whatever drains into a line called
    laundry waste: they must pass a lint or solids interceptor, of whatever class it is drawn.
    """
    return _intercepted(waste, "lint interceptor", LINT_INTERCEPTORS, context)


def _intercepted(waste: Waste, wanted: str, part: PartKind, context: Context) -> Answer:
    if waste.interceptor is not None:
        return PASS
    if idle := [i for i in _of_kind(waste.kind, context) if not takes_any(i)]:
        idle_one = idle[0].element
        return not_known(PASSES, waste, idle[0], elements=(idle_one.guid, *waste.element_ids))
    text = (
        f"Lead this waste, by itself, through {with_article(wanted)} before anything else joins it."
    )
    remedy = Change("part", waste.element_ids, wanted, text)
    if waste.meets is None:
        message = f"{waste.label} reaches the sewer without {with_article(wanted)}."
        return missing(part, message=message, remedy=remedy, elements=waste.element_ids)
    return violation(
        message=f"The waste of {waste.label} joins that of closets at {waste.meets.label} and has "
        f"passed no {wanted}.",
        remedy=remedy,
        elements=(*waste.element_ids, waste.meets.guid),
    )
