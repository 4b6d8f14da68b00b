"""How probable it is that both sides gain with one term moved by one unit, all draws and all other terms as they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core import at_work
from ...core.operations import Value
from ...model.as_bought import as_bought
from ...model.readings.recording import Recording
from ..axes import declared
from ..draws import Draws, check_together
from ..many import bought_in
from ..spread import Probability
from .concessions import step_of
from .sides import LICENSEE, LICENSOR, terms


@dataclass(frozen=True, slots=True)
class LikelyTerm:
    """A term moved by one unit, up or down, whichever helps more; how probable it is then that each side gains, and both."""

    address: str
    up: bool
    words: str
    licensor: Probability
    licensee: Probability
    both: Probability


def likely_terms(case: Case, draws: int, seed: int) -> list[LikelyTerm]:
    """Each term whose step changes the probability that both gain, the most helpful first; none without a deal or ranges.

    Raises InputFaults, also for a draw that the case refuses.

    >>> from costmodel.case.load import load_case
    >>> found = likely_terms(load_case("inputs_demo/facade"), draws=32, seed=0)
    >>> all(one.both.share >= other.both.share for one, other in zip(found, found[1:]))
    True
    """
    if not case.has_deal or not draws or not uncertain(case):
        return []
    at_work.at(f"terms one by one over {draws:,} draws")
    plant = as_bought(case)
    values: dict[str, Value] = dict(Draws(plant, seed).values(0, draws))
    check_together(plant, values)
    values |= bought_in(plant, values)
    values |= {address: np.full(draws, value_at(plant, address)) for address in terms(plant) if address not in values}
    agreed = {address: values[address] for address in terms(plant)}
    settled = Recording(plant, list(values), [LICENSOR, LICENSEE]).settled(values, list(agreed))

    def likely(moved: dict[str, Value]) -> tuple[Probability, ...]:
        """How probable it is that the licensor gains, that the licensee does, that both do."""
        found = settled.run({**agreed, **moved})
        own, other = (np.broadcast_to(found[side] >= 0, draws) for side in (LICENSOR, LICENSEE))
        return tuple(Probability(float(each.mean()), draws) for each in (own, other, own & other))

    now, found = likely({})[2].share, []
    for address in agreed:
        step, words = step_of(plant, address)
        high = declared(plant, address).high
        ways = []
        for up in (True, False):
            moved = agreed[address] + (step if up else -step)
            if np.min(moved) >= 0 and (high is None or np.max(moved) <= high):
                ways.append(LikelyTerm(address, up, words, *likely({address: moved})))
        changed = [each for each in ways if each.both.share != now]
        found += [max(changed, key=lambda each: each.both.share)] if changed else []
    return sorted(found, key=lambda each: -each.both.share)
