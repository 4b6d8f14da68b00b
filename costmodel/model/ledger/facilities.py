"""Facility systems: capital and running cost as entered, of no step. Costed, never sized."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.cost_records import FacilityUtility
from ...case.whole_case import Case
from ...core.operations import Value
from ..line.line_figures import Line
from ..line.plant_growth import grown
from .depreciation import average_charge
from .entries import Account, entry
from .landed_prices import in_money_of_the_case, in_reporting_currency
from .ledger_figures import PLANT, WRITTEN_OFF, LedgerLine


def facility_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for depreciation, upkeep and floor of each facility system; a system is one unless it grows with the plant.

        systems = list(case.facilities.items())    [any]
        quantity = [grown(line, "facilities", n, 1.0) for n, row in systems for k in range(3)]
        written off = {n: average_charge(case, "facilities", in_money_of_the_case(case, "facilities", row), row.life) for n, row
            in systems}    [money]
        upkeep = {n: in_money_of_the_case(case, "facilities", row) * row.maintenance * case.constants.year for n, row in
            systems}    [money]
        floor = {n: row.footprint * in_reporting_currency(case.areas[row.area].charge, case.areas[row.area].currency,
            case.money) * case.constants.year for n, row in systems}    [money]
        price = [charge for n, row in systems for charge in (written_off[n], upkeep[n], floor[n])]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> found = dict(facility_entries(case, line))["facilities.air_plant.upkeep"]
    >>> row = case.facilities["air_plant"]
    >>> found.price == in_money_of_the_case(case, "facilities", row) * row.maintenance * case.constants.year
    True
    """
    year = case.constants.year
    for name, row in case.facilities.items():
        price = in_money_of_the_case(case, "facilities", row)
        area = case.areas[row.area]
        charges = {
            WRITTEN_OFF: average_charge(case, "facilities", price, row.life),
            "upkeep": price * row.maintenance * year,
            "floor": row.footprint * in_reporting_currency(area.charge, area.currency, case.money) * year,
        }
        for what, charge in charges.items():
            yield (
                f"facilities.{name}.{what}",
                entry(
                    line,
                    Account(step=PLANT, category="facilities", item=name, group="facilities", unit="1", driver=what),
                    quantity=grown(line, "facilities", name, 1.0),
                    price=charge,
                ),
            )


def system_draw(line: Line, row: FacilityUtility) -> Value:
    """What a facility system of the size of the plant draws: its draw grows as its price does."""
    return grown(line, "facilities", row.facility, row.draw)


def facility_utility_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for what facility systems draw, all year round.

        quantity = [system_draw(line, row) * case.constants.year for row in case.facility_utilities.values()]
        price = [in_money_of_the_case(case, "utilities", case.utilities[row.utility]) for row in case.facility_utilities.values()]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> name, row = next(iter(case.facility_utilities.items()))
    >>> found = dict(facility_utility_entries(case, line))[f"facility_utilities.{name}"]
    >>> found.quantity == system_draw(line, row) * case.constants.year
    True
    """
    for name, row in case.facility_utilities.items():
        tariff = case.utilities[row.utility]
        yield (
            f"facility_utilities.{name}",
            entry(
                line,
                Account(
                    step=PLANT,
                    category="facilities",
                    item=row.utility,
                    group=row.utility,
                    unit=tariff.unit,
                    driver=f"facility {row.facility}",
                ),
                quantity=system_draw(line, row) * case.constants.year,
                price=in_money_of_the_case(case, "utilities", tariff),
            ),
        )
