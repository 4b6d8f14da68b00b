"""Time in quarters from the first day of spending; times act through the share of each quarter, so they may be any number."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.records import Case
from ..operations import Value, larger, smaller

QUARTERS = 4  # in a year


def quarter_names(count: int) -> list[str]:
    """Names of the quarters, from q001 on."""
    return [f"q{number + 1:03d}" for number in range(count)]


def year_names(years: int) -> list[str]:
    """Names of the years, from y01 on."""
    return [f"y{number + 1:02d}" for number in range(years)]


def in_quarters(case: Case, time: Value) -> Value:
    """A time in quarters."""
    return time / (case.constants.year / QUARTERS)


def after(quarter: int, time: Value) -> Value:
    """How much of a quarter lies after a time.

    >>> [after(quarter, 1.25) for quarter in range(3)]
    [0.0, 0.75, 1.0]
    """
    return smaller(1.0, larger(0.0, quarter + 1 - time))


def running(quarters: int, time: Value) -> list[Value]:
    """How much of each quarter lies after a time; a payment due then is paid by these shares in all."""
    return [after(quarter, time) for quarter in range(quarters)]


def steps(shares: Sequence[Value]) -> list[Value]:
    """What a running share gains in each quarter.

    >>> steps([0.0, 0.75, 1.0])
    [0.0, 0.75, 0.25]
    """
    return [now - before for now, before in zip(shares, [0.0, *shares])]


def cumulative(flows: Sequence[Value]) -> list[Value]:
    """Running sums.

    >>> cumulative([-2.0, 1.0, 3.0])
    [-2.0, -1.0, 2.0]
    """
    sums, so_far = [], 0.0
    for flow in flows:
        so_far = so_far + flow
        sums.append(so_far)
    return sums


def in_year_of_use(run: Sequence[Value], quarter: int, year: int) -> Value:
    """How much of a quarter lies in a year of use, the first being 0; `run` is the running share from the start of use.

    >>> [in_year_of_use(running(6, 0.5), quarter, 0) for quarter in range(6)]
    [0.5, 1.0, 1.0, 1.0, 0.5, 0.0]
    """
    first, last = quarter - QUARTERS * year, quarter - QUARTERS * (year + 1)
    return (run[first] if first >= 0 else 0.0) - (run[last] if last >= 0 else 0.0)


def risen(change: Value, quarter: int) -> Value:
    """What a price of the case has become by the middle of a quarter, at a yearly change.

    >>> risen(0.0, 7)
    1.0
    """
    return (1 + change) ** ((quarter + 0.5) / QUARTERS)
