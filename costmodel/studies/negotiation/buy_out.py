"""What the royalty that is still to come is worth to either side at a time: the price at which it could be bought out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...case.deal_records import BuyOut
from ...case.whole_case import Case
from ...core.roots import profile, reach, scan_of
from ...model.evaluate import Results, evaluate
from .sides import Sides

ROW = "all_that_is_left"


@dataclass(frozen=True, slots=True)
class BuyOutPrice:
    """At a time in years after the start of production: the least price for the licensor, the most for the licensee.

    0 where nothing is left to buy out.
    """

    years: float
    licensor: float
    licensee: float


def buy_out_price(case: Case, results: Results, years: float) -> BuyOutPrice:
    """The price, agreed then, with which each side is as well off as with what it ends, in the reporting currency of that time.

    It is paid, taxed and written off as a row of buy_outs.csv is, in place of the rows that the case has.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> price = buy_out_price(case, evaluate(case), 4.0)
    >>> price.licensor > price.licensee > 0
    True
    """
    row = BuyOut("buy-out", 0.0, case.currency, years * case.constants.year)
    address = f"buy_outs.{ROW}.amount"
    sides = Sides(replace(case, buy_outs={ROW: row}), [address])
    kept = results if not case.buy_outs else evaluate(replace(case, buy_outs={}))

    def price(gained: str, number: int) -> float:
        """The first price from which a side gains as much as without a buy-out, or the last up to which it does."""
        wanted = getattr(kept.deal, gained).gain

        def missing(amount):
            """What the side gains more by the buy-out than without one."""
            return getattr(sides.gains({address: amount}), gained) - wanted

        if abs(missing(0.0)) <= 1e-9 * abs(wanted):
            return 0.0
        changes = profile(missing, scan_of(0.0, reach(missing, 0.0, results.plan.capital))).changes
        return changes[number].nearest if changes else float("nan")

    return BuyOutPrice(years, price("licensor", 0), price("licensee", -1))
