"""What a light-soaking plan measures, what it holds up, and what a rating from a sample risks."""

from __future__ import annotations

from math import pi

from ..case.line_records import Soaking
from ..case.records import Case
from ..line.records import Line
from ..operations import Value, choose, exp, larger, normal_cdf, safe_divide, whole_up
from .prices import in_reporting_currency
from .records import SoakingPlan, StepValue


def sample_size(spread: Value, precision: Value, coverage: Value, lot: Value) -> Value:
    """Modules of a lot to soak for a wanted half-width of its mean: n = n0 / (1 + n0 / lot), n0 = (k s / e)^2.

    The usual formula for the mean of a finite lot; common practice. Half-width 1 %, spread 5 %, k = 2, an endless lot:

    >>> round(sample_size(0.05, 0.01, 2.0, 1e12), 6)
    100.0
    """
    endless = (coverage * spread / precision) ** 2
    return endless / (1 + endless / lot)


def mean_error(spread: Value, soaked: Value, lot: Value) -> Value:
    """Standard error of the mean of a lot from a sample without replacement: s sqrt((1 - n/N) / n).

    >>> round(mean_error(0.02, 100.0, 1e12), 6), mean_error(0.02, 50.0, 50.0)
    (0.002, 0.0)
    """
    return spread * (larger(1 - soaked / lot, 0.0) / soaked) ** 0.5


def expected_shortfall(error: Value, tolerance: Value) -> Value:
    """Mean shortfall of a lot beyond a tolerance t, when its rating has a normal error s: s phi(t/s) - t (1 - Phi(t/s)).

    The loss function of the normal distribution. Without tolerance it is s / sqrt(2 pi); without error, zero.

    >>> round(expected_shortfall(1.0, 0.0), 6), expected_shortfall(0.0, 0.01)
    (0.398942, 0.0)
    """
    reach = safe_divide(tolerance, error)
    density = exp(-(reach**2) / 2) / (2 * pi) ** 0.5
    return choose(error > 0.0, error * density - tolerance * (1 - normal_cdf(reach)), 0.0)


def soaking_plan(case: Case, line: Line, plan: Soaking, cost_so_far: dict[str, StepValue], step_cost: Value) -> SoakingPlan:
    """A plan as the step of the case carries it out, `processed_share` of each lot, beside the sample it would need."""
    flow = line.steps[plan.step]
    soaked = plan.lot * case.steps[plan.step].processed_share
    error = mean_error(plan.spread, soaked, plan.lot)
    shortfall = expected_shortfall(error, plan.tolerance)
    claims = in_reporting_currency(plan.claim, plan.currency, case.money) * shortfall * line.output.stabilised_watts
    waiting_time = flow.cycle.time * case.constants.loads_per_tool
    waiting = flow.starts * waiting_time / case.site.scheduled_time
    tied_up = waiting * cost_so_far[plan.step].cost_so_far
    holding = tied_up * plan.holding_rate * case.constants.year
    return SoakingPlan(
        sample_needed=whole_up(sample_size(plan.spread, plan.precision, plan.coverage, plan.lot)),
        soaked=soaked,
        half_width=plan.coverage * error,
        shortfall=shortfall,
        claims=claims,
        waiting_time=waiting_time,
        waiting=waiting,
        money_tied_up=tied_up,
        holding=holding,
        step_cost=step_cost,
        cost_and_risk=step_cost + holding + claims,
        cost_and_risk_per_stabilised_watt=(step_cost + holding + claims) / line.output.stabilised_watts,
    )
