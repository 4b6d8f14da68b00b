"""Whether the compiled interpreter is there, and from when on loading it pays."""

from __future__ import annotations

import os
from functools import cache
from importlib.util import find_spec

LOADING = 300_000  # what it takes to load the interpreter, in operations of NumPy on numbers
ON_ARRAYS, DRAWS = 2, 1500  # of these, what an operation on arrays takes, and how many draws take one more
_done = [0.0]  # of these, by NumPy in this process so far


@cache
def is_there() -> bool:
    """Whether the compiled interpreter is there; the variable COSTMODEL_EVALUATOR=numpy does without it."""
    return os.environ.get("COSTMODEL_EVALUATOR") != "numpy" and find_spec("numba") is not None


def is_loaded() -> bool:
    """Whether the interpreter is there and its loading has paid."""
    return is_there() and _done[0] > LOADING


def pays(steps: int, count: int | None) -> bool:
    """Whether the interpreter is there and its loading pays: NumPy has done, or with this run would have done, as much.

    So no process takes more than twice the shorter way. `count` is the length of the arrays; None for plain numbers.
    """
    if is_there() and _done[0] <= LOADING:
        _done[0] += steps * (1 if count is None else ON_ARRAYS + count / DRAWS)
    return is_loaded()


def load() -> None:
    """Load the interpreter from now on, where it is there: so does what will run one point again and again, or many studies."""
    _done[0] = LOADING + 1.0
