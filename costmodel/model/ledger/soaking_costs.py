"""What a light-soaking plan measures, the stock that waits for it, and the claims that its ratings bring."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import pi

from ...case.line_records import Soaking
from ...case.whole_case import Case
from ...core.operations import Value, choose, exp, normal_cdf, safe_divide, sum_of
from ..line.line_figures import Line
from .entries import Account, entry
from .landed_prices import in_reporting_currency
from .ledger_figures import IMPUTED, PLANT, SHARE_LOST, LedgerLine, Rating, SoakingPlan, StepValue, WaitingStock
from .soaking_sample import least_half_width, lot_error, sample_size


def expected_shortfall(error: Value, tolerance: Value) -> Value:
    """Mean shortfall of a lot beyond a tolerance, when its rating has a normal error.

        reach = safe_divide(tolerance, error)    [1]
        density = exp(-(reach**2) / 2) / (2 * pi) ** 0.5    [1]
        shortfall = choose(error > 0.0, error * density - tolerance * (1 - normal_cdf(reach)), 0.0)    [1]

    Takes: error [1], tolerance [1].
    Source: loss function of the normal distribution.

    For an error s and a tolerance t it is s phi(t/s) - t (1 - Phi(t/s)). Without tolerance it is s / sqrt(2 pi); without error,
    zero.

    >>> round(expected_shortfall(1.0, 0.0), 6), expected_shortfall(0.0, 0.01)
    (0.398942, 0.0)
    """
    reach = safe_divide(tolerance, error)
    density = exp(-(reach**2) / 2) / (2 * pi) ** 0.5
    return choose(error > 0.0, error * density - tolerance * (1 - normal_cdf(reach)), 0.0)


def rating(case: Case, plan: Soaking) -> Rating:
    """The rating as the step of the case carries it out, `processed_share` of each lot, beside the sample that it needs.

        soaked = plan.lot * case.steps[plan.step].processed_share
        common = plan.measurement_common    [1]
        error = lot_error(plan, soaked, common)
        precision_met = choose(error.half_width <= plan.precision, 1.0, 0.0)
        least_half_width = least_half_width(plan, common)
        sample_needed = sample_size(plan, common)
        sample_needed_status = choose(least_half_width <= plan.precision, 1.0, 0.0)
        sample_for_random = sample_size(plan, 0.0)
        sample_for_random_status = choose(sample_for_random == sample_for_random, 1.0, 0.0)
        shortfall = expected_shortfall(error.standard, plan.tolerance)

    Source: GUM, JCGM 100:2008.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> found = rating(case, case.soaking["rating"])
    >>> found.soaked == case.soaking["rating"].lot * case.steps["soak"].processed_share
    True
    """
    soaked = plan.lot * case.steps[plan.step].processed_share
    error = lot_error(plan, soaked, plan.measurement_common)
    least = least_half_width(plan, plan.measurement_common)
    return Rating(
        soaked=soaked,
        error=error,
        precision_met=choose(error.half_width <= plan.precision, 1.0, 0.0),
        least_half_width=least,
        sample_needed=sample_size(plan, plan.measurement_common),
        sample_needed_status=choose(least <= plan.precision, 1.0, 0.0),
        sample_for_random=sample_size(plan, 0.0 * plan.measurement_common),
        sample_for_random_status=choose(least_half_width(plan, 0.0 * plan.measurement_common) <= plan.precision, 1.0, 0.0),
        shortfall=expected_shortfall(error.standard, plan.tolerance),
    )


def waiting_stock(
    case: Case, line: Line, plan: Soaking, route: Mapping[str, StepValue], lines: Mapping[str, LedgerLine]
) -> WaitingStock:
    """The modules that wait while a part of their lot is soaked: their flow times the wait, at their cost so far.

        before = list(case.steps)[: list(case.steps).index(plan.step) + 1]    [any]
        variable = [x.variable / line.steps[x.step].starts for x in lines.values() if x.loss == SHARE_LOST and x.step in before]
            [money/plate]
        flow = line.steps[plan.step]    [any]
        waiting_time = flow.cycle.time * case.constants.loads_per_tool * case.constants.year / case.site.scheduled_time
        waiting = flow.starts * waiting_time / case.constants.year
        money_tied_up = waiting * route[plan.step].cost_so_far
        variable_share = safe_divide(sum_of(variable), route[plan.step].cost_so_far)

    Source: Little's law.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).ledger
    >>> stock = found.soaking["rating"].stock
    >>> stock.money_tied_up == stock.waiting * found.route["soak"].cost_so_far
    True
    """
    order = list(case.steps)
    before = order[: order.index(plan.step) + 1]
    variable = [x.variable / line.steps[x.step].starts for x in lines.values() if x.loss == SHARE_LOST and x.step in before]
    flow = line.steps[plan.step]
    time = flow.cycle.time * case.constants.loads_per_tool * case.constants.year / case.site.scheduled_time
    waiting = flow.starts * time / case.constants.year
    return WaitingStock(
        waiting_time=time,
        waiting=waiting,
        money_tied_up=waiting * route[plan.step].cost_so_far,
        variable_share=safe_divide(sum_of(variable), route[plan.step].cost_so_far),
    )


def soaking_entries(
    case: Case, line: Line, ratings: Mapping[str, Rating], stocks: Mapping[str, WaitingStock]
) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for expected claims on lots rated too high, and for interest on the modules that wait.

        quantity = [each for n in case.soaking for each in (ratings[n].shortfall * line.output.stabilised_watts,
            stocks[n].money_tied_up)]
        price = [each for plan in case.soaking.values() for each in (in_reporting_currency(plan.claim, plan.currency,
            case.money), plan.holding_rate * case.constants.year)]

    Source: common practice.

    Both are for good modules only and bear no yield loss. The interest is imputed: the plan has the stock in its working capital
    and pays no such line.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).ledger
    >>> found.lines["soaking.rating.holding"].quantity == found.soaking["rating"].stock.money_tied_up
    True
    """
    for name, plan in case.soaking.items():
        yield (
            f"soaking.{name}.claims",
            entry(
                line,
                Account(
                    step=PLANT, category="overheads", item=name, group="overheads", unit="Wp_stabilised", driver="watts claimed"
                ),
                quantity=ratings[name].shortfall * line.output.stabilised_watts,
                price=in_reporting_currency(plan.claim, plan.currency, case.money),
                variable_share=1.0,
            ),
        )
        yield (
            f"soaking.{name}.holding",
            entry(
                line,
                Account(step=PLANT, category="overheads", item=name, group="overheads", unit=case.currency, driver=IMPUTED),
                quantity=stocks[name].money_tied_up,
                price=plan.holding_rate * case.constants.year,
                variable_share=stocks[name].variable_share,
            ),
        )


