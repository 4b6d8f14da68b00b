"""Everything that a deal page shows, each part found when it is first asked for, and the rounds of the negotiation so far."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from ...case.deal_rounds import Round, cases_by_round
from ...case.differences import Differences, differences
from ...case.whole_case import Case
from ...model.evaluate import evaluate
from .concessions import concessions, exclusivity
from .guarantee_set import promise_sets
from .limits import buy_out_price, interval, minimum_range
from .openings import given_up, openings
from .payment_split import payment_split
from .power_guarantees import SEED, guaranteed
from .price_paths import price_paths
from .sides import ROYALTY, UPFRONT, Gains
from .split import splits
from .zone import trace_zone

BUY_OUT_YEARS = 4.0


@dataclass(frozen=True, slots=True)
class Turn:
    """A round: the case before and after it, and what differs between the two."""

    name: str
    round: Round
    before: Case
    case: Case
    moved: Differences

    @property
    def gains(self) -> Gains:
        """The gains of both sides after it, found when they are asked for."""
        deal = evaluate(self.case).deal
        return Gains(float(deal.licensor.gain), float(deal.licensee.gain))


def turns(folder: str | Path, case: Case) -> list[Turn]:
    """All rounds of a case, each against the one before, the first against deal.yaml, whatever round the case stands at.

    Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> [turn.round.by for turn in turns("inputs_demo/facade", load_case("inputs_demo/facade"))]
    ['licensor', 'licensee', 'licensor']
    """
    before = case.version.draft if case.version else case
    found = []
    for name, each, after in cases_by_round(folder, before):
        found.append(Turn(name, each, before, after, differences(before, after)))
        before = after
    return found


class Overview:
    """The zone of a case with a deal, what moves it, what terms are worth, and what was offered so far.

    `openings` are what would open an empty zone, none where there is one; `minimums` and `guarantees` have an entry for each row
    of their table. `promises` are all guarantees together, None where only power is guaranteed. `buy_out` is what the rest of
    the royalty is worth some years after the start.
    """

    @property
    def _promises_more(self) -> bool:
        """Whether the case guarantees more than power."""
        return bool(self.case.performance_guarantees or self.case.acceptance_dates)

    def __init__(self, case: Case, turns: list[Turn], seed: int = SEED):
        self.case, self.turns, self.seed = case, turns, seed

    results = cached_property(lambda self: evaluate(self.case))
    zone = cached_property(lambda self: trace_zone(self.case))
    splits = cached_property(lambda self: splits(self.case, self.zone))
    openings = cached_property(lambda self: openings(self.case) if self.zone.empty else [])
    given_up = cached_property(lambda self: given_up(self.case) if self.zone.empty else None)
    concessions = cached_property(lambda self: concessions(self.case))
    royalty = cached_property(lambda self: interval(self.case, ROYALTY))
    upfront = cached_property(lambda self: interval(self.case, UPFRONT))
    price_paths = cached_property(lambda self: price_paths(self.case))
    payment_split = cached_property(lambda self: payment_split(self.case))
    exclusivity = cached_property(lambda self: exclusivity(self.case))
    minimums = cached_property(lambda self: [minimum_range(self.case, row) for row in self.case.minimum_royalties])
    guarantees = cached_property(lambda self: [guaranteed(self.case, row, seed=self.seed) for row in self.case.guarantees])
    promises = cached_property(lambda self: promise_sets(self.case, seed=self.seed) if self._promises_more else None)
    buy_out = cached_property(lambda self: buy_out_price(self.case, BUY_OUT_YEARS))


def overview(case: Case, folder: str | Path | None = None, seed: int = SEED) -> Overview:
    """All of it for a case with a deal; rounds are read from the folder of the case, and `seed` is that of draws.

    Raises InputFaults for a faulty round.

    >>> from costmodel.case.load import load_case
    >>> overview(load_case("inputs_demo/facade")).openings
    []
    """
    return Overview(case, turns(folder, case) if folder else [], seed)
