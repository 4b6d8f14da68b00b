"""Figures whose definition differs from book to book: by our convention, and by others."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..model.plan.timing import QUARTERS


def at_year_ends(flows: Sequence[float]) -> list[float]:
    """Flows of quarters as flows of the first day and of the ends of years.

    Takes: flows [any].
    Source: textbooks of engineering economy; Turton et al., Analysis, Synthesis and Design of Chemical Processes, ch. 9.

    >>> at_year_ends([-10.0, 1.0, 1.0, 1.0, 2.0, 0.0, 0.0, 0.0, 7.0])
    [-10.0, 5.0, 7.0]
    """
    return [flows[0], *(math.fsum(flows[end - QUARTERS + 1 : end + 1]) for end in range(QUARTERS, len(flows), QUARTERS))]


def value_of(flows: Sequence[float], rate: float, shift: float = 0.0) -> float:
    """Present value of the first flow today and the others after each period, `shift` periods earlier than its end.

    Takes: flows [any], rate [1], shift [1].
    Source: common practice.

    >>> value_of([-100.0, 121.0], 0.21), round(value_of([0.0, 121.0], 0.21, 0.5), 9)
    (0.0, 110.0)
    """
    later = (flow / (1 + rate) ** (number - shift) for number, flow in enumerate(flows[1:], 1))
    return math.fsum([flows[0], *later])


def time_to_recover(amount: float, flows: Sequence[float]) -> float:
    """Periods until flows of the periods, even within each, add up to an amount; NaN if they never do.

    Takes: amount [any], flows [any].
    Source: Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., section 10.2.

    >>> time_to_recover(150.0, [100.0, 100.0]), time_to_recover(150.0, [100.0])
    (1.5, nan)
    """
    left = amount
    for number, flow in enumerate(flows):
        if flow > 0 and flow >= left:
            return number + max(left, 0.0) / flow
        left -= flow
    return math.nan
