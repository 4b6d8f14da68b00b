"""Capital: what the plant costs, when it is paid, what is replaced, and how all of it is written off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...case.plan_records import Capital, Expansion, Land, Refurbishment
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.depreciation import book_method, book_shares, straight_line_shares, tax_shares
from ..ledger.equipment import pieces
from ..ledger.prices import in_reporting_currency
from ..line.line_figures import Line
from .plan_figures import AssetPlan, UseYear
from .replacement import Use, each_year, parts_replaced, replaced, resale_share, shares_while_used
from .timing import QUARTERS, due_by, in_quarters, in_year_of_use, year_names

KINDS = ("equipment", "systems", "other")  # of capital, by when it is paid; value added tax is on the first two


@dataclass(frozen=True, slots=True)
class Asset:
    """A kind of equipment or another asset: where it stands, what it costs, its lives in years.

    `price` is with the reserve; `cost` is what is left of it without the grant, which is for the first plant. `sold_at` is what its
    sale is a share of: for equipment the price new without freight, installation and reserve, else the amount paid. `life` is the
    accounting life. An asset without a technical life is not replaced; `end_share` of it comes back at the end of use.
    """

    name: str
    covers: str
    paid_as: str
    price: Value
    cost: Value
    sold_at: Value
    life: Value
    technical_life: Value | None = None
    refurbishment: Refurbishment | None = None
    end_share: Value = 0.0
    stays_in_books: bool = False  # land, which is not written off


def assets(case: Case, line: Line) -> list[Asset]:
    """Everything that is written off: tools, carriers, spare parts, facility systems, assets of capital.csv."""
    reserve, paid, year = 1 + case.plan.outlay.contingency, 1 - case.plan.outlay.grant, case.constants.year
    overhauls = {(row.covers, row.equipment): row for row in case.refurbishments.values()}
    found = [
        Asset(
            f"{piece.table}_{piece.name}",
            piece.table,
            "systems" if piece.table == "facilities" else "equipment",
            piece.cost * reserve,
            piece.cost * reserve * paid,
            piece.price,
            piece.life / year,
            piece.technical_life / year,
            overhauls.get((piece.table, piece.name)),
        )
        for piece in pieces(case, line)
    ]
    for name, row in case.capital.items():
        if row.treated == "asset":
            price = capital_amount(case, row) * reserve
            found.append(
                Asset(f"capital_{name}", "capital", "other", price, price * paid, price, row.life / year, end_share=row.end_share)
            )
    for name, plot in case.land.items():
        price, nothing = capital_amount(case, plot), 0.0 * year / year
        found.append(
            Asset(f"land_{name}", "land", "other", price, price, price, nothing, end_share=plot.end_share, stays_in_books=True)
        )
    return found


def capital_amount(case: Case, row: Capital | Land) -> Value:
    """An amount of capital.csv or land.csv in the reporting currency."""
    return in_reporting_currency(row.amount, row.currency, case.money)


def paid_by(case: Case, kind: str, quarters: int, later: Value = 0.0) -> Row:
    """The share of the capital of a kind that is paid by the end of each quarter, or so much later."""
    rows = [row for row in case.payments.values() if row.covers == kind]
    shares = [row.part * due_by(quarters, in_quarters(case, row.time + later)) for row in rows]
    return sum_of(shares) if shares else constant(0.0, quarters)


def nothing(found: Sequence[Asset]) -> Value:
    """Zero in money, for a sum over nothing."""
    return 0.0 * found[0].cost


def cost_of_kind(found: Sequence[Asset], kind: str) -> Value:
    """What all assets of a kind cost."""
    return sum_of([nothing(found), *[asset.cost for asset in found if asset.paid_as == kind]])


def spent(found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Capital as it is paid, by the share of each kind that is paid by the end of each column."""
    return sum_of([cost_of_kind(found, kind) * shares.gains() for kind, shares in paid.items()])


