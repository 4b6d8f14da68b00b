"""Puts the plan together: volumes, revenue and cost, capital, loan, tax, the books, and what it is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..ledger.records import Ledger
from ..line.records import Line
from ..operations import Value, choose, least_of, safe_divide, sum_of
from . import capital, finance, operation
from .others import other_line
from .records import Plan, Quarter, UseYear, Year, YearCost
from .timing import QUARTERS, cumulative, running, steps
from .volume import learning_factors, volumes
from .worth import discounted, nominal, worth

NO_SERVICE = 1e9  # stands where a year has no debt service, so that it is never the least cover


def compute_plan(case: Case, line: Line, ledger: Ledger) -> Plan | None:
    """The plan of a case, or None for a case without plan.yaml.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> plan = evaluate(load_case("inputs_demo/facade")).plan
    >>> max(abs(quarter.balance) for quarter in plan.quarters.values()) < 1e-6 * plan.capital
    True
    """
    if case.schedule is None:
        return None
    returns, year = case.returns, case.constants.year
    inflation = returns.inflation * year
    required = nominal(returns.required_return * year, inflation, returns.basis)
    asked = nominal(returns.equity_return * year, inflation, returns.basis)
    start = start_of_production(case)
    assets = capital.assets(case, line)
    plans = capital.asset_plans(case, assets, start)
    use = capital.years_of_use(case, assets, plans, start)
    year_costs = operation.year_costs(ledger)
    found = quarters(case, line, ledger, Grounds(start, assets, use, year_costs, required, asked))
    money, count, quarter = sum_of([asset.cost for asset in assets]), len(found), year / QUARTERS
    years = [debt_year(case, found[number * QUARTERS : (number + 1) * QUARTERS]) for number in range(count // QUARTERS)]
    repaying = [sum_of([each.repaid for each in found[k * QUARTERS : (k + 1) * QUARTERS]]) for k in range(len(years))]
    least = least_of([choose(repaid > 0, each.debt_cover, NO_SERVICE) for repaid, each in zip(repaying, years)])
    return Plan(
        costs=year_costs,
        assets=plans,
        use_years=use,
        quarters={f"q{number + 1:03d}": each for number, each in enumerate(found)},
        years={f"y{number + 1:02d}": each for number, each in enumerate(years)},
        project=worth(*_columns(found, "free_cash", "cumulative_free_cash", "discounted_free_cash"), required, quarter),
        owners=worth(*_columns(found, "owners_cash", "cumulative_owners_cash", "discounted_owners_cash"), asked, quarter),
        others={name: other_line(case, row, money, count, required) for name, row in case.other_lines.items()},
        start=start,
        required_return=required,
        equity_return=asked,
        capital=money,
        capital_per_annual_watt=money / line.output.stabilised_watts,
        capital_per_annual_m2=money / line.output.good_area,
        least_debt_cover=choose(least < NO_SERVICE, least, 0.0),
        years_below_cover=sum_of([each.below_cover for each in years]),
    )


def debt_year(case: Case, found: Sequence[Quarter]) -> Year:
    """What the bank looks at in a year: cash that is there for it, over interest and repayment, once the loan is repaid."""
    cash = sum_of([each.free_cash + each.capital + each.licence_fee + each.tax_without_loan - each.tax for each in found])
    repaid = sum_of([each.repaid for each in found])
    service = sum_of([each.interest for each in found]) + repaid
    cover = choose(repaid > 0, safe_divide(cash, service), 0.0)
    return Year(
        cash_for_debt=cash,
        debt_service=service,
        debt_cover=cover,
        below_cover=choose(repaid > 0, choose(cover < case.loan.least_cover, 1.0, 0.0), 0.0),
    )


def _columns(found: Sequence[Quarter], *names: str) -> list[list[Value]]:
    return [[getattr(each, name) for each in found] for name in names]


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the quarters are made from, found once."""

    start: Value
    assets: list[capital.Asset]
    use_years: dict[str, UseYear]
    costs: dict[str, YearCost]
    required_return: Value
    equity_return: Value


