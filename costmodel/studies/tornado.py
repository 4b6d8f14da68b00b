"""What each uncertain input does to a figure by itself, between the ends of its range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import value_at
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from .many import figures_of, wanted_figures, why_without
from .plants import PlantRecording


@dataclass(frozen=True, slots=True)
class Bar:
    """A figure with one input at the low and at the high end of its range, in base units; NaN where it has no value, and why."""

    range: str
    address: str
    low: float
    high: float
    at_low: float
    at_high: float
    why_low: str = ""
    why_high: str = ""

    @property
    def width(self) -> float:
        """How far apart the ends move the figure."""
        return abs(self.at_high - self.at_low)


def tornado(case: Case, figure: str, recording: PlantRecording | None = None) -> tuple[float, list[Bar]]:
    """The figure as it is, and a bar for each row of ranges.csv, in one array evaluation; the case as it is.

    First come bars at an end of which the figure gains or loses its value, then the widest first.

    A recording of the case with its ranges and this figure saves making one. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> present, bars = tornado(load_case("inputs_demo/facade"), "ledger.total.cost_per_m2")
    >>> bars[0].width >= bars[-1].width
    True
    """
    rows = list(uncertain(case).items())
    if recording is None:
        present = wanted_figures(case, [figure])[figure].present
    else:
        present = recording.run({row.address: value_at(case, row.address) for _, row in rows})[figure]
    if not rows:
        return float(present), []
    columns = {}
    for number, (_, row) in enumerate(rows):
        column = np.full(2 * len(rows), value_at(case, row.address))
        column[2 * number : 2 * number + 2] = row.low, row.high
        columns[row.address] = column
    made = figures_of(case, columns, [figure], recording)[figure]
    why = [""] * len(made)
    if np.isnan(made).any():
        why = why_without(case, columns, wanted_figures(case, [figure])[figure], made)
    bars = [
        Bar(identity, row.address, row.low, row.high, *map(float, made[2 * k : 2 * k + 2]), *why[2 * k : 2 * k + 2])
        for k, (identity, row) in enumerate(rows)
    ]

    def rank(bar: Bar) -> tuple[int, float]:
        """Bars that gain or lose the value first, those without any last."""
        ends = [np.isnan(bar.at_low) != np.isnan(present), np.isnan(bar.at_high) != np.isnan(present)]
        return (0, 0.0) if any(ends) else (2, 0.0) if np.isnan(bar.width) else (1, -bar.width)

    return float(present), sorted(bars, key=rank)
