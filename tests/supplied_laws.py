"""Laws of materials that the licensor supplies, each with an answer worked by hand on the tiny plan.

Production starts after 8 quarters. In the first quarter half of the plates are started and 0.8 of their modules are good; then all.
Foil is 2 EUR/m2 in the price book, a box 1.50. The licensor's rate is 5 %; 5 % are withheld of payments for services.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from costmodel.case.addresses import replaced
from costmodel.case.supplied_records import SuppliedMaterial
from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate

from .deal_laws import off

Broken = Iterator[str]
MONTH, YEAR = to_base("month"), to_base("year")
FIRST, LAST = 9, 16  # columns of production


def supply(item: str = "foil", unit: str = "m2", price: float = 2.5, own_cost: float = 1.5, **more) -> SuppliedMaterial:
    """A supply from the first day to the end of the plan, to which the licensee is bound, unless something else is said."""
    row = {"most": 1e12, "change": 0.0, "begin": 0.0, "free_from": 48 * MONTH, "end": 48 * MONTH} | more
    return SuppliedMaterial("a material", item, price, own_cost, "EUR", unit, second_source="anyone", paid_as="services", **row)


def with_supply(case: Case, **row) -> Case:
    """The case with one such supply."""
    return dataclasses.replace(case, supplied_materials={"one": supply(**row)})


def columns(rows: dict) -> list[float]:
    """A row of a figure by quarter."""
    return [float(value) for value in rows.values()]


def both_sides_have_the_difference_to_the_second_source(case: Case) -> Broken:
    """At 2.50 the licensee pays 0.50 above the second source; the licensor has 0.95 of that and 0.50 below the other's price."""
    with_it, without = evaluate(with_supply(case)), evaluate(case)
    a_year = float(without.ledger.landed["foil"].used)
    wanted = [a_year * (0.5 if k == FIRST else 1.0) / 4 if k >= FIRST else 0.0 for k in range(LAST + 1)]
    found = with_it.plan.supplied["one"]
    for k, amount in enumerate(wanted):
        yield from off(f"supplied in quarter {k}", columns(found.quantity)[k], amount, 1e-9 * a_year)
        paid = columns(with_it.plan.payments["supplied_one"].quarters)[k]
        yield from off(f"paid above in quarter {k}", paid, 0.5 * amount, 1e-9 * a_year)
    worth = sum(amount / 1.05 ** (k / 4) for k, amount in enumerate(wanted))
    yield from off("licensor", float(with_it.deal.licensor.npv - without.deal.licensor.npv), 0.975 * worth, 1e-6 * worth)
    yield from off("floor", float(with_it.deal.licensor.floor - without.deal.licensor.floor), -0.5 * worth, 1e-6 * worth)
    row = with_it.deal.supplied["one"]
    yield from off("margin of the licensor", float(row.licensor_margin), 0.975 * worth, 1e-6 * worth)
    at_theirs = sum(0.5 * amount / 1.08 ** (k / 4) for k, amount in enumerate(wanted))
    yield from off("paid by the licensee", float(row.licensee_pays), at_theirs, 1e-6 * worth)
    yield from off("margin of a unit", float(row.margin), 1.0, 1e-12)
    yield from off("price of the second source", float(row.second_price), 2.0, 1e-12)
    for k, quarter in enumerate(without.plan.quarters.values()):
        now = list(with_it.plan.quarters.values())[k]
        yield from off(f"operating result of quarter {k}", float(now.operating - quarter.operating), -0.5 * wanted[k], 1e-6)


def the_price_of_the_second_source_costs_the_licensee_nothing(case: Case) -> Broken:
    """At 2 EUR/m2 nothing is paid above, and the licensor has what the material costs it less."""
    with_it, without = evaluate(with_supply(case, price=2.0)), evaluate(case)
    yield from off("licensee", float(with_it.deal.licensee.npv), float(without.deal.licensee.npv), 1e-9)
    worth = sum(each / 1.05 ** (k / 4) for k, each in enumerate(columns(with_it.plan.supplied["one"].quantity)))
    yield from off("licensor", float(with_it.deal.licensor.npv - without.deal.licensor.npv), 0.5 * worth, 1e-6 * worth)


def no_more_is_supplied_than_the_most(case: Case) -> Broken:
    """With half of a year's use as the most, a full quarter gets half of what it uses, the first one all."""
    a_year = float(evaluate(case).ledger.landed["foil"].used)
    found = columns(evaluate(with_supply(case, most=a_year / 2)).plan.supplied["one"].quantity)
    for k in range(FIRST, LAST + 1):
        yield from off(f"supplied in quarter {k}", found[k], a_year / 8, 1e-9 * a_year)


def a_free_licensee_buys_of_whoever_is_cheaper(case: Case) -> Broken:
    """Free after 31 months, a third into quarter 11: dear foil is bought until then only, cheap foil until the end after 43."""
    a_year, begin = float(evaluate(case).ledger.landed["foil"].used), 27 * MONTH
    times = {"begin": begin, "free_from": 31 * MONTH, "end": 43 * MONTH}
    bound = {10: 1.0, 11: 1 / 3}  # by column: 27 months are 9 quarters
    for price, parts in ((2.5, bound), (1.9, dict.fromkeys(range(10, 15), 1.0) | {15: 1 / 3})):
        found = columns(evaluate(with_supply(case, price=price, **times)).plan.supplied["one"].quantity)
        for k, amount in enumerate(found):
            yield from off(f"supplied at {price} in quarter {k}", amount, parts.get(k, 0.0) * a_year / 4, 1e-9 * a_year)


def prices_move_in_time(case: Case) -> Broken:
    """Inflation of 3 % raises the second source's price to the middle of each quarter; ours falls by a fifth a year."""
    rising = replaced(case, {"returns.inflation": 0.03 / YEAR})
    found = evaluate(with_supply(rising, change=-0.2 / YEAR)).plan.supplied["one"]
    for k in range(1, LAST + 1):
        passed = (k - 0.5) / 4
        yield from off(f"second source in quarter {k}", columns(found.second_price)[k], 2 * 1.03**passed, 1e-9)
        yield from off(f"ours in quarter {k}", columns(found.price)[k], 2.5 * 0.8**passed, 1e-9)
    learnt = replaced(case, {"learning.rate": 0.2, "learning.reference_volume": 1.0})
    results = evaluate(with_supply(learnt))
    factors = [float(each.learning_factor) for each in results.plan.quarters.values()]
    yield from off("second source, learnt", columns(results.plan.supplied["one"].second_price)[12], 2 * factors[12], 1e-9)


def what_counts_by_modules_follows_good_modules(case: Case) -> Broken:
    """Boxes are used by good modules: 0.4 of a full quarter in the first one, while foil is used by plates."""
    a_year = float(evaluate(case).ledger.landed["box"].used)
    used = columns(evaluate(with_supply(case, item="box", unit="piece")).plan.supplied["one"].used)
    yield from off("boxes in the first quarter", used[FIRST], 0.4 * a_year / 4, 1e-9 * a_year)
    yield from off("boxes in a full quarter", used[LAST], a_year / 4, 1e-9 * a_year)


LAWS = (
    both_sides_have_the_difference_to_the_second_source,
    the_price_of_the_second_source_costs_the_licensee_nothing,
    no_more_is_supplied_than_the_most,
    a_free_licensee_buys_of_whoever_is_cheaper,
    prices_move_in_time,
    what_counts_by_modules_follows_good_modules,
)


def violated_by_supplied(case: Case) -> list[str]:
    """What the laws of supplied materials find in the tiny plan."""
    return [f"{law.__name__}: {word}" for law in LAWS for word in law(case)]
