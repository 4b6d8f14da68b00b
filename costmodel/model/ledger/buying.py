"""Bought items: what is used is added up by item first, as discounts and terms hold for the quantity of a year."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from ...case.cost_records import Buying, PriceBreak
from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, sum_of
from ..line.line_figures import Line
from .entries import Account, entry
from .landed_prices import in_money_of_the_case, in_reporting_currency, landed, metal_credit, metal_quote
from .ledger_figures import NO_LOSS, PLANT, Landed, LedgerLine


@dataclass(frozen=True, slots=True)
class Use:
    """What a step uses of an item of the price book in a year, in a unit of the kind that it is sold by.

    A credit is recovered metal, which is credited at its quote less refining.
    """

    step: str
    item: str
    driver: str
    quantity: Value
    unit: str
    credit: bool = False


Uses = Mapping[str, Use]


def discount(breaks: Iterable[PriceBreak], quantity: Value) -> Value:
    """The largest discount that a quantity of the year reaches.

        discount = largest_of([0.0, *[choose(quantity >= row.from_quantity, row.discount, 0.0) for row in breaks]])    [1]

    Takes: quantity [any].
    Source: common practice.

    >>> from costmodel.case.cost_records import PriceBreak
    >>> steps = [PriceBreak("silane", 500.0, "kg", 0.04), PriceBreak("silane", 2000.0, "kg", 0.10)]
    >>> [discount(steps, quantity) for quantity in (499.0, 500.0, 5000.0)]
    [0.0, 0.04, 0.1]
    """
    reached: Value = 0.0
    for row in breaks:
        reached = larger(reached, choose(quantity >= row.from_quantity, row.discount, 0.0))
    return reached


def quantity_paid(used: Value, terms: Buying, year: Value) -> Value:
    """Quantity paid for in a year: what is used, at least an order in each shelf life, and at least what is contracted.

        paid = larger(larger(used, terms.minimum_order * year / terms.shelf_life), terms.take_or_pay)    [any]

    Takes: used [any], year [s].
    Source: common practice.

    >>> from costmodel.case.cost_records import Buying
    >>> quantity_paid(70.0, Buying("foil", 60.0, 0.5, 100.0, "m2", 0.1), 1.0)
    120.0
    """
    return larger(larger(used, terms.minimum_order * year / terms.shelf_life), terms.take_or_pay)


def landed_prices(case: Case, uses: Uses) -> dict[str, Landed]:
    """Every item of the price book: used and paid for in the year, landed price after discount, stock on hand.

        terms = {row.item: row for row in case.buying.values()}    [any]
        metals = {row.item: row for row in case.metals.values()}    [any]
        used = {n: sum_of([use.quantity for use in uses.values() if use.item == n and not use.credit]) for n in case.prices}
        paid_for = {n: quantity_paid(used[n], terms[n], case.constants.year) if n in terms else used[n] for n in case.prices}
        discount = {n: discount([b for b in case.price_breaks.values() if b.item == n], paid_for[n]) for n in case.prices}
        metal = {n: metal_quote(case, metals[n]) if n in metals else 0.0 for n in case.prices}
        credit = {n: metal_credit(case, metals[n]) if n in metals else 0.0 for n in case.prices}
        bare = {n: landed(in_money_of_the_case(case, "prices", row), row) * (1 - discount[n]) for n, row in case.prices.items()}
            [any]
        price = {n: bare[n] + landed(metal[n], row) if n in metals else bare[n] for n, row in case.prices.items()}
        stock = {n: price[n] * paid_for[n] * terms[n].stock_time / case.constants.year if n in terms else 0.0 for n in
            case.prices}

    Source: common practice.

    The landed price is that of the price less discount, and of the quote of the metal in the item: no discount is on a quote.

    >>> from costmodel.case.demo import demo_case
    >>> found = landed_prices(demo_case(), {"a": Use("sputter", "silver_target", "film", 2.0, "kg")})["silver_target"]
    >>> found.used, found.paid_for > found.used, found.metal == metal_quote(demo_case(), demo_case().metals["silver"])
    (2.0, True, True)
    """
    by_item: dict[str, list[Value]] = {name: [] for name in case.prices}
    for use in uses.values():
        if not use.credit:
            by_item[use.item].append(use.quantity)
    terms = {row.item: row for row in case.buying.values()}
    metals = {row.item: row for row in case.metals.values()}
    found = {}
    for name, row in case.prices.items():
        used = sum_of(by_item[name])
        paid = quantity_paid(used, terms[name], case.constants.year) if name in terms else used
        off = discount([b for b in case.price_breaks.values() if b.item == name], paid)
        metal = metal_quote(case, metals[name]) if name in metals else 0.0
        price = landed(in_money_of_the_case(case, "prices", row), row) * (1 - off)
        price = price + landed(metal, row) if name in metals else price
        stock = price * paid * terms[name].stock_time / case.constants.year if name in terms else 0.0
        found[name] = Landed(
            unit=row.unit,
            used=used,
            paid_for=paid,
            discount=off,
            price=price,
            metal=metal,
            credit=metal_credit(case, metals[name]) if name in metals else 0.0,
            stock=stock,
        )
    return found


def bought_line(case: Case, line: Line, items: Mapping[str, Landed], use: Use) -> LedgerLine:
    """The ledger line of a use, at the landed price; of recovered metal, at its credit, which is negative.

        quantity = use.quantity
        price = -items[use.item].credit if use.credit else items[use.item].price

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, found = demo_case(), evaluate(demo_case())
    >>> credit = Use("sputter", "silver_target", "film", 2.0, "kg", credit=True)
    >>> bought_line(case, found.line, found.ledger.landed, credit).cost == -2 * found.ledger.landed["silver_target"].credit
    True
    """
    item = items[use.item]
    return entry(
        line,
        Account(
            step=use.step, category="materials", item=use.item, group=case.prices[use.item].group, unit=use.unit, driver=use.driver
        ),
        quantity=use.quantity,
        price=-item.credit if use.credit else item.price,
    )


def not_used_entries(case: Case, line: Line, items: Mapping[str, Landed]) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for what is paid for and not used, by minimum order or take-or-pay; no plate causes it.

        quantity = [items[row.item].paid_for - items[row.item].used for row in case.buying.values()]
        price = [items[row.item].price for row in case.buying.values()]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case())
    >>> lines = dict(not_used_entries(demo_case(), found.line, found.ledger.landed))
    >>> item = found.ledger.landed["silane"]
    >>> lines["buying.silane"].quantity == item.paid_for - item.used
    True
    """
    for name, row in case.buying.items():
        item = items[row.item]
        yield (
            f"buying.{name}",
            entry(
                line,
                Account(
                    step=PLANT,
                    category="materials",
                    item=row.item,
                    group=case.prices[row.item].group,
                    unit=item.unit,
                    driver="paid for and not used",
                ),
                quantity=item.paid_for - item.used,
                price=item.price,
                variable_share=0.0,
            ),
        )


