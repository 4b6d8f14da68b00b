"""Laws of what grows with the plant, worked from the rows of the case and the tools and output of the line."""
from __future__ import annotations

from math import ceil

from costmodel.case.whole_case import Case
from costmodel.model.evaluate import Results

from .scaling_laws import Broken, broken


def _size(case: Case, results: Results, driver: str) -> float:
    tools, output = {name: use.tools for name, use in results.line.tools.items()}, results.line.output
    machines = sum(tools[name] for name, row in case.tools.items() if row.in_all_tools == "yes")
    plant = {"all_tools": machines, "stabilised_watts": output.stabilised_watts,
             "good_area": output.good_area, "good_modules": output.good_modules}
    floors = {area: sum(tools[name] * row.footprint for name, row in case.tools.items() if row.area == area) for area in case.areas}
    return (tools | plant | floors)[driver]


def units_wanted(case: Case, results: Results) -> dict[str, float]:
    """Units of each row that grows: those that its driver wants, or those bought where the plant is frozen."""
    bought = case.target.mode != "sized"
    units = {row.grows: row.installed if bought else ceil(round(_size(case, results, row.driver) / row.size_per_unit, 9))
             for row in case.growth_steps.values()}
    for row in case.growth_exponents.values():
        size = row.installed if bought else _size(case, results, row.driver)
        units[row.grows] = (size / row.reference_size) ** row.exponent
    return units


def what_grows_is_paid_for_in_its_units(case: Case, results: Results) -> Broken:
    """Charges, draws, and the value of equipment are those of the units in the plant; a row that does not grow is there once."""
    units, ledger = units_wanted(case, results), results.ledger
    for place, many in units.items():
        table, name = place.split(".")
        yield from broken(f"units of {place}", results.line.growth[table][name].units, many)
    for name in case.facilities:
        many = units.get(f"facilities.{name}", 1.0)
        for what in ("depreciation", "upkeep", "floor"):
            yield from broken(f"{what} of {name}", ledger.lines[f"facilities.{name}.{what}"].quantity, many)
        for drawing, draw in case.facility_utilities.items():
            if draw.facility == name:
                yearly = draw.draw * case.constants.year * many
                yield from broken(f"draw {drawing}", ledger.lines[f"facility_utilities.{drawing}"].quantity, yearly)
    for name, row in case.overheads.items():
        if row.per == "year":
            yearly = case.constants.year * units.get(f"overheads.{name}", 1.0)
            yield from broken(f"overhead {name}", ledger.lines[f"overheads.{name}"].quantity, yearly)
    yield from broken("value of equipment", ledger.equipment_value, _value(case, results, units))


def _value(case: Case, results: Results, units: dict[str, float]) -> float:
    rate = {row.code: row.exchange_rate for row in case.money.values()}
    factor = {(row.covers, row.year): row.factor for row in case.indices.values()}
    line, total = results.line, 0.0
    many = {("tools", n): use.tools * (1 + case.tools[n].freight_and_duty + case.tools[n].installation)
            for n, use in line.tools.items()}
    many |= {("carriers", n): use.tools * (1 + case.carriers[n].freight_and_duty) for n, use in line.carriers.items()}
    many |= {("facilities", n): units.get(f"facilities.{n}", 1.0) for n in case.facilities}
    many |= {("spares", n): line.tools[row.tool].tools if row.per == "tool" else units.get(f"spares.{n}", 1.0)
             for n, row in case.spares.items()}
    for (table, name), number in many.items():
        row = getattr(case, table)[name]
        year = getattr(row, "price_year", "")
        total += row.price * rate[row.currency] * factor.get((table, year), 1.0) * number
    return total


GROWTH_LAWS = (what_grows_is_paid_for_in_its_units,)
