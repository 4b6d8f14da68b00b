"""The plant as it would be without our delay and with nothing paid to us, by which the licensee's other ways go."""

from __future__ import annotations

from dataclasses import replace

from ...case.whole_case import Case, with_held
from ...core.operations import Value
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from ..plan.plan import grounds_of
from ..plan.quarters import filled, never_closed
from ..plan.timing import quarter_names
from ..plan.worth import each_quarter, npv
from .deal_figures import OnTime

DELAY = "schedule.delay"

def is_late(case: Case) -> bool:
    """Whether a case states a delay of ours. That is structure: 0, in whatever reading, says that there is none.

    >>> from types import SimpleNamespace as Some
    >>> [is_late(Some(plan=Some(schedule=Some(delay=delay)))) for delay in (0.0, 2.0)]
    [False, True]
    """
    delay = case.plan.schedule.delay
    plain: Value = getattr(delay, "value", getattr(delay, "magnitude", delay))  # of an input as a cell, as a quantity
    if hasattr(plain, "any"):  # of draws
        return bool(plain.any())
    return not (isinstance(plain, float) and plain == 0.0)


def on_time(case: Case, line: Line, ledger: Ledger) -> OnTime | None:
    """The plan of a case without our delay and our payments; None where no delay is stated, or no other way would go by it.

    Another firm's process is not late because ours is. Without a delay this plan is that without payments, and not made again.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> late = evaluate(with_values(case, {"schedule.delay": case.constants.year})).deal
    >>> never = evaluate(case).deal
    >>> never.on_time is None, abs(late.alternatives["way_other"].npv - never.alternatives["way_other"].npv) < 1e-6
    (True, True)
    """
    if not (case.other_ways and is_late(case)):
        return None
    schedule = case.plan.schedule
    prompt = with_held(case, {"schedule": replace(schedule, delay=0.0 * schedule.build_time)})
    grounds = replace(grounds_of(prompt, line, ledger), pays=False)
    by_rule, never = filled(prompt, line, ledger, grounds)
    quarters, rate = dict(zip(quarter_names(len(by_rule.use.open)), by_rule.quarters())), each_quarter(grounds.required_return)
    return OnTime(
        assets=grounds.asset_plans,
        use_years=grounds.use_years,
        markets=by_rule.markets,
        quarters=quarters,
        never_closed=never_closed(never, by_rule),
        start=grounds.start,
        npv=npv([each.free_cash for each in quarters.values()], rate),
        sales_now=npv([each.revenue for each in quarters.values()], rate),
    )
