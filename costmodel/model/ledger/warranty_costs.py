"""What the warranty of a year's modules costs: the claims still to come, each discounted to the sale of its module."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...case.line_records import Constants
from ...case.warranty_records import Warranty
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..line.line_figures import Line, YearOfAge
from .entries import Account, entry
from .landed_prices import in_reporting_currency
from .ledger_figures import PLANT, TO_COME, LedgerLine, WarrantyCost

QUARTERS = 4  # in which the claims of a year of age fall due


def discounted_claims(constants: Constants, row: Warranty, ageing: Mapping[str, YearOfAge]) -> Value:
    """Claims of a module over its terms, each discounted to the sale at the real rate of the provision.

        each = (1 + row.discount_rate * constants.year) ** (1 / QUARTERS)    [1]
        in year = sum_of([each ** -(number + 1) for number in range(QUARTERS)]) / QUARTERS    [1]
        claims = sum_of([age.claims * each ** (-QUARTERS * number) for number, age in enumerate(ageing.values())]) * in_year
            [1]

    Source: IAS 37, paragraphs 45 and 47 (present value, rate before tax); 36 and 39 (best estimate, expected value) from memory.

    Claims of a year fall due evenly, at the ends of its quarters. Two modules in a hundred are claimed in the second year:

    >>> from types import SimpleNamespace as Some
    >>> ages = {"y01": Some(claims=0.0), "y02": Some(claims=0.02)}
    >>> discounted_claims(Some(year=1.0), Some(discount_rate=0.0), ages)
    0.02
    """
    each = (1 + row.discount_rate * constants.year) ** (1 / QUARTERS)
    in_year = sum_of([each ** -(number + 1) for number in range(QUARTERS)]) / QUARTERS
    return sum_of([age.claims * each ** (-QUARTERS * number) for number, age in enumerate(ageing.values())]) * in_year


def warranty_cost(case: Case, line: Line, row: Warranty) -> WarrantyCost:
    """What claims cost, and the warranty of the modules that a year sells, at the prices of the case.

        cost_per_claim = in_reporting_currency(row.module_cost + row.freight + row.labour, row.currency, case.money)
        claims = sum_of([age.claims for age in line.ageing.values()])
        product_claims = sum_of([age.product_claims for age in line.ageing.values()])
        power_claims = sum_of([age.power_claims for age in line.ageing.values()])
        discounted_claims = discounted_claims(case.constants, row, line.ageing)
        modules_sold = line.output.good_modules * (1 - line.power.unsold_share)
        claims_of_year = modules_sold * discounted_claims
        cost = claims_of_year * cost_per_claim
        cost_per_module_sold = discounted_claims * cost_per_claim
        cost_per_stabilised_watt = cost / line.output.stabilised_watts

    Source: IAS 37, best estimate at the time of sale.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(module_cost=60.0, freight=10.0, labour=30.0, currency="EUR", discount_rate=0.0)
    >>> case = Some(money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=1.0))
    >>> ages = {"y01": Some(claims=0.03, product_claims=0.01, power_claims=0.02)}
    >>> output, power = Some(good_modules=1000.0, stabilised_watts=40000.0), Some(unsold_share=0.5)
    >>> found = warranty_cost(case, Some(ageing=ages, output=output, power=power), row)
    >>> found.cost_per_claim, found.claims_of_year, found.cost, found.cost_per_module_sold, found.cost_per_stabilised_watt
    (100.0, 15.0, 1500.0, 3.0, 0.0375)
    """
    ages, output = line.ageing.values(), line.output
    each = in_reporting_currency(row.module_cost + row.freight + row.labour, row.currency, case.money)
    expected = discounted_claims(case.constants, row, line.ageing)
    sold = output.good_modules * (1 - line.power.unsold_share)
    cost = sold * expected * each
    return WarrantyCost(
        cost_per_claim=each,
        claims=sum_of([age.claims for age in ages]),
        product_claims=sum_of([age.product_claims for age in ages]),
        power_claims=sum_of([age.power_claims for age in ages]),
        discounted_claims=expected,
        modules_sold=sold,
        claims_of_year=sold * expected,
        cost=cost,
        cost_per_module_sold=expected * each,
        cost_per_stabilised_watt=cost / output.stabilised_watts,
    )


def warranty_entries(line: Line, found: Mapping[str, WarrantyCost]) -> Iterator[tuple[str, LedgerLine]]:
    """The line of the warranty: claims that the modules sold in a year will bring, as if they came with the sale.

        quantity = [each.claims_of_year for each in found.values()]    [any]
        price = [each.cost_per_claim for each in found.values()]    [any]

    Source: accounting practice.

    It follows the good modules, and carries no yield loss. The plan has its own columns instead.

    >>> from types import SimpleNamespace as Some
    >>> list(warranty_entries(Some(), {"modules": Some(claims_of_year=15.0, cost_per_claim=100.0)}))[0][1].cost
    1500.0
    """
    for name, each in found.items():
        yield (
            f"warranty.{name}",
            entry(
                line,
                Account(step=PLANT, category="overheads", item="warranty", group="overheads", unit="module", driver=TO_COME),
                quantity=each.claims_of_year,
                price=each.cost_per_claim,
                variable_share=1.0,
            ),
        )
