"""What a later transfer costs each side: production, the fees of gates still to come, the work and its dates, moved by months."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.evaluate import evaluate
from ..many import figures_of
from .sides import LICENSEE, LICENSOR, Gains

MONTHS = (1.0, 3.0, 6.0, 12.0)
PRODUCTION, FEES, WORK, ALL = (
    "production starts later", "fees of the gates come later", "work, tests and damages come later", "all of these together",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Delay:
    """What both sides gain more, or less below 0, by months of delay: by part, and with all parts together."""

    months: tuple[float, ...]
    moves: dict[str, Gains]


def gate_fees(case: Case) -> list[str]:
    """The fees that are counted from gates."""
    return [name for name, row in case.fees.items() if row.counted_from in case.transfer_gates]


def delayed_inputs(case: Case) -> dict[str, tuple[str, ...]]:
    """The times that a delay moves, by part. Of work, what has not ended by the first gate stretches: its end moves, not its days.

    >>> from costmodel.case.load import load_case
    >>> delayed_inputs(load_case("inputs_demo/facade"))[FEES]
    ('fees.design.time', 'fees.acceptance.time')
    """
    work = [f"deliveries.{name}.end" for name in case.deliveries]
    work += [f"{table}.{name}.time" for table in ("guarantees", "performance_guarantees") for name in getattr(case, table)]
    work += [f"acceptance_dates.{name}.expected" for name in case.acceptance_dates]
    return {
        PRODUCTION: ("schedule.delay",),
        FEES: tuple(f"fees.{name}.time" for name in gate_fees(case)),
        WORK: (*work, "licensor.damages_time"),
    }


def delays(case: Case, months: tuple[float, ...] = MONTHS) -> Delay:
    """The change of both gains for each number of months, from the case as it is. Raises InputFaults where a time leaves the plan.

    >>> from costmodel.case.load import load_case
    >>> found = delays(load_case("inputs_demo/facade"), (1.0,))
    >>> float(found.moves[PRODUCTION].licensee[0]) < 0
    True
    """
    parts = {name: addresses for name, addresses in delayed_inputs(case).items() if addresses}
    parts[ALL] = tuple(address for addresses in parts.values() for address in addresses)
    count = len(months)
    columns = {address: np.full(len(parts) * count, float(value_at(case, address))) for address in parts[ALL]}
    for number, addresses in enumerate(parts.values()):
        for address in addresses:
            columns[address][number * count : (number + 1) * count] += np.array(months) * to_base("month")
    made, now = figures_of(case, columns, [LICENSOR, LICENSEE]), evaluate(case).deal
    licensor, licensee = made[LICENSOR] - float(now.licensor.gain), made[LICENSEE] - float(now.licensee.gain)
    places = {name: slice(number * count, (number + 1) * count) for number, name in enumerate(parts)}
    return Delay(months, {name: Gains(licensor[place], licensee[place]) for name, place in places.items()})
