"""Draws of uncertain inputs: what moves together, which numbers a seed gives, and the values that come of them.

Draw number k of an input is the same whatever figures are computed, however many draws are made at a time, and whatever other
inputs are uncertain: each driver has a stream of its own, begun from the seed and its name. (Sobol points are the exception:
they fill a space of as many dimensions as there are drivers.)
"""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Mapping
from functools import cached_property

import numpy as np

from ..case.changes import with_values
from ..case.uncertain import Driver, drivers, normal_correlations, rank_correlations, uncertain
from ..case.values import BadValue, check_number
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from .axes import declared
from .distributions import Quantile, of_range

METHODS = ("random", "sobol")
_LEAST, _GREATEST = 2.0**-54, 1.0 - 2.0**-53  # shares of probability stay inside 0 and 1, where quantiles are finite


class Draws:
    """The draws of a case: `values(start, stop)` gives those from number `start` to before `stop`, by address.

    `method` is `random` (PCG64) or `sobol` (scrambled Sobol points); `seed` a whole number from 0. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> draws = Draws(load_case("inputs_demo/facade"), seed=7)
    >>> both = draws.values(0, 10)["prices.silane.price"]
    >>> bool((draws.values(5, 10)["prices.silane.price"] == both[5:]).all())
    True
    """

    def __init__(self, case: Case, seed: int, method: str = "random"):
        self.rows = uncertain(case)
        if not self.rows:
            found = "no rows but of inputs whose value is supposed" if case.ranges else "no rows"
            raise InputFaults([Fault("ranges.csv", None, None, found, "a row for each input that is uncertain")])
        self.case, self.seed, self.method = case, seed, method
        self.drivers: list[Driver] = drivers(case)
        self._quantiles = {identity: of_range(case, identity) for identity in self.rows}

    @cached_property
    def blocks(self) -> dict[str, list[int]]:
        """Drivers that correlations tie to each other, directly or not, as one block each, named after the groups in it."""
        ties = rank_correlations(self.case, self.drivers) != 0.0
        left, found = set(range(len(self.drivers))), {}
        while left:
            block: set[int] = set()
            grown = {min(left)}
            while grown != block:
                block = grown
                grown = block | {int(k) for one in block for k in np.flatnonzero(ties[one])}
            left -= block
            members = sorted(block)
            found[" + ".join(dict.fromkeys(self.drivers[k].group for k in members))] = members
        return found

    def quantile(self, identity: str) -> Quantile:
        """The quantile function of a row of ranges.csv, in base units."""
        return self._quantiles[identity]

    @cached_property
    def _factor(self) -> np.ndarray | None:
        """What turns independent normal numbers into correlated ones, row by row of drivers; nothing where all are independent."""
        ranks = rank_correlations(self.case, self.drivers)
        return None if np.array_equal(ranks, np.eye(len(ranks))) else np.linalg.cholesky(normal_correlations(ranks))

    def shares(self, start: int, stop: int) -> np.ndarray:
        """Independent shares of probability between 0 and 1: a row for each draw, a column for each driver."""
        if self.method == "sobol":
            from scipy.stats.qmc import Sobol

            points = Sobol(len(self.drivers), scramble=True, rng=np.random.default_rng(self.seed))
            if start:
                points.fast_forward(start)
            with warnings.catch_warnings():  # of a number that is no power of two: of a part it need not be one
                warnings.simplefilter("ignore")
                return points.random(stop - start)
        columns = []
        for driver in self.drivers:
            stream = np.random.PCG64(np.random.SeedSequence([self.seed, *hashlib.sha256(driver.name.encode()).digest()]))
            columns.append(np.random.Generator(stream.advance(start)).random(stop - start))
        return np.stack(columns).T  # a column lies together

    def values_of(self, shares: np.ndarray) -> dict[str, np.ndarray]:
        """The values of the inputs for independent shares, correlated by a Gaussian copula, in base units; checked.

        Raises InputFaults naming each distribution that gives a value which its input does not allow.
        """
        shares = np.clip(shares, _LEAST, _GREATEST)
        tied = self._correlated(shares)
        values = {
            self.rows[identity].address: self._quantiles[identity](tied[:, column])
            for column, driver in enumerate(self.drivers)
            for identity in driver.ranges
        }
        self._check(values)
        return {row.address: values[row.address] for row in self.rows.values()}

    def values(self, start: int, stop: int) -> dict[str, np.ndarray]:
        """The draws from number `start` to before `stop`, by address, in base units. Raises InputFaults."""
        return self.values_of(self.shares(start, stop))

    def _correlated(self, shares: np.ndarray) -> np.ndarray:
        """The shares with the correlations of the drivers; a driver without any keeps its own to the last bit."""
        if self._factor is None:
            return shares
        from scipy.special import ndtr, ndtri

        made = shares.copy()
        for column, factors in enumerate(self._factor):
            takes = np.flatnonzero(factors)
            if len(takes) > 1:
                score = np.zeros(len(shares))
                for k in takes:  # one by one: a matrix product rounds otherwise for other numbers of draws
                    score = score + factors[k] * ndtri(shares[:, k])
                made[:, column] = ndtr(score)
        return np.clip(made, _LEAST, _GREATEST)

    def _check(self, values: Mapping[str, np.ndarray]) -> None:
        faults = []
        for identity, row in self.rows.items():
            try:
                check_number(declared(self.case, row.address), values[row.address], row.unit)
            except BadValue as problem:
                found = f"'{row.distribution}', of which a draw is {problem.found}"
                faults.append(Fault("ranges.csv", None, f"{identity}.distribution", found, problem.allowed))
        if faults:
            raise InputFaults(faults)


def check_together(case: Case, values: Mapping[str, np.ndarray]) -> None:
    """Refuse draws which the case does not take together, naming the ranges that may be too wide."""
    try:
        with_values(case, values, "a draw of ranges.csv")
    except InputFaults as problem:
        where = ", in a draw of ranges.csv"
        raise InputFaults(
            [Fault(f"{f.file}{where}", f.row, f.column, f.found, f"{f.allowed}{_narrower(case, f)}") for f in problem.faults]
        ) from None


def _narrower(case: Case, fault: Fault) -> str:
    place = f"{fault.file.removesuffix('.csv')}.{(fault.column or '').split('.')[0]}."
    rows = [identity for identity, row in case.ranges.items() if row.address.startswith(place)]
    return f", in every draw; ranges of this row: {', '.join(rows)}" if rows else ", in every draw"
