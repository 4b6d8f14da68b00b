"""Puts the plan together: volumes, revenue and cost, capital, loan, tax, the books, and what it is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..case.records import Case
from ..ledger.records import Ledger
from ..line.records import Line
from ..operations import Value, choose, least_of, sum_of, valid_if
from . import capital, finance, licence, operation, sales
from .others import other_line
from .records import AssetPlan, MarketSales, Payments, Plan, Quarter, UseYear, YearCost
from .timing import QUARTERS, by_year, column_count, cumulative, in_quarters, quarter_names, running, steps, year_names
from .volume import Volumes, learning_factors, volumes
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
    planned = planned_volumes(case, start)
    sold = sales.market_sales(case, line, planned.good, running(column_count(case), start))
    grounds = Grounds(start, assets, plans, use, year_costs, planned, sold, required, asked)
    found, paid = quarters(case, line, ledger, grounds)
    money, count, quarter = sum_of([asset.cost for asset in assets]), len(found), year / QUARTERS
    years = [finance.debt_year(case, columns) for columns in by_year(found)]
    repaying = [sum_of([each.repaid for each in columns]) for columns in by_year(found)]
    least = least_of([choose(repaid > 0, each.debt_cover, NO_SERVICE) for repaid, each in zip(repaying, years)])
    return Plan(
        costs=year_costs,
        assets=plans,
        use_years=use,
        markets=sold,
        payments={stream.name: Payments(stream.paid_as, dict(zip(quarter_names(len(found)), stream.amounts))) for stream in paid},
        quarters=dict(zip(quarter_names(len(found)), found)),
        years=dict(zip(year_names(len(years)), years)),
        project=worth(*_columns(found, "free_cash", "cumulative_free_cash", "discounted_free_cash"), required, quarter),
        owners=worth(*_columns(found, "owners_cash", "cumulative_owners_cash", "discounted_owners_cash"), asked, quarter),
        others={name: other_line(case, row, money, count, required) for name, row in case.other_lines.items()},
        start=start,
        required_return=required,
        equity_return=asked,
        capital=money,
        capital_per_annual_watt=money / line.output.stabilised_watts,
        capital_per_annual_m2=money / line.output.good_area,
        least_debt_cover=valid_if(least < NO_SERVICE, least),
        least_debt_cover_status=choose(least < NO_SERVICE, 1.0, 0.0),
        years_below_cover=sum_of([each.below_cover for each in years]),
    )


def _columns(found: Sequence[Quarter], *names: str) -> list[list[Value]]:
    return [[getattr(each, name) for each in found] for name in names]


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the quarters are made from, found once."""

    start: Value
    assets: list[capital.Asset]
    asset_plans: dict[str, AssetPlan]
    use_years: dict[str, UseYear]
    costs: dict[str, YearCost]
    planned: Volumes
    markets: dict[str, MarketSales]
    required_return: Value
    equity_return: Value
    pays: bool = True  # whether the licence is paid for


def start_of_production(case: Case) -> Value:
    """Quarters from the first day to the start of production."""
    return in_quarters(case, case.schedule.build_time + case.schedule.delay)


def planned_volumes(case: Case, start: Value) -> Volumes:
    """What the schedule plans, quarter by quarter, whatever the markets take."""
    staffed = in_quarters(case, case.schedule.build_time - case.schedule.staff_before)
    return volumes(case, column_count(case), start, staffed)


Columns = dict[str, list[Value]]  # figures of all quarters, by the names that Quarter has for them


def quarters(case: Case, line: Line, ledger: Ledger, grounds: Grounds) -> tuple[list[Quarter], list[licence.Stream]]:
    """Every quarter of the plan: trading, investing, working capital, loan and tax, cash, balance; and what the licence is paid."""
    run = running(column_count(case), grounds.start)
    trade, materials = _trading(case, line, ledger, grounds, run)
    paid = []
    if grounds.pays:
        trades = licence.Trade(grounds.start, trade["revenue"], trade["stabilised_watts"], materials)
        paid = licence.streams(case, line, grounds.assets, trades)
    trade |= _paid_for_the_licence(trade, paid)
    invest = _investing(case, grounds, run, trade["licence_fee"])
    held = operation.working_capital(case, ledger, trade)
    loan = _financing(case, grounds, run, trade, invest)
    found = trade | invest | held | loan
    found |= _cash(grounds, found)
    found |= _balance(found)
    return [Quarter(**{name: values[k] for name, values in found.items()}) for k in range(len(run))], paid


