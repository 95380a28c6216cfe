"""How each section is tested: what the adopted code asks for, by the rows of its table."""

from collections.abc import Iterator, Sequence
from math import ceil

from ifclint.codes import AdoptedCode, Row
from ifclint.engineering.contents import water_pressure_pa
from ifclint.engineering.units import M3_PER_FT3, M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import feet_text, number_text
from ifclint.fieldsheet.filling import is_plastic
from ifclint.fieldsheet.pressure import GAS, WATER
from ifclint.fieldsheet.sheet import PipingSection, Procedure, Stage
from ifclint.job import Job

TABLE = "pressure_tests"
STORM = "storm drainage to "  # how its sections are called
OVERFLOWS_M = 0.01  # a head of less is that of water which runs over
ROUNDING = 1.0001  # a pressure written in another unit is still at the limit, and not above it
NO_TABLE = "the adopted code brings no table of tests; ask the authority"


def rows(code: AdoptedCode, test: str) -> tuple[Row, ...]:
    """The rows of one test; none where an edition brings no such table."""
    return code.table(TABLE).where(test=test) if TABLE in code.tables else ()


def head_m(code: AdoptedCode) -> float:
    """How high above a section of drain the water is to stand (m); 0 where the code says none."""
    found = rows(code, "drain-water")
    return found[0].number("head_ft") * M_PER_FT if found else 0.0


def procedures(sections: Sequence[PipingSection], code: AdoptedCode, job: Job) -> list[Procedure]:
    """The tests of every section, the usual one first, then what may take its place."""
    made = [test for section in sections for test in _of(section, code, job)]
    if any(s.name not in (WATER, GAS) and not s.name.startswith(STORM) for s in sections):
        made += _finished(code)
    return made


def _of(section: PipingSection, code: AdoptedCode, job: Job) -> Iterator[Procedure]:
    if section.name == GAS:
        yield from _gas(section, code, job)
    elif section.name == WATER:
        yield from _water(section, code, job)
    else:
        yield from _drain(section, code)
    if TABLE not in code.tables:
        yield Procedure(section.name, section.stage, section.storeys, "Test", NO_TABLE, "", "")


def _drain(section: PipingSection, code: AdoptedCode) -> Iterator[Procedure]:
    """Of sanitary drains, or of storm drains, which have rows of their own."""
    is_storm = section.name.startswith(STORM)
    of = "storm" if is_storm else "drain"
    for row in rows(code, f"{of}-water"):
        yield _test(section, "Water", _fill(section, row), row)
    for row in rows(code, f"{of}-air"):
        do = f"{_psi(row.number('pressure_psi'))} held for {_minutes(row)}, without any more air"
        yield _by_air(section, do, row)
    if section.stage is Stage.UNDERGROUND and not is_storm:
        for row in rows(code, "sewer-water"):
            do = f"{_feet(row)} head of water for {_minutes(row)}, plugged at the connection"
            yield _test(section, "Building sewer, if laid", do, row)


def _fill(section: PipingSection, row: Row) -> str:
    """How high to fill, what head that gives, and what it weighs on the plug."""
    assert section.fill_to_m is not None
    head = section.fill_to_m - section.high_m
    asked = row.number("head_ft") * M_PER_FT
    at_plug = water_pressure_pa(section.fill_to_m - section.low_m) / PA_PER_PSI
    stands = f"water stands {feet_text(head / M_PER_FT, 1.0)} above the highest pipe of the section"
    until = f": {stands}" if section.fill_from.endswith("overflowing") else f" until {stands}"
    if head < OVERFLOWS_M:
        until = ""
    short = "" if head >= asked - 1e-6 else f" ({_feet(row)} asked but for the uppermost part)"
    return (
        f"Fill from {section.fill_from}{until}{short}; hold {_minutes(row)}, no leak, no fall. "
        f"{number_text(at_plug, 2)} psi at the lowest pipe."
    )


