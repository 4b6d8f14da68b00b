"""Who loses what as module prices fall, by form of royalty: on sales, per watt, and on sales with a minimum."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...case.addresses import replaced
from ...case.deal_records import MinimumRoyalty
from ...case.whole_case import Case
from ...core.roots import first, reach, scan_of
from ...core.units import to_base
from ...model.evaluate import evaluate
from .sides import LICENSEE, LICENSOR, ROYALTY, Gains, Sides

PLANNED, FLAT = "planned", "flat"
FALLS = (0.05, 0.10, 0.15)
MINIMUM_PART = 0.5  # of the royalty that the plan gives in the median year of the term; 30 to 60 % is common practice
PER_WATT = "licence.royalty_per_watt"
MINIMUM = "minimum_royalties.all_along.amount"
FREE = "deal.licensee.ceiling"
FORMS = ("on sales", "per watt", "on sales, with a minimum")
STEEPEST_RISE, STEEPEST = 0.2, 0.5  # yearly rise, and fall, of prices up to which a crossing is looked for
POINTS = 141  # of that scan: by half a point


@dataclass(frozen=True, slots=True)
class PricePaths:
    """Gains of both sides by form of royalty on several paths of prices, in the reporting currency, and what nothing paid leaves.

    The paths are the plan's own, flat prices, and yearly falls of all prices. `per_watt` is the royalty per watt (base units of
    the licence's currency) that is worth to the licensor what the offer's is at the prices of the plan, `minimum` the least
    royalty of a year. `crossings` are the yearly falls from which a royalty per watt is worth more to the licensor than one on
    sales, and costs the licensee more; `stops` the falls at which the licensee gains no more, by form; NaN for none.
    """

    falls: tuple[float, ...]
    gains: dict[str, Gains]
    unpaid: np.ndarray
    royalty: float
    per_watt: float
    minimum: float
    crossings: dict[str, float]
    stops: dict[str, float]

    @property
    def paths(self) -> tuple[str | float, ...]:
        """The columns: the plan's own prices, flat prices, the falls."""
        return (PLANNED, FLAT, *self.falls)


def price_paths(case: Case, falls: tuple[float, ...] = FALLS) -> PricePaths:
    """The three forms on each path; no cap, and no other minimum than that of the third.

    >>> from costmodel.case.load import load_case
    >>> found = price_paths(load_case("inputs_demo/facade"))
    >>> found.paths, bool(found.gains["per watt"].licensor[4] > found.gains["on sales"].licensor[4])
    (('planned', 'flat', 0.05, 0.1, 0.15), True)
    """
    offered = float(evaluate(case).deal.licensor.gain)
    begin = case.plan.schedule.build_time
    row = MinimumRoyalty("minimum", 0.0, case.currency, begin, begin + case.deal.licence.term, "stops")  # all along the term
    plain = replace(case, minimum_royalties={"all_along": row})
    plain = replaced(plain, {PER_WATT: 0.0, "licence.royalty_cap": 1.0})
    changes = {f"sales.{name}.change": float(each.change) for name, each in case.sales.items()}
    sides = Sides(plain, [ROYALTY, PER_WATT, MINIMUM, *changes], also=[FREE])
    royalty = first(lambda x: sides.gains({ROYALTY: x}).licensor - offered, scan_of(0.0, 1.0))

    def by_watt(amount):
        """What the licensor gains by a royalty per watt alone, above what the offer gives."""
        return sides.gains({ROYALTY: 0.0, PER_WATT: amount}).licensor - offered

    per_watt = first(by_watt, scan_of(0.0, reach(by_watt, 0.0, 1.0)))
    usual = [year.earned for year in evaluate(replaced(plain, {ROYALTY: royalty})).deal.years.values() if year.earned > 0]
    minimum = MINIMUM_PART * float(np.median(usual)) if usual else 0.0
    forms = dict(zip(FORMS, (
        {ROYALTY: royalty},
        {ROYALTY: 0.0, PER_WATT: per_watt},
        {ROYALTY: royalty, MINIMUM: minimum / to_base("year")},
    )))  # fmt: skip

    def at(form: str, moved: dict) -> dict:
        """Both gains of a form with changes of prices, and what the licensee has above its best alternative with nothing paid."""
        found = sides.run({**forms[form], **moved})
        size = np.broadcast(*moved.values()).shape
        return {name: np.broadcast_to(value, size) for name, value in found.items()}

    def falling(fall) -> dict:
        """The changes of all prices where they fall alike."""
        return {address: -fall / to_base("year") for address in changes}

    columns = {address: np.array([now, 0.0, *(-fall / to_base("year") for fall in falls)]) for address, now in changes.items()}
    found = {form: at(form, columns) for form in FORMS}
    rates = np.linspace(-STEEPEST_RISE, STEEPEST, POINTS)
    return PricePaths(
        falls=falls,
        gains={form: Gains(each[LICENSOR], each[LICENSEE]) for form, each in found.items()},
        unpaid=found["on sales"][FREE],
        royalty=royalty,
        per_watt=per_watt,
        minimum=minimum,
        crossings={
            side: first(lambda x, side=side: at("per watt", falling(x))[side] - at("on sales", falling(x))[side], rates, jumps=True)
            for side in (LICENSOR, LICENSEE)
        },
        stops={form: first(lambda x, form=form: at(form, falling(x))[LICENSEE], rates, jumps=True) for form in FORMS},
    )
