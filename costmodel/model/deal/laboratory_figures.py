"""Figures of the laboratory: what each test of the price list costs and leaves, and how full instruments and people are."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure
from ...core.operations import Value


@dataclass(frozen=True, slots=True)
class SampleFigures:
    """A sample of a test, at prices of the first day."""

    price: Value = figure("money/sample", "what the licensee pays")
    arriving: Value = figure("money/sample", "what of it arrives after withholding tax and the inventors' part, before own tax")
    consumables: Value = figure("money/sample", "what is used up")
    equipment: Value = figure("money/sample", "hours of instruments at full cost")
    staff: Value = figure("money/sample", "working hours at the cost of the role")
    cost: Value = figure("money/sample", "full cost: consumables, instruments and people")
    margin: Value = figure("money/sample", "price less full cost")
    left: Value = figure("money/sample", "what arrives less full cost")
    left_a_year: Value = figure("money/year", "the same for the samples of a year")
    could_sell: Value = figure("sample/month", "samples that free hours still allow, were no other test sold more")


@dataclass(frozen=True, slots=True)
class LaboratoryHours:
    """The hours of an instrument, or of people of the laboratory."""

    promised: Value = figure("h/month", "hours promised to others")
    sold: Value = figure("h/month", "hours that the tests of this licensee take")
    free: Value = figure("h/month", "hours left to sell; minus: too many are promised and sold")
    load: Value = figure("%", "hours promised and sold over those there are")


@dataclass(frozen=True, slots=True)
class Laboratory:
    """The laboratory: tests of the price list, instruments, people."""

    tests: dict[str, SampleFigures]
    equipment: dict[str, LaboratoryHours]
    staff: dict[str, LaboratoryHours]
    left_a_year: Value = figure(
        "money/year", "what all tests leave in a year in which they run, before own tax, at first-day prices"
    )
