"""The record of materials that the licensor supplies item by item, which is also their schema."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..core.fields import YEAR, number, reference, text, unit_text
from ..core.operations import Value

_CHANGE: dict[str, Any] = {"entry": "1/year", "low": -0.9 / YEAR, "high": 1.0 / YEAR}


@dataclass(frozen=True, slots=True)
class SuppliedMaterial:
    """A bought item that the licensor supplies, up to a quantity, in place of the second source.

    The price book (prices.csv) states what the second source charges: the plan counts that, and the difference to the licensor's
    price is paid on top. So a material counts once. Until `free_from` the licensee buys what it uses of the licensor, up to `most`;
    from then on it buys of whoever is cheaper. It takes the place of a row of supplies.csv that covers materials.
    """

    title: str = text("what is supplied", example="springs and spacers of our carriers")
    item: str = reference("the item of prices.csv", "prices", example="carrier_parts")
    price: Value = number("{currency}/{unit}", "what the licensee pays, delivered at the plant", example="2.3")
    own_cost: Value = number("{currency}/{unit}", "what it costs the licensor, delivered at the plant", example="1.7")
    currency: str = unit_text("currency of both", example="EUR")
    unit: str = unit_text("unit of the item in this row", example="piece")
    most: Value = number("{unit}", "the most that it supplies in a year", example="5000")
    change: Value = number("1/s", "yearly change of price and cost", example="2 %/year", **_CHANGE)
    begin: Value = number("s", "when it begins, from the first day", example="20 month", entry="month")
    free_from: Value = number(
        "s", "from when on the licensee may buy elsewhere, from the first day", example="60 month", entry="month"
    )
    end: Value = number("s", "when it ends, from the first day", example="144 month", entry="month")
    second_source: str = text("who else could supply it, and what the risk of that delivery is", example="one maker; four months")
    paid_as: str = reference("kind of payment", "payment_kinds", example="equipment")