def container_entries(case: Case, line: Line, uses: Uses) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for the rent of containers: use over content, times the stay; shared by the steps as they use the item.

        used = {name: dict([((use.step, use.driver == "module"), 0) for use in uses.values() if use.item == row.item and not
            use.credit]) for name, row in case.containers.items()}    [any]
        quantity = [sum_of([use.quantity for use in uses.values() if use.item == row.item and not use.credit and (use.step,
            use.driver == "module") == place]) / row.content * row.stay for name, row in case.containers.items() for place in
            used[name]]
        price = [in_reporting_currency(row.rent, row.currency, case.money) for name, row in case.containers.items() for place in
            used[name]]

    Source: Little's law, containers out are what goes through them times their stay.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> lines = dict(container_entries(case, line, {"a": Use("deposition", "silane", "film", 2.0, "kg")}))
    >>> row = case.containers["silane_bundle"]
    >>> list(lines), lines["containers.silane_bundle.deposition"].quantity == 2 / row.content * row.stay
    (['containers.silane_bundle.deposition'], True)
    """
    for name, row in case.containers.items():
        by_step: dict[tuple[str, bool], list[Value]] = {}
        for use in uses.values():
            if use.item == row.item and not use.credit:
                by_step.setdefault((use.step, use.driver == "module"), []).append(use.quantity)
        rent = in_reporting_currency(row.rent, row.currency, case.money)
        for (step, for_modules), quantities in by_step.items():
            yield (
                f"containers.{name}.{step}.modules" if for_modules else f"containers.{name}.{step}",
                entry(
                    line,
                    Account(
                        step=step,
                        category="materials",
                        item=name,
                        group=case.prices[row.item].group,
                        unit="container_day",
                        driver=f"use of {row.item}",
                    ),
                    quantity=sum_of(quantities) / row.content * row.stay,
                    price=rent,
                    loss=NO_LOSS if for_modules else None,
                ),
            )
