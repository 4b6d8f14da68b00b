"""Laws of the laboratory, each with an answer worked by hand on the tables of `laboratories.py`; a dollar is half a euro there.

A working day of the engineers costs 500 and has 8 hours, so an hour costs 62.50. Of payments for services 5 % are withheld.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from costmodel.case.addresses import replaced
from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate

from .deal_laws import off

Broken = Iterator[str]
A_MONTH, YEAR = to_base("sample/month"), to_base("year")
# of a sample of damp heat: 20 h of the chamber at 4, half an hour of the bench at 8 dollars, 1.6 h of people
HEAT = {"price": 200.0, "arriving": 190.0, "consumables": 20.0, "equipment": 80.0 + 2.0, "staff": 100.0, "cost": 202.0,
        "margin": -2.0, "left": -12.0, "left_a_year": -12.0 * 48 / YEAR, "could_sell": 2 * A_MONTH}  # fmt: skip
# of a pull test: half an hour of the bench, 0.4 h of people
PULL = {"price": 50.0, "arriving": 47.5, "consumables": 1.0, "equipment": 2.0, "staff": 25.0, "cost": 28.0,
        "margin": 22.0, "left": 19.5, "left_a_year": 19.5 * 120 / YEAR, "could_sell": 6 * A_MONTH}  # fmt: skip
HOURS = {"promised": (280, 90, 10), "sold": (80, 7, 10.4), "free": (40, 3, 19.6)}  # a month: of chamber, bench and people
LOADS = (0.9, 0.97, 0.51)
PAID, SPENT = 12 * 200.0 + 30 * 50.0, 12 * 202.0 + 30 * 28.0  # in a quarter


def samples_cost_as_worked_by_hand(case: Case) -> Broken:
    """Each part of a sample of both tests, and what all samples of a year leave."""
    found = evaluate(case).deal.laboratory
    for name, wanted in (("heat", HEAT), ("pull", PULL)):
        for part, value in wanted.items():
            yield from off(f"{name}, {part}", float(getattr(found.tests[name], part)), value, 1e-9 * max(abs(value), 1e-6))
    yield from off("all tests", float(found.left_a_year) * YEAR, 120 * 19.5 - 48 * 12.0, 1e-6)


def hours_are_counted_once(case: Case) -> Broken:
    """Hours promised, sold and left of each instrument and of people; what is free limits what can be sold."""
    found = evaluate(case).deal.laboratory
    rows = [*found.equipment.values(), *found.staff.values()]
    for part, values in HOURS.items():
        for row, value in zip(rows, values, strict=True):
            yield from off(part, float(getattr(row, part)) / to_base("h/month"), value, 1e-9)
    for row, load in zip(rows, LOADS, strict=True):
        yield from off("load", float(row.load), load, 1e-12)
    full = replaced(case, {"laboratory_equipment.chamber.promised": 0.85})  # 60 h are left for the 80 that are sold
    beyond = evaluate(full).deal.laboratory
    yield from off("too much sold", float(beyond.equipment["chamber"].free) / to_base("h/month"), -20, 1e-9)
    yield from off("nothing left to sell", float(beyond.tests["heat"].could_sell), 0.0, 0.0)


def tests_are_paid_and_cost_once(case: Case) -> Broken:
    """Four quarters of the service, paid and spent by samples, each discounted at 5 % a year; as a flat price would have it."""
    results = evaluate(case)
    paid = list(results.plan.payments["service_analysis"].quarters.values())
    for k, amount in enumerate(paid):
        yield from off(f"paid in quarter {k}", float(amount), PAID if 9 <= k <= 12 else 0.0, 1e-9)
    worth = sum(1.05 ** (-k / 4) for k in range(9, 13))
    yield from off("cost of the service", float(results.deal.yearly_services["analysis"].cost), SPENT * worth, 1e-6)
    flat = dataclasses.replace(case, laboratory_tests={}, laboratory_work={})
    flat = replaced(flat, {"yearly_services.analysis.price": 4 * PAID / YEAR, "yearly_services.analysis.cost": 4 * SPENT / YEAR})
    for side in ("licensor", "licensee"):
        ours, theirs = (float(getattr(evaluate(each).deal, side).npv) for each in (case, flat))
        yield from off(f"a flat price of the same, {side}", ours, theirs, 1e-6)


def what_remains_falls_due(case: Case) -> Broken:
    """A service that falls due as the plant closes: the tests of later quarters too, at the exchange rate of that day."""
    from costmodel.model.plan.price_list import service_still_due

    left = service_still_due(replaced(case, {"money.usd.change": 0.21 / YEAR}), "analysis", 17)
    heat, pull = 3 * 2400.0, 3 * 30 * 100.0 * 0.5 * 1.21 ** (9 / 4)
    yield from off("still due after quarter 9", float(left[9]), heat + pull, 1e-6)


LAWS = (samples_cost_as_worked_by_hand, hours_are_counted_once, tests_are_paid_and_cost_once, what_remains_falls_due)


def violated_by_laboratory(case: Case) -> list[str]:
    """What the laws of the laboratory find in the case of `laboratories.py`."""
    return [f"{law.__name__}: {word}" for law in LAWS for word in law(case)]
