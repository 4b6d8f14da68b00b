"""What is bought, replaced, overhauled and written off in each year of use of the plant, the first beginning with production."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...case.plan_records import Expansion
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.depreciation import book_method, book_shares, straight_line_shares, tax_shares
from .capital import Asset, in_years
from .plan_figures import AssetPlan, UseYear
from .replacement import Use, each_year, parts_replaced, replaced, resale_share, shares_while_used
from .timing import QUARTERS, in_year_of_use, year_names


def time_of_replacements(case: Case, start: Value) -> Use:
    """Years of use of the plan, when they end, and until when what wears out is replaced."""
    years = int(case.plan.schedule.horizon)
    end = years - start / QUARTERS
    return Use(years, end, end - in_years(case, case.plan.schedule.last_replacement))


def asset_plans(case: Case, found: Sequence[Asset], start: Value) -> dict[str, AssetPlan]:
    """Purchases and shares written off of every asset, by year of use.

    Assets of one table share the schedule that tax gives it.
    """
    use, rise = time_of_replacements(case, start), risen_prices(case, start)
    given = {row.covers for row in case.tax_depreciation.values()}
    for_class: dict[str, dict[str, Value]] = {}
    plans = {}
    for asset in found:
        method = book_method(case, asset.covers)
        shares = constant(0.0, use.years) if asset.stays_in_books else book_shares(method, asset.life, use.years)
        books = tax = dict(zip(year_names(use.years), shares))
        if asset.covers in given:
            if asset.covers not in for_class:
                shares = tax_shares(case, asset.covers, asset.life, use.years)
                for_class[asset.covers] = dict(zip(year_names(use.years), shares))
            tax = for_class[asset.covers]
        if asset.technical_life is None:
            plans[asset.name] = kept_to_the_end(asset, use, (books, tax))
        else:
            plans[asset.name] = replaced_when_worn_out(case, asset, use, rise, (books, tax))
    return plans


def kept_to_the_end(asset: Asset, use: Use, shares: tuple[dict[str, Value], dict[str, Value]]) -> AssetPlan:
    """An asset that is bought once; a share of its price comes back whenever use ends."""
    names, nothing, back = year_names(use.years), 0.0 * asset.cost, asset.sold_at * asset.end_share
    return AssetPlan(
        cost=asset.cost,
        bought=dict(zip(names, [asset.cost, *constant(nothing, use.years - 1)])),
        replaced_later={},
        refurbished={},
        books=shares[0],
        tax=shares[1],
        resale_new=back,
        resale=dict(zip(names, constant(back, use.years))),
    )


def replaced_when_worn_out(
    case: Case, asset: Asset, use: Use, rise: Row, shares: tuple[dict[str, Value], dict[str, Value]]
) -> AssetPlan:
    """Equipment that is replaced, or refurbished first, at the prices of that time."""
    names, row, outlay = year_names(use.years), asset.refurbishment, case.plan.outlay
    counts = replaced(use, asset.technical_life, in_years(case, row.added_life) if row else None)
    prices = asset.price * rise
    again = prices * each_year(counts.so_far)
    first, *later = parts_replaced(counts)
    inflation, decline = case.plan.returns.inflation * case.constants.year, outlay.resale_decline * case.constants.year
    age, new = replacement_age(case, asset), outlay.resale_share
    worth = Row(resale_share(number + 1.0, count, age, new, decline) for number, count in enumerate(counts.so_far))
    spent = prices * row.cost * each_year(counts.refurbished) if row else Row([])
    return AssetPlan(
        cost=asset.cost,
        bought=dict(zip(names, [asset.cost + again[0], *again[1:]])),
        replaced_later=dict(zip(names, [asset.cost * first, *(prices[1:] * Row(later))])),
        refurbished=dict(zip(names, spent)),
        books=shares[0],
        tax=shares[1],
        resale_new=asset.sold_at * rise[0] * new,
        resale=dict(zip(names, asset.sold_at * rise * (1 + inflation) * worth)),
    )


def replacement_age(case: Case, asset: Asset) -> Value:
    """Years after which a piece is replaced: its technical life, and what an overhaul adds to it."""
    if asset.refurbishment is None:
        return asset.technical_life
    return asset.technical_life + in_years(case, asset.refurbishment.added_life)


def risen_prices(case: Case, start: Value) -> Row:
    """What a price has become at the start of each year of use, with inflation."""
    inflation = case.plan.returns.inflation * case.constants.year
    return Row((1 + inflation) ** (start / QUARTERS + number) for number in range(int(case.plan.schedule.horizon)))


@dataclass(frozen=True, slots=True)
class Years:
    """Money of an asset by year of use: spent after the first purchase, written off, lost by replacement, written off for tax."""

    spent: Row
    books: Row
    lost: Row
    tax: Row


def years_of_use(case: Case, found: Sequence[Asset], plans: Mapping[str, AssetPlan], start: Value) -> dict[str, UseYear]:
    """Replacements, and depreciation of all assets and expansions, by year of use."""
    rows = [asset_years(case, asset, plans[asset.name]) for asset in found]
    whole = sum_of([asset.price for asset in found])
    rows += [expansion_years(case, row, whole, start) for row in case.expansions.values()]
    resale = sum_of([Row(plan.resale.values()) for plan in plans.values()])
    spent, books, lost, tax = (sum_of([getattr(row, name) for row in rows]) for name in ("spent", "books", "lost", "tax"))
    columns = zip(year_names(len(resale)), spent, books, lost, tax, resale)
    return {name: UseYear(replaced=a, books=b, lost=c, tax=d, resale=e) for name, a, b, c, d, e in columns}


def asset_years(case: Case, asset: Asset, plan: AssetPlan) -> Years:
    """Written off over the accounting life; what is left when a piece is replaced is lost then, in the books and for tax."""
    bought, gone = Row(plan.bought.values()), Row(plan.replaced_later.values())
    of_books, of_tax = Row(plan.books.values()), Row(plan.tax.values())
    spent = Row([bought[0] - plan.cost, *bought[1:]])
    if asset.technical_life is None:
        books = written_off(bought, of_books)
        tax = books if plan.tax is plan.books else written_off(bought, of_tax)
        return Years(spent, books, constant(0.0 * plan.cost, len(bought)), tax)
    age, kept = replacement_age(case, asset), bought - gone
    books, lost = with_losses(kept, gone, of_books, age)
    used, lost_for_tax = (books, lost) if plan.tax is plan.books else with_losses(kept, gone, of_tax, age)
    tax = used + lost_for_tax
    if asset.refurbishment is not None:
        overhauls = Row(plan.refurbished.values())
        over = straight_line_shares(in_years(case, asset.refurbishment.added_life), len(bought))
        carried = written_off(overhauls, over)
        return Years(spent + overhauls, books + carried, lost, tax + carried)
    return Years(spent, books, lost, tax)


def written_off(purchases: Sequence[Value], shares: Sequence[Value]) -> Row:
    """What purchases of each year of use write off in each year.

    >>> written_off([100.0, 0.0, 50.0], [0.5, 0.5, 0.0])
    [50.0, 50.0, 25.0]
    """
    years = range(len(purchases))
    return Row(sum_of([purchases[k] * shares[number - k] for k in range(number + 1)]) for number in years)


def with_losses(kept: Row, gone: Row, shares: Row, age: Value) -> tuple[Row, Row]:
    """What is written off in each year, and what is lost, of pieces that stay to the end and of those replaced at an age."""
    used, lost = shares_while_used(shares, age)
    return written_off(kept, shares) + written_off(gone, used), written_off(gone, lost)


def expansion_years(case: Case, row: Expansion, whole: Value, start: Value) -> Years:
    """An expansion is paid over the year before it starts, and written off from then on; it is not replaced."""
    years, begin = int(case.plan.schedule.horizon), in_years(case, row.time)
    cost = row.size * row.capital_share * whole
    paid = Row(smaller(1.0, larger(0.0, number + 2 - begin)) for number in range(years))
    bought = cost * risen_prices(case, start) * paid.gains()
    shares = written_off(bought, [0.0, *straight_line_shares(in_years(case, row.life), years - 1)])
    return Years(bought, shares, constant(0.0 * cost, years), shares)


def by_quarter(amounts: Sequence[Value], run: Sequence[Value]) -> Row:
    """Amounts of years of use, spread evenly over their quarters."""
    rows = [[a / QUARTERS * in_year_of_use(run, k, n) for n, a in enumerate(amounts) if k >= QUARTERS * n] for k in range(len(run))]
    return Row(sum_of(parts) for parts in rows)
