"""What exclusivity costs the licensor and is worth to the licensee; which minimum royalty makes it fair, and is still bearable."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.roots import first, reach, scan_of
from ...core.units import to_base
from ...model.deal.second_licensee import rivals
from ...model.readings.cells import Sheet
from ...model.readings.recording import Recording
from .sides import LICENSEE, LICENSOR, Sides

YEARS = (0.0, 3.0, 5.0, 10.0)
TIME = "licence.exclusive_time"
SLOW = ("schedule.delay", "schedule.ramp_stretch")


@dataclass(frozen=True, slots=True)
class Exclusivity:
    """What exclusivity of so many years takes from the licensor, by prospect, and what it is in all to either side.

    `cost` is what the licensor has less than without exclusivity: licences lost, less royalty that no one else takes, after its
    own tax. `worth` is what the licensee has more. Each at its own rate, in the reporting currency.
    """

    years: tuple[float, ...]
    lost: dict[str, np.ndarray]
    cost: np.ndarray
    worth: np.ndarray


def exclusivity(case: Case, years: tuple[float, ...] = YEARS, sheet: Sheet | None = None) -> Exclusivity:
    """Each prospect in the territories of the licence, and both sides, under exclusivity of several lengths.

    >>> from costmodel.case.load import load_case
    >>> found = exclusivity(load_case("inputs_demo/facade"))
    >>> [bool(row[0] == 0 and (row[1:] >= row[:-1]).all()) for row in found.lost.values()]
    [True, True]
    """
    figures = {name: f"deal.prospects.{name}.lost" for name in rivals(case)}
    times = np.array((0.0, *years)) * to_base("year")
    found = Recording(case, [TIME], [*figures.values(), LICENSOR, LICENSEE], sheet).run({TIME: times})
    rows = {address: np.broadcast_to(values, times.shape) for address, values in found.items()}
    return Exclusivity(
        years,
        {name: rows[address][1:] for name, address in figures.items()},
        rows[LICENSOR][0] - rows[LICENSOR][1:],
        rows[LICENSEE][1:] - rows[LICENSEE][0],
    )


@dataclass(frozen=True, slots=True)
class Minimum:
    """A row of minimum_royalties.csv: amounts (base units, own currency) at which it is just fair, and just bearable.

    `fair` covers what exclusivity costs the licensor if no royalty at all is earned; `bearable` leaves the licensee its best
    alternative in the slowest start that ranges.csv holds likely. NaN for none; `slow` says what was taken for the slowest start.
    """

    row: str
    present: float
    fair: float
    bearable: float
    slow: dict[str, float]


def minimum_range(case: Case, row: str, sheet: Sheet | None = None) -> Minimum:
    """What a minimum royalty must and may be."""
    address = f"minimum_royalties.{row}.amount"
    present = float(value_at(case, address))
    far = max(100 * present, 1e6 / to_base("year"))
    slow = {each.address: max(float(each.high), float(each.mode)) for each in uncertain(case).values() if each.address in SLOW}
    worst = Sides(case, [address, *slow], sheet)

    def borne(amount):
        """What the licensee gains in the slowest start."""
        return worst.gains({**slow, address: amount}).licensee

    figures = ("deal.licensor.net", "deal.licensor.territory")
    idle = Recording(case, [address, "licence.royalty", "licence.royalty_per_watt"], figures, sheet)

    def above(amount):
        """What the minimum alone leaves to the licensor above what exclusivity costs it."""
        nothing = {"licence.royalty": 0.0, "licence.royalty_per_watt": 0.0}
        without = idle.run({**nothing, address: 0.0})
        found = idle.run({**nothing, address: amount})
        return found[figures[0]] - without[figures[0]] - found[figures[1]]

    fair, bearable = (first(function, scan_of(0.0, reach(function, 0.0, far)), jumps=True) for function in (above, borne))
    return Minimum(row, present, fair, bearable, slow)
