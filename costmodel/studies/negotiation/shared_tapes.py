"""One tape for the many studies of a deal: they vary terms, guarantees, prices, and draws of what is uncertain."""

from __future__ import annotations

from ...case.addresses import numeric_inputs, value_at
from ...case.effects import changed_by
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...model.as_bought import as_bought
from ...model.evaluate import evaluate_costs
from ...model.readings.loading import load
from ...model.readings.taped import share_tape
from ..many import bought_in
from .limits import SLOW
from .sides import TABLES

VARIED = (*TABLES, "payment_kinds", "guarantees", "performance_guarantees", "acceptance_dates", "sales")


def share_tapes(case: Case) -> None:
    """Let the studies of a deal share a tape of its plant as bought; none without a deal.

    It pays where several of them follow: a tape of all that they vary takes as long as two or three of their own. A sized case has
    the figures of that plant, to the last bit where its line has: no term, price or date moves the sizes of tools. So what
    varies these alone takes that tape too.
    """
    if not case.has_deal:
        return
    load()
    plant = as_bought(case)
    terms = [address for address, *_ in numeric_inputs(plant, VARIED)]
    terms += [address for address in (*SLOW, "schedule.volume_share", "licensor.damages_time") if address not in terms]
    drawn = {row.address: value_at(plant, row.address) for row in uncertain(plant).values()}
    effects = [address for row in plant.service_effects.values() for address in changed_by(plant, row)]
    share_tape(plant, list(dict.fromkeys([*terms, *drawn, *bought_in(plant, drawn), *effects])))
    if plant is not case:
        alike = evaluate_costs(case).line.output == evaluate_costs(plant).line.output
        share_tape(case, terms, of=plant if alike else case)
