"""What a row of cash flows is worth: net present value, returns, payback, low point."""

from __future__ import annotations

from collections.abc import Sequence

from ...core.operations import Value, choose, irr_with_count, larger, least_of, safe_divide, sum_of, valid_if
from ...core.series import Row
from .plan_figures import Valuation
from .timing import QUARTERS


def nominal(rate: Value, inflation: Value, basis: str) -> Value:
    """A rate with inflation, from one with or without: (1 + real) (1 + inflation) - 1.

        with_inflation = (1 + rate) * (1 + inflation) - 1 if basis == "real" else rate    [1]

    Takes: rate [1], inflation [1].
    Source: Fisher, The theory of interest, 1930.

    4 % without inflation, at 2.5 %, is 6.6 % with it (check value L05):

    >>> round(nominal(0.04, 0.025, "real"), 9), nominal(0.04, 0.025, "nominal")
    (0.066, 0.04)
    """
    return (1 + rate) * (1 + inflation) - 1 if basis == "real" else rate


def npv(flows: Sequence[Value], rate: Value) -> Value:
    """Net present value at a rate for one period; the first flow comes on the first day.

        value = sum_of([flow / (1 + rate) ** number for number, flow in enumerate(flows)])    [any]

    Takes: flows [any], rate [1].
    Source: common practice.

    >>> round(npv([-40_000.0, 5_000.0, 8_000.0, 12_000.0, 30_000.0], 0.08), 5)
    3065.22267
    """
    return sum_of([flow / (1 + rate) ** number for number, flow in enumerate(flows)])


def mirr(flows: Sequence[Value], finance: Value, reinvest: Value) -> tuple[Value, Value]:
    """Modified internal rate of return for one period: what comes in is reinvested at one rate, what goes out borrowed at another.

        periods = len(flows) - 1    [1]
        grown = sum_of([larger(flow, 0.0) * (1 + reinvest) ** (periods - k) for k, flow in enumerate(flows)])    [any]
        spent = sum_of([larger(-flow, 0.0) / (1 + finance) ** k for k, flow in enumerate(flows)])    [any]
        found = choose(spent > 0, choose(grown > 0, 1.0, 0.0), 0.0)    [1]
        rate, status = valid_if(found > 0, safe_divide(grown, spent) ** (1 / periods) - 1), found    [1, 1]

    Takes: flows [any], finance [1], reinvest [1].
    Source: common practice.

    With its status: no value, and 0, where nothing goes out or nothing comes in, as spreadsheets have it.

    >>> mirr([-100.0, 0.0, 121.0], 0.1, 0.1)[1], mirr([-100.0, 0.0], 0.1, 0.1), mirr([100.0, 0.0], 0.1, 0.1)
    (1.0, (nan, 0.0), (nan, 0.0))
    """
    periods = len(flows) - 1
    grown = sum_of([larger(flow, 0.0) * (1 + reinvest) ** (periods - k) for k, flow in enumerate(flows)])
    spent = sum_of([larger(-flow, 0.0) / (1 + finance) ** k for k, flow in enumerate(flows)])
    found = choose(spent > 0, choose(grown > 0, 1.0, 0.0), 0.0)
    return valid_if(found > 0, safe_divide(grown, spent) ** (1 / periods) - 1), found


def recovered_share(flows: Sequence[Value]) -> tuple[Value, Value]:
    """What comes in over what is paid out, without interest, and 1; no value, and 0, where nothing is paid out.

        spent = sum_of([larger(-flow, 0.0) for flow in flows])    [any]
        share = safe_divide(sum_of([larger(flow, 0.0) for flow in flows]), spent)    [1]
        recovered, status = valid_if(spent > 0, share), choose(spent > 0, 1.0, 0.0)    [1, 1]

    Takes: flows [any].
    Source: common practice.

    >>> recovered_share([-100.0, 30.0, 20.0]), recovered_share([5.0])
    ((0.5, 1.0), (nan, 0.0))
    """
    spent = sum_of([larger(-flow, 0.0) for flow in flows])
    share = safe_divide(sum_of([larger(flow, 0.0) for flow in flows]), spent)
    return valid_if(spent > 0, share), choose(spent > 0, 1.0, 0.0)


def quarters_below(sums: Sequence[Value]) -> Value:
    """The number of the period within which a running sum is negative for the last time; 0 if it never is. The first is on day 0.

        number = largest_of([0.0, *[choose(total < 0, place + 1.0, 0.0) for place, total in enumerate(sums)]])    [1]

    Takes: sums [any].
    Source: common practice.

    >>> quarters_below([-100.0, -60.0, -20.0, 20.0]), quarters_below([5.0]), quarters_below([5.0, -5.0])
    (3.0, 0.0, 2.0)
    """
    below: Value = 0.0
    for number, total in enumerate(sums):
        below = choose(total < 0, number + 1.0, below)
    return below


