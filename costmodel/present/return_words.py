"""A rate of return in words, or why there is none: the same in tables, sentences and documents."""

from __future__ import annotations

from collections.abc import Sequence

from ..core.rates_of_return import COST_OF_FINANCE, HALF_LOST, ONE, SEVERAL, rates_inside
from ..model.plan.plan_figures import Valuation
from ..model.plan.timing import QUARTERS
from .numbers import percent, short_return


def yearly_rates(flows: Sequence[float]) -> list[float]:
    """All rates of a year at which the present value of quarterly flows is 0, from -90 to +1,000 %."""
    return [(1 + rate) ** QUARTERS - 1 for rate in rates_inside(flows)]


def return_words(worth: Valuation, flows: Sequence[float] = ()) -> str:
    """The same for a record of the plan; with its flows, several rates and a cost of finance are stated.

    >>> from types import SimpleNamespace as W
    >>> return_words(W(irr=float("nan"), irr_status=2.0, recovered=1.3), [-100.0, 230.0, -132.0])
    'several rates: 46.4 % and 107 %'
    """
    words = short_return(worth.irr, worth.irr_status, worth.recovered)
    if worth.irr_status not in (SEVERAL, COST_OF_FINANCE) or not flows:
        return words
    return f"{words}: {' and '.join(percent(rate) for rate in yearly_rates(flows))}"


def return_clause(rate: float | None, status: float, recovered: float) -> str:
    """What a sentence says of the return that a plan has.

    >>> return_clause(0.1234, 1.0, 2.0), return_clause(None, 4.0, 0.38)
    ('an internal rate of return of 12.3 % a year', 'no internal rate of return: it recovers 38.0 % of the outlay')
    """
    if status == ONE and rate is not None:
        return f"an internal rate of return of {percent(rate)} a year"
    if status == HALF_LOST:
        return f"no internal rate of return: it recovers {percent(recovered)} of the outlay"
    return {
        SEVERAL: "several rates at which its value is 0, none of which is the return",
        COST_OF_FINANCE: "no internal rate of return: money comes first, and the rate is a cost of finance",
    }.get(status, "no internal rate of return between −90 and +1,000 % a year")