def soaking_plan(
    line: Line, plan: Soaking, found: tuple[Rating, WaitingStock], own: tuple[LedgerLine, LedgerLine], steps: Mapping[str, Value]
) -> SoakingPlan:
    """A plan with its rating, its stock and what it costs: soaking and rating again, interest, claims.

        rating = found[0]
        stock = found[1]
        claims = own[0].cost
        holding = own[1].cost
        step_cost = sum_of([steps[name] for name in dict.fromkeys((plan.step, plan.retest))])
        cost_and_risk = step_cost + holding + claims
        cost_and_risk_per_stabilised_watt = cost_and_risk / line.output.stabilised_watts

    Takes: steps [money].
    Source: common practice.

    All of it stands in the ledger.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).ledger.soaking["rating"]
    >>> found.cost_and_risk == found.step_cost + found.holding + found.claims
    True
    """
    claims, holding = (each.cost for each in own)
    together = sum_of([steps[name] for name in dict.fromkeys((plan.step, plan.retest))])
    cost = together + holding + claims
    return SoakingPlan(
        rating=found[0],
        stock=found[1],
        claims=claims,
        holding=holding,
        step_cost=together,
        cost_and_risk=cost,
        cost_and_risk_per_stabilised_watt=cost / line.output.stabilised_watts,
    )
