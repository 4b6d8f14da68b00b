"""Shapley values: a total shared out among those who brought it about, whatever the order in which they came."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

EXACT_TO = 10  # players; beyond, orders are sampled
ORDERS = 512


@dataclass(frozen=True, slots=True)
class Part:
    """What one player brings on average over all orders; `error` is the standard error where orders were sampled, else 0."""

    player: str
    value: float
    error: float


def shapley(
    players: Sequence[str],
    worth: Callable[[np.ndarray], np.ndarray],
    exact_to: int = EXACT_TO,
    orders: int = ORDERS,
    seed: int = 0,
) -> list[Part]:
    """Share out `worth` of all players, less that of none.

    `worth` takes a table of truths, a row for each coalition and a column for each player, and gives what each coalition is
    worth; it is called once. Up to `exact_to` players all coalitions are asked for; beyond, `orders` random orders and each of
    them backwards. The parts add up to the whole either way.

    >>> [part.value for part in shapley(["a", "b"], lambda there: 1.0 * there.all(axis=1))]
    [0.5, 0.5]
    """
    count = len(players)
    if count <= exact_to:
        return _exact(players, worth)
    random = np.random.default_rng(seed)
    drawn = [random.permutation(count) for _ in range(orders)]
    routes = np.array([order for one in drawn for order in (one, one[::-1])])
    places = np.argsort(routes, axis=1)  # in which place of each order a player comes
    there = places[:, None, :] < np.arange(count + 1)[None, :, None]
    values = worth(there.reshape(-1, count)).reshape(len(routes), count + 1)
    steps = np.diff(values, axis=1)
    brought = np.take_along_axis(steps, places, axis=1)
    pairs = brought.reshape(orders, 2, count).mean(axis=1)
    errors = pairs.std(axis=0, ddof=1) / math.sqrt(orders)
    return [Part(name, float(value), float(error)) for name, value, error in zip(players, pairs.mean(axis=0), errors)]


def _exact(players: Sequence[str], worth: Callable[[np.ndarray], np.ndarray]) -> list[Part]:
    count = len(players)
    coalitions = (np.arange(1 << count)[:, None] >> np.arange(count)) & 1 == 1
    values, sizes = worth(coalitions), coalitions.sum(axis=1)
    weights = np.array([math.factorial(k) * math.factorial(count - k - 1) / math.factorial(count) for k in range(count)])
    found = []
    for number, name in enumerate(players):
        without = np.flatnonzero(~coalitions[:, number])
        brought = values[without + (1 << number)] - values[without]
        found.append(Part(name, math.fsum(weights[sizes[without]] * brought), 0.0))
    return found
