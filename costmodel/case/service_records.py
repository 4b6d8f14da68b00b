"""The records of what services bring, which are also their schema; what they cost stands in `deal_records.py`."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import choice, number, share, text, unit_text
from ..core.operations import Value

ADDS, MULTIPLIES = "adds", "multiplies"
DELIVERIES, YEARLY = "deliveries", "yearly_services"


@dataclass(frozen=True, slots=True)
class ServiceEffect:
    """What a delivery or a yearly service changes: an input, by how much, when, and how likely it is that it succeeds.

    Where the stated inputs hold the effect already (`in_plan`), the plan without the service has it taken out; else the plan with
    the service has it put in. So it counts once. Before `begin` and from `end` on, the stated inputs stand. Factors come before
    what is added, where several rows change one input. A range may be on `change`; success is drawn by its probability.
    """

    title: str = text("what it brings", example="fewer plates lost in deposition")
    service: str = text("the delivery or yearly service, by its address", example="deliveries.training")
    address: str = text(
        "the input that it changes; * in place of the id stands for every row of the table",
        example="steps.deposition.first_pass_yield",
    )
    how: str = choice("whether the change is added to the input, or multiplies it", ADDS, MULTIPLIES)
    change: Value = number(
        "{unit}", "what is added, in the unit of the row; or the factor, in the unit 1 or %", example="0.8", low=None
    )
    unit: str = unit_text("unit of the change: one that the input converts to; of a factor 1 or %", example="%")
    probability: Value = share("probability that it succeeds; figures take the expected change", example="80 %")
    begin: Value = number("s", "from when on, after the first day", example="24 month", entry="month")
    end: Value = number("s", "until when, after the first day", example="180 month", entry="month")
    in_plan: str = choice("whether the stated inputs hold the expected change already", "yes", "no")
