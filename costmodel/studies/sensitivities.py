"""What each input does to a figure by itself: between the ends of its range, and by a small part of its value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import numeric_inputs, value_at
from ..case.uncertain import uncertain
from ..case.whole_case import KINDS, Case
from ..core.faults import nearest
from ..model.as_bought import as_bought
from ..model.evaluate import known_figures
from ..model.readings.recording import Recording
from .many import PlantRecording, figures_of, wanted_figures, why_without

STEP = 1e-6  # of an input, for its elasticity
COST_OF_A_WATT = "ledger.total.cost_per_stabilised_watt"


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

    A `recording`, where given, is that of another state of the case with these inputs and this figure; a panel has one for all of
    its moves. Raises InputFaults.

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
    why = why_without(case, columns, wanted_figures(case, [figure])[figure], made) if np.isnan(made).any() else [""] * len(made)
    bars = [
        Bar(identity, row.address, row.low, row.high, float(made[k]), float(made[k + 1]), why[k], why[k + 1])
        for k, (identity, row) in zip(range(0, len(made), 2), rows)
    ]

    def rank(bar: Bar) -> tuple[int, float]:
        """Bars that gain or lose the value first, those without any last."""
        ends = [np.isnan(bar.at_low) != np.isnan(present), np.isnan(bar.at_high) != np.isnan(present)]
        return (0, 0.0) if any(ends) else (2, 0.0) if np.isnan(bar.width) else (1, -bar.width)

    return float(present), sorted(bars, key=rank)


@dataclass(frozen=True, slots=True)
class Elasticity:
    """How strongly a figure depends on one input: % of change for one % of the input, and its kind."""

    address: str
    elasticity: float
    kind: str


def elasticities(case: Case, figure: str = COST_OF_A_WATT) -> list[Elasticity]:
    """Elasticity of a figure in every input, the strongest first.

    The plant is left as bought, so that no tool count jumps. Every input is moved by a millionth in a draw of its own, all in one
    array evaluation; the rate of the reporting currency, which is 1, is left alone. Inputs that are zero have no elasticity.

    Raises ValueError for a figure that there is not, or that is zero, of which nothing is a share.
    """
    known = known_figures(case)
    if figure not in known or known[figure].value == 0.0:
        what = "a figure that is 0" if figure in known else "no such figure"
        raise ValueError(f"'{figure}', {what}; allowed: the address of a figure that is not 0{nearest(figure, known)}")
    plant = as_bought(case)
    fixed = f"money.{case.currency.lower()}.exchange_rate"
    moved = [(a, v) for a, v, *_ in numeric_inputs(plant) if v != 0.0 and a != fixed and not a.startswith("constants.")]
    draws = {}
    for number, (address, value) in enumerate(moved):
        column = np.full(len(moved) + 1, value)
        column[number] = value * (1 - STEP)
        draws[address] = column
    value = np.broadcast_to(Recording(plant, list(draws), [figure]).run(draws)[figure], len(moved) + 1)
    changes = (1 - value[:-1] / value[-1]) / STEP
    found = [Elasticity(a, float(e), case.evidence[a.rsplit(".", 1)[0]].kind) for (a, _), e in zip(moved, changes)]
    return sorted(found, key=lambda elasticity: -abs(elasticity.elasticity))


def share_by_kind(found: list[Elasticity]) -> dict[str, float]:
    """The share of all elasticities, taken as they are large, that inputs of each kind have.

    >>> share_by_kind([Elasticity("a.b", 0.75, "quote"), Elasticity("a.c", -0.25, "estimate")])
    {'quote': 0.75, 'estimate': 0.25}
    """
    total = sum(abs(elasticity.elasticity) for elasticity in found)
    shares = {kind: sum(abs(x.elasticity) for x in found if x.kind == kind) / total if total else 0.0 for kind in KINDS}
    return {kind: share for kind, share in shares.items() if share > 0}
