"""One tape for the many studies of a deal: they vary terms, guarantees, prices, and draws of what is uncertain."""

from __future__ import annotations

from ...case.addresses import numeric_inputs, value_at
from ...case.effects import changed_by
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...model.as_bought import as_bought
from ...model.readings.loading import load
from ...model.readings.taped import share_tape
from ..many import bought_in
from .limits import SLOW
from .sides import TABLES

VARIED = (*TABLES, "payment_kinds", "guarantees", "performance_guarantees", "acceptance_dates", "sales")


def share_tapes(case: Case) -> None:
    """Let the studies of a deal share a tape of the case as it is, and one of its plant as bought; none without a deal.

    It pays where several of them follow: a tape of all that they vary takes as long as two or three of their own.
    """
    if not case.has_deal:
        return
    load()
    for each in (False, True) if case.target.mode == "sized" else (True,):
        of = as_bought(case) if each else case
        varied = [address for address, *_ in numeric_inputs(of, VARIED)]
        varied += [address for address in (*SLOW, "schedule.volume_share") if address not in varied]
        if each:
            drawn = {row.address: value_at(of, row.address) for row in uncertain(of).values()}
            effects = [address for row in of.service_effects.values() for address in changed_by(of, row)]
            varied += [*drawn, *bought_in(of, drawn), *effects]
        share_tape(of, list(dict.fromkeys(varied)))
