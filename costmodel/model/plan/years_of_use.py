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
    """Years of use of the plan, when they end, and until when what wears out is replaced.

        years = int(case.plan.schedule.horizon)    [1]
        end = years - start / QUARTERS    [1]
        last = end - in_years(case, case.plan.schedule.last_replacement)    [1]

    Takes: start [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(schedule=Some(horizon=10.0, last_replacement=8.0)), constants=Some(year=4.0))
    >>> time_of_replacements(case, 6.0)
    Use(years=10, end=8.5, last=6.5)
    """
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
    """An asset that is bought once; a share of its price comes back whenever use ends.

        back = asset.sold_at * asset.end_share    [money]
        cost = asset.cost
        bought = [asset.cost, *constant(0.0 * asset.cost, use.years - 1)]
        replaced_later = dict()
        refurbished = dict()
        books = shares[0]
        tax = shares[1]
        resale_new = back
        resale = constant(back, use.years)

    Takes: shares [1].
    Source: common practice.

    >>> land = Asset("a", "land", "other", 50.0, 50.0, 50.0, 0.0, end_share=0.5)
    >>> plan = kept_to_the_end(land, Use(2, 2.0, 1.0), ({}, {}))
    >>> plan.bought, plan.resale
    ({'y01': 50.0, 'y02': 0.0}, {'y01': 25.0, 'y02': 25.0})
    """
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
    """Equipment that is replaced, or refurbished first, at the prices of that time.

        row = asset.refurbishment    [any]
        counts = replaced(use, asset.technical_life, in_years(case, row.added_life) if row else None)    [any]
        prices = asset.price * rise    [money]
        again = prices * each_year(counts.so_far)    [money]
        parts = parts_replaced(counts)    [1]
        inflation = case.plan.returns.inflation * case.constants.year    [1]
        decline = case.plan.outlay.resale_decline * case.constants.year    [1]
        age = replacement_age(case, asset)    [1]
        left = [resale_share(number + 1.0, count, age, case.plan.outlay.resale_share, decline) for number, count in
            enumerate(counts.so_far)]    [1]
        cost = asset.cost
        bought = [asset.cost + again[0], *again[1:]]
        replaced_later = [asset.cost * parts[0], *[price * part for price, part in zip(prices[1:], parts[1:])]]
        refurbished = prices * row.cost * each_year(counts.refurbished) if row else dict()
        books = shares[0]
        tax = shares[1]
        resale_new = asset.sold_at * rise[0] * case.plan.outlay.resale_share
        resale = asset.sold_at * rise * (1 + inflation) * Row(left)

    Takes: rise [1], shares [1].
    Source: common practice.

    A tool of 100 that is replaced once, after two years, and sells for half when new, without decline:

    >>> from types import SimpleNamespace as Some
    >>> tool = Asset("a", "tools", "equipment", 100.0, 100.0, 80.0, 5.0, 2.0)
    >>> case = Some(plan=Some(returns=Some(inflation=0.0), outlay=Some(resale_share=0.5, resale_decline=0.0)))
    >>> case.constants = Some(year=4.0)
    >>> plan = replaced_when_worn_out(case, tool, Use(4, 4.0, 4.0), Row([1.0] * 4), ({}, {}))
    >>> list(plan.bought.values()), list(plan.resale.values())
    ([100.0, 0.0, 100.0, 0.0], [40.0, 40.0, 40.0, 40.0])
    """
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
    """Years after which a piece is replaced: its technical life, and what an overhaul adds to it.

        age = asset.technical_life + (in_years(case, asset.refurbishment.added_life) if asset.refurbishment else 0.0)    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> tool = Asset("a", "tools", "equipment", 100.0, 100.0, 80.0, 5.0, 8.0, Some(added_life=12.0))
    >>> replacement_age(Some(constants=Some(year=4.0)), tool)
    11.0
    """
    if asset.refurbishment is None:
        return asset.technical_life
    return asset.technical_life + in_years(case, asset.refurbishment.added_life)