def _by_air(section: PipingSection, do: str, row: Row) -> Procedure:
    """A test by air; refused where the code keeps it from pipe that the section holds."""
    plastic = [m for m in section.materials if is_plastic(m)]
    if row.text("not_for") == "plastic" and plastic:
        do = f"Not here: the section holds plastic ({', '.join(plastic)}). Else {do}"
    return _test(section, "Air instead", do, row, "Air stores energy: stand clear, no glass gauge.")


def _water(section: PipingSection, code: AdoptedCode, job: Job) -> Iterator[Procedure]:
    stated = job.water.static_pressure
    for row in rows(code, "water-working"):
        if stated is None:
            asked = "the working pressure (not given: job file, water.static_pressure)"
        else:
            factor = row.number("working_factor")
            asked = f"{_psi(stated * factor / PA_PER_PSI)}, the pressure in the main,"
        yield _test(section, "Water", f"At least {asked} for {_minutes(row)}, no leak", row)
    for row in rows(code, "water-air"):
        do = f"{_psi(row.number('pressure_psi'))} held for {_minutes(row)}"
        yield _by_air(section, do, row)


def _gas(section: PipingSection, code: AdoptedCode, job: Job) -> Iterator[Procedure]:
    stated = job.gas.delivery_pressure
    found = sorted(rows(code, "gas"), key=lambda row: row.number("above_in_wc"))
    if stated is not None:
        in_wc = stated / PA_PER_IN_WC
        found = [row for row in found if in_wc > row.number("above_in_wc") * ROUNDING][-1:]
    for row in found:
        above = row.number("above_in_wc")
        only = f"Working pressure above {number_text(above)} in wc: " if above else ""
        yield _test(
            section,
            "Gas tightness",
            f"{'' if stated is not None else only}{_gas_pressure(row, stated)} for "
            f"{gas_minutes(row, section.contents_m3):g} min, no fall that the gauge shows",
            row,
            "Look for leaks with soap, never a flame; no appliance or regulator under test.",
        )


def _gas_pressure(row: Row, working_pa: float | None) -> str:
    least = row.number("pressure_psi")
    factor = row.number_or_none("working_factor")
    if factor is None:
        return f"At least {_psi(least)}"
    if working_pa is None:
        return (
            f"At least {_psi(least)}, and {factor:g} times the working pressure "
            "(not given: job file, gas.delivery_pressure),"
        )
    return f"At least {_psi(max(least, factor * working_pa / PA_PER_PSI))}"


def gas_minutes(row: Row, contents_m3: float) -> float:
    """How long a gas test is held (min), by the volume of the piping where the code counts it."""
    each, least = row.number_or_none("per_ft3"), row.number("duration_min")
    if each is None:
        return least
    volume_ft3 = contents_m3 / M3_PER_FT3
    small = row.number_or_none("short_up_to_ft3")
    if small is not None and volume_ft3 <= small:
        return row.number("short_min")
    return least * max(1, ceil(volume_ft3 / each))


def _finished(code: AdoptedCode) -> list[Procedure]:
    return [
        Procedure(
            "all drains and vents", Stage.FINISH, (), "Finished work",
            "Fill every trap; " + (
                f"smoke or gas under {number_text(row.number('pressure_in_wc'))} in wc for "
                f"{_minutes(row)} where the authority asks for it; run every fixture and look"
            ),
            row.clause, row.provenance, _said(row),
        )
        for row in rows(code, "finished-smoke")
    ]  # fmt: skip


def _test(section: PipingSection, what: str, do: str, row: Row, *cautions: str) -> Procedure:
    return Procedure(
        section.name, section.stage, section.storeys, what, f"{do.rstrip('.')}.", row.clause,
        row.provenance, (*_said(row), *cautions),
    )  # fmt: skip


def _said(row: Row) -> tuple[str, ...]:
    return (row.note,) if row.note else ()


def _psi(value: float) -> str:
    return f"{number_text(value, 3)} psi"


def _feet(row: Row) -> str:
    return feet_text(row.number("head_ft"))


def _minutes(row: Row) -> str:
    return f"{row.number('duration_min'):g} min"
