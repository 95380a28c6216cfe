"""The schedule of traps and vents: every trap arm with its vent, and how it is vented."""

from ifclint.engineering.units import feet
from ifclint.findings import Column, Schedule
from ifclint.packs import Context
from ifclint.plumbing import Fixture, Method, TrapArm, VentSegment
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.airflow import airflow
from ifclint.rules.venting.arms import listed_length_ft
from ifclint.rules.venting.combination import beside_combination
from ifclint.rules.venting.combination_course import METHOD
from ifclint.rules.venting.missing_vents import waits
from ifclint.rules.venting.protected import group_of
from ifclint.rules.venting.wording import kind_words


def trap_schedule(context: Context) -> Schedule:
    """Every trap: its size, its arm to the vent, the most the code allows, and the method."""
    columns = (
        Column("fixture", "Fixture"),
        Column("kind", "Kind"),
        Column("storey", "Storey"),
        Column("trap_in", "Trap", "in"),
        Column("arm_in", "Arm", "in"),
        Column("arm_ft", "Arm length", "ft"),
        Column("allowed_ft", "Allowed", "ft"),
        Column("fall_in", "Fall", "in"),
        Column("method", "Vented by"),
        Column("vent_in", "Vent", "in"),
    )
    arms = context.plumbing.venting.arms
    return Schedule(
        "traps",
        "Traps and trap arms",
        columns,
        tuple(_trap_row(a, context) for a in arms),
        "Arm lengths are developed, from the trap's outlet to the centre of what vents it.",
    )


def _trap_row(arm: TrapArm, context: Context) -> dict[str, object]:
    breathes = arm.breathes and not waits(arm, context)
    known = breathes and arm.length_m is not None
    return {
        "element_id": arm.element.guid,
        "fixture": ", ".join(f.label for f in arm.fixtures),
        "kind": kind_words(arm.fixture.kind),
        "storey": arm.fixture.element.storey,
        "trap_in": "integral" if arm.integral else arm.trap_size_in,
        "arm_in": arm.size_in,
        "arm_ft": feet(arm.length_m) if known and arm.length_m is not None else None,
        "allowed_ft": listed_length_ft(arm, context) if breathes else None,
        "fall_in": feet(arm.fall_m) * 12 if known and arm.fall_m is not None else None,
        "method": _vented_by(arm, context),
        "vent_in": _vent_in(arm, context),
    }


def _vented_by(arm: TrapArm, context: Context) -> str:
    """The method in words: also where a drain is vented by it that is no wet vent of others."""
    group = group_of(context).get(arm)
    if group is None or arm.method is not Method.HORIZONTAL_WET:
        return arm.method.value if arm.method is not None else str(arm.meets)
    if waits(arm, context):
        return str(Meets.NOTHING)
    above = beside_combination(group, context)
    if arm in group.wet:
        return arm.method.value if arm in above.wet else METHOD
    if all(waits(other, context) for other in above.wet):
        return (Method.COMMON if len(group.own) > 1 else Method.INDIVIDUAL).value
    return arm.method.value


def fixture_schedule(context: Context) -> Schedule:
    """The vent of every fixture; goes into the schedule of fixtures."""
    columns = (
        Column("tag", "Tag"), Column("fixture", "Fixture"), Column("storey", "Storey"),
        Column("space", "Space"), Column("vent_in", "Vent", "in"),
    )  # fmt: skip
    arms = context.plumbing.venting.arms
    rows = tuple(_fixture_row(f, arm, context) for arm in arms for f in arm.fixtures)
    return Schedule("fixtures", "Fixtures", columns, rows)


def _fixture_row(fixture: Fixture, arm: TrapArm, context: Context) -> dict[str, object]:
    return {
        "element_id": fixture.element.guid,
        "tag": fixture.element.mark,
        "fixture": kind_words(fixture.kind) or fixture.label,
        "storey": fixture.element.storey,
        "space": fixture.element.space,
        "vent_in": _vent_in(arm, context),
    }


def _vent_in(arm: TrapArm, context: Context) -> float | str | None:
    """The size of the vent that an arm meets; empty where it meets none."""
    return context.plumbing.network.elements[arm.joint.vent].size_in if arm.joint else ""


def vent_schedule(context: Context) -> Schedule:
    """Every vent: its size, what breathes through it, and how far it is to the open air."""
    columns = (
        Column("vent", "Vent"),
        Column("storey", "Storey"),
        Column("size_in", "Size", "in"),
        Column("course", "Course"),
        Column("dfu", "Serves", "DFU"),
        Column("drain_in", "Largest drain", "in"),
        Column("length_ft", "Length to the air", "ft"),
    )
    pipes = context.plumbing.venting.segments
    return Schedule(
        "vents",
        "Vents",
        columns,
        tuple(_vent_row(p, context) for p in pipes),
        "Length: developed, from the farthest drain it serves to the open air.",
    )


def _vent_row(pipe: VentSegment, context: Context) -> dict[str, object]:
    air = airflow(context)
    return {
        "element_id": pipe.segment.first.guid,
        "vent": pipe.segment.first.label,
        "storey": pipe.segment.first.storey,
        "size_in": pipe.size_in,
        "course": pipe.orientation or "",
        "dfu": air.of(pipe, air.dfu),
        "drain_in": air.of(pipe, air.largest_drain_in) or None,
        "length_ft": feet(pipe.farthest_m) if pipe.farthest_m is not None else None,
    }
