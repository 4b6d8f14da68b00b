"""Who loses what as module prices fall, by form of royalty: on sales, for a watt, and on sales with a minimum."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..case.addresses import replaced
from ..case.deal_records import MinimumRoyalty
from ..case.records import Case
from ..model import evaluate
from ..units import to_base
from .sides import ROYALTY, Gains, Sides, reach, solve

FALLS = (0.0, 0.05, 0.10, 0.15)
MINIMUM_PART = 0.5  # of the royalty that the plan gives in the median year of the term; 30 to 60 % is common practice
PER_WATT = "licence.royalty_per_watt"
MINIMUM = "minimum_royalties.all_along.amount"
FORMS = ("on sales", "for a watt", "on sales, with a minimum")
STEEPEST = 0.5  # yearly fall of prices up to which a crossing is looked for


@dataclass(frozen=True, slots=True)
class PricePaths:
    """Gains of both sides by form of royalty under yearly falls of all prices, in the reporting currency.

    `per_watt` is the royalty for a watt (base units of the licence's currency) that is worth to the licensor what the offer's is
    at the prices of the plan, `minimum` the least royalty of a year. `crossing` is the yearly fall from which a royalty for a watt
    is worth more to the licensor than one on sales; `stops` the fall at which the licensee gains no more, by form; NaN for none.
    """

    falls: tuple[float, ...]
    gains: dict[str, Gains]
    royalty: float
    per_watt: float
    minimum: float
    crossing: float
    stops: dict[str, float]


def price_paths(case: Case, falls: tuple[float, ...] = FALLS) -> PricePaths:
    """The three forms under each fall; no cap, and no other minimum than that of the third.

    >>> from costmodel.case.load import load_case
    >>> found = price_paths(load_case("inputs_demo/facade"))
    >>> [bool(found.gains["for a watt"].licensor[3] > found.gains["on sales"].licensor[3])]
    [True]
    """
    offered = float(evaluate(case).deal.licensor.gain)
    begin = case.schedule.build_time
    row = MinimumRoyalty("minimum", 0.0, case.currency, begin, begin + case.licence.term, "stops")  # all along the term
    plain = replace(case, minimum_royalties={"all_along": row})
    plain = replaced(plain, {PER_WATT: 0.0, "licence.royalty_cap": 1.0})
    changes = [f"sales.{name}.change" for name in case.sales]
    sides = Sides(plain, [ROYALTY, PER_WATT, MINIMUM, *changes])
    royalty = _equal(lambda x: sides.gains({ROYALTY: x}).licensor - offered, 1.0)

    def by_watt(amount):
        """What the licensor gains by a royalty for a watt alone, above what the offer gives."""
        return sides.gains({ROYALTY: 0.0, PER_WATT: amount}).licensor - offered

    per_watt = _equal(by_watt, reach(by_watt, 0.0, 1.0))
    usual = [year.earned for year in evaluate(replaced(plain, {ROYALTY: royalty})).deal.years.values() if year.earned > 0]
    minimum = MINIMUM_PART * float(np.median(usual)) if usual else 0.0
    forms = dict(zip(FORMS, (
        {ROYALTY: royalty},
        {ROYALTY: 0.0, PER_WATT: per_watt},
        {ROYALTY: royalty, MINIMUM: minimum / to_base("year")},
    )))  # fmt: skip

    def at(form: str, fall) -> Gains:
        """Gains of a form with all prices falling alike."""
        found = sides.gains({**forms[form], **{address: -fall / to_base("year") for address in changes}})
        return Gains(found.licensor + 0.0 * fall, found.licensee + 0.0 * fall)

    return PricePaths(
        falls=falls,
        gains={form: at(form, np.array(falls)) for form in FORMS},
        royalty=royalty,
        per_watt=per_watt,
        minimum=minimum,
        crossing=_equal(lambda x: at("for a watt", x).licensor - at("on sales", x).licensor, STEEPEST, -0.2),
        stops={form: _equal(lambda x, form=form: at(form, x).licensee, STEEPEST, -0.2) for form in FORMS},
    )


def _equal(function, high: float, low: float = 0.0) -> float:
    return float(solve(function, np.full(1, low), np.full(1, high))[0])
