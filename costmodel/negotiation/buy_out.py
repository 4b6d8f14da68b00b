"""What the royalty that is still to come is worth to either side at a time: the price at which it could be bought out."""

from __future__ import annotations

from dataclasses import dataclass

from ..case.records import Case
from ..model import Results
from ..operations import smaller
from ..plan.timing import QUARTERS
from ..plan.worth import each_quarter


@dataclass(frozen=True, slots=True)
class BuyOutPrice:
    """At a time in years after the start of production: the least price for the licensor, the most for the licensee."""

    years: float
    licensor: float
    licensee: float


def buy_out_price(case: Case, results: Results, years: float) -> BuyOutPrice:
    """The price, agreed then, that is worth what it ends, in the reporting currency of that time.

    It is taxed at source, shared with inventors and set against profit as the royalty is, so that these parts cancel.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> price = buy_out_price(case, evaluate(case), 4.0)
    >>> price.licensor > price.licensee > 0
    True
    """
    plan, then = results.plan, results.plan.start + years * QUARTERS
    own = each_quarter(case.licensor.discount_rate * case.constants.year)
    theirs = each_quarter(plan.required_return)
    to_licensor = to_licensee = 0.0
    for number, quarter in enumerate(plan.quarters.values()):
        after = smaller(1.0, max(0.0, number + 1 - then))
        to_licensor += after * quarter.royalty / (1 + own) ** (number + 1 - then)
        to_licensee += after * quarter.royalty / (1 + theirs) ** (number + 1 - then)
    return BuyOutPrice(years, to_licensor, to_licensee)
