"""How probable it is that materials of the licensor leave it something, and that the licensee pays less than elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...model.as_bought import as_bought
from ..risk import run_risk
from ..spread import Probability


@dataclass(frozen=True, slots=True)
class SupplyOdds:
    """By material, the probability that the licensee pays no more than the second source asks; and of all together.

    `left` is the probability that all materials together leave the licensor something.
    """

    by_material: dict[str, Probability]
    pays_less: Probability
    left: Probability
    draws: int
    seed: int


def odds_of_supply(case: Case, draws: int, seed: int) -> SupplyOdds | None:
    """These probabilities over draws of all that is uncertain, the plant as bought; None without draws or ranges.

    >>> from costmodel.case.load import load_case
    >>> 0 <= odds_of_supply(load_case("inputs_demo/facade"), draws=64, seed=0).left.share <= 1
    True
    """
    if not draws or not uncertain(case):
        return None
    pays = {name: f"deal.supplied.{name}.licensee_pays" for name in case.supplied_materials}
    leaves = [f"deal.supplied.{name}.licensor_margin" for name in case.supplied_materials]
    found = run_risk(as_bought(case), [*pays.values(), *leaves], draws, seed).figures

    def share(amounts, at_most: bool) -> Probability:
        """The share of draws in which amounts are not above 0, or not below it."""
        return Probability(float((amounts <= 0 if at_most else amounts >= 0).mean()), draws)

    return SupplyOdds(
        {name: share(found[address], True) for name, address in pays.items()},
        share(sum(found[address] for address in pays.values()), True),
        share(sum(found[address] for address in leaves), False),
        draws,
        seed,
    )
