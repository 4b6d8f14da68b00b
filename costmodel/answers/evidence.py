"""How much of a cost rests on inputs of each kind: measured, quoted, from a handbook, estimated, invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import numeric_inputs, replaced
from ..case.records import KINDS, Case
from ..model import evaluate
from .frozen import frozen

STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Leaning:
    """How strongly the cost per stabilised watt leans on one input: % of change for one % of the input, and its kind."""

    address: str
    elasticity: float
    kind: str


def leanings(case: Case) -> list[Leaning]:
    """Elasticity of the cost per stabilised watt in every input, the strongest first.

    The plant is left as bought, so that no tool count jumps. Every input is moved by a millionth in a draw of its own, all in one
    array evaluation; the rate of the reporting currency, which is 1, is left alone. Inputs that are zero have no elasticity.
    """
    plant = frozen(case)
    fixed = f"money.{case.currency.lower()}.exchange_rate"
    moved = [(a, v) for a, v, *_ in numeric_inputs(plant) if v != 0.0 and a != fixed and not a.startswith("constants.")]
    draws = {}
    for number, (address, value) in enumerate(moved):
        column = np.full(len(moved) + 1, value)
        column[number] = value * (1 - STEP)
        draws[address] = column
    cost = evaluate(replaced(plant, draws)).ledger.total.cost_per_stabilised_watt
    changes = (1 - cost[:-1] / cost[-1]) / STEP
    found = [Leaning(a, float(e), case.evidence[a.rsplit(".", 1)[0]].kind) for (a, _), e in zip(moved, changes)]
    return sorted(found, key=lambda leaning: -abs(leaning.elasticity))


def share_by_kind(found: list[Leaning]) -> dict[str, float]:
    """The share of all elasticities, taken as they are large, that inputs of each kind have.

    >>> share_by_kind([Leaning("a.b", 0.75, "quote"), Leaning("a.c", -0.25, "estimate")])
    {'quote': 0.75, 'estimate': 0.25}
    """
    total = sum(abs(leaning.elasticity) for leaning in found)
    shares = {kind: sum(abs(x.elasticity) for x in found if x.kind == kind) / total if total else 0.0 for kind in KINDS}
    return {kind: share for kind, share in shares.items() if share > 0}
