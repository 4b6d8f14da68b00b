"""Which uncertain inputs move together, as ranges.csv and correlations.csv say it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .range_records import Range
from .whole_case import Case

_LEAST_EIGENVALUE = 1e-9


@dataclass(frozen=True, slots=True)
class Driver:
    """What is drawn once for the ranges that follow it: a group that moves as one, or a single input of a looser group."""

    name: str
    group: str
    ranges: tuple[str, ...]


def uncertain(case: Case) -> dict[str, Range]:
    """The rows of ranges.csv whose inputs are uncertain: all but those whose value is supposed, as by a scenario or --set.

    >>> from costmodel.case.changes import supposing
    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> set(uncertain(case)) - set(uncertain(supposing(case, {"prices.silane.price": "80 USD/kg"}, "--set", "--set")))
    {'silane_price'}
    """
    return {identity: row for identity, row in case.ranges.items() if row.address not in case.held}


def supposed(case: Case) -> list[str]:
    """Inputs with a row in ranges.csv that are not drawn, as a scenario, another choice, a round or --set supposes them."""
    return [row.address for row in case.ranges.values() if row.address in case.held]


def drivers(case: Case) -> list[Driver]:
    """The drivers of a case, by name, so that the order of rows does not matter.

    >>> from costmodel.case.load import load_case
    >>> [d.ranges for d in drivers(load_case("inputs_demo/facade")) if d.group == "gases"]
    [('silane_price',)]
    """
    groups: dict[str, list[str]] = {}
    for identity, row in uncertain(case).items():
        groups.setdefault(row.group, []).append(identity)
    loose = {row.group for row in case.correlations.values() if row.group == row.other}
    found = []
    for group, rows in groups.items():
        if group in loose:
            found += [Driver(f"input {case.ranges[row].address}", group, (row,)) for row in rows]
        else:
            found.append(Driver(f"group {group}", group, tuple(rows)))
    return sorted(found, key=lambda driver: driver.name)


def rank_correlations(case: Case, found: list[Driver]) -> np.ndarray:
    """Spearman's rank correlations of the drivers, as correlations.csv has them; 0 for what it does not speak of."""
    stated = {frozenset((row.group, row.other)): row.rank_correlation for row in case.correlations.values()}
    return np.array([[1.0 if one is two else stated.get(frozenset((one.group, two.group)), 0.0) for two in found] for one in found])


def normal_correlations(ranks: np.ndarray) -> np.ndarray:
    """The correlations of normal variables that have these rank correlations: 2 sin(pi/6 rank), an identity of the Gaussian copula.

    >>> round(float(normal_correlations(np.array([[1.0, 0.48258], [0.48258, 1.0]]))[0, 1]), 4)
    0.5
    """
    return 2.0 * np.sin(np.pi / 6.0 * ranks)


def cannot_hold_together(case: Case) -> str:
    """Why no draws have the rank correlations that are stated, or nothing when some do."""
    found = drivers(case)
    if not case.correlations or not found:
        return ""
    least = float(np.linalg.eigvalsh(normal_correlations(rank_correlations(case, found)))[0])
    if least > _LEAST_EIGENVALUE:
        return ""
    return f"correlations that cannot all hold together (the least eigenvalue of their matrix is {least:.3g})"
