"""How a figure moved from one case to another, shared out among what changed, whatever the order of the changes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..case.addresses import input_at
from ..case.changes import stated_in
from ..case.differences import Difference, differences
from ..case.whole_case import Case, tables
from ..core.faults import Fault, InputFaults
from ..model.readings.recording import Recording
from .many import figures_at, figures_of, wanted_figures

GROUPINGS: dict[str, Callable[[str], str]] = {
    "input": lambda address: address,
    "row": lambda address: address.rsplit(".", 1)[0],
    "table": lambda address: address.split(".")[0],
}
STRUCTURE = "rows, texts and choices"
EXACT_TO = 10  # players; beyond, orders are sampled
ORDERS = 512


@dataclass(frozen=True, slots=True)
class Part:
    """What one player brings on average over all orders; `error` is the standard error where orders were sampled, else 0."""

    player: str
    value: float
    error: float


def shapley(
    players: Sequence[str], worth: Callable[[np.ndarray], np.ndarray], exact_to: int = EXACT_TO, orders: int = ORDERS, seed: int = 0
) -> list[Part]:
    """Share out `worth` of all players, less that of none.

    `worth` takes a table of truths, a row for each coalition and a column for each player, and gives what each coalition is
    worth; it is called once. Up to `exact_to` players all coalitions are evaluated; beyond, `orders` random orders and each of
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
    parts = brought(worth(coalitions(len(players))))
    return [Part(name, math.fsum(weights * gains), 0.0) for name, (weights, gains) in zip(players, parts)]


def coalitions(count: int) -> np.ndarray:
    """All coalitions of some players: a row of truths for each, a column a player.

    >>> coalitions(2).tolist()
    [[False, False], [True, False], [False, True], [True, True]]
    """
    return (np.arange(1 << count)[:, None] >> np.arange(count)) & 1 == 1


def brought(values: np.ndarray) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """For each player the coalitions without it: their weights, and what it adds to each; of values in the order of `coalitions`.

    The weights are how often a coalition stands before the player, of all orders in which players can come (Shapley 1953).

    >>> [float(weights @ gains) for weights, gains in brought(np.array([0.0, 1.0, 0.0, 3.0]))]
    [2.0, 1.0]
    """
    count = len(values).bit_length() - 1
    there = coalitions(count)
    sizes = there.sum(axis=1)
    orders = np.array([math.factorial(k) * math.factorial(count - k - 1) / math.factorial(count) for k in range(count)])
    for number in range(count):
        without = np.flatnonzero(~there[:, number])
        yield orders[sizes[without]], values[without + (1 << number)] - values[without]


@dataclass(frozen=True, slots=True)
class Waterfall:
    """A figure before and after (base units), and the part of the move that each group of changed inputs has.

    `inputs` names the changed inputs of each group. Numbers whose unit changed with a text of their row, as a price with its
    currency, belong to the group of structure, with rows that came and went and all that is text. `exact` says whether all
    orders of the changes were looked at. Where the figure has no value before, after or on the way, there are no parts: `without`
    is the share of the looked-at combinations of changes in which it has none, `reasons` why it has none before and after.
    """

    figure: str
    unit: str
    before: float
    after: float
    parts: tuple[Part, ...]
    inputs: dict[str, tuple[str, ...]]
    exact: bool
    without: float = 0.0
    reasons: tuple[str, str] = ("", "")


def waterfall(before: Case, after: Case, figure: str, by: str = "row", orders: int = ORDERS, seed: int = 0) -> Waterfall:
    """Share out the move of a figure between two cases that report in one currency; the largest part first.

    Exact up to ten groups, else over `orders` sampled orders and their reverses. Raises InputFaults, also where the case refuses
    the changes of one group without those of another.

    >>> from costmodel.case.changes import with_values
    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> found = waterfall(case, with_values(case, {"metals.silver.quote": 3000.0}), "ledger.total.cost_per_m2")
    >>> [part.player for part in found.parts], abs(found.after - found.before - found.parts[0].value) < 1e-9
    (['metals.silver'], True)
    """
    if by not in GROUPINGS:
        raise InputFaults([Fault("--by", None, None, f"'{by}'", f"one of {', '.join(GROUPINGS)}")])
    if before.currency != after.currency:
        allowed = "two cases that report in one currency"
        raise InputFaults([Fault("waterfall", None, None, f"reports in {before.currency} and {after.currency}", allowed)])
    wanted, wanted_after = (wanted_figures(case, [figure])[figure] for case in (before, after))
    found = differences(before, after)
    read = [d for d in found.inputs if tables()[d.address.split(".")[0]].in_model]
    texts = [d for d in read if d.is_text and not d.address.endswith((".title", ".stage"))]
    bound = {
        f"{d.place}.{name}" for d in texts for name in stated_in(type(input_at(before, d.address)[1]), d.address.rsplit(".", 1)[1])
    }
    numbers = [d for d in read if not d.is_text and d.unit == d.unit_after and d.address not in bound]
    places = [place for place in (*found.added, *found.dropped) if tables()[place.split(".")[0]].in_model]
    structure = [d.address for d in texts] + [d.address for d in read if not d.is_text and d not in numbers] + places
    structure += ["steps"] if found.reordered else []
    groups: dict[str, list[Difference]] = {}
    for difference in numbers:
        groups.setdefault(GROUPINGS[by](difference.address), []).append(difference)
    players = list(groups) + ([STRUCTURE] if structure else [])
    parts: list[Part] = []
    without: list[float] = []
    if players:
        worth = _worth(before, after, figure, list(groups.values()), bool(structure))
        parts = shapley(players, lambda there: _noting(worth(there), without), orders=orders, seed=seed)
        parts = [] if any(without) else parts
    return Waterfall(
        figure,
        wanted.unit,
        float(wanted.present),
        float(wanted_after.present),
        tuple(sorted(parts, key=lambda part: -abs(part.value))),
        {name: tuple(d.address for d in held) for name, held in groups.items()}
        | ({STRUCTURE: tuple(structure)} if structure else {}),
        len(players) <= EXACT_TO,
        sum(without),
        (wanted.reason, wanted_after.reason),
    )


def _noting(values: np.ndarray, without: list[float]) -> np.ndarray:
    """The values, with the share of them that are none noted."""
    without.append(float(np.mean(np.isnan(values))))
    return values


def _worth(
    before: Case, after: Case, figure: str, groups: list[list[Difference]], structure: bool
) -> Callable[[np.ndarray], np.ndarray]:
    """The figure for coalitions of groups of numbers, and of structure where there is any: one recording for each structure."""
    numbered = [(number, difference) for number, group in enumerate(groups) for difference in group]

    def worth(there: np.ndarray) -> np.ndarray:
        """The figure for rows that say which groups are as they are after."""
        values = np.empty(len(there))
        for changed in (False, True) if structure else (False,):
            case = after if changed else before
            rows = np.flatnonzero(there[:, -1] == changed) if structure else np.arange(len(there))
            if not numbered:
                values[rows] = figures_at(case, [figure])[figure]
                continue
            columns = {d.address: np.where(there[rows, n], float(d.after), float(d.before)) for n, d in numbered}
            recording = Recording(case, list(columns), [figure])  # the plant as it is: what changes was not known before purchase
            values[rows] = figures_of(case, columns, [figure], recording)[figure]
        return values

    return worth
