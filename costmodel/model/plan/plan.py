"""Puts the plan together: volumes, capital, the quarters, what they are worth, other lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

from ...case.whole_case import Case, kept
from ...core.operations import Value, choose, least_of, sum_of, valid_if
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from . import capital, finance, operation
from .closing import ending
from .other_lines import other_line
from .plan_depreciation import by_quarter, years_of_use
from .plan_figures import Payments, Plan, Quarter, SuppliedQuarters, Valuation
from .quarters import EQUIPMENT, Grounds, filled, never_closed
from .supplied import Supply
from .timing import QUARTERS, by_year, column_count, in_quarters, quarter_names, running, year_names
from .volume import Volumes, volumes
from .worth import nominal, worth
from .years_of_use import asset_plans

NO_SERVICE = 1e9  # stands where a year has no debt service, so that it is never the least cover


def compute_plan(case: Case, line: Line, ledger: Ledger) -> Plan | None:
    """The plan of a case, or None for a case without plan.yaml.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> plan = evaluate(load_case("inputs_demo/facade")).plan
    >>> max(abs(quarter.balance) for quarter in plan.quarters.values()) < 1e-6 * plan.capital
    True
    """
    if not case.has_plan:
        return None
    grounds = grounds_of(case, line, ledger)
    by_rule, never = filled(case, line, ledger, grounds)
    found, paid = by_rule.quarters(), by_rule.payments
    money, count = sum_of([asset.cost for asset in grounds.assets]), len(found)
    required, asked, quarter = grounds.required_return, grounds.equity_return, case.constants.year / QUARTERS
    years = [finance.debt_year(case, columns) for columns in by_year(found)]
    least = least_of([choose(each.dscr_status > 0, each.dscr, NO_SERVICE) for each in years])
    return Plan(
        costs=grounds.costs,
        assets=grounds.asset_plans,
        use_years=grounds.use_years,
        markets=by_rule.markets,
        payments={stream.name: Payments(stream.paid_as, dict(zip(quarter_names(len(found)), stream.amounts))) for stream in paid},
        supplied={name: _by_quarter(case.supplied_materials[name].unit, each) for name, each in by_rule.supplied.items()},
        quarters=dict(zip(quarter_names(len(found)), found)),
        never_closed=never_closed(never, by_rule),
        years=dict(zip(year_names(len(years)), years)),
        project=_worth(found, "free_cash", required, quarter),
        owners=_worth(found, "owners_cash", asked, quarter),
        others={name: other_line(case, row, money, count, required) for name, row in case.other_lines.items()},
        ending=ending(case, by_rule.use, never.ahead, by_rule.shortfall),
        start=grounds.start,
        required_return=required,
        equity_return=asked,
        capital=money,
        capital_per_annual_watt=money / line.output.stabilised_watts,
        capital_per_annual_m2=money / line.output.good_area,
        minimum_dscr=valid_if(least < NO_SERVICE, least),
        minimum_dscr_status=choose(least < NO_SERVICE, 1.0, 0.0),
        years_below_minimum_dscr=sum_of([each.below_minimum_dscr for each in years]),
    )


def grounds_of(case: Case, line: Line, ledger: Ledger) -> Grounds:
    """What the quarters of a plan are made from, found once for each case; line and ledger are those of the case."""
    return kept(case, "grounds of the plan", lambda: _grounds(case, line, ledger))


def _grounds(case: Case, line: Line, ledger: Ledger) -> Grounds:
    returns, year = case.plan.returns, case.constants.year
    inflation = returns.inflation * year
    start, assets = start_of_production(case), capital.assets(case, line)
    plans, count = asset_plans(case, assets, start), column_count(case)
    years, run = years_of_use(case, assets, plans, start), running(count, start)
    return Grounds(
        start=start,
        assets=assets,
        asset_plans=plans,
        use_years=years,
        resale=capital.resale(plans, years, start, count),
        equipment={name: by_quarter([getattr(each, name) for each in years.values()], run) for name in EQUIPMENT},
        costs=operation.year_costs(ledger),
        planned=planned_volumes(case, start),
        required_return=nominal(returns.required_return * year, inflation, returns.basis),
        equity_return=nominal(returns.equity_return * year, inflation, returns.basis),
    )


def _by_quarter(unit: str, rows: Supply) -> SuppliedQuarters:
    """A supplied material, quarter by quarter."""
    names = quarter_names(len(rows.used))
    return SuppliedQuarters(unit, **{each.name: dict(zip(names, getattr(rows, each.name))) for each in fields(rows)})


def _worth(found: Sequence[Quarter], cash: str, rate: Value, quarter: Value) -> Valuation:
    """What a column of cash is worth, with its running sums."""
    flows, sums, discounted = ([getattr(each, f"{kind}{cash}") for each in found] for kind in ("", "cumulative_", "discounted_"))
    return worth(flows, sums, discounted, rate, quarter)


def start_of_production(case: Case) -> Value:
    """Quarters from the first day to the start of production.

        start = in_quarters(case, case.plan.schedule.build_time + case.plan.schedule.delay)    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> start_of_production(Some(plan=Some(schedule=Some(build_time=6.0, delay=0.5)), constants=Some(year=4.0)))
    6.5
    """
    return in_quarters(case, case.plan.schedule.build_time + case.plan.schedule.delay)


def planned_volumes(case: Case, start: Value) -> Volumes:
    """What the schedule plans, quarter by quarter, whatever the markets take.

        staffed = in_quarters(case, case.plan.schedule.build_time - case.plan.schedule.staff_before)    [1]
        result = volumes(case, column_count(case), start, staffed)

    Takes: start [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> schedule = Some(build_time=3.0, staff_before=1.0, horizon=1.0, volume_share=1.0, ramp_stretch=1.0)
    >>> case = Some(plan=Some(schedule=schedule), constants=Some(year=4.0), ramp={}, expansions={})
    >>> planned_volumes(case, 3.0)
    Volumes(started=[0.0, 0.0, 0.0, 0.0, 1.0], good=[0.0, 0.0, 0.0, 0.0, 1.0], fixed=[0.0, 0.0, 0.0, 1.0, 1.0])
    """
    staffed = in_quarters(case, case.plan.schedule.build_time - case.plan.schedule.staff_before)
    return volumes(case, column_count(case), start, staffed)
