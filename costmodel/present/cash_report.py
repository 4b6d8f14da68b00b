"""The plan year by year: profit, cash, balance, sales by market; its capital. Tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan import timing
from ..model.plan.plan_figures import Quarter
from .numbers import MILLION, fixed, people, percent
from .table import Table

Take = Callable[[Quarter], float]
FLOWS: Mapping[str, Take] = {
    "Revenue": lambda q: q.revenue,
    "Variable cost": lambda q: -q.variable_cost,
    "Fixed cost": lambda q: -q.fixed_cost,
    "Start-up": lambda q: -q.start_up,
    "Sublicences": lambda q: q.sublicences,
    "Royalty": lambda q: -q.royalty,
    "Work and supplies of the licensor": lambda q: -q.licence_services,
    "Set aside for warranty": lambda q: -q.warranty_provided,
    "Operating result": lambda q: q.operating,
    "Closing cost": lambda q: -q.closing_cost,
    "Depreciation and disposal": lambda q: -q.depreciation - q.disposal,
    "Interest": lambda q: -q.interest,
    "Interest on the warranty provision": lambda q: -q.warranty_unwinding,
    "Debt forgiven": lambda q: q.forgiven,
    "Tax": lambda q: -q.tax,
    "Profit": lambda q: q.profit,
}
CASH: Mapping[str, Take] = {
    "Operating result": lambda q: q.operating,
    "Warranty, set aside less paid": lambda q: q.warranty_provided - q.warranty_paid,
    "Closing cost": lambda q: -q.closing_cost,
    "Capital and licence fee": lambda q: -q.capital - q.licence_fee,
    "Replacement and expansion": lambda q: -q.replacement,
    "VAT at the border": lambda q: -q.vat,
    "Sale of assets": lambda q: q.end_value,
    "Tax": lambda q: -q.tax,
    "Loan drawn less repaid": lambda q: q.drawn - q.repaid,
    "Interest": lambda q: -q.interest,
}
BALANCE: Mapping[str, Take] = {
    "Plant and licence": lambda q: q.fixed_assets,
    "Receivables": lambda q: q.receivables,
    "Stock": lambda q: q.stock,
    "VAT recoverable": lambda q: q.vat_receivable,
    "Owed to suppliers": lambda q: -q.payables,
    "Provision for warranty": lambda q: -q.warranty_provision,
    "Loan": lambda q: -q.debt,
    "Equity": lambda q: q.equity,
}


def by_year(results: Results) -> list[list[Quarter]]:
    """The quarters of each year."""
    return [list(year) for year in timing.by_year(list(results.plan.quarters.values()))]


def _by_year_table(case: Case, results: Results, title: str, rows: Mapping[str, Sequence[float]], note: str) -> Table:
    shown = [[name, *(fixed(value / MILLION, 2) for value in values)] for name, values in rows.items()]
    columns = ["", *(str(k + 1) for k in range(len(by_year(results))))]
    return Table(f"{title}, million {case.currency}", columns, shown, note=note)


def _sums(results: Results, rows: Mapping[str, Take]) -> dict[str, list[float]]:
    return {name: [sum(map(take, year)) for year in by_year(results)] for name, take in _told(results, rows).items()}


def _told(results: Results, rows: Mapping[str, Take]) -> Mapping[str, Take]:
    """The rows of a table; those of the warranty only where the case has one."""
    return {name: take for name, take in rows.items() if results.ledger.warranty or "arranty" not in name}


def profit_table(case: Case, results: Results) -> Table:
    """Profit and loss by year."""
    note = "Years are sums of quarters, with inflation."
    return _by_year_table(case, results, "Profit and loss by year of the plan", _sums(results, FLOWS), note)


def cash_table(case: Case, results: Results) -> Table:
    """Cash flow of the owners by year, and what has gathered."""
    ends = [year[-1] for year in by_year(results)]
    working = [0.0, *(end.working_capital for end in ends)]
    rows = _sums(results, CASH) | {"Working capital": [before - after for before, after in pairwise(working)]}
    rows |= _sums(results, {"Cash of the owners": lambda q: q.owners_cash, "Cash of the project, no loan": lambda q: q.free_cash})
    rows["Cash of the project so far"] = [end.cumulative_free_cash for end in ends]
    return _by_year_table(case, results, "Cash by year of the plan", rows, "Negative cash of the owners is paid in by them.")


def balance_table(case: Case, results: Results) -> Table:
    """Balance at the end of each year."""
    rows = {name: [take(year[-1]) for year in by_year(results)] for name, take in _told(results, BALANCE).items()}
    note = "Cash that is left is paid out, so none is held. Assets less debts are the equity in every quarter."
    return _by_year_table(case, results, "Balance at the end of each year", rows, note)


def markets_table(case: Case, results: Results) -> Table:
    """Planned and sold in each market by year, in MW or in m²; without rows where no market limits what is sold."""
    rows = []
    for name, found in results.plan.markets.items():
        title, scale = case.markets[name].title, to_base("MWp_stabilised") if found.per == "Wp_stabilised" else 1.0
        unit = "MW" if found.per == "Wp_stabilised" else "m²"
        for what, amounts in (("planned", found.planned_by_year), ("sold", found.sold_by_year)):
            rows.append([f"{title}, {what}, {unit}", *(people(value / scale) for value in amounts.values())])
        rows.append([f"{title}, share of its volume", *(percent(share) for share in found.market_share_by_year.values())])
    return Table(
        "Planned and sold by market",
        ["", *(str(int(year[1:])) for year in results.plan.years)],
        rows,
        note="Each market takes at most the stated share of its volume, evenly over the year. What it does not take is not made.",
    )


def capital_table(case: Case, results: Results) -> Table:
    """Capital by kind of asset, in all and per watt a year."""
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
        ["", "with reserve, less grant", "per stabilised W a year"],
        rows,
        total=True,
        note="Licence fee, expenses paid once, working capital and VAT at the border come on top.",
    )