def _trading(case: Case, line: Line, ledger: Ledger, grounds: Grounds, run: Sequence[Value]) -> tuple[Columns, list[Value]]:
    """What is made and sold and what that costs, the licence apart; and what materials cost."""
    count = len(run)
    sold = sales.sold_shares(case, grounds.markets, count)
    taken = sales.taken(case, sold, count)
    made = grounds.planned.cut(taken)
    watts = [line.output.stabilised_watts / QUARTERS * share for share in made.good]
    so_far = cumulative(watts)
    learnt = learning_factors(so_far, case.learning)
    variable, fixed = operation.costs(case, grounds.costs, made, learnt)
    revenue = operation.revenue(case, line, grounds.planned.good, sold)
    incomes = licence.sublicence_income(case, count).values() if case.licence else []
    sublicences = [sum_of(parts) for parts in zip([0.0 * sold for sold in revenue], *incomes)]
    start_up = [a + b for a, b in zip(operation.start_up(case, ledger, count, grounds.start), capital.expenses(case, count))]
    return {
        "running_share": list(run),
        "started_share": made.started,
        "planned_share": grounds.planned.good,
        "taken_share": taken,
        "good_share": made.good,
        "fixed_share": made.fixed,
        "stabilised_watts": watts,
        "cumulative_watts": so_far,
        "learning_factor": learnt,
        "revenue": revenue,
        "variable_cost": variable,
        "fixed_cost": fixed,
        "start_up": start_up,
        "sublicences": sublicences,
    }, operation.materials(case, grounds.costs, made, learnt)


def _paid_for_the_licence(trade: Columns, paid: Sequence[licence.Stream]) -> Columns:
    """What is paid once, what runs with sales, what work costs; and the operating result."""
    nothing = [0.0 * sold for sold in trade["revenue"]]
    running_royalty = ("royalty", "minimum")

    def together(wanted: Sequence[licence.Stream]) -> list[Value]:
        """The sum of some streams, by quarter."""
        return [sum_of(parts) for parts in zip(nothing, *[stream.amounts for stream in wanted])]

    royalty = together([x for x in paid if x.name in running_royalty])
    services = together([x for x in paid if x.name not in running_royalty and not x.written_off])
    rows = zip(*[trade[n] for n in ("revenue", "sublicences", "variable_cost", "fixed_cost", "start_up")], royalty, services)
    return {
        "licence_fee": together([x for x in paid if x.written_off]),
        "royalty": royalty,
        "licence_services": services,
        "operating": [sold + other - v - f - s - x - y for sold, other, v, f, s, x, y in rows],
    }


def _investing(case: Case, grounds: Grounds, run: Sequence[Value], fee: Sequence[Value]) -> Columns:
    """What is spent on the plant and comes back from it, and how it is written off; at the end nothing is left in either book."""
    count, nothing = len(run), 0.0 * grounds.assets[0].cost  # in money, for a kind without assets
    kinds = ("equipment", "systems", "other")
    totals = {kind: sum_of([nothing, *[x.cost for x in grounds.assets if x.paid_as == kind]]) for kind in kinds}
    paid = {kind: capital.paid_by(case, kind, count) for kind in totals}
    spent = [sum_of(parts) for parts in zip(*([totals[kind] * share for share in steps(paid[kind])] for kind in totals))]
    term = case.licence.term if case.licence else case.constants.year
    fee_gone, fee_left = licence.fee_written_off(fee, licence.in_term(case, count, grounds.start, term))
    use = list(grounds.use_years.values())
    replaced = capital.by_quarter([each.replaced for each in use], run)
    books = [a + b for a, b in zip(capital.by_quarter([each.books for each in use], run), fee_gone)]
    lost = capital.by_quarter([each.lost for each in use], run)
    for_tax = [a + b for a, b in zip(capital.by_quarter([each.tax for each in use], run), fee_gone)]
    bought = sum_of([*spent, *fee, *replaced])
    for_tax[-1] = for_tax[-1] + (bought - sum_of(for_tax))
    prices = {kind: sum_of([nothing, *[x.price for x in grounds.assets if x.paid_as == kind]]) for kind in kinds[:2]}
    sold = sum_of([plan.end_value for plan in grounds.asset_plans.values()])
    at_border = {kind: case.outlay.import_vat * price for kind, price in prices.items()}
    back = {kind: capital.paid_by(case, kind, count, case.outlay.vat_return_time) for kind in at_border}
    vat_owed = operation.held_to_the_end(
        [sum_of([vat * (paid[kind][k] - back[kind][k]) for kind, vat in at_border.items()]) for k in range(count)]
    )
    return {
        "capital": spent,
        "licence_value": fee_left,
        "replacement": replaced,
        "depreciation": books,
        "tax_depreciation": for_tax,
        "end_value": [*[0.0] * (count - 1), sold],
        "disposal": [*lost[:-1], bought - sum_of(books) - sum_of(lost[:-1]) - sold],
        "vat": steps(vat_owed),
        "vat_receivable": vat_owed,
    }