def start_of_production(case: Case) -> Value:
    """Quarters from the first day to the start of production."""
    return (case.schedule.build_time + case.schedule.delay) / (case.constants.year / QUARTERS)


def quarters(case: Case, line: Line, ledger: Ledger, grounds: Grounds) -> list[Quarter]:
    """Every quarter of the plan: profit and loss, cash and balance."""
    count, quarter = QUARTERS * int(case.schedule.horizon), case.constants.year / QUARTERS
    start = grounds.start
    run = running(count, start)
    made = volumes(case, count, start, (case.schedule.build_time - case.schedule.staff_before) / quarter)
    watts = [line.output.stabilised_watts / QUARTERS * share for share in made.good]
    watts_so_far = cumulative(watts)
    learnt = learning_factors(watts_so_far, case.learning)
    variable, fixed = operation.costs(case, grounds.costs, made, learnt)
    revenue = operation.revenue(case, line, made.good)
    royalty = operation.royalty(case, revenue, watts, _in_term(case, count, start, run))
    start_up = [a + b for a, b in zip(operation.start_up(case, ledger, run), capital.expenses(case, count))]
    operating = [r - v - f - s - x for r, v, f, s, x in zip(revenue, variable, fixed, start_up, royalty)]

    assets = grounds.assets
    totals = {kind: sum_of([x.cost for x in assets if x.paid_as == kind]) for kind in ("equipment", "systems", "other")}
    paid = {kind: capital.paid_by(case, kind, count) for kind in totals}
    spent = [sum_of(parts) for parts in zip(*([totals[kind] * share for share in steps(paid[kind])] for kind in totals))]
    fee, fee_written_off = _licence_fee(case, count, start)
    use = list(grounds.use_years.values())
    replaced = capital.by_quarter([each.replaced for each in use], run)
    books = [a + b for a, b in zip(capital.by_quarter([each.books for each in use], run), fee_written_off)]
    for_tax = [a + b for a, b in zip(capital.by_quarter([each.tax for each in use], run), fee_written_off)]
    bought = [a + b + c for a, b, c in zip(spent, fee, replaced)]
    fetched = case.outlay.end_value * sum_of([totals["equipment"], totals["systems"]])
    end_value = [*[0.0] * (count - 1), fetched]
    left_in_books = sum_of(bought) - sum_of(books)
    left_for_tax = sum_of(bought) - sum_of(for_tax)
    disposal = [*[0.0] * (count - 1), left_in_books - fetched]

    back = {kind: capital.paid_by(case, kind, count, case.outlay.vat_return_time) for kind in ("equipment", "systems")}
    vat_owed = operation.held_to_the_end(
        [sum_of([case.outlay.import_vat * totals[kind] * (paid[kind][k] - back[kind][k]) for kind in back]) for k in range(count)]
    )
    vat_paid = steps(vat_owed)
    receivables, stock, payables = _working_capital(case, ledger, made.started, revenue, variable, fixed)
    tied_up = [a + b - c for a, b, c in zip(receivables, stock, payables)]

    drawn = [case.loan.part * amount for amount in spent]
    repaid, interest, debt = finance.loan_balances(case.loan, drawn, quarter)
    taxable = [o - t - i for o, t, i in zip(operating, for_tax, interest)]
    taxable[-1] = taxable[-1] + fetched - left_for_tax
    holiday = [a - b for a, b in zip(run, running(count, start + case.tax.holiday / quarter))]
    tax, carried = finance.taxes(case, taxable, holiday)
    tax_without_loan, carried_without_loan = finance.taxes(case, [a + b for a, b in zip(taxable, interest)], holiday)
    profit = [o - b - i - d - t for o, b, i, d, t in zip(operating, books, interest, disposal, tax)]
    before_tax = [o - s - v - w + e for o, s, v, w, e in zip(operating, bought, vat_paid, steps(tied_up), end_value)]
    free = [cash - t for cash, t in zip(before_tax, tax_without_loan)]
    owners = [
        cash - t + more - back - paid_interest
        for cash, t, more, back, paid_interest in zip(before_tax, tax, drawn, repaid, interest)
    ]
    fixed_assets = cumulative([b - w - d - e for b, w, d, e in zip(bought, books, disposal, end_value)])
    equity = cumulative([a - b for a, b in zip(profit, owners)])
    free_so_far, owners_so_far = cumulative(free), cumulative(owners)
    free_discounted, owners_discounted = discounted(free, grounds.required_return), discounted(owners, grounds.equity_return)
    return [
        Quarter(
            running_share=run[k],
            started_share=made.started[k],
            good_share=made.good[k],
            fixed_share=made.fixed[k],
            stabilised_watts=watts[k],
            cumulative_watts=watts_so_far[k],
            learning_factor=learnt[k],
            revenue=revenue[k],
            variable_cost=variable[k],
            fixed_cost=fixed[k],
            start_up=start_up[k],
            royalty=royalty[k],
            operating=operating[k],
            depreciation=books[k],
            interest=interest[k],
            disposal=disposal[k],
            taxable=taxable[k],
            losses_carried=carried[k],
            tax=tax[k],
            profit=profit[k],
            capital=spent[k],
            licence_fee=fee[k],
            replacement=replaced[k],
            vat=vat_paid[k],
            working_capital=tied_up[k],
            end_value=end_value[k],
            losses_carried_without_loan=carried_without_loan[k],
            tax_without_loan=tax_without_loan[k],
            free_cash=free[k],
            drawn=drawn[k],
            repaid=repaid[k],
            owners_cash=owners[k],
            cumulative_free_cash=free_so_far[k],
            cumulative_owners_cash=owners_so_far[k],
            discounted_free_cash=free_discounted[k],
            discounted_owners_cash=owners_discounted[k],
            fixed_assets=fixed_assets[k],
            receivables=receivables[k],
            stock=stock[k],
            payables=payables[k],
            vat_receivable=vat_owed[k],
            debt=debt[k],
            equity=equity[k],
            balance=fixed_assets[k] + tied_up[k] + vat_owed[k] - debt[k] - equity[k],
        )
        for k in range(count)
    ]


