"""Times of the model, printed as ratios; run with `python -m tests.benchmark`. No test asserts a time."""

import time

import numpy as np

from costmodel.case.changes import with_values
from costmodel.model import evaluate

from .cases import demo

DRAWS = 16_000


def fastest(action, repeats):
    """The least time of several runs, in s."""
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        action()
        times.append(time.perf_counter() - begun)
    return min(times)


def main():
    case = demo()
    rng = np.random.default_rng(0)
    ends = {row.address: (row.low, row.high) for row in case.ranges.values()}
    drawn = with_values(case, {address: rng.uniform(low, high, DRAWS) for address, (low, high) in ends.items()})
    number = fastest(lambda: evaluate(case), 200)
    array = fastest(lambda: evaluate(drawn), 5) / DRAWS
    print(f"one evaluation of line and ledger as a number: {number * 1e3:.2f} ms")
    print(f"per draw, {DRAWS:,} draws of {len(ends)} inputs: {array * 1e6:.2f} us")
    print(f"ratio: {number / array:.0f}")


if __name__ == "__main__":
    main()