def risen_prices(case: Case, start: Value) -> Row:
    """What a price has become at the start of each year of use, with inflation.

        inflation = case.plan.returns.inflation * case.constants.year    [1]
        factors = [(1 + inflation) ** (start / QUARTERS + number) for number in range(int(case.plan.schedule.horizon))]    [1]

    Takes: start [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(returns=Some(inflation=0.5), schedule=Some(horizon=2.0)), constants=Some(year=1.0))
    >>> risen_prices(case, 4.0)
    [1.5, 2.25]
    """
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
    """Replacements, and depreciation of all assets and expansions, by year of use.

        whole = sum_of([asset.price for asset in found])    [money]
        rows = [*[asset_years(case, asset, plans[asset.name]) for asset in found], *[expansion_years(case, row, whole, start)
            for row in case.expansions.values()]]    [any]
        resale = sum_of([Row(plan.resale.values()) for plan in plans.values()])
        replaced = sum_of([row.spent for row in rows])
        books = sum_of([row.books for row in rows])
        lost = sum_of([row.lost for row in rows])
        tax = sum_of([row.tax for row in rows])

    Takes: start [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> land = Asset("a", "land", "other", 50.0, 50.0, 50.0, 0.0, end_share=0.5)
    >>> shares = {"y01": 0.0, "y02": 0.0}
    >>> plan = kept_to_the_end(land, Use(2, 2.0, 1.0), (shares, shares))
    >>> years_of_use(Some(expansions={}), [land], {"a": plan}, 0.0)["y02"]
    UseYear(replaced=0.0, books=0.0, lost=0.0, tax=0.0, resale=25.0)
    """
    rows = [asset_years(case, asset, plans[asset.name]) for asset in found]
    whole = sum_of([asset.price for asset in found])
    rows += [expansion_years(case, row, whole, start) for row in case.expansions.values()]
    resale = sum_of([Row(plan.resale.values()) for plan in plans.values()])
    spent, books, lost, tax = (sum_of([getattr(row, name) for row in rows]) for name in ("spent", "books", "lost", "tax"))
    columns = zip(year_names(len(resale)), spent, books, lost, tax, resale)
    return {name: UseYear(replaced=a, books=b, lost=c, tax=d, resale=e) for name, a, b, c, d, e in columns}


