"""What was conceded from round to round, and what it cost either side."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ...case.addresses import value_at
from ...case.deal_rounds import Round, cases_by_round
from ...case.whole_case import Case
from ...model.evaluate import evaluate
from .sides import Gains


@dataclass(frozen=True, slots=True)
class Turn:
    """A round: the inputs that it moves, from and to (base units), and the gains of both sides after it."""

    name: str
    round: Round
    moved: dict[str, tuple[float, float]]
    gains: Gains
    case: Case


def turns(folder: str | Path, case: Case) -> list[Turn]:
    """All rounds of a case, each against the one before, the first against deal.yaml. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> [turn.round.by for turn in turns("inputs_demo/facade", load_case("inputs_demo/facade"))]
    ['licensor', 'licensee', 'licensor']
    """
    found, before = [], case
    for name, each, after in cases_by_round(folder, case):
        deal = evaluate(after).deal
        moved = {address: (value_at(before, address), value_at(after, address)) for address in each.changes}
        gains = Gains(float(deal.licensor.gain), float(deal.licensee.gain))
        found.append(Turn(name, each, {a: m for a, m in moved.items() if m[0] != m[1]}, gains, after))
        before = after
    return found
