"""What guaranteed rates and dates expose the licensor to: throughput, yield, uptime, consumption, date of acceptance.

Each promise is taken alone here, in closed form: the floor counts it without the common cap and without the order in which one
shortfall pays. Both only lower what is paid; the draws of the whole set apply them (`studies/negotiation/guarantee_set.py`).
"""

from __future__ import annotations

from collections.abc import Mapping

from ...case.deal_records import Guarantee
from ...case.guarantee_records import CONSUMPTION, LINE_YIELD, THROUGHPUT, AcceptanceDate, PerformanceGuarantee
from ...case.transfer_records import FIRST_DAY
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line, TimeStates
from ..plan.transfer import date_of, transfer_of
from .damages import expected_payment, falls_short, of_retests
from .deal_figures import DateExposure, Exposure, PromiseExposure

PAID_FOR = "buying."  # what is paid for and not used is no consumption


def uptime(states: TimeStates) -> Value:
    """Operational uptime: productive, standby and engineering time over the time in which production is scheduled.

        up = states.productive + states.standby + states.engineering    [tool_hour]
        uptime = up / (up + states.scheduled_down + states.unscheduled_down)    [1]

    Source: SEMI E10 (from memory).

    >>> uptime(TimeStates(2.0, 1.0, 1.0, 0.5, 2.5, 5.0))
    0.8
    """
    up = states.productive + states.standby + states.engineering
    return up / (up + states.scheduled_down + states.unscheduled_down)


def planned_rate(case: Case, row: PerformanceGuarantee, line: Line, ledger: Ledger) -> Value:
    """What a case makes of the rate that is guaranteed: the tools in the plant at their pace, the year's yield, uptime and use.

        lines = [x.quantity for name, x in ledger.lines.items() if x.item == row.of and x.category in ("materials", "utilities",
            "facilities") and not name.startswith("buying.")]    [any]
        rates = {"throughput": line.output.capacity / case.site.scheduled_time, "line_yield": line.output.line_yield, "uptime":
            uptime(line.states[row.of]) if row.of in line.states else 0.0}    [any]
        rate = rates.get(row.measure, sum_of(lines) / line.output.good_modules)    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(output=Some(capacity=300.0, line_yield=0.9), states={})
    >>> case = Some(site=Some(scheduled_time=10.0))
    >>> planned_rate(case, Some(measure="throughput", of="line"), line, None)
    30.0
    """
    if row.measure == THROUGHPUT:
        return line.output.capacity / case.site.scheduled_time
    if row.measure == LINE_YIELD:
        return line.output.line_yield
    if row.measure != CONSUMPTION:
        return uptime(line.states[row.of])
    used = [
        each.quantity
        for name, each in ledger.lines.items()
        if each.item == row.of and each.category in ("materials", "utilities", "facilities") and not name.startswith(PAID_FOR)
    ]
    return sum_of(used) / line.output.good_modules


def of_tests(row: PerformanceGuarantee, planned: Value) -> tuple[Value, Value]:
    """Mean and standard deviation, over the mean, of what is held to the level.

        worse = 1 + row.transfer_loss if row.measure == "consumption" else 1 - row.transfer_loss    [1]
        mean, spread = planned * worse, (row.transfer_spread**2 + row.day_spread**2 / (row.days * row.tests) +
            row.measurement**2) ** 0.5    [any, 1]

    Takes: planned [any].
    Source: JCGM 100 (GUM), combined standard uncertainty; for the rest common practice.

    The mean over all days of all tests counts. Transfer, days and measurement vary independently of each other, each by a
    normal distribution.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(measure="uptime", transfer_loss=0.5, transfer_spread=0.3, day_spread=0.8, days=2.0, tests=2.0, measurement=0.0)
    >>> of_tests(row, 0.8)
    (0.4, 0.5)
    """
    worse = 1 + row.transfer_loss if row.measure == CONSUMPTION else 1 - row.transfer_loss
    spread = (row.transfer_spread**2 + row.day_spread**2 / (row.days * row.tests) + row.measurement**2) ** 0.5
    return planned * worse, spread


def promise_exposure(case: Case, row: PerformanceGuarantee, rate: Value) -> PromiseExposure:
    """Probability and cost of one guaranteed rate, taken alone.

        mean_and_spread = of_tests(row, rate)    [any]
        tested = mean_and_spread[0]
        spread = mean_and_spread[1]
        ratio = tested / row.level    [1]
        spare = 1 - ratio if row.measure == "consumption" else ratio - 1    [1]
        error = ratio * spread    [1]
        limit = 1 / row.minimum - 1 if row.measure == "consumption" else 1 - row.minimum    [1]
        planned = rate
        miss_probability = falls_short(error, spare)
        left_and_retests = of_retests(case, row, miss_probability)    [any]
        left = left_and_retests[0]    [1]
        retests = left_and_retests[1]
        probability = left * miss_probability
        rejection_probability = left * falls_short(error, spare + limit)
        damages = left * in_reporting_currency(expected_payment(error, spare, (row.damages, row.cap, limit, row.rejection)),
            row.currency, case.money)
        licensor_tests = in_reporting_currency(row.test_cost * row.tests * row.test_share, row.currency, case.money)
        licensee_tests = in_reporting_currency(row.test_cost * row.tests * (1 - row.test_share), row.currency, case.money)

    Takes: rate [any].
    Source: the normal distribution; for the rest common practice.

    A yield of just its level is missed at even odds, and every other miss is mended.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(measure="line_yield", transfer_loss=0.0, transfer_spread=0.05, day_spread=0.0, days=1.0, tests=2.0,
    ...     measurement=0.0, level=0.9, damages=1000.0, cap=1e9, minimum=0.0, rejection=0.0, currency="EUR", test_cost=10.0,
    ...     test_share=0.25, unit="%", retest_cost=30.0, retest_passed=0.5)
    >>> found = promise_exposure(Some(money={"eur": Some(exchange_rate=1.0)}), row, 0.9)
    >>> found.miss_probability, found.probability, found.licensor_tests, found.licensee_tests, found.retests
    (0.5, 0.25, 5.0, 15.0, 15.0)
    """
    mean, spread = of_tests(row, rate)
    ratio, less = mean / row.level, row.measure == CONSUMPTION
    spare, limit = (1 - ratio, 1 / row.minimum - 1) if less else (ratio - 1, 1 - row.minimum)
    error = ratio * spread
    miss = falls_short(error, spare)
    left, retests = of_retests(case, row, miss)
    paid = expected_payment(error, spare, (row.damages, row.cap, limit, row.rejection))
    tests = in_reporting_currency(row.test_cost * row.tests, row.currency, case.money)
    return PromiseExposure(
        unit=row.unit,
        planned=rate,
        tested=mean,
        spread=spread,
        miss_probability=miss,
        probability=left * miss,
        rejection_probability=left * falls_short(error, spare + limit),
        damages=left * in_reporting_currency(paid, row.currency, case.money),
        licensor_tests=tests * row.test_share,
        licensee_tests=tests * (1 - row.test_share),
        retests=retests,
    )


