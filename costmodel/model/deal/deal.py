"""The deal: what payments leave to the licensor above its floor, and to the licensee above its best alternative."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from ...case.whole_case import Case
from ...core.fields import declared
from ...core.operations import Value, choose, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from ..plan import royalty
from ..plan.closing_time import time_of_use
from ..plan.plan import grounds_of
from ..plan.plan_figures import Payments, Plan, Quarter
from ..plan.quarters import filled, never_closed
from ..plan.sales import watts_labelled
from ..plan.timing import by_year
from ..plan.transfer import transfer_of
from ..plan.worth import each_quarter, npv
from .deal_figures import (
    Alternative,
    DateExposure,
    Deal,
    DealYear,
    ExclusivityValuation,
    Exposure,
    Heading,
    Licensee,
    Licensor,
    OnTime,
    OwnMoney,
    PromiseExposure,
    Received,
    SecondLicensee,
    Taken,
    Yardsticks,
)
from .laboratory import compute_laboratory
from .licensee import alternatives, damages_received, dividends, licensee
from .licensor import licensor, received
from .licensor_costs import Floor, floor_of, forgone_licences, service_costs, work_costs
from .licensor_value import left_of
from .on_time import on_time
from .performance_guarantees import date_exposure, owed_under_guarantees, planned_rate, promise_exposure
from .power_guarantee import exposure
from .second_licensee import second_licensees, taken
from .service_effects import effect_figures
from .supplied_values import supplied_figures
from .yardsticks import profit_share, share_of, turnover_factor


def compute_deal(case: Case, line: Line, ledger: Ledger, plan: Plan | None) -> Deal | None:
    """What both sides have of the licence of a case; None for a case without plan.yaml or deal.yaml.

    What the licensee pays is what the licensor receives and what is withheld on the way:

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> sides = evaluate(load_case("inputs_demo/facade")).deal.licensor
    >>> abs(sides.received - sides.withheld - sides.inventors - sides.net) < 1e-6
    True
    """
    if plan is None or not case.has_deal:
        return None
    found = list(plan.quarters.values())
    free, free_never_closed = without_payments(case, line, ledger)
    own, theirs = each_quarter(case.deal.licensor.discount_rate * case.constants.year), each_quarter(plan.required_return)
    others = second_licensees(case, len(found))
    rivals, rivals_if_open = _taken_by(case, line, plan, others)
    use, prospects = time_of_use(case, found), forgone_licences(case)
    work, services = work_costs(case, use, own), service_costs(case, use, own)
    materials = supplied_figures(case, plan.supplied, plan.payments, ledger.landed, (own, theirs))
    promised = guarantees, rates, dates = _exposures(case, line, ledger)
    owed, due = (owed_under_guarantees(case, *promised, licensor=side) for side in (True, False))
    costs = floor_of(case, use, work, services, prospects, owed, materials)
    prompt = on_time(case, line, ledger)
    without = _without(case, plan, (free, prompt), damages_received(case, use, due, plan.required_return))
    agreed = given, kinds, seller, buyer = _sides(case, plan, costs, without, rivals)
    not_exclusive = _sides(case, plan, replace(costs, territory=0.0 * costs.territory), without, rivals_if_open)
    share, share_status = share_of(seller.gain, seller.gain + buyer.gain)
    return Deal(
        without_payments=dict(zip(plan.quarters, free)),
        without_payments_never_closed=free_never_closed,
        on_time=prompt,
        by_kind=kinds,
        by_heading={name: _heading(case, row, own, theirs) for name, row in plan.payments.items()},
        deliveries=work,
        yearly_services=services,
        service_effects=effect_figures(case),
        prospects=prospects,
        second_licensees=others,
        taken=rivals,
        taken_if_open=rivals_if_open,
        exclusivity=exclusivity_worth(agreed[2:], not_exclusive[2:]),
        guarantees=guarantees,
        performance_guarantees=rates,
        acceptance_dates=dates,
        licensor=seller,
        own_money=own_money(case, seller),
        alternatives=without.ways,
        licensee=buyer,
        yardsticks=_yardsticks(plan, theirs, without.sales),
        years=_years(case, line, plan, found),
        transfer=transfer_of(case),
        laboratory=compute_laboratory(case),
        supplied=materials,
        dividends=dict(zip(plan.quarters, given)),
        gain=seller.gain + buyer.gain,
        licensor_share=share,
        licensor_share_status=share_status,
    )


class Without(NamedTuple):
    """What the licensee has whoever else sells: its alternatives; the plant if nothing were paid; sales of the plan; damages."""

    ways: dict[str, Alternative]
    free: Value
    sales: Value
    damages: Value


def _without(case: Case, plan: Plan, unpaid: tuple[list[Quarter], OnTime | None], damages: Value) -> Without:
    """The same, from the quarters if nothing were paid, and from the plan without our delay, if any, by which other ways go."""
    (free, prompt), rate = unpaid, each_quarter(plan.required_return)
    rows = [x.free_cash for x in free], [x.revenue for x in free], [x.revenue for x in plan.quarters.values()]
    worth, sales_free, sales = (npv(row, rate) for row in rows)
    instead = (prompt.npv, prompt.sales_now) if prompt else (worth, sales_free)
    return Without(alternatives(case, plan, *instead), worth, sales, damages)


def _sides(
    case: Case, plan: Plan, costs: Floor, without: Without, rivals: Taken
) -> tuple[Row, dict[str, Received], Licensor, Licensee]:
    """Dividends, payments by kind, and both sides, where second licensees take so much."""
    own = each_quarter(case.deal.licensor.discount_rate * case.constants.year)
    given = dividends(case, list(plan.quarters.values()), Row(rivals.licensee_cash.values()))
    kinds = received(case, plan.payments, given, own)
    buyer = licensee(plan, without.ways, without.free, without.sales, given, rivals, without.damages)
    return given, kinds, licensor(case, kinds, costs, rivals), buyer


def _taken_by(case: Case, line: Line, plan: Plan, others: dict[str, SecondLicensee]) -> tuple[Taken, Taken]:
    """What second licensees take of the territory: as the licence lets them, and if it were open to all."""
    selling = [Row(each.selling.values()) for each in others.values()]
    if_open = [Row(each.selling_if_open.values()) for each in others.values()]
    own = each_quarter(case.deal.licensor.discount_rate * case.constants.year)
    return taken(case, line, plan, selling, own), taken(case, line, plan, if_open, own)


def _exposures(
    case: Case, line: Line, ledger: Ledger
) -> tuple[dict[str, Exposure], dict[str, PromiseExposure], dict[str, DateExposure]]:
    """What is promised of power, of rates and of dates, each with what it exposes the licensor to."""
    planned = {name: planned_rate(case, row, line, ledger) for name, row in case.performance_guarantees.items()}
    return (
        {name: exposure(case, row, line.output.stabilised_power) for name, row in case.guarantees.items()},
        {name: promise_exposure(case, case.performance_guarantees[name], rate) for name, rate in planned.items()},
        {name: date_exposure(case, row) for name, row in case.acceptance_dates.items()},
    )


def trade_of(case: Case, line: Line, plan: Plan) -> royalty.Trade:
    """What royalties go by, as the plan has it; no materials, on which they do not depend."""
    found = list(plan.quarters.values())
    sold, made = Row(each.revenue for each in found), Row(each.stabilised_watts for each in found)
    return royalty.Trade(plan.start, sold, watts_labelled(line, made), Row([]), time_of_use(case, found))


def without_payments(case: Case, line: Line, ledger: Ledger) -> tuple[list[Quarter], dict[str, Quarter]]:
    """The quarters of the plan if nothing were paid for the licence; and, under a rule of closing, those on which it stands."""
    by_rule, never = filled(case, line, ledger, replace(grounds_of(case, line, ledger), pays=False))
    return by_rule.quarters(), never_closed(never, by_rule)


def exclusivity_worth(agreed: tuple[Licensor, Licensee], not_exclusive: tuple[Licensor, Licensee]) -> ExclusivityValuation:
    """The exclusivity of the offer against none: both sides by either, each after its tax and with its dividends.

        licences_lost = agreed[0].territory
        licensor_cost = not_exclusive[0].npv - agreed[0].npv
        payments_kept = licences_lost - licensor_cost
        licensee_value = agreed[1].npv - not_exclusive[1].npv

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> agreed, not_exclusive = (Some(territory=10.0, npv=50.0), Some(npv=90.0)), (Some(npv=57.0), Some(npv=83.0))
    >>> exclusivity_worth(agreed, not_exclusive)
    ExclusivityValuation(licences_lost=10.0, payments_kept=3.0, licensor_cost=7.0, licensee_value=7.0)
    """
    cost = not_exclusive[0].npv - agreed[0].npv
    return ExclusivityValuation(
        licences_lost=agreed[0].territory,
        payments_kept=agreed[0].territory - cost,
        licensor_cost=cost,
        licensee_value=agreed[1].npv - not_exclusive[1].npv,
    )


def own_money(case: Case, seller: Licensor) -> OwnMoney:
    """The licensor's figures in its own currency."""
    currency = case.deal.licensor.currency
    rate = in_reporting_currency(1.0, currency, case.money)
    names = [name for name in declared(OwnMoney) if name != "currency"]
    return OwnMoney(currency=currency, **{name: getattr(seller, name) / rate for name in names})


