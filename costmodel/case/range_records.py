"""The records of what is uncertain, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import choice, number, reference, share, text, unit_text
from ..core.operations import Value

BEFORE, AFTER = "before_purchase", "after_purchase"


@dataclass(frozen=True, slots=True)
class Range:
    """How uncertain an input is, and the limits of its slider; the model itself does not read it."""

    address: str = text("the input, as tools.laminator.price", example="prices.silane.price")
    distribution: str = choice(
        "shape of the uncertainty, cut off at what the input allows; discrete has its values in outcomes.csv, empirical in a file "
        "of measurements/ that samples.csv names",
        "triangular",
        "pert",
        "uniform",
        "normal",
        "lognormal",
        "discrete",
        "empirical",
    )
    low: Value = number(
        "{unit}",
        "low end, in the unit of the row; of normal and lognormal the value that 5 % lie below; of discrete and empirical the end "
        "of the slider only",
        example="40",
        low=None,
    )
    mode: Value = number("{unit}", "most likely value; only triangular and pert take their shape from it", example="60", low=None)
    high: Value = number(
        "{unit}", "high end; of normal and lognormal the value that 5 % lie above; else as low", example="120", low=None
    )
    unit: str = unit_text("unit of low, mode and high: one that the input converts to", example="EUR/kg")
    group: str = text(
        "inputs of the same group move together, all up or all down, unless correlations.csv says how closely; a group of its own "
        "otherwise",
        example="gases",
    )
    known: str = choice(
        "when the value is known: before_purchase, the plant is sized for it in each draw; after_purchase, it meets the plant as "
        "bought",
        AFTER,
        BEFORE,
    )


@dataclass(frozen=True, slots=True)
class Correlation:
    """How closely two groups of uncertain inputs move together, or the inputs of one group where both names are the same."""

    group: str = text("a group of ranges.csv", example="gases")
    other: str = text("another group, or the same one", example="glass")
    rank_correlation: Value = number(
        "1", "Spearman's rank correlation of any input of the one with any of the other", example="0.5", low=-0.999, high=0.999
    )


@dataclass(frozen=True, slots=True)
class Outcome:
    """A value that an input may take, for a range that is discrete."""

    range: str = reference("the row of ranges.csv, with the distribution discrete", "ranges", example="silane_price")
    value: Value = number("{unit}", "the value", example="62", low=None)
    unit: str = unit_text("unit of the value: one that the input converts to", example="EUR/kg")
    probability: Value = share("its probability; those of a range add up to 100 %", example="30 %")


@dataclass(frozen=True, slots=True)
class Sample:
    """Measured values that stand for an uncertain input, for a range that is empirical; each is as likely as the next."""

    range: str = reference("the row of ranges.csv, with the distribution empirical", "ranges", example="stabilisation")
    file: str = text("a CSV file in the folder measurements/ of the case", example="pilot_modules.csv")
    column: str = text("its column, which states a unit in its header", example="stabilisation_ratio")
