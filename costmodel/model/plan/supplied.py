"""Materials that the licensor supplies item by item: how much, at which price, and what the second source would charge."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ...case.supplied_records import SuppliedMaterial
from ...case.whole_case import Case
from ...core.operations import Value, choose, smaller, sum_of
from ...core.series import Row
from ..ledger.ledger_figures import Ledger, LedgerLine
from .exchange_rates import converted
from .operation import cost_rises
from .timing import QUARTERS, between, risen
from .volume import Volumes


@dataclass(frozen=True, slots=True)
class Supply:
    """A supplied material by column: what is used and supplied of it, the licensor's price, that of the second source."""

    used: Row
    quantity: Row
    price: Row
    second_price: Row

    @property
    def above(self) -> Row:
        """What is paid above the second source; minus: below it.

        above = self.quantity * (self.price - self.second_price)    [money]
        """
        return self.quantity * (self.price - self.second_price)


def item_used(lines: Iterable[LedgerLine], item: str, used: Value, volumes: Volumes) -> Row:
    """What the plant uses of an item in each quarter: as plates are started, or as modules are made where it counts by these.

        for_good = sum_of([0.0 * used, *[x.quantity for x in lines if x.category == "materials" and x.item == item and x.driver
            == "module"]])    [any]
        amounts = ((used - for_good) * volumes.started + for_good * volumes.good) / QUARTERS    [any]

    Takes: used [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(category="materials", item="box", driver="module", quantity=40.0)
    >>> full = Volumes(Row([0.0, 1.0]), Row([0.0, 0.5]), Row([1.0, 1.0]))
    >>> item_used([line], "box", 100.0, full)
    [0.0, 20.0]
    """
    own = [x.quantity for x in lines if x.category == "materials" and x.item == item and x.driver == "module"]
    for_good = sum_of([0.0 * used, *own])
    return ((used - for_good) * volumes.started + for_good * volumes.good) / QUARTERS


def price_of_supply(case: Case, row: SuppliedMaterial, amount: Value, count: int) -> Row:
    """A price or cost of a supplied material by quarter, as it changes, in the reporting currency.

        factors = Row([risen(row.change * case.constants.year, number) for number in range(count)])    [1]
        prices = converted(case, amount * factors, row.currency)    [any]

    Takes: amount [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=1.0))
    >>> price_of_supply(case, Some(change=0.0, currency="EUR"), 3.0, 2)
    [3.0, 3.0]
    """
    factors = Row(risen(row.change * case.constants.year, number) for number in range(count))
    return converted(case, amount * factors, row.currency)


def bought_of_licensor(case: Case, row: SuppliedMaterial, used: Row, price: Row, second_price: Row) -> Row:
    """What is bought of the licensor: up to its most, all while the licensee is bound, and then only while it is no dearer.

        bound = between(case, len(used), row.begin, row.free_from)    [1]
        free = between(case, len(used), row.free_from, row.end)    [1]
        chosen = choose(price <= second_price, 1.0, 0.0)    [1]
        quantity = smaller(used, row.most / QUARTERS) * (bound + free * chosen)    [any]

    Takes: used [any], price [any], second_price [any].
    Source: common practice.

    Bound for two quarters, then free; the licensor's price is above that of the second source in the third:

    >>> from types import SimpleNamespace as Some
    >>> case, row = Some(constants=Some(year=4.0)), Some(begin=0.0, free_from=2.0, end=9.0, most=40.0)
    >>> bought_of_licensor(case, row, Row([0.0, 8.0, 20.0, 8.0, 8.0]), Row([3.0] * 5), Row([2.0, 2.0, 2.0, 2.0, 4.0]))
    [0.0, 8.0, 10.0, 0.0, 8.0]
    """
    bound, free = (between(case, len(used), *times) for times in ((row.begin, row.free_from), (row.free_from, row.end)))
    chosen = choose(price <= second_price, 1.0, 0.0)
    return smaller(used, row.most / QUARTERS) * (bound + free * chosen)


def supplied(case: Case, ledger: Ledger, volumes: Volumes, learnt: Row) -> dict[str, Supply]:
    """Each material that the licensor supplies, by column. The second source charges what the plan counts for the item.

        rise = Row([cost_rises(case, "materials", len(learnt))[k] for k in range(len(learnt))])    [1]
        rows = case.supplied_materials.values()    [any]
        used = [item_used(ledger.lines.values(), row.item, ledger.landed[row.item].used, volumes) for row in rows]    [any]
        price = [price_of_supply(case, row, row.price, len(learnt)) for row in rows]    [any]
        second_price = [ledger.landed[row.item].price * rise * learnt for row in rows]    [any]
        quantity = [bought_of_licensor(case, row, amounts, own, other) for row, amounts, own, other in zip(rows, used, price,
            second_price)]    [any]

    Takes: learnt [1].
    Source: common practice.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> plan = evaluate(load_case("inputs_demo/facade")).plan
    >>> rows = plan.supplied["targets"]
    >>> all(rows.quantity[name] <= rows.used[name] for name in rows.used)
    True
    """
    found = {}
    for name, row in case.supplied_materials.items():
        item, count = ledger.landed[row.item], len(learnt)
        used = item_used(ledger.lines.values(), row.item, item.used, volumes)
        price = price_of_supply(case, row, row.price, count)
        second = item.price * cost_rises(case, "materials", count) * learnt
        quantity = bought_of_licensor(case, row, used, price, second)
        found[name] = Supply(used=used, quantity=quantity, price=price, second_price=second)
    return found