def _heading(case: Case, row: Payments, own: Value, theirs: Value) -> Heading:
    amounts = Row(row.quarters.values())
    return Heading(
        paid=sum_of(amounts),
        licensor_net=left_of(case, amounts, row.paid_as, own),
        licensee_paid=npv(amounts, theirs),
    )


def paid_for_the_licence(quarter: Quarter) -> Value:
    """All that is paid to the licensor in a quarter, dividends apart.

        paid = quarter.licence_fee + quarter.royalty + quarter.licence_services    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> paid_for_the_licence(Some(licence_fee=1.0, royalty=2.0, licence_services=3.0))
    6.0
    """
    return quarter.licence_fee + quarter.royalty + quarter.licence_services


def _yardsticks(plan: Plan, rate: Value, sales: Value) -> Yardsticks:
    found = list(plan.quarters.values())
    paid = [paid_for_the_licence(each) for each in found]
    earned = [each.profit + each.tax for each in found]
    total, profit, paid_now, profit_now = sum_of(paid), sum_of(earned), npv(paid, rate), npv(earned, rate)
    share, share_now = profit_share(total, profit), profit_share(paid_now, profit_now)
    factor, factor_now = turnover_factor(total, profit), turnover_factor(paid_now, profit_now)
    equivalent, equivalent_status = share_of(paid_now, sales)
    return Yardsticks(
        profit=profit,
        profit_share=share[0],
        profit_share_status=share[1],
        turnover_factor=factor[0],
        turnover_factor_status=factor[1],
        discounted_profit=profit_now,
        discounted_profit_share=share_now[0],
        discounted_profit_share_status=share_now[1],
        discounted_turnover_factor=factor_now[0],
        discounted_turnover_factor_status=factor_now[1],
        royalty_equivalent=equivalent,
        royalty_equivalent_status=equivalent_status,
    )


def _years(case: Case, line: Line, plan: Plan, found: Sequence[Quarter]) -> dict[str, DealYear]:
    trade = trade_of(case, line, plan)
    earned, owed = royalty.royalty(case, trade), royalty.minimum(case, trade)
    missing = royalty.missing_to_minimum(owed, earned, trade.use)
    years = {}
    due = Row(plan.payments["minimum_due"].quarters.values()) if "minimum_due" in plan.payments else 0.0 * owed
    columns = zip(plan.years, by_year(found), by_year(earned), by_year(owed), by_year(missing), by_year(due))
    for name, quarters_of_year, got, least, short, at_closing in columns:
        missed, later = sum_of(short), sum_of(at_closing)
        years[name] = DealYear(
            earned=sum_of(got),
            minimum=sum_of(least),
            missing=missed,
            due_at_closing=later,
            minimum_binds=choose(missed + later > 0, 1.0, 0.0),
            paid=sum_of([paid_for_the_licence(x) for x in quarters_of_year]),
        )
    return years
