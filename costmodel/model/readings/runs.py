"""A program run by the evaluator that is there and pays: the compiled interpreter, or NumPy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...core.operations import Value
from . import array_runs, compiled_runs
from .loading import pays
from .programs import NOTHING, Program, Standing, length_of, spread


def settle(
    program: Program, moving: Sequence[Value], standing: Standing = NOTHING, rows: np.ndarray | None = None
) -> Standing:
    """The wanted values of a program, to stand in other runs. Raises ValueError for arrays of two lengths.

    What is given is first what moves from run to run, then what stands. With `rows`, each value of a run goes with that row of
    what stands, else with the one beside it.
    """
    if pays(len(program), length_of(moving, beside=standing.count if rows is None else len(rows))):
        return compiled_runs.settle(program, moving, standing, rows)
    before = standing.values if rows is None else spread(standing.values, rows)
    return Standing(array_runs.run(program, [*moving, *before]))


def run_program(
    program: Program, moving: Sequence[Value], standing: Standing = NOTHING, rows: np.ndarray | None = None
) -> tuple[Value, ...]:
    """The wanted values of a program; see `settle`."""
    return settle(program, moving, standing, rows).values
