"""Capital: what the plant costs, when it is paid, and what all of it would sell for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...case.plan_records import Capital, Land, Refurbishment
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.equipment import pieces
from ..ledger.landed_prices import in_reporting_currency
from ..line.line_figures import Line
from .plan_figures import AssetPlan, UseYear
from .timing import QUARTERS, due_by, in_quarters

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
    year = case.constants.year
    overhauls = {(row.covers, row.equipment): row for row in case.refurbishments.values()}
    found = []
    for piece in pieces(case, line):
        price = with_reserve(case, piece.cost)
        lives = (in_years(case, piece.life), in_years(case, piece.technical_life))
        kind, overhaul = "systems" if piece.table == "facilities" else "equipment", overhauls.get((piece.table, piece.name))
        name = f"{piece.table}_{piece.name}"
        found.append(Asset(name, piece.table, kind, price, without_grant(case, price), piece.price, *lives, overhaul))
    for name, row in case.capital.items():
        if row.treated == "asset":
            price, life = with_reserve(case, capital_amount(case, row)), in_years(case, row.life)
            cost = without_grant(case, price)
            found.append(Asset(f"capital_{name}", "capital", "other", price, cost, price, life, end_share=row.end_share))
    for name, plot in case.land.items():
        price, none, back = capital_amount(case, plot), in_years(case, 0.0 * year), plot.end_share
        found.append(Asset(f"land_{name}", "land", "other", price, price, price, none, end_share=back, stays_in_books=True))
    return found


def with_reserve(case: Case, amount: Value) -> Value:
    """The price of an asset with the reserve for what is not foreseen.

        price = amount * (1 + case.plan.outlay.contingency)    [money]

    Takes: amount [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> with_reserve(Some(plan=Some(outlay=Some(contingency=0.5))), 100.0)
    150.0
    """
    return amount * (1 + case.plan.outlay.contingency)


def without_grant(case: Case, price: Value) -> Value:
    """What an asset of the first plant costs after the grant.

        cost = price * (1 - case.plan.outlay.grant)    [money]

    Takes: price [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> without_grant(Some(plan=Some(outlay=Some(grant=0.25))), 100.0)
    75.0
    """
    return price * (1 - case.plan.outlay.grant)


def in_years(case: Case, time: Value) -> Value:
    """A time in years.

        years = time / case.constants.year    [1]

    Takes: time [s].
    Source: definition.

    >>> from types import SimpleNamespace as Some
    >>> in_years(Some(constants=Some(year=4.0)), 6.0)
    1.5
    """
    return time / case.constants.year


def capital_amount(case: Case, row: Capital | Land) -> Value:
    """An amount of capital.csv or land.csv in the reporting currency."""
    return in_reporting_currency(row.amount, row.currency, case.money)


def paid_by(case: Case, kind: str, quarters: int, later: Value = 0.0) -> Row:
    """The share of the capital of a kind that is paid by the end of each quarter, or so much later.

        rows = [row for row in case.payments.values() if row.covers == kind]    [any]
        shares = [row.part * due_by(quarters, in_quarters(case, row.time + later)) for row in rows]    [1]
        share = sum_of(shares) if shares else constant(0.0, quarters)    [1]

    Takes: later [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> rows = {"a": Some(covers="other", part=0.5, time=0.0), "b": Some(covers="other", part=0.5, time=1.5)}
    >>> paid_by(Some(payments=rows, constants=Some(year=4.0)), "other", 3)
    [0.5, 0.75, 1.0]
    """
    rows = [row for row in case.payments.values() if row.covers == kind]
    shares = [row.part * due_by(quarters, in_quarters(case, row.time + later)) for row in rows]
    return sum_of(shares) if shares else constant(0.0, quarters)


def nothing(found: Sequence[Asset]) -> Value:
    """Zero in money, for a sum over nothing.

        zero = 0.0 * found[0].cost    [money]

    Source: common practice.

    >>> nothing([Asset("a", "tools", "equipment", 120.0, 100.0, 90.0, 5.0)])
    0.0
    """
    return 0.0 * found[0].cost


def cost_of_kind(found: Sequence[Asset], kind: str) -> Value:
    """What all assets of a kind cost.

        cost = sum_of([nothing(found), *[asset.cost for asset in found if asset.paid_as == kind]])    [money]

    Source: common practice.

    >>> assets = [Asset("a", "tools", "equipment", 120.0, 100.0, 90.0, 5.0), Asset("b", "land", "other", 50.0, 50.0, 50.0, 0.0)]
    >>> cost_of_kind(assets, "equipment"), cost_of_kind(assets, "systems")
    (100.0, 0.0)
    """
    return sum_of([nothing(found), *[asset.cost for asset in found if asset.paid_as == kind]])


def spent(found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Capital as it is paid, by the share of each kind that is paid by the end of each column.

        amount = sum_of([cost_of_kind(found, kind) * shares.gains() for kind, shares in paid.items()])    [money]

    Takes: paid [1].
    Source: common practice.

    >>> assets = [Asset("a", "tools", "equipment", 120.0, 100.0, 90.0, 5.0), Asset("b", "land", "other", 50.0, 50.0, 50.0, 0.0)]
    >>> spent(assets, {"equipment": Row([0.5, 0.75, 1.0]), "other": Row([1.0, 1.0, 1.0])})
    [100.0, 25.0, 25.0]
    """
    return sum_of([cost_of_kind(found, kind) * shares.gains() for kind, shares in paid.items()])


def unpaid(found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Capital still to be paid at the end of each column.

        amount = sum_of([cost_of_kind(found, kind) * (1 - shares) for kind, shares in paid.items()])    [money]

    Takes: paid [1].
    Source: common practice.

    >>> assets = [Asset("a", "tools", "equipment", 120.0, 100.0, 90.0, 5.0), Asset("b", "land", "other", 50.0, 50.0, 50.0, 0.0)]
    >>> unpaid(assets, {"equipment": Row([0.5, 0.75, 1.0]), "other": Row([1.0, 1.0, 1.0])})
    [50.0, 25.0, 0.0]
    """
    return sum_of([cost_of_kind(found, kind) * (1 - shares) for kind, shares in paid.items()])


def vat_owed(case: Case, found: Sequence[Asset], paid: Mapping[str, Row]) -> Row:
    """Value added tax paid at the border and not yet paid back.

        kinds = KINDS[:2]    [any]
        prices = [sum_of([nothing(found), *[asset.price for asset in found if asset.paid_as == kind]]) for kind in kinds]
            [money]
        back = [paid_by(case, kind, len(paid[kind]), case.plan.outlay.vat_return_time) for kind in kinds]    [1]
        owed = sum_of([case.plan.outlay.import_vat * price * (paid[kind] - returned) for kind, price, returned in zip(kinds,
            prices, back)])    [money]

    Takes: paid [1].
    Source: common practice.

    20 % on a price of 120, paid on the first day and back after two quarters:

    >>> from types import SimpleNamespace as Some
    >>> assets = [Asset("a", "tools", "equipment", 120.0, 100.0, 90.0, 5.0), Asset("b", "land", "other", 50.0, 50.0, 50.0, 0.0)]
    >>> case = Some(plan=Some(outlay=Some(import_vat=0.25, vat_return_time=2.0)), constants=Some(year=4.0))
    >>> case.payments = {"a": Some(covers="equipment", part=1.0, time=0.0)}
    >>> vat_owed(case, assets, {kind: paid_by(case, kind, 3) for kind in KINDS})
    [30.0, 30.0, 0.0]
    """
    open_ = []
    for kind in KINDS[:2]:
        price = sum_of([nothing(found), *[asset.price for asset in found if asset.paid_as == kind]])
        back = paid_by(case, kind, len(paid[kind]), case.plan.outlay.vat_return_time)
        open_.append(case.plan.outlay.import_vat * price * (paid[kind] - back))
    return sum_of(open_)


def resale(plans: Mapping[str, AssetPlan], years: Mapping[str, UseYear], start: Value, count: int) -> Row:
    """What all equipment and other assets would sell for at the end of each quarter: between ends of years of use in proportion.

        ends = [sum_of([plan.resale_new for plan in plans.values()]), *[year.resale for year in years.values()]]    [money]
        passed = [[smaller(1.0, larger(0.0, (column - start) / QUARTERS - number)) for number in range(len(years))] for column
            in range(count)]    [1]
        price = [sum_of([ends[0], *[(now - before) * part for now, before, part in zip(ends[1:], ends, parts)]]) for parts in
            passed]    [money]

    Takes: start [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> plans, years = {"a": Some(resale_new=100.0)}, {"y01": Some(resale=80.0), "y02": Some(resale=60.0)}
    >>> resale(plans, years, 0.0, 9)
    [100.0, 95.0, 90.0, 85.0, 80.0, 75.0, 70.0, 65.0, 60.0]
    """
    new = sum_of([plan.resale_new for plan in plans.values()])
    ends = [new, *(year.resale for year in years.values())]
    changes = [now - before for now, before in zip(ends[1:], ends)]
    prices = []
    for column in range(count):
        price, passed = new, (column - start) / QUARTERS
        for number, change in enumerate(changes[: -(-column // QUARTERS)]):  # of later years nothing has passed
            price = price + change * smaller(1.0, larger(0.0, passed - number))
        prices.append(price)
    return Row(prices)


def expenses(case: Case, quarters: int) -> Row:
    """What capital.csv calls an expense, with the reserve, as it is paid.

        total = sum_of([capital_amount(case, row) for row in case.capital.values() if row.treated == "expense"])    [money]
        amount = total * (1 + case.plan.outlay.contingency) * paid_by(case, "other", quarters).gains()    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(capital={"permits": Some(treated="expense", amount=100.0, currency="EUR")}, constants=Some(year=4.0))
    >>> case.plan, case.money = Some(outlay=Some(contingency=0.5)), {"eur": Some(exchange_rate=1.0)}
    >>> case.payments = {"a": Some(covers="other", part=1.0, time=1.0)}
    >>> expenses(case, 3)
    [0.0, 150.0, 0.0]
    """
    total = sum_of([capital_amount(case, row) for row in case.capital.values() if row.treated == "expense"])
    return total * (1 + case.plan.outlay.contingency) * paid_by(case, "other", quarters).gains()
