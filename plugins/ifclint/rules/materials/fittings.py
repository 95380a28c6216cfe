"""Rules about what fittings are made of, and about two plastics that meet."""

from collections import defaultdict
from dataclasses import dataclass

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Change,
    Fact,
    PartKind,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Row
from ifclint.engineering.wording import sentence
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import says
from ifclint.rules.materials.lots import (
    WORDS,
    Lot,
    is_product,
    lots,
    material_of,
    not_potable,
    places_for,
    row_of,
    service_of,
    told,
)

GRAVITY = frozenset({System.SANITARY, System.VENT, System.STORM})
ADAPTERS = (
    "adapter", "adaptor", "transition*", "mechanical coupling", "shielded coupling", "no hub*",
    "flexible coupling", "rubber coupling", "ubergang*", "übergang*",
)  # fmt: skip
PLASTICS = frozenset({"abs", "pvc"})

TRANSITIONS = PartKind(
    "adapters between ABS and PVC",
    drawn=lambda context: bool(context.plumbing.saying(ADAPTERS)),
    remedy="Name the fitting where ABS and PVC meet for what it is (transition or mechanical "
    "coupling, adapter).",
)
ALLOWED = Fact(
    "whether fittings of {} are allowed for {} ({}) is not known.",
    "Name the material of the fittings more closely (galvanized, lined, bronze), or show their "
    "listing.",
)


@dataclass(eq=False)
class FittingLot(Lot):
    """All fittings of one service and material in one place."""

    what = "fitting"


@derived
def fitting_lots(context: Context) -> list[FittingLot]:
    """The fittings with a material, in the model's order."""
    found = defaultdict[tuple[str, str, tuple[str, ...]], list[Element]](list)
    for index, fitting in enumerate(context.plumbing.network.elements):
        if fitting.role is not Role.FITTING or not fitting.material:
            continue
        if not (service := service_of(index, context)):
            continue
        if index not in not_potable(context) and not is_product(index, context):
            material = material_of(fitting)
            place = places_for(fitting, service, material, context)
            found[service, material, place].append(fitting)
    return [FittingLot(*key, fittings) for key, fittings in found.items()]


@rule(
    title="Fitting of a material the code allows for its service",
    clauses={"upc": "604.1 and 701.2", "ipc": "605.5 and 702.4", "irc": "P2906.6 and P3002.3"},
)
def fitting_material(lot: FittingLot, context: Context) -> Answer:
    """A PVC elbow in hot water softens as PVC pipe does, and lets go.

    Fittings with a material, of one service, material and place at once. What the table of pipe
    allows passes; what it refuses as pipe is wrong as a fitting too, but for what the table of
    fittings excepts (iron fittings on water, brass on drains), where lining and coating decide.
    Fittings without a material are not asked: the pipe on both sides is. Those of refused pipe of
    the same material go with it.
    """
    service = WORDS[lot.service]
    row = row_of(lot.material, lot.service, context)
    other = context.code.table("fitting_materials").one(material=lot.material, service=lot.service)
    said = lot.allowed_by(row) if row is not None else set()
    allowed = {other.text("allowed")} if other is not None else said
    if allowed == {"yes"}:
        return PASS
    where = f" {lot.where}" if lot.where else ""
    if allowed == {"no"} and row is not None:
        if any(_is_refused(pipes, lot, row) for pipes in lots(context)):
            return NOT_APPLICABLE
        return violation(
            message=f"{sentence(lot.label)}: the code does not allow it.",
            remedy=f"Use fittings that the code lists for {service}{where}.",
            clause=row.clause,
            provenance=row.provenance,
        )
    return not_known(ALLOWED, told(lot.material), f"{service}{where}", lot)


def _is_refused(pipes: Lot, lot: FittingLot, row: Row) -> bool:
    """Whether pipe of the material and service of fittings is refused where it lies."""
    is_same = (pipes.material, pipes.service) == (lot.material, lot.service)
    return is_same and pipes.allowed_by(row) == {"no"}


@dataclass(eq=False)
class PlasticJoint(OfElement):
    """Where ABS meets PVC, directly or in one fitting between them."""

    element: Element
    other: Element
    service = None

    @property
    def key(self) -> str:
        return f"{self.element.key} {self.other.key}"


@derived
def plastic_joints(context: Context) -> list[PlasticJoint]:
    """Every place of drains and vents where ABS and PVC meet, in the model's order."""
    network, found = context.plumbing.network, []
    plastic = [_plastic(e) for e in network.elements]
    for at, element in enumerate(network.elements):
        if plastic[at] == "abs":
            joined = (i for i in sorted(network.neighbours(at)) if plastic[i] == "pvc")
            found += [PlasticJoint(element, network.elements[i]) for i in joined]
        elif element.role is Role.FITTING and not element.material and element.system in GRAVITY:
            beside = sorted(network.neighbours(at), reverse=True)
            ends = {plastic[i]: network.elements[i] for i in beside}
            if ends.keys() >= PLASTICS:
                found.append(PlasticJoint(element, ends["pvc"]))
    return found


def _plastic(element: Element) -> str:
    is_piping = element.role in (Role.PIPE, Role.FITTING) and element.system in GRAVITY
    return element.material if is_piping and element.material in PLASTICS else ""


@rule(
    title="ABS and PVC joined by an adapter",
    clauses={"upc": "705.10", "ipc": "705.16.4", "irc": "P3003.13.4"},
)
def plastics_joined(joint: PlasticJoint, context: Context) -> Answer:
    """The cement of one plastic does not dissolve the other, and the joint comes apart in the wall.

    Each place of drains and vents where pipe or fittings of ABS and of PVC meet, by their
    materials: a fitting named as adapter, transition or mechanical coupling stands there. One joint
    may be cemented: where the building drain ends and the sewer begins, taken as the one place
    outside the building where they meet. Traps, with their slip joints, are left out.
    """
    is_named = says(joint.element, ADAPTERS) or says(joint.other, ADAPTERS)
    if is_named or _is_at_sewer(joint, context):
        return PASS
    ids = tuple(dict.fromkeys((joint.element.guid, joint.other.guid)))
    text = "Join ABS and PVC by a listed adapter or mechanical coupling."
    return missing(
        TRANSITIONS,
        message=f"{joint.element.label} and {joint.other.label}, of ABS and PVC, meet, and no "
        "fitting is told that joins the two.",
        remedy=Change("part", ids, "adapter", text),
        elements=ids,
    )


def _is_at_sewer(joint: PlasticJoint, context: Context) -> bool:
    outside = [j for j in plastic_joints(context) if _is_outside(j, context)]
    return len(outside) == 1 and outside[0] is joint


def _is_outside(joint: PlasticJoint, context: Context) -> bool:
    footprint = context.plumbing.surroundings.footprint
    points = [middle_of(joint.element), middle_of(joint.other)]
    if footprint is None or joint.element.system is not System.SANITARY:
        return False
    return any(p is not None and not footprint.holds(p) for p in points)
