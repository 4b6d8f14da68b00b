"""Values over draws in order: by passes over their parts as from memory, equal to sorting them."""

import math

import numpy as np
import pytest

from costmodel.studies import ordered_draws
from costmodel.studies.kept_draws import KeptDraws
from costmodel.studies.ordered_draws import InMemory, InParts, between
from costmodel.studies.spread import exceedance, probability, spread

RANDOM = np.random.default_rng(11)
VALUES = {
    "normal": RANDOM.normal(3.0, 2.0, 5_000),
    "with ties": RANDOM.integers(-3, 4, 5_000).astype(float),
    "one value": np.full(700, -2.5),
    "wide": RANDOM.choice([-1.0, 1.0], 3_000) * 10.0 ** RANDOM.uniform(-300, 300, 3_000),
    "two": np.array([4.0, -1.0]),
    "single": np.array([7.0]),
    "zeros of both signs": np.array([0.0, -0.0, 1.0, -1.0] * 50),
    "without some": np.where(RANDOM.random(4_000) < 0.3, np.nan, RANDOM.random(4_000)),
    "endless": np.array([math.inf, -math.inf, 1.0, 2.0, 3.0] * 40),
}


def parts(values):
    """Values in parts of unequal length, one of them empty."""
    return np.split(values, [len(values) // 7, len(values) // 7, len(values) // 2])


@pytest.mark.parametrize("name", VALUES)
def test_ranks_and_counts_by_parts_are_those_of_sorted_values(name):
    values = VALUES[name]
    by_parts, there = InParts(parts(values)), np.sort(values[~np.isnan(values)])
    ranks = np.unique(np.linspace(0, len(there) - 1, 60).astype(int))
    assert by_parts.count == len(there)
    assert np.array_equal(by_parts.at(ranks), there[ranks])
    limits = np.unique(there)[:50]
    assert by_parts.above(limits).tolist() == [int((there > limit).sum()) for limit in limits]


@pytest.mark.parametrize("name", [name for name in VALUES if name not in ("wide", "endless")])
def test_means_by_parts_are_those_from_memory(name):
    values = VALUES[name]
    one, other, count = InParts(parts(values)), InMemory(values), int((~np.isnan(values)).sum())
    tenth = max(1, count // 10)
    for ranks in ((0, tenth), (count - tenth, count)):
        assert one.mean_of(*ranks) == pytest.approx(other.mean_of(*ranks), rel=1e-12, abs=1e-12)
    assert (one.mean, one.deviation) == pytest.approx((other.mean, other.deviation), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("name", ["normal", "with ties", "two", "single", "without some"])
def test_quantiles_are_those_of_the_library_to_the_last_bit(name):
    shares, values = np.linspace(0.0, 1.0, 97), VALUES[name]
    library = np.quantile(values[~np.isnan(values)], shares)
    assert np.array_equal(between(InMemory(values), shares), library)
    assert np.array_equal(between(InParts(parts(values)), shares), library)


def test_what_is_said_of_draws_in_a_file_is_what_is_said_of_them_in_memory(monkeypatch):
    values, kept = VALUES["without some"], KeptDraws(None, {"figures": ["cost", "price"]})
    for part in parts(values):
        kept.append({"cost": part, "price": part + 1.0})
    held = kept.figures()["cost"]
    memory, curve = spread(values), exceedance(values)
    monkeypatch.setattr(ordered_draws, "IN_MEMORY", 100)
    found = spread(held)
    assert (found.draws, found.without, found.quantiles) == (memory.draws, memory.without, memory.quantiles)
    assert (found.mean, found.deviation, found.lowest_tenth, found.highest_tenth) == pytest.approx(
        (memory.mean, memory.deviation, memory.lowest_tenth, memory.highest_tenth), rel=1e-12
    )
    assert all(np.array_equal(one, other) for one, other in zip(exceedance(held), curve))
    assert probability(held, ">=", 0.5) == probability(values, ">=", 0.5)
    nothing = spread(np.full(200, np.nan))
    assert math.isnan(nothing.mean)
    assert nothing.without == 1.0


def test_memory_does_not_grow_with_draws_in_a_file(monkeypatch):
    """Two million values of two figures are 32 MB; passes over them hold some blocks of 0.5 MB."""
    import tracemalloc

    kept, block = KeptDraws(None, {"figures": ["cost", "price"]}), 2**16
    for number in range(32):
        made = np.random.default_rng(number).random(block)
        kept.append({"cost": made, "price": made})
    monkeypatch.setattr(ordered_draws, "IN_MEMORY", 2**20)
    tracemalloc.start()
    found = spread(kept.figures()["cost"])
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 8e6
    assert found.quantiles[2].value == pytest.approx(0.5, abs=5 * 0.5 / math.sqrt(32 * block))
