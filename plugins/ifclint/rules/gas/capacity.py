"""What gas pipe may carry, by the code's tables or by the equations behind them."""

from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from functools import cache, cached_property
from math import exp, log
from statistics import linear_regression

from ifclint.checks import given
from ifclint.codes import AdoptedCode, Limit, Row
from ifclint.engineering import tolerance
from ifclint.engineering.data import inside_diameter_m, rows_of
from ifclint.engineering.gas_flow import (
    REFERENCE_GRAVITY,
    gravity_multiplier,
    high_pressure_drop_pa,
    high_pressure_flow_m3_per_s,
    low_pressure_drop_pa,
    low_pressure_flow_m3_per_s,
)
from ifclint.engineering.units import M3_PER_S_PER_CFH, M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import feet_text, number_text, trade_size
from ifclint.findings import Step
from ifclint.plumbing.gas.inputs import CFH, KBTUH, Gas

TABLES = {  # words of a material -> the tables' material
    "corrugated": "csst", "csst": "csst", "stainless": "csst", "polyethylene": "pe",
    "copper": "copper-k", "steel": "steel", "iron": "steel",
}  # fmt: skip
BORES = {"steel": "steel", "copper-k": "copper-k", "pe": "pe-gas"}  # pipe_dimensions.csv


HIGH_PSI = 2.0  # from here tables are printed for one inlet pressure


class Law(StrEnum):
    """The equation that holds at a pressure, in words."""

    LOW = "low-pressure gas equation"
    HIGH = "high-pressure gas equation"


@dataclass(frozen=True)
class GasService:
    """The gas in a zone: what it is delivered at, and what may be lost to the farthest outlet."""

    gas: Gas
    pressure_pa: float
    drop_pa: float


@dataclass(frozen=True)
class GasCapacity(Limit):
    """What a pipe may carry, and how that comes about."""

    steps: tuple[Step, ...] = ()


@dataclass(frozen=True)
class Tube:
    """Corrugated tube as its table tells it: Q = at_one_foot * (drop / (table's drop * L)) ^ n."""

    at_one_foot: float
    exponent: float


@cache
def tube_law(lengths_ft: tuple[float, ...], capacities: tuple[float | None, ...]) -> Tube:
    """Capacity against length, fitted by least squares on logarithms.

    A capacity that falls with the length to the power -n rises with the drop to the power n.

    >>> tube_law((10.0, 20.0, 40.0), (100.0, 50.0, 25.0)).exponent
    1.0
    """
    listed = [(log(x), log(q)) for x, q in zip(lengths_ft, capacities, strict=True) if q]
    slope, start = linear_regression([x for x, _ in listed], [q for _, q in listed])
    return Tube(exp(start), -slope)


def table_material(material: str | None, name: str = "") -> str | None:
    """The material of the capacity tables; None where no table is for it."""
    words = f"{material or ''} {name if material == 'stainless steel' or not material else ''}"
    return next((made for word, made in TABLES.items() if word in words.lower()), None)


