"""Materials that the licensor supplies: what each leaves the licensor and costs the licensee."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.ledger_figures import Landed
from ..plan.plan_figures import Payments, SuppliedQuarters
from ..plan.supplied import price_of_supply
from ..plan.worth import npv
from .licensor_value import left_of, own_npv
from .supplied_figures import SuppliedFigures


def own_cost_above(case: Case, name: str, rows: SuppliedQuarters) -> Row:
    """By how much a supplied material costs the licensor more than the second source would charge, by quarter.

        row = case.supplied_materials[name]    [any]
        cost = price_of_supply(case, row, row.own_cost, len(rows.quantity))    [any]
        above = Row(rows.quantity.values()) * (cost - Row(rows.second_price.values()))    [money]

    Source: common practice.

    The licensee pays the licensor the second source's price, which the plan counts as material, and what is above it. Of the
    first the licensor's cost is taken off here.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=1.0))
    >>> case.supplied_materials = {"tape": Some(own_cost=3.0, change=0.0, currency="EUR")}
    >>> own_cost_above(case, "tape", Some(quantity={"q000": 10.0}, second_price={"q000": 5.0}))
    [-20.0]
    """
    row = case.supplied_materials[name]
    cost = price_of_supply(case, row, row.own_cost, len(rows.quantity))
    return Row(rows.quantity.values()) * (cost - Row(rows.second_price.values()))


def supplied_figures(
    case: Case, rows: Mapping[str, SuppliedQuarters], paid: Mapping[str, Payments], landed: Mapping[str, Landed],
    rates: tuple[Value, Value],
) -> dict[str, SuppliedFigures]:  # fmt: skip
    """What each supplied material leaves the licensor and costs the licensee; `rates` are theirs, by quarter.

        stated = {n: case.supplied_materials[n] for n in rows}    [any]
        price = [in_reporting_currency(stated[n].price, stated[n].currency, case.money) for n in rows]
        own_cost = [in_reporting_currency(stated[n].own_cost, stated[n].currency, case.money) for n in rows]
        second_price = [landed[stated[n].item].price for n in rows]
        margin = [a - b for a, b in zip(price, own_cost)]
        used = [sum_of(each.used.values()) for each in rows.values()]
        quantity = [sum_of(each.quantity.values()) for each in rows.values()]
        cost = [own_npv(case, own_cost_above(case, n, each), rates[0]) for n, each in rows.items()]
        above = [Row(paid[f"supplied_{n}"].quarters.values()) for n in rows]    [money]
        left = [left_of(case, each, paid[f"supplied_{n}"].paid_as, rates[0]) for n, each in zip(rows, above)]    [money]
        licensor_margin = [a - b for a, b in zip(left, cost)]
        licensee_pays = [npv(each, rates[1]) for each in above]

    Takes: rates [1].
    Source: common practice.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> deal = evaluate(load_case("inputs_demo/facade")).deal
    >>> abs(sum(each.cost for each in deal.supplied.values()) - deal.licensor.materials) < 1e-6
    True
    """
    found = {}
    for name, each in rows.items():
        row, payments = case.supplied_materials[name], paid[f"supplied_{name}"]
        price, cost = (in_reporting_currency(amount, row.currency, case.money) for amount in (row.price, row.own_cost))
        above = Row(payments.quarters.values())
        spent = own_npv(case, own_cost_above(case, name, each), rates[0])
        found[name] = SuppliedFigures(
            unit=row.unit,
            price=price,
            own_cost=cost,
            second_price=landed[row.item].price,
            margin=price - cost,
            used=sum_of(each.used.values()),
            quantity=sum_of(each.quantity.values()),
            cost=spent,
            licensor_margin=left_of(case, above, payments.paid_as, rates[0]) - spent,
            licensee_pays=npv(above, rates[1]),
        )
    return found
