"""The record of the warranty: what is promised for how long, how modules age, and what a claim costs."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import YEAR, choice, number, share, text, unit_text
from ..core.operations import Value

LONGEST = 40  # years of age that are followed


@dataclass(frozen=True, slots=True)
class Warranty:
    """What the maker promises with each module, how modules age, and what a claim costs; one row.

    The promised power falls evenly from the start to the end of its term. Power falls evenly too: first-year loss, then the same
    loss each year, of the power at sale. Claims of a year of age fall due evenly over its quarters. The row takes the place of a
    flat reserve in overheads.csv and of the degradation of our module in markets.csv. Local law may give customers more.
    """

    title: str = text("what the warranty is of", example="modules of the plant")
    currency: str = unit_text("currency of the row", example="EUR")
    product_term: Value = number(
        "s", "how long a module that fails is replaced", example="10 year", entry="year", high=LONGEST * YEAR
    )
    power_term: Value = number(
        "s", "how long a module below the promised power is replaced", example="20 year", entry="year", high=LONGEST * YEAR
    )
    start_power: Value = share("power promised at the start, over that on the label", example="97 %")
    end_power: Value = share("power promised at the end of the power term, over that on the label", example="80 %")
    early_failures: Value = share("part of the modules that fails in the first year", example="0.1 %")
    later_failures: Value = number(
        "1/s",
        "part of the modules in service that fails in each later year",
        example="0.04 %/year",
        entry="1/year",
        high=1.0 / YEAR,
    )
    first_year_loss: Value = share("power lost in the first year, over that at sale, on average", example="2 %")
    first_year_spread: Value = share(
        "standard deviation of that from module to module, with the error of measurement", example="1 %", above=0.0
    )
    degradation: Value = number(
        "1/s",
        "power lost in each later year, over that at sale, on average",
        example="0.6 %/year",
        entry="1/year",
        high=0.2 / YEAR,
    )
    degradation_spread: Value = number(
        "1/s", "standard deviation of that from module to module", example="0.12 %/year", entry="1/year", high=0.2 / YEAR
    )
    claimed_share: Value = share("part of the cases under warranty that customers claim and the maker accepts", example="80 %")
    module_cost: Value = number("{currency}/module", "cost of the module that is sent instead", example="58")
    freight: Value = number("{currency}/module", "its way to the building, and that of the old module to its disposal", example="9")
    labour: Value = number(
        "{currency}/module",
        "work at the building by people licensed for it: access, taking out, fitting, test, as far as the maker pays it",
        example="65",
    )
    discount_rate: Value = number(
        "1/s",
        "real rate at which the provision is discounted, inflation taken out; 0 %/year: claims at the prices of their sale",
        example="2 %/year",
        entry="1/year",
        high=1.0 / YEAR,
    )
    deducted: str = choice(
        "when tax deducts it: when_used, as claims are paid; when_provided, as the provision is made", "when_used", "when_provided"
    )
