"""How much of a cost rests on inputs of each kind: measured, quoted, from a handbook, estimated, invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.addresses import numeric_inputs
from ...case.whole_case import KINDS, Case
from ...core.faults import nearest
from ...model.bought import as_bought
from ...model.evaluate import evaluate, figures
from ...model.readings.recording import Recording

STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Elasticity:
    """How strongly a figure depends on one input: % of change for one % of the input, and its kind."""

    address: str
    elasticity: float
    kind: str


COST_OF_A_WATT = "ledger.total.cost_per_stabilised_watt"


def elasticities(case: Case, figure: str = COST_OF_A_WATT) -> list[Elasticity]:
    """Elasticity of a figure in every input, the strongest first.

    The plant is left as bought, so that no tool count jumps. Every input is moved by a millionth in a draw of its own, all in one
    array evaluation; the rate of the reporting currency, which is 1, is left alone. Inputs that are zero have no elasticity.

    Raises ValueError for a figure that there is not, or that is zero, of which nothing is a share.
    """
    known = {address: value for address, value, *_ in figures(evaluate(case), case.currency)}
    if figure not in known or known[figure] == 0.0:
        what = "a figure that is 0" if figure in known else "no such figure"
        raise ValueError(f"'{figure}', {what}; allowed: the address of a figure that is not 0{nearest(figure, known)}")
    plant = as_bought(case)
    fixed = f"money.{case.currency.lower()}.exchange_rate"
    moved = [(a, v) for a, v, *_ in numeric_inputs(plant) if v != 0.0 and a != fixed and not a.startswith("constants.")]
    draws = {}
    for number, (address, value) in enumerate(moved):
        column = np.full(len(moved) + 1, value)
        column[number] = value * (1 - STEP)
        draws[address] = column
    value = np.broadcast_to(Recording(plant, list(draws), [figure]).run(draws)[figure], len(moved) + 1)
    changes = (1 - value[:-1] / value[-1]) / STEP
    found = [Elasticity(a, float(e), case.evidence[a.rsplit(".", 1)[0]].kind) for (a, _), e in zip(moved, changes)]
    return sorted(found, key=lambda elasticity: -abs(elasticity.elasticity))


def share_by_kind(found: list[Elasticity]) -> dict[str, float]:
    """The share of all elasticities, taken as they are large, that inputs of each kind have.

    >>> share_by_kind([Elasticity("a.b", 0.75, "quote"), Elasticity("a.c", -0.25, "estimate")])
    {'quote': 0.75, 'estimate': 0.25}
    """
    total = sum(abs(elasticity.elasticity) for elasticity in found)
    shares = {kind: sum(abs(x.elasticity) for x in found if x.kind == kind) / total if total else 0.0 for kind in KINDS}
    return {kind: share for kind, share in shares.items() if share > 0}