@dataclass(frozen=True, eq=False)
class Sizing:
    """How a code sizes the pipe of a zone: by the best fitting table, or by equation."""

    code: AdoptedCode
    service: GasService
    material: str  # as in the tables
    by_equation: bool = False
    _found: dict[tuple[float, float], GasCapacity | None] = field(default_factory=dict, init=False)

    @cached_property
    def index_row(self) -> Row | None:
        """The table printed for this gas and material that uses most of the allowed drop."""
        drop_in_wc = self.service.drop_pa / PA_PER_IN_WC
        fitting = [
            row
            for row in self._for_the_supply
            if tolerance.at_least(drop_in_wc, row.number("drop_in_wc"), "in wc")
        ]
        return max(fitting, key=lambda row: row.number("drop_in_wc"), default=None)

    @cached_property
    def _tables(self) -> tuple[Row, ...]:
        """What is kept for this gas and material, at any pressure."""
        return self.code.table("gas_tables").where(
            material=self.material, gas=self.service.gas.name
        )

    @property
    def nearest_drop_in_wc(self) -> float | None:
        """Where no table fits, the drop nearest to the allowed one that one is printed for."""
        if self.index_row is not None:
            return None
        allowed = self.service.drop_pa / PA_PER_IN_WC
        printed = [row.number("drop_in_wc") for row in self._tables]
        return min(printed, key=lambda drop: abs(drop - allowed), default=None)

    @property
    def is_by_equation(self) -> bool:
        """Whether the job file asks for the equation, or no table is kept to ask instead, or none
        is printed for so little a drop."""
        return self.by_equation or not self._tables or bool(self._in_place_of_tables)

    @cached_property
    def _in_place_of_tables(self) -> tuple[Step, ...]:
        """That no table is printed for so little a drop, and the one for the least."""
        if self.by_equation or self.index_row is not None or not self._for_the_supply:
            return ()
        least = min(self._for_the_supply, key=lambda row: row.number("drop_in_wc"))
        return (self._no_table(least),)

    @cached_property
    def _for_the_supply(self) -> list[Row]:
        return [row for row in self._tables if self._is_supplied(row)]

    def _is_supplied(self, row: Row) -> bool:
        """Whether a table of the code is printed for no more than is supplied."""
        supplied_pa = self.service.pressure_pa
        least = row.number_or_none("least_supply_in_wc")
        return (
            row.text("table") in self.code.tables
            and tolerance.at_least(supplied_pa / PA_PER_PSI, row.number("inlet_from_psi"), "psi")
            and (least is None or tolerance.at_least(supplied_pa / PA_PER_IN_WC, least, "in wc"))
        )

    def sizes(self) -> list[float]:
        """The sizes a load can be given, smallest first: nominal, or flow designations of CSST."""
        row = self.index_row
        if self.is_by_equation:
            wanted = BORES.get(self.material)
            found = {r["size_in"] for r in rows_of("pipe_dimensions") if r["material"] == wanted}
            return sorted(s for s in found if isinstance(s, float))
        if row is None:
            return []
        first = self.code.table(row.text("table")).rows[0]
        return sorted(first.series(row.text("quantity")))

    def capacity(self, size: float, length_m: float) -> GasCapacity | None:
        """What a size may carry over a length; None where table or equation does not reach."""
        key = size, length_m
        if key not in self._found:
            look_up = self._by_equation if self.is_by_equation else self._by_table
            self._found[key] = look_up(size, length_m)
        return self._found[key]

    def _by_table(self, size: float, length_m: float) -> GasCapacity | None:
        """By the table printed for what the job allows; where the best is stricter, or lacks the
        size, by equation."""
        index = self.index_row
        if index is None:
            return None
        listed = self._listed(index, size, length_m)
        if not self._is_stricter(index):
            return listed if size in self.sizes() else self._by_equation(size, length_m)
        steps = (self._no_table(index), *(listed.steps if listed is not None else ()))
        if self.material == "csst":
            return self._by_exponent(index, size, listed, steps) if listed is not None else None
        found = self._by_equation(size, length_m)
        if found is None or (
            listed is not None and listed.value >= self._in_unit(found, listed.unit)
        ):
            return replace(listed, steps=steps) if listed is not None else None
        return replace(found, steps=(*steps, *found.steps))

    def _in_unit(self, found: GasCapacity, unit: str) -> float:
        gas = self.service.gas
        return found.value * gas.amount(1.0, unit) / gas.amount(1.0, found.unit)

    def _listed(self, index: Row, size: float, length_m: float) -> GasCapacity | None:
        """What the table says, corrected for the gravity of the gas."""
        feet, quantity = length_m / M_PER_FT, index.text("quantity")
        table = self.code.table(index.text("table"))
        row = table.next_row("length_ft", feet - tolerance.slack(feet, "ft"))
        if row is None or size not in row.series(quantity):
            return None
        axis, unit = index.text("size_axis"), CFH if quantity == "cfh" else KBTUH
        listed = row.limit(f"{quantity}_{size:g}_{axis}", unit)
        words = f"{self.size_words(size)} at {row.number('length_ft'):g} ft may carry"
        steps = [Step(words, listed.value, unit, row.clause)]
        factor = self._multiplier(steps)
        if factor != 1.0:
            steps.append(Step("Corrected capacity", listed.value * factor, unit))
        corrected = replace(listed, value=listed.value * factor)
        return GasCapacity(**asdict(corrected), steps=tuple(steps))

    def _is_stricter(self, index: Row) -> bool:
        """Whether a table is printed for a smaller drop, or less pressure, than the job allows."""
        drop, psi = self.service.drop_pa / PA_PER_IN_WC, self.service.pressure_pa / PA_PER_PSI
        most_psi = index.number("inlet_to_psi")
        if not tolerance.at_most(drop, index.number("drop_in_wc"), "in wc"):
            return True
        is_high = tolerance.at_least(psi, HIGH_PSI, "psi")
        return is_high and not tolerance.at_most(psi, most_psi, "psi")

    def _no_table(self, index: Row) -> Step:
        """That no table is printed for what the job allows, and which comes nearest."""
        drop, psi = self.service.drop_pa / PA_PER_IN_WC, self.service.pressure_pa / PA_PER_PSI
        words = f"No table is printed for a drop of {number_text(drop)} in wc at {psi:.2f} psi"
        nearest = self.code.table(index.text("table")).clause
        return Step(f"{words}; the nearest is for", index.number("drop_in_wc"), "in wc", nearest)

    def _by_exponent(
        self, index: Row, size: float, listed: GasCapacity, steps: tuple[Step, ...]
    ) -> GasCapacity:
        """Corrugated tube at another drop than its table's: derived, as no equation is printed."""
        share = self.service.drop_pa / PA_PER_IN_WC / index.number("drop_in_wc")
        value = listed.value * pow(share, self._tube(index, size).exponent)
        words = "At the drop allowed, by the exponent the table implies (derived)"
        return replace(listed, value=value, steps=(*steps, Step(words, value, listed.unit)))

    def _tube(self, index: Row, size: float) -> Tube:
        quantity, axis = index.text("quantity"), index.text("size_axis")
        rows = self.code.table(index.text("table")).rows
        return tube_law(
            tuple(row.number("length_ft") for row in rows),
            tuple(row.number_or_none(f"{quantity}_{size:g}_{axis}") for row in rows),
        )

    def _tube_drop_pa(self, size: float, length_m: float, input_w: float) -> float | None:
        """The drop in corrugated tube, derived from the table it is sized by."""
        index = self.index_row
        if index is None or size not in self.sizes():
            return None
        unit = CFH if index.text("quantity") == "cfh" else KBTUH
        load = self.service.gas.amount(input_w, unit) / self._multiplier([])
        tube = self._tube(index, size)
        share: float = length_m / M_PER_FT * pow(load / tube.at_one_foot, 1.0 / tube.exponent)
        return index.number("drop_in_wc") * PA_PER_IN_WC * share

    def _multiplier(self, steps: list[Step]) -> float:
        gravity = self.service.gas.specific_gravity
        if self.service.gas.name != "natural":
            return 1.0
        if gravity is None:
            steps.append(Step("Specific gravity not given: that of the table", REFERENCE_GRAVITY))
            return 1.0
        if tolerance.at_most(gravity, REFERENCE_GRAVITY):
            return 1.0  # the lighter gas flows easier: the table is on the safe side
        row = self.code.table("gas_gravity_multipliers").next_row("specific_gravity", gravity)
        if row is None:
            return gravity_multiplier(gravity)
        words = f"Multiplier for a specific gravity of {number_text(gravity)}"
        steps.append(Step(words, row.number("factor"), "", row.clause))
        return row.number("factor")

    def _by_equation(self, size: float, length_m: float) -> GasCapacity | None:
        bore = _bore(self.material, size)
        if bore is None:
            return None
        law, factors = self.law, self._factors()
        if law is Law.LOW:
            flow = low_pressure_flow_m3_per_s(bore, self.service.drop_pa, length_m, factors[0])
        else:
            flow = high_pressure_flow_m3_per_s(
                bore, self.service.pressure_pa, self.service.drop_pa, length_m, *factors
            )
        cfh = flow * self._lighter / M3_PER_S_PER_CFH
        words = f"{self.size_words(size)} over {feet_text(length_m / M_PER_FT)} may carry"
        clause = self.code.table("gas_tables").clause
        steps = (*self._in_place_of_tables, Step(words, cfh, CFH, law))
        return GasCapacity("capacity", cfh, CFH, clause, law, steps=steps)

    @property
    def drop_law(self) -> str:
        """By what the drop in a run is worked out."""
        if self.material == "csst":
            return "derived from the exponent of the tube's capacity table"
        return self.law

    @property
    def law(self) -> Law:
        """Which equation holds at the pressure supplied."""
        high_from = self.code.limit("gas_equation_low_below_psi")
        psi = self.service.pressure_pa / PA_PER_PSI
        return Law.HIGH if tolerance.at_least(psi, high_from.value, "psi") else Law.LOW

    def _factors(self) -> tuple[float, float]:
        row = given(self.code.table("gas_properties").one(gas=self.service.gas.name))
        return row.number("factor_cr"), row.number("factor_y")

    @property
    def _lighter(self) -> float:
        """How much easier the gas flows than the one the factors are for."""
        gas = self.service.gas
        if gas.name != "natural" or gas.specific_gravity is None:
            return 1.0
        return gravity_multiplier(gas.specific_gravity)

    def drop_pa(
        self, size: float, length_m: float, input_w: float, inlet_pa: float
    ) -> float | None:
        """The pressure an input loses in a pipe; None where its bore is not listed."""
        if self.material == "csst":
            return self._tube_drop_pa(size, length_m, input_w)
        bore = _bore(self.material, size)
        if bore is None:
            return None
        flow = self.service.gas.flow_m3_per_s(input_w) / self._lighter
        if not length_m:
            return 0.0
        cr, y = self._factors()
        if self.law is Law.LOW:
            return low_pressure_drop_pa(bore, flow, length_m, cr)
        return high_pressure_drop_pa(bore, inlet_pa, flow, length_m, cr, y)

    def smallest(self, input_w: float, length_m: float) -> float | None:
        """The smallest size that carries an input over a length; None where none does."""
        for size in self.sizes():
            allowed = self.capacity(size, length_m)
            if allowed is not None and self.serves(allowed, input_w):
                return size
        return None

    def serves(self, allowed: GasCapacity, input_w: float) -> bool:
        """Whether a capacity is enough for an input."""
        load = self.service.gas.amount(input_w, allowed.unit)
        return tolerance.at_most(load, allowed.value, allowed.unit)

    @property
    def sized_by_ehd(self) -> bool:
        """Whether its sizes are flow designations and no trade sizes."""
        return self.material == "csst"

    def size_words(self, size: float) -> str:
        if self.material == "csst" and not self.by_equation:
            return f"tube of flow designation {size:g}"
        words = {"steel": "steel", "copper-k": "copper", "pe": "polyethylene"}
        return f"{trade_size(size)} {words.get(self.material, self.material)}"


@cache
def _bore(material: str, size_in: float) -> float | None:
    return inside_diameter_m(BORES.get(material, ""), size_in)


def trade_words(sizing: Sizing, size: float) -> str:
    """A size in a remedy: "1-1/4 in", or the flow designation of corrugated tube."""
    return sizing.size_words(size) if sizing.material == "csst" else trade_size(size)