def _in_term(case: Case, count: int, start: Value, run: Sequence[Value]) -> list[Value]:
    """How much of each quarter lies in the term of the licence."""
    if case.licence is None:
        return [0.0] * count
    ended = running(count, start + case.licence.term / (case.constants.year / QUARTERS))
    return [now - over for now, over in zip(run, ended)]


def _licence_fee(case: Case, count: int, start: Value) -> tuple[list[Value], list[Value]]:
    """The fee paid once, in the quarters in which it is paid, and written off evenly over the term, for books and tax."""
    if case.licence is None:
        return [0.0] * count, [0.0] * count
    row, quarter = case.licence, case.constants.year / QUARTERS
    fee = in_reporting_currency(row.upfront, row.currency, case.money)
    in_term = _in_term(case, count, start, running(count, start))
    return (
        [fee * share for share in steps(running(count, row.upfront_time / quarter))],
        [fee * safe_divide(share, row.term / quarter) for share in in_term],
    )


def _working_capital(
    case: Case, ledger: Ledger, started: list[Value], revenue: list[Value], variable: list[Value], fixed: list[Value]
) -> tuple[list[Value], list[Value], list[Value]]:
    """Receivables, stock and payables at the end of each quarter; nothing is left at the end of the plan."""
    row, quarter = case.working_capital, case.constants.year / QUARTERS
    receivables = [sold * row.receivable_time / quarter for sold in revenue]
    stock = [
        ledger.stock * share * operation.cost_rise(case, "materials", k) + (variable[k] + fixed[k]) * row.finished_time / quarter
        for k, share in enumerate(started)
    ]
    payables = [cost * row.payable_time / quarter for cost in variable]
    held = operation.held_to_the_end
    return held(receivables), held(stock), held(payables)
