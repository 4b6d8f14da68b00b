"""How likely it is, year by year, that a minimum royalty binds."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.bought import as_bought
from .risk import run_risk


def probabilities_of_minimums(case: Case, draws: int, seed: int) -> dict[str, float]:
    """The share of draws of all uncertain inputs in which the minimum of each year of the plan binds, the plant as bought.

    >>> from costmodel.case.load import load_case
    >>> probabilities_of_minimums(load_case("inputs_demo/facade"), draws=16, seed=0)["y01"]  # nothing is due yet
    0.0
    """
    figures = {f"y{year:02d}": f"deal.years.y{year:02d}.minimum_binds" for year in range(1, int(case.plan.schedule.horizon) + 1)}
    found = run_risk(as_bought(case), list(figures.values()), draws, seed).figures
    return {name: float(found[address].mean()) for name, address in figures.items()}
