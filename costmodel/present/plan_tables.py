"""Tables of the plan: years, worth, capital, other lines."""

from __future__ import annotations

from collections.abc import Callable

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan import timing
from ..model.plan.plan_figures import Quarter, Valuation
from .numbers import in_unit, people, percent
from .return_words import return_words
from .table import Table

NOT_PAID_BACK = "not within the plan"
FLOWS = {
    "Revenue": lambda q: q.revenue,
    "Variable cost": lambda q: -q.variable_cost,
    "Fixed cost": lambda q: -q.fixed_cost,
    "Start-up": lambda q: -q.start_up,
    "Sublicences": lambda q: q.sublicences,
    "Royalty": lambda q: -q.royalty,
    "Work and supplies of the licensor": lambda q: -q.licence_services,
    "Operating result": lambda q: q.operating,
    "Closing cost": lambda q: -q.closing_cost,
    "Depreciation and disposal": lambda q: -q.depreciation - q.disposal,
    "Interest": lambda q: -q.interest,
    "Debt forgiven": lambda q: q.forgiven,
    "Tax": lambda q: -q.tax,
    "Profit": lambda q: q.profit,
}
CASH = {
    "Operating result": lambda q: q.operating,
    "Closing cost": lambda q: -q.closing_cost,
    "Capital and licence fee": lambda q: -q.capital - q.licence_fee,
    "Replacement and expansion": lambda q: -q.replacement,
    "VAT at the border": lambda q: -q.vat,
    "Sale of assets": lambda q: q.end_value,
    "Tax": lambda q: -q.tax,
    "Loan drawn less repaid": lambda q: q.drawn - q.repaid,
    "Interest": lambda q: -q.interest,
}
BALANCE = {
    "Plant and licence": lambda q: q.fixed_assets,
    "Receivables": lambda q: q.receivables,
    "Stock": lambda q: q.stock,
    "VAT to come back": lambda q: q.vat_receivable,
    "Owed to suppliers": lambda q: -q.payables,
    "Loan": lambda q: -q.debt,
    "Equity": lambda q: q.equity,
}


def by_year(results: Results) -> list[list[Quarter]]:
    """The quarters of each year."""
    found = list(results.plan.quarters.values())
    return timing.by_year(found)


def _millions(value: float) -> str:
    shown = f"{value / 1e6:,.2f}"
    return "–" if shown in ("0.00", "-0.00") else shown


def _table(case: Case, results: Results, title: str, rows: dict[str, Callable[[Quarter], float]], last: bool, note: str) -> Table:
    years = by_year(results)
    shown = [
        [name, *(_millions(take(year[-1]) if last else sum(take(quarter) for quarter in year)) for year in years)]
        for name, take in rows.items()
    ]
    return Table(f"{title}, million {case.currency}", ["", *(str(k + 1) for k in range(len(years)))], shown, note=note)


def profit_table(case: Case, results: Results) -> Table:
    """Profit and loss by year."""
    return _table(case, results, "Profit and loss by year of the plan", FLOWS, False, "Years are sums of quarters, with inflation.")


def cash_table(case: Case, results: Results) -> Table:
    """Cash flow of the owners by year, and what has gathered."""
    table = _table(case, results, "Cash by year of the plan", CASH, False, "Paid in by the owners where negative.")
    years = by_year(results)
    before = [0.0, *(year[-1].working_capital for year in years)]
    table.rows.append(
        ["Working capital", *(_millions(last - year[-1].working_capital) for last, year in zip(before, years))],
    )
    table.rows.append(["Cash of the owners", *(_millions(sum(q.owners_cash for q in year)) for year in years)])
    table.rows.append(["Cash of the project, no loan", *(_millions(sum(q.free_cash for q in year)) for year in years)])
    table.rows.append(["The same so far", *(_millions(year[-1].cumulative_free_cash) for year in years)])
    return table


def balance_table(case: Case, results: Results) -> Table:
    """Balance at the end of each year."""
    note = "Cash that is left is paid out, so that none is held. Assets less debts are the equity in every quarter."
    return _table(case, results, "Balance at the end of each year", BALANCE, True, note)


