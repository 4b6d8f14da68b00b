"""Figures of materials that the licensor supplies: what each leaves it, and what the licensee pays more or less for it."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, unit_text
from ...core.operations import Value


@dataclass(frozen=True, slots=True)
class SuppliedFigures:
    """A material that the licensor supplies; prices are those of the first day."""

    unit: str = unit_text("unit of the item", example="kg")
    price: Value = figure("money/{unit}", "the licensor's price")
    own_cost: Value = figure("money/{unit}", "what it costs the licensor")
    second_price: Value = figure("money/{unit}", "price of the second source: landed, as the price book has it")
    margin: Value = figure("money/{unit}", "price less own cost")
    used: Value = figure("{unit}", "what the plant uses of it over the plan")
    quantity: Value = figure("{unit}", "what the licensor supplies of that")
    cost: Value = figure("money", "own cost above the second source's price, at the licensor's rate; minus: below it")
    licensor_margin: Value = figure(
        "money", "what it leaves the licensor, at its rate: what is paid above own cost, after withholding tax and inventors"
    )
    licensee_pays: Value = figure(
        "money", "what the licensee pays above the second source, at its rate, before tax; minus: below it"
    )
