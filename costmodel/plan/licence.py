"""What the licensee pays under the licence, row by row and quarter by quarter, and how it is written off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..case.deal_records import YearlyService
from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..line.records import Line
from ..operations import Value, larger, safe_divide, smaller, sum_of
from . import capital
from .timing import QUARTERS, by_year, due, in_quarters, risen, running, steps


@dataclass(frozen=True, slots=True)
class Stream:
    """Payments under one heading: their kind for tax at source, whether they are written off over the term, and the quarters."""

    name: str
    paid_as: str
    written_off: bool
    amounts: list[Value]


@dataclass(frozen=True, slots=True)
class Trade:
    """What payments go by: the start of production, and by quarter net sales, watts, and the materials used."""

    start: Value
    sales: list[Value]
    watts: list[Value]
    materials: list[Value]


def streams(case: Case, line: Line, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """All that is paid, with what the licensee pays on top for tax at source; nothing without a licence."""
    if case.licence is None:
        return []
    earned = royalty(case, trade)
    found = [
        *_fees(case, line, trade),
        Stream("royalty", "licence", False, earned),
        Stream("minimum", "licence", False, missing_to_minimum(minimum(case, trade), earned)),
        *_work(case, trade),
        *_supplies(case, assets, trade),
        *_sublicences(case, len(trade.sales)),
    ]
    factors = {name: gross_up(row.withholding, row.gross_up) for name, row in case.payment_kinds.items()}
    return [Stream(x.name, x.paid_as, x.written_off, [amount * factors[x.paid_as] for amount in x.amounts]) for x in found]


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
    row, count = case.licence, len(trade.sales)

    def once(name: str, amount: Value, quarter: Value, paid_as: str = "licence") -> Stream:
        """An amount in the quarter in which it falls due."""
        return Stream(name, paid_as, True, [amount * share for share in due(count, quarter)])

    amounts = {name: in_reporting_currency(x.amount * x.chance, x.currency, case.money) for name, x in case.fees.items()}
    credited = sum_of([amounts[name] * x.credited for name, x in case.fees.items()])
    upfront = larger(in_reporting_currency(row.upfront, row.currency, case.money) - credited, 0.0)
    added = in_reporting_currency(row.expansion_fee, row.currency, case.money) * line.output.stabilised_watts
    return [
        once("upfront", upfront, in_quarters(case, row.upfront_time)),
        *(once(f"fee_{name}", amounts[name], in_quarters(case, x.time), x.paid_as) for name, x in case.fees.items()),
        *(
            once(f"expansion_{name}", added * x.size, trade.start + in_quarters(case, x.time))
            for name, x in case.expansions.items()
        ),
        *(
            once(
                f"buy_out_{name}",
                in_reporting_currency(x.amount, x.currency, case.money),
                trade.start + in_quarters(case, x.time),
            )
            for name, x in case.buy_outs.items()
        ),
    ]


def _royalty_time(case: Case) -> Value:
    """How long after the start of production royalty is paid: its term, or until it is bought out."""
    time = case.licence.term
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
    row, count = case.licence, len(trade.sales)
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
        wanted = factor * (row.royalty * base + per_watt * made * risen(change, number))
        earned.append(safe_divide(part, ran[number]) * smaller(wanted, row.royalty_cap * base))
    return earned


def minimum(case: Case, trade: Trade) -> list[Value]:
    """The least royalty of each quarter; none once it is bought out."""
    count = len(trade.sales)
    free = [running(count, trade.start + in_quarters(case, x.time)) for x in case.buy_outs.values()]
    owed = [0.0 * sold for sold in trade.sales]
    for row in case.minimum_royalties.values():
        amount = in_reporting_currency(row.amount, row.currency, case.money) * case.constants.year / QUARTERS
        shares = _between(case, count, row.begin, row.end)
        owed = [so_far + amount * share for so_far, share in zip(owed, shares)]
    return [amount * (1 - sum_of([ended[number] for ended in free])) for number, amount in enumerate(owed)]


def missing_to_minimum(owed: Sequence[Value], earned: Sequence[Value]) -> list[Value]:
    """What is missing to the least royalty of each year, paid in its last quarter.

    >>> missing_to_minimum([0.0] + [10.0] * 4 + [0.0] * 4, [0.0, 0.0, 5.0, 5.0, 6.0, 9.0, 9.0, 9.0, 9.0])[4:9]
    [24.0, 0.0, 0.0, 0.0, 0.0]
    """
    missing: list[Value] = []
    for least, got in zip(by_year(owed), by_year(earned)):
        missing += [*([0.0 * least[0]] * (len(least) - 1)), larger(sum_of(least) - sum_of(got), 0.0)]
    return missing


def _work(case: Case, trade: Trade) -> list[Stream]:
    """Work of the licensor that is paid for by itself."""
    count, found = len(trade.sales), []
    for name, row in case.deliveries.items():
        price = in_reporting_currency(row.price, row.currency, case.money)
        found.append(Stream(f"delivery_{name}", row.paid_as, False, [price * x for x in spread(case, count, row.begin, row.end)]))
    for name, row in case.yearly_services.items():
        found.append(Stream(f"service_{name}", row.paid_as, False, yearly(case, row, row.price, count)))
    return found


def yearly(case: Case, row: YearlyService, amount: Value, count: int) -> list[Value]:
    """An amount a year of a yearly service, by quarter, as it changes."""
    each = in_reporting_currency(amount, row.currency, case.money) * case.constants.year / QUARTERS
    change = row.change * case.constants.year
    return [each * share * risen(change, number) for number, share in enumerate(_between(case, count, row.begin, row.end))]


def _supplies(case: Case, assets: Sequence[capital.Asset], trade: Trade) -> list[Stream]:
    """Margins on what comes through the licensor."""
    count, found = len(trade.sales), []
    paid = steps(capital.paid_by(case, "equipment", count))
    for name, row in case.supplies.items():
        if row.covers == "materials":
            amounts = [row.part * row.margin * used for used in trade.materials]
        else:
            value = sum_of([0.0 * trade.sales[0], *[asset.price for asset in assets if asset.covers == row.covers]])
            amounts = [row.part * row.margin * value * share for share in paid]
        found.append(Stream(f"supply_{name}", row.paid_as, row.covers != "materials", amounts))
    return found


def sublicence_income(case: Case, count: int) -> dict[str, list[Value]]:
    """What sublicences may be expected to bring the licensee, by quarter."""
    found = {}
    for name, row in case.sublicences.items():
        amount = in_reporting_currency(row.income * row.chance, row.currency, case.money) * case.constants.year / QUARTERS
        found[name] = [amount * share for share in _between(case, count, row.begin, row.end)]
    return found


def _sublicences(case: Case, count: int) -> list[Stream]:
    return [
        Stream(f"sublicence_{name}", "licence", False, [case.licence.sublicence_share * income for income in incomes])
        for name, incomes in sublicence_income(case, count).items()
    ]


def fee_written_off(paid: Sequence[Value], shares: Sequence[Value]) -> tuple[list[Value], list[Value]]:
    """What is written off in each quarter, and what is left: evenly over what remains of the term, whenever it was paid.

    >>> fee_written_off([12.0, 0.0, 0.0, 2.0, 0.0], [0.0, 1.0, 1.0, 1.0, 0.0])
    ([0.0, 4.0, 4.0, 6.0, 0.0], [12.0, 8.0, 4.0, 0.0, 0.0])
    """
    remaining = [sum_of(shares[number:]) for number in range(len(shares))]
    gone: list[Value] = []
    left: list[Value] = []
    for amount, share, rest in zip(paid, shares, remaining):
        value = (left[-1] if left else 0.0 * amount) + amount
        gone.append(value * safe_divide(share, rest))
        left.append(value - gone[-1])
    return gone, left
