"""What can be said of a case of one's own: totals by two roads, mass, books, and its plan by a reference library."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from ...case.whole_case import Case
from ...model.evaluate import Results
from ...model.plan.timing import QUARTERS
from .agreement import Agreement

IDENTITY = "identity"
LIBRARY = "numpy-financial"
CLOSE = 1e-9  # of what is compared, that rounding may take


def _same(subject: str, what: str, source: str, expected: Sequence[float], found: Sequence[float], size: float = 0.0) -> Agreement:
    """Values that must be the same but for rounding; `size` is that of the parts, where they may cancel."""
    within = tuple(CLOSE * max(abs(each), size) for each in expected)
    return Agreement(subject, what, source, tuple(map(float, expected)), tuple(map(float, found)), within)


def agreements(case: Case, results: Results) -> list[Agreement]:
    """All that can be checked of a case: its costs, its plan and its deal, as far as it has them."""
    found = [*of_costs(results)]
    if results.has_plan:
        found += [*of_plan(results), *by_library(case, results)]
    if results.has_deal:
        found += of_deal(results)
    return found


def of_costs(results: Results) -> Iterator[Agreement]:
    """Totals by every road, mass and plates."""
    ledger, output = results.ledger, results.line.output
    total = ledger.total.cost
    roads = {
        "lines": sum(line.cost for line in ledger.lines.values()),
        "steps": sum(part.cost for part in ledger.by_step.values()),
        "categories": sum(part.cost for part in ledger.by_category.values()),
        "groups": sum(part.cost for part in ledger.by_group.values()),
        "modules": ledger.total.cost_per_module * output.good_modules,
        "watts": ledger.total.cost_per_stabilised_watt * output.good_modules * output.stabilised_power,
    }
    for road, sum_of_it in roads.items():
        yield _same("costs", f"cost of the year as a sum over {road}", IDENTITY, [total], [sum_of_it])
    films, coatings = ledger.films.values(), ledger.coatings.values()
    if films:
        fed = sum(film.silicon_fed for film in films)
        kept = sum(film.silicon_in_film + film.silicon_lost for film in films)
        yield _same("mass", "silicon fed: in films and lost", IDENTITY, [fed], [kept])
    if coatings:
        bought = sum(coating.bought for coating in coatings)
        gone = sum(coating.on_plates + coating.recovered + coating.lost for coating in coatings)
        yield _same("mass", "targets bought: on plates, recovered and lost", IDENTITY, [bought], [gone])
    left = output.good_plates + sum(flow.lost for flow in results.line.steps.values())
    yield _same("plates", "plates started: good ones and those lost in steps", IDENTITY, [output.plates_started], [left])


def of_plan(results: Results) -> Iterator[Agreement]:
    """The books balance, running sums end at totals, and the present value vanishes at the rate of return."""
    plan = results.plan
    quarters = list(plan.quarters.values())
    size = sum(abs(quarter.free_cash) for quarter in quarters)
    yield _same(
        "plan",
        "assets less debts and equity, in each quarter",
        IDENTITY,
        [0.0] * len(quarters),
        [quarter.balance for quarter in quarters],
        plan.capital,
    )
    last = quarters[-1]
    yield _same("plan", "sum of free cash", IDENTITY, [last.cumulative_free_cash], [math.fsum(q.free_cash for q in quarters)], size)
    yield _same(
        "plan",
        "last sum of discounted cash: the net present value",
        IDENTITY,
        [plan.project.npv, plan.owners.npv],
        [last.discounted_free_cash, last.discounted_owners_cash],
        size,
    )
    yield _same(
        "plan",
        "sum of profits: cash of the owners",
        IDENTITY,
        [math.fsum(q.owners_cash for q in quarters)],
        [math.fsum(q.profit for q in quarters)],
        size,
    )
    yield _same(
        "plan",
        "loan drawn: repaid and lost by the bank",
        IDENTITY,
        [math.fsum(q.drawn for q in quarters)],
        [math.fsum(q.repaid + q.forgiven for q in quarters)],
        plan.capital,
    )
    for name, worth, flows in _rows(results):
        if worth.irr_status == 1.0:
            each = (1 + worth.irr) ** (1 / QUARTERS) - 1
            parts = [flow / (1 + each) ** number for number, flow in enumerate(flows)]
            size = math.fsum(abs(part) for part in parts)
            yield _same("plan", f"{name}: net present value at its rate of return", IDENTITY, [0.0], [math.fsum(parts)], 100 * size)


def _rows(results: Results):
    """The two rows of cash flows of a plan, by name, with what they are worth."""
    quarters = results.plan.quarters.values()
    yield "project", results.plan.project, [quarter.free_cash for quarter in quarters]
    yield "owners", results.plan.owners, [quarter.owners_cash for quarter in quarters]


def by_library(case: Case, results: Results) -> Iterator[Agreement]:
    """Present values, rates of return and the loan of the plan by numpy-financial, on the same quarters."""
    import numpy_financial as npf

    plan = results.plan
    asked = {"project": plan.required_return, "owners": plan.equity_return}
    for name, worth, flows in _rows(results):
        rate, size = (1 + asked[name]) ** (1 / QUARTERS) - 1, sum(map(abs, flows))
        yield _same("plan", f"{name}: net present value", LIBRARY, [npf.npv(rate, flows)], [worth.npv], size)
        if worth.irr_status == 1.0:
            yield _same("plan", f"{name}: rate of return a year", LIBRARY, [(1 + npf.irr(flows)) ** QUARTERS - 1], [worth.irr], 1.0)
        if worth.mirr_status == 1.0:
            expected = (1 + npf.mirr(flows, rate, rate)) ** QUARTERS - 1
            yield _same("plan", f"{name}: modified rate of return a year", LIBRARY, [expected], [worth.mirr], 1.0)
    yield from loan_by_library(case, results)


def loan_by_library(case: Case, results: Results) -> Iterator[Agreement]:
    """The loan quarter by quarter, where it is an annuity of whole quarters that is drawn before and runs to its end."""
    import numpy_financial as npf

    quarter, loan = case.constants.year / QUARTERS, case.plan.loan
    grace, term = loan.grace / quarter, loan.term / quarter
    found = list(results.plan.quarters.values())
    first, count = round(grace), round(term)
    drawn_late = any(each.drawn for each in found[first:])
    if loan.form != "annuity" or max(abs(grace - first), abs(term - count)) > CLOSE or drawn_late or first + count >= len(found):
        return
    if results.plan.ending.early or not loan.part:
        return
    owed = math.fsum(each.drawn for each in found)
    rate, numbers = loan.interest * quarter, range(1, count + 1)
    expected = [-npf.ppmt(rate, number, count, owed) for number in numbers]
    interest = [-npf.ipmt(rate, number, count, owed) for number in numbers]
    paid = found[first + 1 : first + count + 1]
    yield _same("plan", "repayment of the loan, in each quarter", LIBRARY, expected, [each.repaid for each in paid], owed)
    yield _same("plan", "interest on the loan, in each quarter", LIBRARY, interest, [each.interest for each in paid], owed)
    debts = [before.debt - after.debt for before, after in pairwise(found[first : first + count + 1])]
    yield _same("plan", "fall of the debt, in each quarter", LIBRARY, expected, debts, owed)


def of_deal(results: Results) -> Iterator[Agreement]:
    """What is paid is received or taxed, and both gains add up."""
    deal, own = results.deal, results.deal.licensor
    paid = math.fsum(each.paid for each in deal.by_kind.values())
    by_heading = math.fsum([*(each.paid for each in deal.by_heading.values()), *deal.dividends.values()])
    yield _same("deal", "paid under all headings: paid by kind of payment", IDENTITY, [paid], [by_heading], paid)
    yield _same(
        "deal",
        "received: withheld, inventors and net",
        IDENTITY,
        [own.received],
        [own.withheld + own.inventors + own.net],
        abs(own.received),
    )
    both = abs(own.gain) + abs(deal.licensee.gain)
    yield _same(
        "deal", "gain of both: of the licensor and the licensee", IDENTITY, [deal.gain], [own.gain + deal.licensee.gain], both
    )