def unpaid(found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Capital still to be paid at the end of each column."""
    return sum_of([cost_of_kind(found, kind) * (1 - shares) for kind, shares in paid.items()])


def vat_owed(case: Case, found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Value added tax paid at the border and not yet paid back."""
    open_ = []
    for kind in KINDS[:2]:
        price = sum_of([nothing(found), *[asset.price for asset in found if asset.paid_as == kind]])
        back = paid_by(case, kind, len(paid[kind]), case.plan.outlay.vat_return_time)
        open_.append(case.plan.outlay.import_vat * price * (paid[kind] - back))
    return sum_of(open_)


def written_off(purchases: Sequence[Value], shares: Sequence[Value]) -> list[Value]:
    """What purchases of each year of use write off in each year.

    >>> written_off([100.0, 0.0, 50.0], [0.5, 0.5, 0.0])
    [50.0, 50.0, 25.0]
    """
    return [sum_of([purchases[k] * shares[number - k] for k in range(number + 1)]) for number in range(len(purchases))]


def asset_plans(case: Case, found: Sequence[Asset], start: Value) -> dict[str, AssetPlan]:
    """Purchases and shares written off of every asset, by year of use.

    Assets of one table share the schedule that tax gives it.
    """
    years = int(case.plan.schedule.horizon)
    given = {row.covers for row in case.tax_depreciation.values()}
    end = years - start / QUARTERS
    use = Use(years, end, end - case.plan.schedule.last_replacement / case.constants.year)
    rise = risen_prices(case, start)
    for_class: dict[str, dict[str, Value]] = {}
    plans = {}
    for asset in found:
        method = book_method(case, asset.covers)
        shares = [0.0] * years if asset.stays_in_books else book_shares(method, asset.life, years)
        books = tax = dict(zip(year_names(years), shares))
        if asset.covers in given:
            if asset.covers not in for_class:
                shares = tax_shares(case, asset.covers, asset.life, years)
                for_class[asset.covers] = dict(zip(year_names(years), shares))
            tax = for_class[asset.covers]
        plans[asset.name] = _asset_plan(case, asset, use, rise, (books, tax))
    return plans


def _asset_plan(
    case: Case, asset: Asset, use: Use, rise: Sequence[Value], shares: tuple[dict[str, Value], dict[str, Value]]
) -> AssetPlan:
    """Equipment is replaced, or refurbished first, at the prices of that time; other assets stay to the end."""
    names, nothing = year_names(use.years), 0.0 * asset.cost
    books, tax = shares
    if asset.technical_life is None:
        bought, back = dict(zip(names, [asset.cost, *[nothing] * (use.years - 1)])), asset.sold_at * asset.end_share
        sold = dict(zip(names, [back] * use.years))
        return AssetPlan(
            cost=asset.cost, bought=bought, replaced_later={}, refurbished={}, books=books, tax=tax, resale_new=back, resale=sold
        )
    row, year = asset.refurbishment, case.constants.year
    counts = replaced(use, asset.technical_life, row.added_life / year if row else None)
    prices = [asset.price * risen for risen in rise]
    again = [price * count for price, count in zip(prices, each_year(counts.so_far))]
    first, *later = parts_replaced(counts)
    outlay, age = case.plan.outlay, replacement_age(case, asset)
    inflation, decline, new = case.plan.returns.inflation * year, outlay.resale_decline * year, outlay.resale_share
    worth = [resale_share(number + 1.0, count, age, new, decline) for number, count in enumerate(counts.so_far)]
    spent = [price * row.cost * count for price, count in zip(prices, each_year(counts.refurbished))] if row else []
    return AssetPlan(
        cost=asset.cost,
        bought=dict(zip(names, [asset.cost + again[0], *again[1:]])),
        replaced_later=dict(zip(names, [asset.cost * first, *[price * part for price, part in zip(prices[1:], later)]])),
        refurbished=dict(zip(names, spent)),
        books=books,
        tax=tax,
        resale_new=asset.sold_at * rise[0] * new,
        resale=dict(zip(names, [asset.sold_at * now * (1 + inflation) * share for now, share in zip(rise, worth)])),
    )


def replacement_age(case: Case, asset: Asset) -> Value:
    """Years after which a piece is replaced: its technical life, and what an overhaul adds to it."""
    if asset.refurbishment is None:
        return asset.technical_life
    return asset.technical_life + asset.refurbishment.added_life / case.constants.year


def risen_prices(case: Case, start: Value) -> list[Value]:
    """What a price has become at the start of each year of use, with inflation."""
    inflation = case.plan.returns.inflation * case.constants.year
    return [(1 + inflation) ** (start / QUARTERS + number) for number in range(int(case.plan.schedule.horizon))]


def years_of_use(case: Case, found: Sequence[Asset], plans: Mapping[str, AssetPlan], start: Value) -> dict[str, UseYear]:
    """Replacements, and depreciation of all assets and expansions, by year of use."""
    rows = [_asset_years(case, asset, plans[asset.name]) for asset in found]
    whole = sum_of([asset.price for asset in found])
    rows += [_expansion_years(case, row, whole, start) for row in case.expansions.values()]
    names = year_names(int(case.plan.schedule.horizon))
    resale = [sum_of(parts) for parts in zip(*[plan.resale.values() for plan in plans.values()])]
    columns = [
        [sum_of(parts) for parts in zip(*[getattr(row, name) for row in rows])] for name in ("spent", "books", "lost", "tax")
    ]
    return {name: UseYear(replaced=a, books=b, lost=c, tax=d, resale=e) for name, a, b, c, d, e in zip(names, *columns, resale)}


@dataclass(frozen=True, slots=True)
class _Years:
    """Money of an asset by year of use: spent after the first purchase, written off, lost by replacement, written off for tax."""

    spent: list[Value]
    books: list[Value]
    lost: list[Value]
    tax: list[Value]


def _asset_years(case: Case, asset: Asset, plan: AssetPlan) -> _Years:
    """Written off over the accounting life; what is left when a piece is replaced is lost then, in the books and for tax."""
    bought, gone = list(plan.bought.values()), list(plan.replaced_later.values())
    spent = [bought[0] - plan.cost, *bought[1:]]
    if asset.technical_life is None:
        books = written_off(bought, list(plan.books.values()))
        tax = books if plan.tax is plan.books else written_off(bought, list(plan.tax.values()))
        return _Years(spent, books, [0.0 * plan.cost] * len(bought), tax)
    age = replacement_age(case, asset)
    kept = [a - b for a, b in zip(bought, gone)]
    books, lost = _with_losses(kept, gone, list(plan.books.values()), age)
    if plan.tax is plan.books:
        tax = [a + b for a, b in zip(books, lost)]
    else:
        tax = [a + b for a, b in zip(*_with_losses(kept, gone, list(plan.tax.values()), age))]
    overhauls = list(plan.refurbished.values())
    if asset.refurbishment is not None:
        over = straight_line_shares(asset.refurbishment.added_life / case.constants.year, len(bought))
        carried = written_off(overhauls, over)
        spent, books, tax = [[a + b for a, b in zip(x, y)] for x, y in ((spent, overhauls), (books, carried), (tax, carried))]
    return _Years(spent, books, lost, tax)


def _with_losses(
    kept: Sequence[Value], gone: Sequence[Value], shares: Sequence[Value], age: Value
) -> tuple[list[Value], list[Value]]:
    """What is written off in each year, and what is lost, of pieces that stay to the end and of those replaced at an age."""
    used, lost = shares_while_used(shares, age)
    return [a + b for a, b in zip(written_off(kept, shares), written_off(gone, used))], written_off(gone, lost)


def _expansion_years(case: Case, row: Expansion, whole: Value, start: Value) -> _Years:
    """An expansion is paid over the year before it starts, and written off from then on; it is not replaced."""
    years, begin = int(case.plan.schedule.horizon), row.time / case.constants.year
    cost = row.size * row.capital_share * whole
    parts = [smaller(1.0, larger(0.0, number + 2 - begin)) for number in range(years)]
    bought = [cost * risen * (now - before) for risen, now, before in zip(risen_prices(case, start), parts, [0.0, *parts])]
    shares = written_off(bought, [0.0, *straight_line_shares(row.life / case.constants.year, years - 1)])
    return _Years(bought, shares, [0.0 * cost] * years, shares)


def by_quarter(amounts: Sequence[Value], run: Sequence[Value]) -> Row:
    """Amounts of years of use, spread evenly over their quarters."""
    rows = [[a / QUARTERS * in_year_of_use(run, k, n) for n, a in enumerate(amounts) if k >= QUARTERS * n] for k in range(len(run))]
    return Row(sum_of(parts) for parts in rows)


def resale_at(plans: Mapping[str, AssetPlan], years: Mapping[str, UseYear], start: Value, column: int) -> Value:
    """What all equipment and other assets would sell for at the end of a quarter: between ends of years of use in proportion."""
    before = sum_of([plan.resale_new for plan in plans.values()])
    value = before
    for number, year in enumerate(years.values()):
        value = value + (year.resale - before) * smaller(1.0, larger(0.0, (column - start) / QUARTERS - number))
        before = year.resale
    return value


def expenses(case: Case, quarters: int) -> Row:
    """What capital.csv calls an expense, with the reserve, as it is paid."""
    total = sum_of([capital_amount(case, row) for row in case.capital.values() if row.treated == "expense"])
    return total * (1 + case.plan.outlay.contingency) * paid_by(case, "other", quarters).gains()
