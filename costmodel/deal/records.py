"""Figures of the deal, in the reporting currency, with inflation."""

from __future__ import annotations

from dataclasses import dataclass

from ..fields import figure
from ..operations import Value
from ..plan.records import Quarter


@dataclass(frozen=True, slots=True)
class Deal:
    """What a licence with plain terms, a fee and a running royalty, is worth to each side, with and without the payments."""

    without_payments: dict[str, Quarter]
    paid: Value = figure("money", "fee and royalty that the licensee pays in all")
    paid_now: Value = figure("money", "the same at the licensor's rate, reckoned to the first day")
    withheld: Value = figure("money", "tax at source on it, at the licensor's rate")
    inventors: Value = figure("money", "what goes to the inventors, at the licensor's rate")
    delivery: Value = figure("money", "what the transfer costs the licensor, at the licensor's rate")
    licensor_npv: Value = figure("money", "net present value of the licensor with the licence; without it, it is 0")
    licensee_npv: Value = figure("money", "net present value of the project with the payments, at its required return")
    licensee_npv_without_payments: Value = figure("money", "the same if nothing were paid for the licence")
    licensee_cost: Value = figure("money", "what the payments take from the licensee, after tax")
    licensor_share: Value = figure("1", "share of the licensor in what both gain together, 0 where they gain nothing")
