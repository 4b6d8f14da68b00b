"""Capital: what the plant costs, when it is paid, what is replaced, and how all of it is written off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..case.records import Case
from ..ledger.depreciation import book_method, book_shares, straight_line_shares, tax_shares
from ..ledger.equipment import pieces
from ..ledger.prices import in_reporting_currency
from ..line.records import Line
from ..operations import Value, choose, larger, smaller, sum_of, whole_up
from .records import AssetPlan, UseYear
from .timing import QUARTERS, in_quarters, in_year_of_use, running, steps, year_names


@dataclass(frozen=True, slots=True)
class Asset:
    """A kind of equipment or another asset: where it stands, what it costs, its life in years.

    `price` is with the reserve; `cost` is what is left of it when the grant, which is for the first plant, is taken off.
    """

    name: str
    covers: str
    paid_as: str
    price: Value
    cost: Value
    life: Value


def assets(case: Case, line: Line) -> list[Asset]:
    """Everything that is written off: tools, carriers, spare parts, facility systems, assets of capital.csv."""
    reserve, paid, year = 1 + case.outlay.contingency, 1 - case.outlay.grant, case.constants.year
    found = [(f"{piece.table}_{piece.name}", piece.table, piece.cost, piece.life) for piece in pieces(case, line)]
    found += [(f"capital_{n}", "capital", capital_amount(case, n), x.life) for n, x in case.capital.items() if x.treated == "asset"]
    kinds = {"facilities": "systems", "capital": "other"}
    return [
        Asset(n, covers, kinds.get(covers, "equipment"), price * reserve, price * reserve * paid, life / year)
        for n, covers, price, life in found
    ]


def capital_amount(case: Case, name: str) -> Value:
    """An amount of capital.csv in the reporting currency."""
    row = case.capital[name]
    return in_reporting_currency(row.amount, row.currency, case.money)


def paid_by(case: Case, kind: str, quarters: int, later: Value = 0.0) -> list[Value]:
    """The share of the capital of a kind that is paid by the end of each quarter, or so much later."""
    rows = [row for row in case.payments.values() if row.covers == kind]
    shares = [[row.part * share for share in running(quarters, in_quarters(case, row.time + later))] for row in rows]
    return [sum_of(parts) for parts in zip(*shares)] if shares else [0.0] * quarters


def times_replaced(life: Value, years: int, last: Value) -> list[Value]:
    """How often a piece is bought again in each year of use: at the end of each life, but not after the last year for it.

    >>> times_replaced(2.0, 6, 4.0), times_replaced(0.5, 2, 9.0)
    ([0.0, 0.0, 1.0, 0.0, 0.0, 0.0], [1.0, 2.0])
    """
    bought = [larger(whole_up((number + 1) / life) - 1, 0.0) for number in range(years)]
    return [choose(number + 1 <= last, now - before, 0.0) for number, (now, before) in enumerate(zip(bought, [0.0, *bought]))]


def written_off(purchases: Sequence[Value], shares: Sequence[Value]) -> list[Value]:
    """What purchases of each year of use write off in each year.

    >>> written_off([100.0, 0.0, 50.0], [0.5, 0.5, 0.0])
    [50.0, 50.0, 25.0]
    """
    return [sum_of([purchases[k] * shares[number - k] for k in range(number + 1)]) for number in range(len(purchases))]


def asset_plans(case: Case, found: Sequence[Asset], start: Value) -> dict[str, AssetPlan]:
    """Purchases and shares written off of every asset, by year of use.

    Equipment is replaced at the end of its life, at risen prices. Assets of one table share the schedule that tax gives it.
    """
    years = int(case.schedule.horizon)
    names, given = year_names(years), {row.covers for row in case.tax_depreciation.values()}
    last = years - (start / QUARTERS) - case.schedule.last_replacement / case.constants.year
    rise = risen_prices(case, start)
    for_class: dict[str, dict[str, Value]] = {}
    plans = {}
    for asset in found:
        books = dict(zip(names, book_shares(book_method(case, asset.covers), asset.life, years)))
        if asset.covers not in given:
            tax = books
        else:
            if asset.covers not in for_class:
                for_class[asset.covers] = dict(zip(names, tax_shares(case, asset.covers, asset.life, years)))
            tax = for_class[asset.covers]
        again = [0.0 * asset.cost] * years
        if asset.covers != "capital":
            again = [asset.price * r * n for r, n in zip(rise, times_replaced(asset.life, years, last))]
        bought = dict(zip(names, [asset.cost + again[0], *again[1:]]))
        plans[asset.name] = AssetPlan(cost=asset.cost, bought=bought, books=books, tax=tax)
    return plans


def risen_prices(case: Case, start: Value) -> list[Value]:
    """What a price has become at the start of each year of use, with inflation."""
    inflation = case.returns.inflation * case.constants.year
    return [(1 + inflation) ** (start / QUARTERS + number) for number in range(int(case.schedule.horizon))]


def years_of_use(case: Case, found: Sequence[Asset], plans: Mapping[str, AssetPlan], start: Value) -> dict[str, UseYear]:
    """Replacements, and depreciation of all assets and expansions, by year of use."""
    years, rise = int(case.schedule.horizon), risen_prices(case, start)
    replaced: list[list[Value]] = [[] for _ in range(years)]
    books: list[list[Value]] = [[] for _ in range(years)]
    tax: list[list[Value]] = [[] for _ in range(years)]

    def note(again: Sequence[Value], for_books: Sequence[Value], for_tax: Sequence[Value]) -> None:
        """Add the years of one asset to those of all."""
        for number in range(years):
            replaced[number].append(again[number])
            books[number].append(for_books[number])
            tax[number].append(for_tax[number])

    for asset in found:
        plan = plans[asset.name]
        purchases = list(plan.bought.values())
        for_books = written_off(purchases, list(plan.books.values()))
        note(
            [purchases[0] - plan.cost, *purchases[1:]],
            for_books,
            for_books if plan.tax is plan.books else written_off(purchases, list(plan.tax.values())),
        )
    for row in case.expansions.values():
        begin = row.time / case.constants.year
        cost = row.size * row.capital_share * sum_of([asset.price for asset in found])
        parts = [smaller(1.0, larger(0.0, number + 2 - begin)) for number in range(years)]  # paid over the year before it starts
        bought = [cost * r * (now - before) for r, now, before in zip(rise, parts, [0.0, *parts])]
        shares = written_off(bought, [0.0, *straight_line_shares(row.life / case.constants.year, years - 1)])
        note(bought, shares, shares)
    rows = zip(year_names(years), replaced, books, tax)
    return {name: UseYear(replaced=sum_of(a), books=sum_of(b), tax=sum_of(c)) for name, a, b, c in rows}


def by_quarter(amounts: Sequence[Value], run: Sequence[Value]) -> list[Value]:
    """Amounts of years of use, spread evenly over their quarters."""
    return [
        sum_of(
            [
                amount / QUARTERS * in_year_of_use(run, quarter, year)
                for year, amount in enumerate(amounts)
                if quarter >= QUARTERS * year
            ]
        )
        for quarter in range(len(run))
    ]


def expenses(case: Case, quarters: int) -> list[Value]:
    """What capital.csv calls an expense, in the quarters in which it is paid."""
    total = sum_of([capital_amount(case, n) for n, row in case.capital.items() if row.treated == "expense"])
    paid = paid_by(case, "other", quarters)
    return [total * share for share in steps(paid)]
