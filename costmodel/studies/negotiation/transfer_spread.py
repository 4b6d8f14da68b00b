"""How the finish of the transfer spreads: durations are drawn between their estimates, each independent of the others.

The draws keep every path, so that they count what the formula of the longest path leaves out: of two paths of nearly one length,
the later one decides. Draw number k of a task is the same whatever other tasks there are.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from ...case.transfer_records import FIRST_DAY, TransferTask
from ...case.whole_case import Case, kept
from ...core.operations import normal_cdf
from ...model.plan.transfer import transfer_of, windows
from ..distributions import Quantile, pert, triangular
from ..spread import Quantile as SampledQuantile
from ..spread import quantile_of

SHAPES: Mapping[str, Callable[[float, float, float], Quantile]] = {"triangular": triangular, "beta": pert}
DRAWS, SEED, SHAPE = 20_000, 0, "triangular"
CRITICAL = 1.0  # s: float below it is none; rounding of a sum of months leaves far less
QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class GateSpread:
    """When a gate is passed over the draws, in s: P10, P50, P90; and the probability to pass it by its planned date, if at all.

    `in_time` is by the draws, `in_time_by_formula` by the normal distribution along the longest path.
    """

    quantiles: tuple[SampledQuantile, ...]
    in_time: float
    in_time_by_formula: float


@dataclass(frozen=True, slots=True)
class TransferSpread:
    """The finish over the draws, in s, and the part of the draws in which each task is on the critical path."""

    draws: int
    seed: int
    shape: str
    finish: tuple[SampledQuantile, ...]
    mean: float
    deviation: float
    gates: dict[str, GateSpread]
    criticality: dict[str, float]


def drawn_durations(rows: Mapping[str, TransferTask], draws: int, seed: int, shape: str) -> dict[str, np.ndarray]:
    """Durations of each task, in s, from a stream of its own.

    >>> rows = {"a": TransferTask("", "", "start", 2.0, 3.0, 6.0)}
    >>> found = drawn_durations(rows, 1000, 0, "triangular")["a"]
    >>> bool(found.min() > 2.0), bool(found.max() < 6.0)
    (True, True)
    """
    found = {}
    for name, row in rows.items():
        own = [seed, *hashlib.sha256(f"transfer_tasks.{name}".encode()).digest()]
        shares = np.random.Generator(np.random.PCG64(np.random.SeedSequence(own))).random(draws)
        found[name] = SHAPES[shape](float(row.optimistic), float(row.most_likely), float(row.pessimistic))(shares)
    return found


def transfer_spread(case: Case, draws: int = DRAWS, seed: int = SEED, shape: str = SHAPE) -> TransferSpread:
    """The spread of finish and gates of a case with transfer_tasks.csv, made once for each case.

    >>> from costmodel.case.load import load_case
    >>> found = transfer_spread(load_case("inputs_demo/facade"), 1000)
    >>> low, middle, high = (each.value for each in found.finish)
    >>> low < middle < high, found.criticality["basis"]
    (True, 1.0)
    """
    return kept(case, f"transfer spread {draws} {seed} {shape}", lambda: _spread(case, draws, seed, shape))


def _spread(case: Case, draws: int, seed: int, shape: str) -> TransferSpread:
    rows = case.transfer_tasks
    found = windows(rows, drawn_durations(rows, draws, seed, shape))
    finish = np.max([each.earliest_finish for each in found.values()], axis=0)
    return TransferSpread(
        draws=draws,
        seed=seed,
        shape=shape,
        finish=_quantiles(finish),
        mean=float(finish.mean()),
        deviation=float(finish.std(ddof=1)) if draws > 1 else 0.0,
        gates={name: _gate(case, name, found[row.task].earliest_finish) for name, row in case.transfer_gates.items()},
        criticality={name: float((each.total_float < CRITICAL).mean()) for name, each in found.items()},
    )


def _quantiles(values: np.ndarray) -> tuple[SampledQuantile, ...]:
    ordered = np.sort(values)
    return tuple(quantile_of(ordered, share) for share in QUANTILES)


def _gate(case: Case, name: str, times: np.ndarray) -> GateSpread:
    """A gate over the draws; that of the formula is normal about its expected time."""
    project = transfer_of(case)
    assert project is not None, "a gate of a case without tasks"
    gate = project.gates[name]
    certain = float(gate.expected_time) <= float(gate.time)
    by_formula = normal_cdf((gate.time - gate.expected_time) / gate.deviation) if gate.deviation else float(certain)
    return GateSpread(_quantiles(times), float((times <= gate.time).mean()), float(by_formula))


def gate_draws(case: Case, name: str, draws: int = DRAWS, seed: int = SEED, shape: str = SHAPE) -> np.ndarray:
    """When a gate is passed in each draw of the durations, in s; 0 for the word first_day.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> middle = transfer_spread(case, 1000).gates["acceptance"].quantiles[1].value
    >>> bool(np.median(gate_draws(case, "acceptance", 1000)) == middle), float(gate_draws(case, "first_day", 2).sum())
    (True, 0.0)
    """
    if name == FIRST_DAY:
        return np.zeros(draws)
    rows = case.transfer_tasks
    return windows(rows, drawn_durations(rows, draws, seed, shape))[case.transfer_gates[name].task].earliest_finish