def markets_table(case: Case, results: Results) -> Table:
    """Planned and sold in each market by year, in MW or in m2; without rows where no market limits what is sold."""
    rows = []
    for name, found in results.plan.markets.items():
        title, scale = case.markets[name].title, to_base("MWp_stabilised") if found.per == "Wp_stabilised" else 1.0
        unit = "MW" if found.per == "Wp_stabilised" else "m2"
        for said, by_year_of_plan in (("planned", found.planned_by_year), ("sold", found.sold_by_year)):
            rows.append([f"{title}, {said}, {unit}", *(people(value / scale) for value in by_year_of_plan.values())])
        rows.append([f"{title}, share of its volume", *(percent(share) for share in found.market_share_by_year.values())])
    return Table(
        "Planned and sold by market",
        ["", *(str(int(year[1:])) for year in results.plan.years)],
        rows,
        note="Each market takes at most the stated share of its volume, evenly over the year. What it does not take is not made.",
    )


def time_words(time: float, status: float) -> str:
    """A payback time, or that there is none."""
    return in_unit(time, "year").replace("year", "years") if status else NOT_PAID_BACK


def worth_table(case: Case, results: Results) -> Table:
    """Net present value and returns of project and owners."""
    plan = results.plan
    both = (plan.project, plan.owners)
    cash = ([q.free_cash for q in plan.quarters.values()], [q.owners_cash for q in plan.quarters.values()])
    asked = (plan.required_return, plan.equity_return)
    rows = [
        ["Return that is asked", *(percent(rate) for rate in asked)],
        [f"Net present value at it, {case.currency}", *(people(w.npv) for w in both)],
        ["Internal rate of return", *(return_words(w, flows) for w, flows in zip(both, cash))],
        ["Modified internal rate of return", *(percent(w.mirr) for w in both)],
        ["Paid back after", *(time_words(w.payback, w.payback_status) for w in both)],
        ["Paid back with the return asked after", *(time_words(w.discounted_payback, w.discounted_payback_status) for w in both)],
        [f"Peak funding need, {case.currency}", *(people(-w.low_point if w.low_point else 0.0) for w in both)],
        ["Reached after", *(in_unit(w.low_point_time, "year").replace("year", "years") for w in both)],
    ]
    return Table(
        "What the plan is worth",
        ["", "project, no loan", "owners, with loan"],
        rows,
        note="After tax, with inflation, at day one; flows over a quarter count at its end, payments when they are due.",
    )


def capital_table(case: Case, results: Results) -> Table:
    """Capital by kind of asset, with what it is for each watt a year."""
    plan, output = results.plan, results.line.output
    kinds = {
        "Tools": "tools_",
        "Carriers": "carriers_",
        "Parts in store": "spares_",
        "Facility systems": "facilities_",
        "Other assets": "capital_",
        "Land": "land_",
    }
    sums = {name: sum(x.cost for n, x in plan.assets.items() if n.startswith(start)) for name, start in kinds.items()}
    rows = [[name, people(cost), people(cost / output.stabilised_watts)] for name, cost in sums.items() if cost]
    rows.append(["Total", people(plan.capital), people(plan.capital_per_annual_watt)])
    return Table(
        f"Capital, {case.currency}",
        ["", "with reserve, grant taken off", "per stabilised W a year"],
        rows,
        total=True,
        note="Licence fee, expenses paid once, working capital and VAT at the border come on top.",
    )


def others_table(case: Case, results: Results) -> Table:
    """Other lines for the same money, beside this one."""
    plan = results.plan
    rows = [
        ["this plan", people(results.line.output.stabilised_watts / to_base("MWp_stabilised")), *_merit(plan.project)],
        *(
            [case.other_lines[name].title, people(other.stabilised_watts / to_base("MWp_stabilised")), *_merit(other.worth)]
            for name, other in plan.others.items()
        ),
    ]
    return Table(
        f"Other lines for the same money, {case.currency}",
        ["", "MW a year", "net present value", "internal rate of return", "paid back after"],
        rows,
        note="Each as large as the capital of this plan buys, by the figures of other_lines.csv; the same tax and required return, "
        "no loan, licence or working capital.",
    )


def _merit(worth: Valuation) -> list[str]:
    return [people(worth.npv), return_words(worth), time_words(worth.payback, worth.payback_status)]