def asset_years(case: Case, asset: Asset, plan: AssetPlan) -> Years:
    """Written off over the accounting life; what is left when a piece is replaced is lost then, in the books and for tax.

        bought = Row(plan.bought.values())    [money]
        gone = Row(plan.replaced_later.values()) if plan.replaced_later else 0.0 * bought    [money]
        age = replacement_age(case, asset) if plan.replaced_later else 0.0    [1]
        of_books = with_losses(bought - gone, gone, Row(plan.books.values()), age)    [money]
        of_tax = with_losses(bought - gone, gone, Row(plan.tax.values()), age)    [money]
        overhaul = Row(plan.refurbished.values()) if plan.refurbished else 0.0 * bought    [money]
        life = in_years(case, asset.refurbishment.added_life) if plan.refurbished else 1.0    [1]
        carried = written_off(overhaul, straight_line_shares(life, len(bought)))    [money]
        spent = Row([bought[0] - plan.cost, *bought[1:]]) + overhaul    [money]
        books = of_books[0] + carried    [money]
        lost = of_books[1]    [money]
        tax = of_tax[0] + of_tax[1] + carried    [money]

    Source: common practice.

    100 over two years, replaced after the first for as much; the first loses half of its book value:

    >>> from types import SimpleNamespace as Some
    >>> tool = Asset("a", "tools", "equipment", 100.0, 100.0, 80.0, 2.0, 1.0)
    >>> shares = {"y01": 0.5, "y02": 0.5}
    >>> bought, gone = {"y01": 100.0, "y02": 100.0}, {"y01": 100.0, "y02": 0.0}
    >>> plan = AssetPlan(100.0, bought, gone, {}, shares, shares, {}, 0.0)
    >>> asset_years(Some(constants=Some(year=4.0)), tool, plan)
    Years(spent=[0.0, 100.0], books=[50.0, 50.0], lost=[0.0, 50.0], tax=[50.0, 100.0])
    """
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

        amounts = [sum_of([purchases[k] * shares[number - k] for k in range(number + 1)]) for number in range(len(purchases))]
            [any]

    Takes: purchases [any], shares [1].
    Source: common practice.

    >>> written_off([100.0, 0.0, 50.0], [0.5, 0.5, 0.0])
    [50.0, 50.0, 25.0]
    """
    years = range(len(purchases))
    return Row(sum_of([purchases[k] * shares[number - k] for k in range(number + 1)]) for number in years)


def with_losses(kept: Row, gone: Row, shares: Row, age: Value) -> tuple[Row, Row]:
    """What is written off in each year, and what is lost, of pieces that stay to the end and of those replaced at an age.

        used, left = shares_while_used(shares, age)    [1, 1]
        amounts, lost = written_off(kept, shares) + written_off(gone, used), written_off(gone, left)    [money, money]

    Takes: kept [money], gone [money], shares [1], age [1].
    Source: common practice.

    100 over two years that are replaced after the first lose half; another 100 stay:

    >>> with_losses(Row([0.0, 100.0]), Row([100.0, 0.0]), Row([0.5, 0.5]), 1.0)
    ([50.0, 50.0], [0.0, 50.0])
    """
    used, lost = shares_while_used(shares, age)
    return written_off(kept, shares) + written_off(gone, used), written_off(gone, lost)


def expansion_years(case: Case, row: Expansion, whole: Value, start: Value) -> Years:
    """An expansion is paid over the year before it starts, and written off from then on; it is not replaced.

        years = int(case.plan.schedule.horizon)    [1]
        cost = row.size * row.capital_share * whole    [money]
        paid = Row([smaller(1.0, larger(0.0, number + 2 - in_years(case, row.time))) for number in range(years)])    [1]
        spent = cost * risen_prices(case, start) * paid.gains()    [money]
        books = written_off(spent, [0.0, *straight_line_shares(in_years(case, row.life), years - 1)])    [money]
        lost = constant(0.0 * cost, years)    [money]
        tax = books    [money]

    Takes: whole [money], start [1].
    Source: common practice.

    An expansion by half at 80 % of the cost of 100, after two years; paid in the second, written off over the two after it:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(schedule=Some(horizon=4.0), returns=Some(inflation=0.0)), constants=Some(year=4.0))
    >>> expansion_years(case, Some(size=0.5, capital_share=0.8, time=8.0, life=8.0), 100.0, 0.0)
    Years(spent=[0.0, 40.0, 0.0, 0.0], books=[0.0, 0.0, 20.0, 20.0], lost=[0.0, 0.0, 0.0, 0.0], tax=[0.0, 0.0, 20.0, 20.0])
    """
    years, begin = int(case.plan.schedule.horizon), in_years(case, row.time)
    cost = row.size * row.capital_share * whole
    paid = Row(smaller(1.0, larger(0.0, number + 2 - begin)) for number in range(years))
    bought = cost * risen_prices(case, start) * paid.gains()
    shares = written_off(bought, [0.0, *straight_line_shares(in_years(case, row.life), years - 1)])
    return Years(bought, shares, constant(0.0 * cost, years), shares)


def by_quarter(amounts: Sequence[Value], run: Sequence[Value]) -> Row:
    """Amounts of years of use, spread evenly over their quarters.

        parts = [[amount / QUARTERS * in_year_of_use(run, quarter, year) for year, amount in enumerate(amounts)] for quarter
            in range(len(run))]    [any]
        amounts by quarter = [sum_of(each) for each in parts]    [any]

    Takes: amounts [any], run [1].
    Source: common practice.

    >>> by_quarter([40.0, 80.0], [0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    [0.0, 0.0, 10.0, 10.0, 10.0, 10.0, 20.0]
    """
    rows = [[a / QUARTERS * in_year_of_use(run, k, n) for n, a in enumerate(amounts) if k >= QUARTERS * n] for k in range(len(run))]
    return Row(sum_of(parts) for parts in rows)
