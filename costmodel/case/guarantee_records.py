"""The records of what is guaranteed besides power: rates that an acceptance run measures, the date of acceptance, a cap on all."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import choice, number, optional_reference, share, text, unit_text
from ..core.operations import Value
from .transfer_records import COUNTED_FROM

THROUGHPUT, LINE_YIELD, UPTIME, CONSUMPTION = "throughput", "line_yield", "uptime", "consumption"
LINE = "line"  # stands in the column `of` where the whole line is measured
ALONE = "alone"  # stands in `counted_under` where a shortfall counts in full


@dataclass(frozen=True, slots=True)
class PerformanceGuarantee:
    """A guaranteed rate: the mean over the tests is held to the level, or damages by the shortfall in percent of it.

    After a miss the licensor mends and tests again at its cost. Nothing is paid if the retest passes, else what the first tests
    found. Below the minimum acceptance the licensee may reject; then the sum for rejection is paid in place of damages. A
    shortfall that another row explains pays there first, and here only beyond it (`counted_under`).
    """

    title: str = text("what is guaranteed", example="good modules an hour")
    measure: str = choice("what is measured", THROUGHPUT, LINE_YIELD, UPTIME, CONSUMPTION)
    of: str = text("the word line; of an uptime a tool, of a consumption an item or a utility", example="line")
    unit: str = unit_text("unit of the level", example="module/h")
    level: Value = number("{unit}", "what is guaranteed: at least, of a consumption at most", example="28", above=0.0)
    transfer_loss: Value = share("part of the figure of the case by which the transfer is expected to be worse", example="1 %")
    transfer_spread: Value = number(
        "1", "standard deviation from one transfer to the next, over the mean", example="3 %", above=0.0, high=0.5
    )
    day_spread: Value = share("standard deviation of the result of one day, over the mean", example="4 %")
    measurement: Value = share("standard uncertainty of the measurement, alike in all tests", example="0.5 %")
    days: Value = number("1", "days of one test", example="5", low=1.0)
    tests: Value = number("1", "tests, of which the mean counts: the first and its repeats", example="2", low=1.0)
    measured_by: str = text("who measures", example="licensee, on the licensor's instructions")
    test_cost: Value = number("{currency}", "cost of one test", example="6000")
    test_share: Value = share("part of the cost of tests that the licensor pays", example="50 %")
    damages: Value = number("{currency}", "damages for each percent short", example="8000", entry="{currency}/%", above=0.0)
    cap: Value = number("{currency}", "most that is paid as damages", example="80000")
    minimum: Value = share("minimum acceptance, over the level; of a consumption, the level over it", example="85 %", above=0.0)
    rejection: Value = number("{currency}", "paid in place of damages below the minimum acceptance", example="300000")
    retest_cost: Value = number(
        "{currency}", "cost of mending and of a retest, which the licensor pays after a miss", example="15000"
    )
    retest_passed: Value = share("probability that the retest passes, whatever the shortfall; 0 % without retest", example="40 %")
    counted_under: str = text("the id of the row under which a shortfall pays first, or the word alone", example="alone")
    currency: str = unit_text("currency of the row", example="EUR")
    time: Value = number(
        "s", "date of the test, when damages are due, from the first day or from its gate", example="33 month", entry="month"
    )
    counted_from: str = optional_reference(**COUNTED_FROM)


@dataclass(frozen=True, slots=True)
class AcceptanceDate:
    """A guaranteed date: damages by the time of delay beyond the grace; beyond the latest date the licensee may withdraw.

    Where the transfer stands as a project, the date that is expected is that of a gate, with the spread of its tasks; the row
    has only what comes after it. So no date of acceptance is stated twice.
    """

    title: str = text("what is accepted", example="acceptance of the line")
    time: Value = number("s", "guaranteed date, from the first day", example="33 month", entry="month")
    expected: Value = number(
        "s", "date that is expected, from the first day, or time after the gate", example="31 month", entry="month"
    )
    spread: Value = number(
        "s", "standard deviation of that date, or of the time after the gate", example="2 month", entry="month"
    )
    grace: Value = number("s", "delay without damages", example="2 week", entry="week")
    damages: Value = number("{currency}/s", "damages for the time of delay", example="8000", entry="{currency}/week", above=0.0)
    cap: Value = number("{currency}", "most that is paid as damages", example="90000")
    latest: Value = number("s", "delay beyond the grace from which the licensee may withdraw", example="12 month", entry="month")
    rejection: Value = number("{currency}", "paid in place of damages beyond the latest date", example="300000")
    currency: str = unit_text("currency of the row", example="EUR")
    counted_from: str = optional_reference(**COUNTED_FROM)


@dataclass(frozen=True, slots=True)
class DamagesCap:
    """The most that all guarantees together pay; one row."""

    title: str = text("what is capped", example="all damages under guarantees")
    amount: Value = number("{currency}", "most that is paid", example="600000")
    currency: str = unit_text("currency of the cap", example="EUR")
