"""Everything that a deal page shows, each part found when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from ...case.whole_case import Case
from ...model.evaluate import Results
from ...model.readings.cells import Sheet, read_as_cells
from .buy_out import BuyOutPrice, buy_out_price
from .concessions import Concession, Interval, concessions, interval
from .exclusivity import Exclusivity, Minimum, exclusivity, minimum_range
from .guarantees import DRAWS, SEED, Guaranteed, guaranteed
from .openings import Opening, openings
from .payment_split import PaymentSplit, payment_split
from .price_paths import PricePaths, price_paths
from .rounds_compared import Turn, turns
from .sides import ROYALTY, UPFRONT, Sides, terms
from .split import Splits, splits
from .zone import Zone, trace_zone

BUY_OUT_YEARS = 4.0


class Overview:
    """The zone, what moves it, what terms are worth, and what was said so far."""

    def __init__(self, case: Case, results: Results, turns: list[Turn], seed: int = SEED):
        self.case, self.results, self.turns, self.seed = case, results, turns, seed

    @cached_property
    def sheet(self) -> Sheet:
        """The case as cells."""
        return read_as_cells(self.case)

    @cached_property
    def sides(self) -> Sides:
        """The gains of both sides for other values of all terms."""
        return Sides(self.case, terms(self.case), self.sheet)

    @cached_property
    def zone(self) -> Zone:
        """The zone in which both gain."""
        return trace_zone(self.case, self.sides)

    @cached_property
    def splits(self) -> Splits:
        """How fee and royalty could split what both gain."""
        return splits(self.case, self.zone, self.sides)

    @cached_property
    def openings(self) -> list[Opening]:
        """What would open an empty zone; nothing where there is one."""
        return openings(self.case, self.sheet) if self.zone.empty else []

    @cached_property
    def concessions(self) -> list[Concession]:
        """What one unit of each term is worth."""
        return concessions(self.case, self.sides)

    @cached_property
    def royalty(self) -> Interval:
        """Which royalties suit both."""
        return interval(self.case, ROYALTY, self.sides)

    @cached_property
    def upfront(self) -> Interval:
        """Which upfront fees suit both."""
        return interval(self.case, UPFRONT, self.sides)

    @cached_property
    def price_paths(self) -> PricePaths:
        """Who loses what as prices fall."""
        return price_paths(self.case)

    @cached_property
    def payment_split(self) -> PaymentSplit:
        """The best split of the payments over their kinds."""
        return payment_split(self.case, self.sheet)

    @cached_property
    def exclusivity(self) -> Exclusivity:
        """What exclusivity costs."""
        return exclusivity(self.case, sheet=self.sheet)

    @cached_property
    def minimums(self) -> list[Minimum]:
        """What each minimum royalty must and may be."""
        return [minimum_range(self.case, row, self.sheet) for row in self.case.minimum_royalties]

    @cached_property
    def guarantees(self) -> list[Guaranteed]:
        """What each guarantee means, and which power can be signed."""
        return [guaranteed(self.case, self.results, row, DRAWS, self.seed, self.sheet) for row in self.case.guarantees]

    @cached_property
    def buy_out(self) -> BuyOutPrice:
        """What the rest of the royalty is worth some years after the start."""
        return buy_out_price(self.case, self.results, BUY_OUT_YEARS)


def overview(case: Case, results: Results, folder: str | Path | None = None, seed: int = SEED) -> Overview:
    """All of it for a case with a deal; rounds are read from the folder of the case, and `seed` is that of draws.

    Raises InputFaults for a faulty round.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> overview(case, evaluate(case)).openings
    []
    """
    return Overview(case, results, turns(folder, case) if folder else [], seed)