def _financing(case: Case, grounds: Grounds, run: Sequence[Value], trade: Columns, invest: Columns) -> Columns:
    """Loan, tax with it and as if there were none, and profit."""
    quarter = case.constants.year / QUARTERS
    drawn = [case.loan.part * amount for amount in invest["capital"]]
    repaid, interest, debt = finance.loan_balances(case.loan, drawn, quarter)
    without_loan = [o - w + e for o, w, e in zip(trade["operating"], invest["tax_depreciation"], invest["end_value"])]
    taxable = [a - b for a, b in zip(without_loan, interest)]
    holiday = finance.in_holiday(case, run, grounds.start)
    tax, carried = finance.taxes(case, taxable, holiday)
    tax_without_loan, carried_without_loan = finance.taxes(case, without_loan, holiday)
    charges = zip(trade["operating"], invest["depreciation"], interest, invest["disposal"], tax)
    return {
        "drawn": drawn,
        "repaid": repaid,
        "interest": interest,
        "debt": debt,
        "taxable": taxable,
        "tax": tax,
        "losses_carried": carried,
        "tax_without_loan": tax_without_loan,
        "losses_carried_without_loan": carried_without_loan,
        "profit": [o - b - i - d - t for o, b, i, d, t in charges],
    }


def _cash(grounds: Grounds, found: Columns) -> Columns:
    """Cash of the project as if there were no loan, and of the owners; what is left is paid out at once."""
    bought = [a + b + c for a, b, c in zip(found["capital"], found["licence_fee"], found["replacement"])]
    tied_up = steps(found["working_capital"])
    before_tax = [o - b - v - w + e for o, b, v, w, e in zip(found["operating"], bought, found["vat"], tied_up, found["end_value"])]
    free = [cash - tax for cash, tax in zip(before_tax, found["tax_without_loan"])]
    from_bank = [d - r - i for d, r, i in zip(found["drawn"], found["repaid"], found["interest"])]
    owners = [cash - tax + bank for cash, tax, bank in zip(before_tax, found["tax"], from_bank)]
    return {
        "free_cash": free,
        "owners_cash": owners,
        "cumulative_free_cash": cumulative(free),
        "cumulative_owners_cash": cumulative(owners),
        "discounted_free_cash": discounted(free, grounds.required_return),
        "discounted_owners_cash": discounted(owners, grounds.equity_return),
    }


def _balance(found: Columns) -> Columns:
    """Plant and licence in the books, equity, and the check that assets less debts are the equity."""
    gained = [a + b + c for a, b, c in zip(found["capital"], found["licence_fee"], found["replacement"])]
    gone = [a + b + c for a, b, c in zip(found["depreciation"], found["disposal"], found["end_value"])]
    fixed_assets = cumulative([a - b for a, b in zip(gained, gone)])
    equity = cumulative([a - b for a, b in zip(found["profit"], found["owners_cash"])])
    owned = zip(fixed_assets, found["working_capital"], found["vat_receivable"], found["debt"], equity)
    return {
        "fixed_assets": fixed_assets,
        "equity": equity,
        "balance": [a + w + v - d - e for a, w, v, d, e in owned],
    }
