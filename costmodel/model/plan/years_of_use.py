"""What is bought, replaced and overhauled in each year of use of the plant, and what it would sell for then."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.series import Row, constant
from ..ledger.depreciation import book_method, book_shares, tax_shares
from .capital import Asset, in_years
from .plan_figures import AssetPlan
from .replacement import Use, each_year, parts_replaced, replaced, resale_share
from .timing import QUARTERS, year_names


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