def payback(sums: Sequence[Value], below: Value) -> tuple[Value, Value]:
    """Periods until a running sum is positive for good, within the last one in proportion, and 1; no value, and 0, if it never is.

        paid = choose(sums[-1] >= 0, 1.0, 0.0)    [1]
        parts = [safe_divide(-sums[number], sums[number + 1] - sums[number]) for number in range(len(sums) - 1)]    [1]
        within = sum_of([choose(below == number + 1.0, part, 0.0) for number, part in enumerate(parts)])    [1]
        periods, status = valid_if(paid > 0, larger(below - 1.0, 0.0) + within), paid    [1, 1]

    Takes: sums [any], below [1].
    Source: common practice.

    >>> payback([-100.0, -60.0, -20.0, 20.0], 3.0), payback([-100.0, -60.0], 2.0)
    ((2.5, 1.0), (nan, 0.0))
    """
    paid = choose(sums[-1] >= 0, 1.0, 0.0)
    within = sum_of(
        [
            choose(below == number + 1.0, safe_divide(-sums[number], sums[number + 1] - sums[number]), 0.0)
            for number in range(len(sums) - 1)
        ]
    )
    return valid_if(paid > 0, larger(below - 1.0, 0.0) + within), paid


def low_point(sums: Sequence[Value], least: Value) -> Value:
    """The number of periods after which the least running sum is first reached; 0 if it is never below nothing.

        reached = least_of([choose(total <= least, 1.0 * number, 1.0 * len(sums)) for number, total in enumerate(sums)])
            [1]
        number = choose(least < 0, reached, 0.0)    [1]

    Takes: sums [any], least [any].
    Source: common practice.

    >>> low_point([-2.0, -5.0, -5.0, 3.0], -5.0)
    1.0
    """
    reached = least_of([choose(total <= least, float(number), float(len(sums))) for number, total in enumerate(sums)])
    return choose(least < 0, reached, 0.0)


def each_quarter(rate: Value) -> Value:
    """The rate of a quarter that compounds to a yearly one.

        quarterly = (1 + rate) ** (1 / QUARTERS) - 1    [1]

    Takes: rate [1].
    Source: common practice.

    >>> round(each_quarter(1.01**4 - 1), 12)
    0.01
    """
    return (1 + rate) ** (1 / QUARTERS) - 1


def discounted(flows: Sequence[Value], rate: Value) -> Row:
    """Running sums of flows by column, each discounted from the end of its quarter to the first day.

        quarterly = each_quarter(rate)    [1]
        sums = Row([flow / (1 + quarterly) ** number for number, flow in enumerate(flows)]).running_sum()    [any]

    Takes: flows [any], rate [1].
    Source: common practice.

    At 1 % a quarter, 101 after a quarter are 100:

    >>> [round(total, 9) for total in discounted([-100.0, 101.0], 1.01**4 - 1)]
    [-100.0, 0.0]
    """
    each = each_quarter(rate)
    return Row(flow / (1 + each) ** number for number, flow in enumerate(flows)).running_sum()


def worth(
    flows: Sequence[Value], sums: Sequence[Value], discounted_sums: Sequence[Value], rate: Value, quarter: Value
) -> Valuation:
    """All of it for flows of quarters, with their running sums, at a yearly rate with inflation; from the first day on.

        quarterly = each_quarter(rate)    [1]
        least = least_of([0.0, *sums])    [any]
        npv_at_rate = npv(flows, quarterly)    [any]
        modified = mirr(flows, quarterly, quarterly)    [1]
        simple = payback(sums, quarters_below(sums))    [1]
        with_interest = payback(discounted_sums, quarters_below(discounted_sums))    [1]
        npv = npv_at_rate
        irr = (1 + irr_with_count(flows)[0]) ** QUARTERS - 1
        irr_status = irr_with_count(flows)[1]
        recovered = recovered_share(flows)[0]
        recovered_status = recovered_share(flows)[1]
        discounted_quarters_below = quarters_below(discounted_sums)
        quarters_below = quarters_below(sums)
        mirr = (1 + modified[0]) ** QUARTERS - 1
        mirr_status = modified[1]
        payback = simple[0] * quarter
        payback_status = simple[1]
        discounted_payback = with_interest[0] * quarter
        discounted_payback_status = with_interest[1]
        low_point_time = low_point(sums, least) * quarter
        low_point = least

    Takes: flows [any], sums [any], discounted_sums [any], rate [1], quarter [s].
    Source: common practice.

    100 are paid on the first day, 60 come back after each of two quarters:

    >>> found = worth([-100.0, 60.0, 60.0], [-100.0, -40.0, 20.0], [-100.0, -40.0, 20.0], 0.0, 0.25)
    >>> found.npv, found.low_point, round(found.payback, 9)
    (20.0, -100.0, 0.416666667)
    """
    each = each_quarter(rate)
    below, discounted_below = quarters_below(sums), quarters_below(discounted_sums)
    simple, repaid = payback(sums, below)
    with_interest, repaid_with_interest = payback(discounted_sums, discounted_below)
    least = least_of([0.0, *sums])
    rate_of_flows, rates = irr_with_count(flows)
    modified, has_modified = mirr(flows, each, each)
    recovered, has_recovered = recovered_share(flows)
    return Valuation(
        npv=npv(flows, each),
        irr=(1 + rate_of_flows) ** QUARTERS - 1,
        irr_status=rates,
        recovered=recovered,
        recovered_status=has_recovered,
        quarters_below=below,
        discounted_quarters_below=discounted_below,
        mirr=(1 + modified) ** QUARTERS - 1,
        mirr_status=has_modified,
        payback=simple * quarter,
        payback_status=repaid,
        discounted_payback=with_interest * quarter,
        discounted_payback_status=repaid_with_interest,
        low_point=least,
        low_point_time=low_point(sums, least) * quarter,
    )
