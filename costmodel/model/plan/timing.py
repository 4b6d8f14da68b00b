"""Time in quarters from the first day of spending. Column 0 is that day, column k the quarter that ends k quarters after it.

A flow over a time acts through its share of each quarter, and counts at the end of it. A payment due at a time falls on the ends of
the quarters around it in proportion, so that a time may be any number. At 10 % a year this changes a present value by less than
0.01 %: interpolation in a straight line, with an error of at most an eighth of the square of the interest of a quarter.
"""

from __future__ import annotations

from collections.abc import Sequence

from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller
from ...core.series import Row

QUARTERS = 4  # in a year


def column_count(case: Case) -> int:
    """Columns of the plan: the first day, and each quarter of the horizon."""
    return QUARTERS * int(case.plan.schedule.horizon) + 1


def quarter_names(count: int) -> list[str]:
    """Names of the columns: q000 for the first day, q001 for the first quarter."""
    return [f"q{number:03d}" for number in range(count)]


def year_names(years: int) -> list[str]:
    """Names of the years, from y01 on."""
    return [f"y{number + 1:02d}" for number in range(years)]


def by_year(columns: Sequence[Value]) -> list:
    """The columns of each year; the first day belongs to the first year.

    >>> by_year(range(9))
    [range(0, 5), range(5, 9)]
    """
    ends = range(QUARTERS + 1, len(columns) + 1, QUARTERS)
    return [columns[(0 if end == QUARTERS + 1 else end - QUARTERS) : end] for end in ends]


def in_quarters(case: Case, time: Value) -> Value:
    """A time in quarters.

        quarters = time / (case.constants.year / QUARTERS)    [1]

    Takes: time [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0))
    >>> in_quarters(case, 1.5)
    1.5
    """
    return time / (case.constants.year / QUARTERS)


def after(begin: int, time: Value) -> Value:
    """How much of the unit of time that begins at `begin` lies after a time.

        share = smaller(1.0, larger(0.0, begin + 1 - time))    [1]

    Takes: time [1].
    Source: common practice.

    >>> [after(begin, 1.25) for begin in range(3)]
    [0.0, 0.75, 1.0]
    """
    return smaller(1.0, larger(0.0, begin + 1 - time))


def running(count: int, time: Value) -> Row:
    """How much of each quarter lies after a time, column by column; nothing of the first day.

        shares = [0.0, *[after(quarter - 1, time) for quarter in range(1, count)]]    [1]

    Takes: time [1].
    Source: common practice.

    >>> running(4, 1.25)
    [0.0, 0.0, 0.75, 1.0]
    """
    return Row([0.0, *(after(quarter - 1, time) for quarter in range(1, count))])


def due_by(count: int, time: Value) -> Row:
    """The share of a payment due at a time, in quarters, that has fallen due by the end of each column.

        share = [after(column, time) for column in range(count)]    [1]

    Takes: time [1].
    Source: common practice.

    Between two columns a part falls on each, the greater on the nearer one.

    >>> due_by(4, 0.0), due_by(4, 1.25)
    ([1.0, 1.0, 1.0, 1.0], [0.0, 0.75, 1.0, 1.0])
    """
    return Row([after(column, time) for column in range(count)])


def due(count: int, time: Value) -> Row:
    """The share of a payment due at a time, in quarters, that falls on each column.

        share = due_by(count, time).gains()    [1]

    Takes: time [1].
    Source: common practice.

    >>> due(4, 1.25)
    [0.0, 0.75, 0.25, 0.0]
    """
    return due_by(count, time).gains()


def in_year_of_use(run: Sequence[Value], quarter: int, year: int) -> Value:
    """How much of a quarter lies in a year of use, the first being 0; `run` is the running share from the start of use.

        begun = run[quarter - QUARTERS * year] if quarter >= QUARTERS * year else 0.0    [1]
        over = run[quarter - QUARTERS * (year + 1)] if quarter >= QUARTERS * (year + 1) else 0.0    [1]
        share = begun - over    [1]

    Takes: run [1].
    Source: common practice.

    >>> [in_year_of_use(running(7, 0.5), quarter, 0) for quarter in range(7)]
    [0.0, 0.5, 1.0, 1.0, 1.0, 0.5, 0.0]
    """
    first, last = quarter - QUARTERS * year, quarter - QUARTERS * (year + 1)
    return (run[first] if first >= 0 else 0.0) - (run[last] if last >= 0 else 0.0)


def risen(change: Value, quarter: int) -> Value:
    """What a price of the case has become by the middle of a quarter, at a yearly change; on the first day nothing has changed.

        factor = (1 + change) ** (larger(quarter - 0.5, 0.0) / QUARTERS)    [1]

    Takes: change [1].
    Source: common practice.

    >>> risen(0.0, 7), risen(0.5, 0)
    (1.0, 1.0)
    """
    return (1 + change) ** (max(quarter - 0.5, 0.0) / QUARTERS)


def between(case: Case, count: int, begin: Value, end: Value) -> Row:
    """How much of each quarter lies between two times from the first day.

        share = running(count, in_quarters(case, begin)) - running(count, in_quarters(case, end))    [1]

    Takes: begin [s], end [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0))
    >>> between(case, 5, 0.5, 2.0)
    [0.0, 0.5, 1.0, 0.0, 0.0]
    """
    return running(count, in_quarters(case, begin)) - running(count, in_quarters(case, end))


def spread(case: Case, count: int, begin: Value, end: Value) -> Row:
    """Shares of what is done evenly between two times, by quarter.

        first = in_quarters(case, begin)    [1]
        last = in_quarters(case, end)    [1]
        done = Row([smaller(1.0, larger(0.0, number - first) / (last - first)) for number in range(count)])    [1]
        share = done.gains()    [1]

    Takes: begin [s], end [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0))
    >>> spread(case, 5, 0.0, 2.0)
    [0.0, 0.5, 0.5, 0.0, 0.0]
    """
    first, last = in_quarters(case, begin), in_quarters(case, end)
    return Row(smaller(1.0, larger(0.0, number - first) / (last - first)) for number in range(count)).gains()


def in_term(case: Case, count: int, start: Value, term: Value) -> Row:
    """How much of each quarter lies in a time from the start of production.

        share = running(count, start) - running(count, start + in_quarters(case, term))    [1]

    Takes: start [1], term [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0))
    >>> in_term(case, 5, 0.5, 2.0)
    [0.0, 0.5, 1.0, 0.5, 0.0]
    """
    return running(count, start) - running(count, start + in_quarters(case, term))


def still_to_come(amounts: Row) -> Row:
    """What comes after each column in all.

        later = [sum_of(amounts[number + 1 :]) for number in range(len(amounts))]    [any]

    Takes: amounts [any].
    Source: common practice.

    >>> still_to_come(Row([1.0, 2.0, 4.0]))
    [6.0, 4.0, 0.0]
    """
    later = [0.0 * amounts[-1]]
    for amount in reversed(amounts[1:]):
        later.append(later[-1] + amount)
    return Row(reversed(later))
