"""What the licensee pays under the licence, row by row and quarter by quarter, and how it is written off."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from ...case.deal_records import MinimumRoyalty, YearlyService
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, smaller, sum_of
from ..ledger.prices import in_reporting_currency
from ..line.line_figures import Line
from . import capital
from .exchange import converted, moved
from .time_of_use import Use
from .timing import QUARTERS, by_year, cumulative, due, in_quarters, risen, running, steps

ROYALTIES = ("royalty", "minimum", "minimum_due")  # streams that count as running royalty


@dataclass(frozen=True, slots=True)
class Stream:
    """Payments under one heading: their kind for tax at source, whether they are written off over the term, and the quarters."""

    name: str
    paid_as: str
    written_off: bool
    amounts: list[Value]


@dataclass(frozen=True, slots=True)
class Trade:
    """What payments go by: start of production; net sales, watts and materials used by column; how long the plant is in use."""

    start: Value
    sales: list[Value]
    watts: list[Value]
    materials: list[Value]
    use: Use


def streams(case: Case, line: Line, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """All that is paid, with what the licensee pays on top for tax at source; nothing without a licence."""
    if not case.has_deal:
        return []
    earned = royalty(case, trade)
    found = [
        *_fees(case, line, trade),
        Stream("royalty", "licence", False, earned),
        Stream("minimum", "licence", False, missing_to_minimum(minimum(case, trade), earned, trade.use)),
        *_work(case, trade),
        *_supplies(case, assets, trade),
        *_sublicences(case, trade),
    ]
    return [_grossed_up(case, stream) for stream in found]


def _grossed_up(case: Case, stream: Stream) -> Stream:
    """With what the licensee bears of the withholding tax."""
    row = case.payment_kinds[stream.paid_as]
    factor = gross_up(row.withholding, row.gross_up)
    return dataclasses.replace(stream, amounts=[amount * factor for amount in stream.amounts])


def cut(stream: Stream, shares: Sequence[Value]) -> Stream:
    """A share of each amount of a stream."""
    return dataclasses.replace(stream, amounts=[amount * share for amount, share in zip(stream.amounts, shares)])


def due_at_closing(case: Case, trade: Trade) -> list[Stream]:
    """What would fall due, should the plant close early at the end of each column: what rows that say so still have to come."""
    if not case.has_deal:
        return []
    count, found = len(trade.sales), []
    rows = [row for row in case.minimum_royalties.values() if row.after_closing == "due"]
    if rows:  # all of it is paid at closing, at the exchange rate of that day
        left = [still_to_come(_until_bought_out(case, trade, _least(case, row, count))) for row in rows]
        owed = [converted(case, amounts, row.currency) for amounts, row in zip(left, rows)]
        found.append(Stream("minimum_due", "licence", False, [sum_of(parts) for parts in zip(*owed)]))
    for name, row in case.yearly_services.items():
        if row.after_closing == "due":
            left = converted(case, still_to_come(_each_year(case, row, row.price, count)), row.currency)
            found.append(Stream(f"service_{name}_due", row.paid_as, False, left))
    return [_grossed_up(case, stream) for stream in found]


def still_to_come(amounts: Sequence[Value]) -> list[Value]:
    """What comes after each column in all.

    >>> still_to_come([1.0, 2.0, 4.0])
    [6.0, 4.0, 0.0]
    """
    later = [0.0 * amounts[-1]]
    for amount in reversed(amounts[1:]):
        later.append(later[-1] + amount)
    return later[::-1]


def gross_up(withholding: Value, part: Value) -> Value:
    """What is paid for each unit agreed, where the licensee bears a part of the tax at source.

    The tax is on all that is paid. Bearing all of 10 %, it pays 1 / 0.9, of which 1 arrives; bearing half, 1 and half of the tax:

    >>> gross_up(0.10, 0.0), round(gross_up(0.10, 1.0) * 0.9, 12)
    (1.0, 1.0)
    >>> paid = gross_up(0.10, 0.5)
    >>> abs(paid - 1 - 0.5 * 0.10 * paid) < 1e-12
    True
    """
    return 1 / (1 - part * withholding)


def _between(case: Case, count: int, begin: Value, end: Value) -> list[Value]:
    """How much of each quarter lies between two times from the first day."""
    return [now - over for now, over in zip(running(count, in_quarters(case, begin)), running(count, in_quarters(case, end)))]


def spread(case: Case, count: int, begin: Value, end: Value) -> list[Value]:
    """Shares of what is done evenly between two times, by quarter."""
    first, last = in_quarters(case, begin), in_quarters(case, end)
    return steps([smaller(1.0, larger(0.0, number - first) / (last - first)) for number in range(count)])


def _fees(case: Case, line: Line, trade: Trade) -> list[Stream]:
    """Paid once: the upfront fee less what is credited, other fees, expansions, a buy-out."""
    row, count = case.deal.licence, len(trade.sales)

    def once(name: str, amount: Value, currency: str, quarter: Value, paid_as: str = "licence") -> Stream:
        """An amount as it falls due, if the plant is in use then."""
        paid = converted(case, [amount * share for share in due(count, quarter)], currency)
        return Stream(name, paid_as, True, trade.use.while_open(paid))

    own = in_reporting_currency(1.0, row.currency, case.money)  # a credit is at the exchange rates of day one
    credited = [
        in_reporting_currency(x.amount * x.probability * x.credited, x.currency, case.money) / own for x in case.fees.values()
    ]
    upfront = larger(row.upfront - sum_of([0.0 * row.upfront, *credited]), 0.0)
    added = row.expansion_fee * line.output.stabilised_watts
    return [
        once("upfront", upfront, row.currency, in_quarters(case, row.upfront_time)),
        *(
            once(f"fee_{name}", x.amount * x.probability, x.currency, in_quarters(case, x.time), x.paid_as)
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


def _royalty_time(case: Case) -> Value:
    """How long after the start of production royalty is paid: its term, or until it is bought out."""
    time = case.deal.licence.term
    for row in case.buy_outs.values():
        time = smaller(time, row.time)
    return time


def in_term(case: Case, count: int, start: Value, term: Value) -> list[Value]:
    """How much of each quarter lies in a time from the start of production."""
    ended = running(count, start + in_quarters(case, term))
    return [now - over for now, over in zip(running(count, start), ended)]


def royalty(case: Case, trade: Trade) -> list[Value]:
    """Running royalty earned: on net sales and on watts, as steps change it, not above the cap.

    All sales of the quarter in which production starts are of its part after the start.
    """
    row, count = case.deal.licence, len(trade.sales)
    ran = running(count, trade.start)
    per_watt = in_reporting_currency(row.royalty_per_watt, row.currency, case.money)
    change, paid = row.per_watt_change * case.constants.year, in_term(case, count, trade.start, _royalty_time(case))
    factors = [1.0, *(x.factor for x in case.royalty_steps.values())]
    moves = [now - before for now, before in zip(factors[1:], factors)]
    after = [running(count, trade.start + in_quarters(case, x.time)) for x in case.royalty_steps.values()]
    earned = []
    for number, (part, sold, made) in enumerate(zip(paid, trade.sales, trade.watts)):
        factor = 1.0 + sum_of([move * safe_divide(share[number], ran[number]) for move, share in zip(moves, after)])
        base = row.net_sales * sold
        wanted = factor * (row.royalty * base + per_watt * made * risen(change, number) * moved(case, row.currency, number))
        earned.append(safe_divide(part, ran[number]) * smaller(wanted, row.royalty_cap * base))
    return earned


def _least(case: Case, row: MinimumRoyalty, count: int) -> list[Value]:
    """The least royalty of a row, by column, in its currency."""
    amount = row.amount * case.constants.year / QUARTERS
    return [amount * share for share in _between(case, count, row.begin, row.end)]


def _until_bought_out(case: Case, trade: Trade, owed: Sequence[Value]) -> list[Value]:
    """Minimums end with a buy-out."""
    free = [running(len(owed), trade.start + in_quarters(case, x.time)) for x in case.buy_outs.values()]
    return [amount * (1 - sum_of([ended[number] for ended in free])) for number, amount in enumerate(owed)]


def minimum(case: Case, trade: Trade) -> list[Value]:
    """The least royalty of each quarter while the plant is in use; none once it is bought out."""
    owed = [0.0 * sold for sold in trade.sales]
    for row in case.minimum_royalties.values():
        least = converted(case, _least(case, row, len(owed)), row.currency)
        owed = [so_far + amount for so_far, amount in zip(owed, least)]
    return trade.use.while_open(_until_bought_out(case, trade, owed))


def missing_to_minimum(owed: Sequence[Value], earned: Sequence[Value], use: Use) -> list[Value]:
    """What is missing to the least royalty of each year, paid in its last quarter, or in the quarter in which the plant closes.

    >>> owed, earned = [0.0] + [10.0] * 4 + [0.0] * 4, [0.0, 0.0, 5.0, 5.0, 6.0, 9.0, 9.0, 9.0, 9.0]
    >>> missing_to_minimum(owed, earned, Use([1.0] * 9, True, []))[4:]
    [24.0, 0.0, 0.0, 0.0, 0.0]
    >>> closed = Use([1.0] * 3 + [0.0] * 6, False, [])
    >>> missing_to_minimum(closed.while_open(owed), closed.while_open(earned), closed)[:5]
    [0.0, 0.0, 15.0, 0.0, 0.0]
    """
    missing: list[Value] = []
    ends = use.early([1.0] * len(owed))
    for least, got, ended, still in zip(by_year(owed), by_year(earned), by_year(ends), by_year(use.open)):
        short = larger(sum_of(least) - sum_of(got), 0.0)
        missing += [*(short * end for end in ended[:-1]), short * still[-1]]
    return missing


def short_of_minimum(case: Case, trade: Trade, paid: Sequence[Stream]) -> list[Value]:
    """What is missing to the least royalty of a year so far, which closing before the year is over makes due.

    `paid` are the streams of the trade, with the royalty among them; nothing is missing where there are none.
    """
    earned = next((stream.amounts for stream in paid if stream.name == "royalty"), None)
    if earned is None:
        return [0.0 * sold for sold in trade.sales]
    owed = _grossed_up(case, Stream("minimum", "licence", False, minimum(case, trade))).amounts
    found: list[Value] = []
    for least, got in zip(by_year(owed), by_year(earned)):
        short = [larger(due_now - had, 0.0) for due_now, had in zip(cumulative(least), cumulative(got))]
        found += [*short[:-1], 0.0 * short[-1]]
    return found


def _work(case: Case, trade: Trade) -> list[Stream]:
    """Work of the licensor that is paid for by itself, while the plant is in use."""
    count, found = len(trade.sales), []
    for name, row in case.deliveries.items():
        done = spread(case, count, row.begin, row.end)
        paid = trade.use.while_open(converted(case, [row.price * share for share in done], row.currency))
        found.append(Stream(f"delivery_{name}", row.paid_as, False, paid))
    for name, row in case.yearly_services.items():
        found.append(Stream(f"service_{name}", row.paid_as, False, trade.use.while_open(yearly(case, row, row.price, count))))
    return found


def yearly(case: Case, row: YearlyService, amount: Value, count: int) -> list[Value]:
    """An amount a year of a yearly service, by quarter, as it changes."""
    return converted(case, _each_year(case, row, amount, count), row.currency)


def _each_year(case: Case, row: YearlyService, amount: Value, count: int) -> list[Value]:
    """The same in the currency of the row."""
    each, change = amount * case.constants.year / QUARTERS, row.change * case.constants.year
    shares = _between(case, count, row.begin, row.end)
    return [each * share * risen(change, number) for number, share in enumerate(shares)]


def _supplies(case: Case, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """Margins on what comes through the licensor."""
    count, found = len(trade.sales), []
    paid = steps(capital.paid_by(case, "equipment", count))
    for name, row in case.supplies.items():
        if row.covers == "materials":
            amounts = [row.part * row.margin * used for used in trade.materials]
        else:
            value = sum_of([0.0 * trade.sales[0], *[asset.price for asset in assets if asset.covers == row.covers]])
            amounts = trade.use.while_open([row.part * row.margin * value * share for share in paid])
        found.append(Stream(f"supply_{name}", row.paid_as, row.covers != "materials", amounts))
    return found


def sublicence_income(case: Case, count: int) -> dict[str, list[Value]]:
    """What sublicences may be expected to bring the licensee, by quarter."""
    found = {}
    for name, row in case.sublicences.items():
        amount = row.income * row.probability * case.constants.year / QUARTERS
        shares = _between(case, count, row.begin, row.end)
        found[name] = converted(case, [amount * share for share in shares], row.currency)
    return found


def _sublicences(case: Case, trade: Trade) -> list[Stream]:
    share = case.deal.licence.sublicence_share
    return [
        Stream(f"sublicence_{name}", "licence", False, trade.use.while_open([share * x for x in incomes]))
        for name, incomes in sublicence_income(case, len(trade.sales)).items()
    ]


def fee_written_off(paid: Sequence[Value], shares: Sequence[Value], use: Use) -> tuple[list[Value], list[Value]]:
    """What is written off in each quarter, and what is left: evenly over what remains of the term, whenever it was paid.

    What is left when use ends is not carried on.

    >>> fee_written_off([12.0, 0.0, 0.0, 2.0, 0.0], [0.0, 1.0, 1.0, 1.0, 0.0], Use([1.0] * 5, True, []))
    ([0.0, 4.0, 4.0, 6.0, 0.0], [12.0, 8.0, 4.0, 0.0, 0.0])
    >>> fee_written_off([12.0, 0.0, 0.0, 0.0], [0.0, 1.0, 1.0, 1.0], Use([1.0, 1.0, 0.0, 0.0], False, []))
    ([0.0, 4.0, 0.0, 0.0], [12.0, 0.0, 0.0, 0.0])
    """
    remaining = [sum_of(shares[number:]) for number in range(len(shares))]
    gone: list[Value] = []
    left: list[Value] = []
    for amount, share, rest, stays in zip(paid, shares, remaining, [*use.open[1:], 0.0]):
        value = (left[-1] if left else 0.0 * amount) + amount
        gone.append(value * safe_divide(share, rest))
        left.append(value - gone[-1] if use.to_the_end else (value - gone[-1]) * stays)
    return gone, left