def expected_date(case: Case, row: AcceptanceDate) -> tuple[Value, Value]:
    """The date of acceptance that is expected, and its standard deviation; of one counted from a gate, by the tasks up to it.

        gates = transfer_of(case).gates if row.counted_from != "first_day" else {}    [any]
        expected = gates[row.counted_from].expected_time + row.expected if gates else row.expected    [s]
        spread = (gates[row.counted_from].variance + row.spread**2) ** 0.5 if gates else row.spread    [s]
        date, deviation = expected, spread    [s, s]

    Source: as for the expected duration of a task; what comes after the gate is independent of it.

    The draws of the set take the gate of each draw of the durations instead, over all paths.

    >>> from types import SimpleNamespace as Some
    >>> expected_date(None, Some(counted_from="first_day", expected=31.0, spread=2.0))
    (31.0, 2.0)
    """
    project = None if row.counted_from == FIRST_DAY else transfer_of(case)
    if project is None:
        return row.expected, row.spread
    gate = project.gates[row.counted_from]
    return gate.expected_time + row.expected, (gate.variance + row.spread**2) ** 0.5


def date_exposure(case: Case, row: AcceptanceDate) -> DateExposure:
    """Probability and cost of a guaranteed date; the date of acceptance is normal around the one that is expected.

        expected_and_spread = expected_date(case, row)    [s]
        expected = expected_and_spread[0]
        spread = expected_and_spread[1]
        spare = row.time + row.grace - expected    [s]
        probability = falls_short(spread, spare)
        rejection_probability = falls_short(spread, spare + row.latest)
        damages = in_reporting_currency(expected_payment(spread, spare, (row.damages, row.cap, row.latest, row.rejection)),
            row.currency, case.money)

    Source: the normal distribution; for the rest common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(time=10.0, grace=1.0, expected=11.0, spread=2.0, latest=90.0, counted_from="first_day")
    >>> row.damages, row.cap, row.rejection, row.currency = 3.0, 900.0, 0.0, "EUR"
    >>> found = date_exposure(Some(money={"eur": Some(exchange_rate=1.0)}), row)
    >>> found.probability, round(found.damages, 6)
    (0.5, 2.393654)
    """
    expected, spread = expected_date(case, row)
    spare = row.time + row.grace - expected
    paid = expected_payment(spread, spare, (row.damages, row.cap, row.latest, row.rejection))
    return DateExposure(
        expected=expected,
        spread=spread,
        probability=falls_short(spread, spare),
        rejection_probability=falls_short(spread, spare + row.latest),
        damages=in_reporting_currency(paid, row.currency, case.money),
    )


Owed = list[tuple[Value, Value, str]]  # amount in the reporting currency, when it is due, the currency of its row


def owed_under_guarantees(
    case: Case,
    power: Mapping[str, Exposure],
    rates: Mapping[str, PromiseExposure],
    dates: Mapping[str, DateExposure],
    licensor: bool,
) -> Owed:
    """What guarantees may be expected to cost the licensor, or to bring the licensee; each by amount, time and currency.

    The licensor pays its part of the tests and the retests on top of damages; the licensee's part of tests is taken off what it
    receives.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(time=9.0, currency="EUR", counted_from="first_day")
    >>> case = Some(guarantees={}, performance_guarantees={"rate": row})
    >>> found = PromiseExposure("%", 0.9, 0.9, 0.1, 0.5, 0.5, 0.0, 100.0, 3.0, 7.0, 2.0)
    >>> [owed_under_guarantees(case, {}, {"rate": found}, {}, side) for side in (True, False)]
    [[(105.0, 9.0, 'EUR')], [(93.0, 9.0, 'EUR')]]
    """
    owed: Owed = []
    tested: list[tuple[Guarantee | PerformanceGuarantee, Exposure | PromiseExposure]] = [
        *zip(case.guarantees.values(), power.values()), *zip(case.performance_guarantees.values(), rates.values()),
    ]  # fmt: skip
    for row, each in tested:
        besides = each.licensor_tests + each.retests if licensor else -each.licensee_tests
        owed.append((each.damages + besides, date_of(case, row), row.currency))
    for name, date in dates.items():
        term = case.acceptance_dates[name]
        owed.append((date.damages, term.time, term.currency))
    return owed
