"""What the licensee pays under the licence, row by row and quarter by quarter, and how it is written off."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, larger, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..line.line_figures import Line
from . import capital
from .exchange_rates import converted
from .price_list import service_paid, service_still_due
from .royalty import Trade, least_royalty, minimum, missing_to_minimum, royalty, until_bought_out
from .timing import QUARTERS, between, by_year, due, in_quarters, spread, still_to_come
from .transfer import date_of, probability_due

ROYALTIES = ("royalty", "minimum", "minimum_due")  # streams that count as running royalty


@dataclass(frozen=True, slots=True)
class Stream:
    """Payments under one heading: their kind for withholding tax, whether they are written off over the term, and the quarters."""

    name: str
    paid_as: str
    written_off: bool
    amounts: Row


def streams(case: Case, line: Line, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """All that is paid, with what the licensee pays on top for withholding tax; nothing without a licence."""
    if not case.has_deal:
        return []
    earned = royalty(case, trade)
    found = [
        *_fees(case, line, trade),
        Stream("royalty", "licence", False, earned),
        Stream("minimum", "licence", False, missing_to_minimum(minimum(case, trade), earned, trade.use)),
        *_work(case, trade),
        *_supplies(case, assets, trade),
        *_supplied(case, trade),
        *_sublicences(case, trade),
    ]
    return [grossed_up(case, stream) for stream in found]


def grossed_up(case: Case, stream: Stream) -> Stream:
    """With what the licensee bears of the withholding tax.

        row = case.payment_kinds[stream.paid_as]    [any]
        result = Stream(stream.name, stream.paid_as, stream.written_off, stream.amounts * gross_up(row.withholding,
            row.gross_up))

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(payment_kinds={"licence": Some(withholding=0.2, gross_up=1.0)})
    >>> grossed_up(case, Stream("royalty", "licence", False, Row([8.0]))).amounts
    [10.0]
    """
    row = case.payment_kinds[stream.paid_as]
    factor = gross_up(row.withholding, row.gross_up)
    return dataclasses.replace(stream, amounts=stream.amounts * factor)


def cut(stream: Stream, shares: Row) -> Stream:
    """A share of each amount of a stream.

        result = Stream(stream.name, stream.paid_as, stream.written_off, stream.amounts * shares)

    Takes: shares [1].
    Source: common practice.

    >>> cut(Stream("minimum_due", "licence", False, Row([10.0, 20.0])), Row([1.0, 0.25])).amounts
    [10.0, 5.0]
    """
    return dataclasses.replace(stream, amounts=stream.amounts * shares)


def due_at_closing(case: Case, trade: Trade) -> list[Stream]:
    """What would fall due, should the plant close early at the end of each column: what rows that say so still have to come."""
    if not case.has_deal:
        return []
    count, found = len(trade.sales), []
    rows = [row for row in case.minimum_royalties.values() if row.after_closing == "due"]
    if rows:  # all of it is paid at closing, at the exchange rate of that day
        left = [still_to_come(until_bought_out(case, trade, least_royalty(case, row, count))) for row in rows]
        owed = [converted(case, amounts, row.currency) for amounts, row in zip(left, rows)]
        found.append(Stream("minimum_due", "licence", False, sum_of(owed)))
    for name, service in case.yearly_services.items():
        if service.after_closing == "due":
            found.append(Stream(f"service_{name}_due", service.paid_as, False, service_still_due(case, name, count)))
    return [grossed_up(case, stream) for stream in found]


def gross_up(withholding: Value, part: Value) -> Value:
    """What is paid for each unit agreed, where the licensee bears a part of the withholding tax.

        paid = 1 / (1 - part * withholding)    [1]

    Takes: withholding [1], part [1].
    Source: common practice.

    The tax is on all that is paid. Bearing all of 10 %, it pays 1 / 0.9, of which 1 arrives; bearing half, 1 and half of the tax:

    >>> gross_up(0.10, 0.0), round(gross_up(0.10, 1.0) * 0.9, 12)
    (1.0, 1.0)
    >>> paid = gross_up(0.10, 0.5)
    >>> abs(paid - 1 - 0.5 * 0.10 * paid) < 1e-12
    True
    """
    return 1 / (1 - part * withholding)


def upfront_left(case: Case) -> Value:
    """The upfront fee less what of other fees is credited against it, at the exchange rates of day one, in its currency.

        row = case.deal.licence    [any]
        own = in_reporting_currency(1.0, row.currency, case.money)    [any]
        credited = [in_reporting_currency(fee.amount * fee.probability * fee.credited, fee.currency, case.money) / own for fee
            in case.fees.values()]    [any]
        left = larger(row.upfront - sum_of([0.0 * row.upfront, *credited]), 0.0)    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> fee = Some(amount=20.0, probability=1.0, credited=0.5, currency="EUR")
    >>> licence = Some(upfront=100.0, currency="EUR")
    >>> upfront_left(Some(deal=Some(licence=licence), fees={"option": fee}, money={"eur": Some(exchange_rate=1.0)}))
    90.0
    """
    row = case.deal.licence
    own = in_reporting_currency(1.0, row.currency, case.money)
    credited = [
        in_reporting_currency(x.amount * x.probability * x.credited, x.currency, case.money) / own for x in case.fees.values()
    ]
    return larger(row.upfront - sum_of([0.0 * row.upfront, *credited]), 0.0)


def _fees(case: Case, line: Line, trade: Trade) -> list[Stream]:
    """Paid once: the upfront fee less what is credited, other fees, expansions, a buy-out."""
    row, count = case.deal.licence, len(trade.sales)

    def once(name: str, amount: Value, currency: str, quarter: Value, paid_as: str = "licence") -> Stream:
        """An amount as it falls due, if the plant is in use then."""
        paid = converted(case, amount * due(count, quarter), currency)
        return Stream(name, paid_as, True, trade.use.while_open(paid))

    added = row.expansion_fee * line.output.stabilised_watts
    return [
        once("upfront", upfront_left(case), row.currency, in_quarters(case, row.upfront_time)),
        *(
            once(f"fee_{name}", x.amount * probability_due(case, x), x.currency, in_quarters(case, date_of(case, x)), x.paid_as)
            for name, x in case.fees.items()
        ),
        *(
            once(f"expansion_{name}", added * x.size, row.currency, trade.start + in_quarters(case, x.time))
            for name, x in case.expansions.items()
        ),
        *(
            once(f"buy_out_{name}", x.amount, x.currency, trade.start + in_quarters(case, x.time))
            for name, x in case.buy_outs.items()
        ),
    ]


def short_of_minimum(case: Case, trade: Trade, paid: Sequence[Stream]) -> Row:
    """What is missing to the least royalty of a year so far, which closing before the year is over makes due.

        earned = [stream.amounts for stream in paid if stream.name == "royalty"]    [money]
        owed = grossed_up(case, Stream("minimum", "licence", False, minimum(case, trade))).amounts    [money]
        short = [larger(least.running_sum() - got.running_sum(), 0.0) for least, got in zip(by_year(owed), by_year(earned[0]
            if earned else owed))]    [money]
        missing = [amount for year in short for amount in [*year[:-1], 0.0 * year[-1]]]    [money]

    Source: common practice.

    `paid` are the streams of the trade, with the royalty among them; nothing is missing where there are none.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(amount=10.0, begin=0.0, end=9.0, currency="EUR")
    >>> case = Some(minimum_royalties={"a": row}, buy_outs={}, currency="EUR", money={"eur": Some(exchange_rate=1.0)})
    >>> case.constants, case.payment_kinds = Some(year=4.0), {"licence": Some(withholding=0.0, gross_up=0.0)}
    >>> none = Row([0.0] * 5)
    >>> paid = [Stream("royalty", "licence", False, Row([0.0, 4.0, 4.0, 4.0, 4.0]))]
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> short_of_minimum(case, Trade(0.0, none, none, none, to_the_end(5)), paid)
    [0.0, 6.0, 12.0, 18.0, 0.0]
    """
    earned = next((stream.amounts for stream in paid if stream.name == "royalty"), None)
    if earned is None:
        return 0.0 * trade.sales
    owed = grossed_up(case, Stream("minimum", "licence", False, minimum(case, trade))).amounts
    found: list[Value] = []
    for least, got in zip(by_year(owed), by_year(earned)):
        short = larger(least.running_sum() - got.running_sum(), 0.0)
        found += [*short[:-1], 0.0 * short[-1]]
    return Row(found)


def _work(case: Case, trade: Trade) -> list[Stream]:
    """Work of the licensor that is paid for by itself, while the plant is in use."""
    count, found = len(trade.sales), []
    for name, row in case.deliveries.items():
        done = spread(case, count, row.begin, row.end)
        paid = trade.use.while_open(converted(case, row.price * done, row.currency))
        found.append(Stream(f"delivery_{name}", row.paid_as, False, paid))
    for name, service in case.yearly_services.items():
        by_column = trade.use.while_open(service_paid(case, name, count))
        found.append(Stream(f"service_{name}", service.paid_as, False, by_column))
    return found


def _supplies(case: Case, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """Margins on what comes through the licensor."""
    count, found = len(trade.sales), []
    paid = capital.paid_by(case, "equipment", count).gains()
    for name, row in case.supplies.items():
        if row.covers == "materials":
            amounts = row.part * row.margin * trade.materials
        else:
            value = sum_of([0.0 * trade.sales[0], *[asset.price for asset in assets if asset.covers == row.covers]])
            amounts = trade.use.while_open(row.part * row.margin * value * paid)
        found.append(Stream(f"supply_{name}", row.paid_as, row.covers != "materials", amounts))
    return found


def _supplied(case: Case, trade: Trade) -> list[Stream]:
    """What is paid above the second source for materials that the licensor supplies item by item."""
    rows = case.supplied_materials
    return [Stream(f"supplied_{name}", rows[name].paid_as, False, each.above) for name, each in trade.supplied.items()]


def sublicence_income(case: Case, count: int) -> dict[str, Row]:
    """What sublicences may be expected to bring the licensee, by quarter.

        quarter = case.constants.year / QUARTERS    [s]
        result = {name: converted(case, row.income * row.probability * quarter * between(case, count, row.begin, row.end),
            row.currency) for name, row in case.sublicences.items()}    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(income=10.0, probability=0.5, begin=1.0, end=2.0, currency="EUR")
    >>> case = Some(sublicences={"b": row}, currency="EUR", money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=4.0))
    >>> sublicence_income(case, 4)
    {'b': [0.0, 0.0, 5.0, 0.0]}
    """
    found = {}
    for name, row in case.sublicences.items():
        amount = row.income * row.probability * case.constants.year / QUARTERS
        found[name] = converted(case, amount * between(case, count, row.begin, row.end), row.currency)
    return found


def _sublicences(case: Case, trade: Trade) -> list[Stream]:
    share = case.deal.licence.sublicence_share
    return [
        Stream(f"sublicence_{name}", "licence", False, trade.use.while_open(share * incomes))
        for name, incomes in sublicence_income(case, len(trade.sales)).items()
    ]
