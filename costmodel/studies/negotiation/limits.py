"""What one term must and may be: a term alone, a minimum royalty, the price at which the rest of a royalty is bought out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...case.addresses import value_at
from ...case.deal_records import BuyOut
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.roots import Change, Function, Stretches, common, first, jumps, profile, reach, scan_of
from ...core.units import to_base
from ...model.evaluate import evaluate
from ...model.readings.recording import Recording
from ..axes import declared
from .concessions import step_of
from .sides import Sides, sides_of

AROUND = 201  # points up to four times the present value of a term, in a scan that may go much farther
MILLION_A_YEAR = 1e6 / to_base("year")  # how far a minimum is looked at first; it goes on as far as it takes
SLOW = ("schedule.delay", "schedule.ramp_stretch")
ROW = "all_that_is_left"  # the row of buy_outs.csv by which a royalty is bought out


@dataclass(frozen=True, slots=True)
class Along:
    """One side along a term: from which values to which it has what it could have without the deal, and where its gain jumps."""

    stretches: Stretches
    jumps: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Interval:
    """What one term may be from `low` to `high`, all others as offered: where the licensor has its floor, and the licensee its
    best alternative."""

    address: str
    low: float
    high: float
    licensor: Along
    licensee: Along

    @property
    def both(self) -> Stretches:
        """Where both are no worse off than without the deal."""
        return common(self.licensor.stretches, self.licensee.stretches)


def interval(case: Case, address: str, sides: Sides | None = None) -> Interval:
    """Both sides along a term, from nothing to the most that the input allows, or as far as it takes.

    >>> from costmodel.case.load import load_case
    >>> found = interval(load_case("inputs_demo/facade"), "licence.royalty")
    >>> (low, high), = found.both
    >>> 0.0 < low < 0.01 and 0.03 < high < 0.05
    True
    """
    present = float(value_at(case, address))
    low, high = 0.0, declared(case, address).high  # no term is below nothing
    sides = (sides or sides_of(case)).settled({}, [address])

    def licensor(value):
        """What the licensor gains."""
        return sides.gains({address: value}).licensor

    def licensee(value):
        """What the licensee gains."""
        return sides.gains({address: value}).licensee

    if high is None:
        far = max(50 * present, 100 * step_of(case, address)[0])
        high = max(reach(gain, low, far) for gain in (licensor, licensee))
    grid = scan_of(low, high, present, *np.linspace(low, min(high, 4 * present), AROUND).tolist())
    return Interval(address, low, high, *(_along(gain, grid) for gain in (licensor, licensee)))


def _along(gain: Function, grid: np.ndarray) -> Along:
    found = profile(gain, grid)
    return Along(found.stretches, jumps(gain, found))


@dataclass(frozen=True, slots=True)
class Minimum:
    """A row of minimum_royalties.csv: amounts (base units, own currency) at which it is just fair, and just bearable.

    `fair` covers what exclusivity costs the licensor if no royalty at all is earned; `bearable` leaves the licensee its best
    alternative in the slowest start that ranges.csv holds likely, `as_stated` at the stated inputs. NaN for none; `slow` says what
    was taken for the slowest start.
    """

    row: str
    present: float
    fair: float
    bearable: float
    as_stated: float
    slow: dict[str, float]


def minimum_range(case: Case, row: str) -> Minimum:
    """What a minimum royalty must and may be."""
    address = f"minimum_royalties.{row}.amount"
    present = float(value_at(case, address))
    slow = {each.address: max(float(each.high), float(each.mode)) for each in uncertain(case).values() if each.address in SLOW}
    worst = Sides(case, [address, *slow])

    def in_slowest_start(amount):
        """What the licensee gains in the slowest start."""
        return worst.gains({**slow, address: amount}).licensee

    def as_stated(amount):
        """What the licensee gains at the stated inputs."""
        return worst.gains({address: amount}).licensee

    figures = ("deal.licensor.net", "deal.licensor.territory")
    idle = Recording(case, [address, "licence.royalty", "licence.royalty_per_watt"], figures)

    def above(amount):
        """What the minimum alone leaves to the licensor above what exclusivity costs it."""
        nothing = {"licence.royalty": 0.0, "licence.royalty_per_watt": 0.0}
        without = idle.run({**nothing, address: 0.0})
        found = idle.run({**nothing, address: amount})
        return found[figures[0]] - without[figures[0]] - found[figures[1]]

    fair, bearable, stated = (
        first(function, scan_of(0.0, reach(function, 0.0, MILLION_A_YEAR)), jumps=True)
        for function in (above, in_slowest_start, as_stated)
    )
    return Minimum(row, present, 0.0 if above(0.0) >= 0 else fair, bearable, stated, slow)


@dataclass(frozen=True, slots=True)
class BuyOutPrice:
    """At a time in years after the start of production: the least price for the licensor, the most for the licensee.

    0 where nothing is left to buy out.
    """

    years: float
    licensor: float
    licensee: float


def buy_out_price(case: Case, years: float) -> BuyOutPrice:
    """The price, agreed then, with which each side is as well off as with what it ends, in the reporting currency of that time.

    It is paid, taxed and written off as a row of buy_outs.csv is, in place of the rows that the case has.

    >>> from costmodel.case.load import load_case
    >>> price = buy_out_price(load_case("inputs_demo/facade"), 4.0)
    >>> price.licensor > price.licensee > 0
    True
    """
    row = BuyOut("buy-out", 0.0, case.currency, years * case.constants.year)
    address = f"buy_outs.{ROW}.amount"
    sides = Sides(replace(case, buy_outs={ROW: row}), [address])
    without = evaluate(replace(case, buy_outs={}) if case.buy_outs else case)

    def price(gained: str, number: int) -> float:
        """The first price from which a side gains as much as without a buy-out, or the last up to which it does."""
        wanted = getattr(without.deal, gained).gain

        def missing(amount):
            """What the side gains more by the buy-out than without one."""
            return getattr(sides.gains({address: amount}), gained) - wanted

        if abs(missing(0.0)) <= 1e-9 * abs(wanted):
            return 0.0
        changes = profile(missing, scan_of(0.0, reach(missing, 0.0, evaluate(case).plan.capital))).changes
        return changes[number].nearest if changes else float("nan")

    return BuyOutPrice(years, price("licensor", 0), price("licensee", -1))
