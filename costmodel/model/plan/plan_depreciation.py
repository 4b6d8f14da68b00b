"""What is written off, and lost by replacement, in each year of use of the plant, the first beginning with production."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...case.plan_records import Expansion
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.depreciation import straight_line_shares
from .capital import Asset, in_years
from .closing_time import Use
from .plan_figures import AssetPlan, UseYear
from .replacement import shares_while_used
from .timing import QUARTERS, in_year_of_use, year_names
from .years_of_use import replacement_age, risen_prices


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
    >>> plan = AssetPlan(50.0, {"y01": 50.0, "y02": 0.0}, {}, {}, shares, shares, {"y01": 25.0, "y02": 25.0}, 25.0)
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
    bought, parts, years = tuple(purchases), tuple(shares), range(len(purchases))  # tuples, as these are read most
    return Row(sum_of([bought[k] * parts[number - k] for k in range(number + 1)]) for number in years)


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
    ran, quarters, parts = tuple(run), range(len(run)), [amount / QUARTERS for amount in amounts]
    rows = [[part * in_year_of_use(ran, k, n) for n, part in enumerate(parts) if k >= QUARTERS * n] for k in quarters]
    return Row(sum_of(each) for each in rows)


def fee_written_off(paid: Row, shares: Row, use: Use) -> tuple[Row, Row]:
    """What is written off in each quarter, and what is left: evenly over what remains of the term, whenever it was paid.

        rest = [sum_of(shares[number:]) for number in range(len(shares) + 1)]    [1]
        stays = use.open.later(0.0)    [1]
        parts = [[choose(rest[begin] > 0, safe_divide(rest[number + 1], rest[begin]), 1.0) for begin in range(number + 1)] for
            number in range(len(paid))]    [1]
        left = [still * sum_of([paid[begin] * part for begin, part in enumerate(each)]) for still, each in zip(stays, parts)]
            [money]
        values = [before + amount for before, amount in zip([0.0 * paid[0], *left], paid)]    [money]
        written off, value left = [value * safe_divide(share, after) for value, share, after in zip(values, shares, rest)],
            left    [money, money]

    Takes: paid [money], shares [1].
    Source: common practice.

    What is left when use ends is not carried on: it is lost in the books then, and written off for tax. So is what was paid after
    the term.

    >>> fee_written_off(Row([12.0, 0.0, 0.0, 2.0, 3.0]), Row([0.0, 1.0, 1.0, 1.0, 0.0]), Use(Row([1.0] * 5), True, Row([])))
    ([0.0, 4.0, 4.0, 6.0, 0.0], [12.0, 8.0, 4.0, 0.0, 0.0])
    >>> closed = Use(Row([1.0, 1.0, 0.0, 0.0]), False, Row([]))
    >>> fee_written_off(Row([12.0, 0.0, 0.0, 0.0]), Row([0.0, 1.0, 1.0, 1.0]), closed)
    ([0.0, 4.0, 0.0, 0.0], [12.0, 0.0, 0.0, 0.0])
    """
    remaining = [sum_of(shares[number:]) for number in range(len(shares))]
    gone: list[Value] = []
    left: list[Value] = []
    for amount, share, rest, stays in zip(paid, shares, remaining, use.open.later(0.0)):
        value = (left[-1] if left else 0.0 * amount) + amount
        gone.append(value * safe_divide(share, rest))
        left.append((value - gone[-1]) * stays)
    return Row(gone), Row(left)
