"""The licensor: what arrives of the payments, and its floor by parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from ...case.deal_records import OUTSIDE
from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, smaller, sum_of
from ...core.series import Row
from ..ledger.prices import in_reporting_currency
from ..plan.exchange import moved_against
from ..plan.licence import yearly
from ..plan.plan_figures import Payments
from ..plan.time_of_use import Use
from ..plan.timing import QUARTERS, due, in_quarters, risen, running, spread
from ..plan.worth import each_quarter, npv
from .deal_figures import Exposure, ForgoneLicence, Licensor, Received, ServiceCost, Taken, WorkCost
from .own_tax import Income, own_tax, payments_that_leave


def arriving(case: Case, paid_as: str) -> tuple[Value, Value]:
    """Of a unit paid: the part that is withheld, and the part that goes to the inventors."""
    row = case.payment_kinds[paid_as]
    return row.withholding, (1 - row.withholding) * row.inventors_share


def own_npv(case: Case, flows: Row, rate: Value, currency: str = "") -> Value:
    """The present value of flows to the licensor, in the reporting currency at the exchange rate of the first day.

    Each flow is brought into the licensor's currency at the rate of its quarter and discounted at the licensor's rate. `currency`
    is that which the amounts were stated in before they were converted at the rate of the first day; else the reporting one.
    """
    rates = moved_against(case, currency or case.currency, case.deal.licensor.currency, len(flows))
    return npv(flows * rates, rate)


def left_of(case: Case, amounts: Row, paid_as: str, rate: Value) -> Value:
    """What payments of a kind leave to the licensor after withholding tax and inventors, before its own tax."""
    withheld, inventors = arriving(case, paid_as)
    return own_npv(case, amounts, rate) * (1 - withheld - inventors)


def received(case: Case, headings: Mapping[str, Payments], dividends: Row, rate: Value) -> dict[str, Received]:
    """Payments by kind; dividends come under the kind of that name."""
    found = {}
    for kind in case.payment_kinds:
        rows = [Row(row.quarters.values()) for row in headings.values() if row.paid_as == kind]
        if kind == "dividends":
            rows.append(dividends)
        amounts = sum_of([0.0 * dividends, *rows])
        withheld, inventors = arriving(case, kind)
        now = own_npv(case, amounts, rate)
        found[kind] = Received(
            paid=sum_of(amounts),
            paid_now=now,
            withheld=now * withheld,
            inventors=now * inventors,
            net=now - now * withheld - now * inventors,
        )
    return found


def forgone_licences(case: Case) -> dict[str, ForgoneLicence]:
    """What exclusivity costs with each other prospect: it would sign at any time of its window alike.

    Exclusivity holds in the territories of the licence; a prospect outside of them is not lost.
    """
    rate, found = case.deal.licensor.discount_rate * case.constants.year, {}
    for name, row in case.prospects.items():
        expected = in_reporting_currency(row.value * row.probability, row.currency, case.money)
        within = smaller(0.0 * row.window if row.territory == OUTSIDE else case.deal.licence.exclusive_time, row.window)
        lost = expected * row.lost * (within / row.window) / (1 + rate) ** (within / case.constants.year / 2)
        found[name] = ForgoneLicence(value=expected, lost=lost)
    return found


def work_costs(case: Case, use: Use, rate: Value) -> dict[str, WorkCost]:
    """What each delivery costs while the plant is in use: days with overrun, travel, time of the pilot line; spent evenly."""
    found = {}
    for name, row in case.deliveries.items():
        done = own_npv(case, use.while_open(spread(case, len(use.open), row.begin, row.end)), rate, row.currency)
        found[name] = WorkCost(
            days=done * in_reporting_currency(row.days * (1 + row.overrun) * row.day_cost, row.currency, case.money),
            travel=done * in_reporting_currency(row.travel, row.currency, case.money),
            pilot_time=done * in_reporting_currency(row.pilot_time * row.pilot_cost, row.currency, case.money),
        )
    return found


def service_costs(case: Case, use: Use, rate: Value) -> dict[str, ServiceCost]:
    """What each yearly service costs while the plant is in use."""
    costs = {name: use.while_open(yearly(case, x, x.cost, len(use.open))) for name, x in case.yearly_services.items()}
    return {name: ServiceCost(cost=own_npv(case, spent, rate)) for name, spent in costs.items()}


def _own(case: Case, amount: Value) -> Value:
    """An amount of the licensor's section in the reporting currency."""
    return in_reporting_currency(amount, case.deal.licensor.currency, case.money)


def upkeep_cost(case: Case, count: int) -> Value:
    """What the upkeep of the rights costs at the licensor's rate, risen with inflation, as long as they are kept."""
    row, year = case.deal.licensor, case.constants.year
    kept = running(count, 0.0) - running(count, in_quarters(case, row.upkeep_time))
    a_quarter, inflation = _own(case, row.upkeep * year / QUARTERS), case.plan.returns.inflation * year
    rises = Row(risen(inflation, number) for number in range(count))
    return npv(a_quarter * kept * rises, each_quarter(row.discount_rate * year))


def expected_damages(case: Case, use: Use, guarantees: Mapping[str, Exposure]) -> Value:
    """Damages to be expected at the licensor's rate, each due at its time if the plant is in use then."""
    row, rate = case.deal.licensor, each_quarter(case.deal.licensor.discount_rate * case.constants.year)
    owed = [(_own(case, row.damages), row.damages_time, row.currency)]
    owed += [(x.damages, case.guarantees[name].time, case.guarantees[name].currency) for name, x in guarantees.items()]
    shares = [(amount, due(len(use.open), in_quarters(case, time)), currency) for amount, time, currency in owed]
    return sum_of([own_npv(case, use.while_open(amount * of), rate, currency) for amount, of, currency in shares])


@dataclass(frozen=True, slots=True)
class Floor:
    """What the licence costs the licensor, part by part, in present values."""

    work: Value
    travel: Value
    pilot_time: Value
    services: Value
    upkeep: Value
    damages: Value
    territory: Value

    def parts(self) -> dict[str, Value]:
        """The parts by the names that the licensor's figures have for them."""
        return {each.name: getattr(self, each.name) for each in fields(self)}


def floor_of(
    case: Case,
    use: Use,
    work: Mapping[str, WorkCost],
    services: Mapping[str, ServiceCost],
    prospects: Mapping[str, ForgoneLicence],
    guarantees: Mapping[str, Exposure],
) -> Floor:
    """The parts of the floor. Damages are due only while the plant is in use; rights are kept up beyond."""
    nothing = _own(case, 0.0 * case.deal.licensor.contribution)
    return Floor(
        work=sum_of([nothing, *(each.days for each in work.values())]),
        travel=sum_of([nothing, *(each.travel for each in work.values())]),
        pilot_time=sum_of([nothing, *(each.pilot_time for each in work.values())]),
        services=sum_of([nothing, *(each.cost for each in services.values())]),
        upkeep=upkeep_cost(case, len(use.open)),
        damages=expected_damages(case, use, guarantees),
        territory=sum_of([nothing, *(each.lost for each in prospects.values())]),
    )


def licensor(case: Case, kinds: Mapping[str, Received], floor_costs: Floor, rivals: Taken) -> Licensor:
    """The licensor. Past research is sunk: what policy wants back of it stands apart."""
    row, parts = case.deal.licensor, floor_costs.parts()
    contribution = _own(case, row.contribution)
    costs = sum_of(list(parts.values()))
    gross, withheld, inventors = (
        sum_of([getattr(x, name) for x in kinds.values()]) for name in ("paid_now", "withheld", "inventors")
    )
    income = Income(
        gross - rivals.licensor_gross,
        withheld - rivals.licensor_gross * arriving(case, "licence")[0],
        inventors - rivals.licensor_gross * arriving(case, "licence")[1],
        costs - floor_costs.territory,
    )
    tax, credit = own_tax(row, income)
    net, floor = gross - withheld - inventors, costs + contribution
    worth = net - rivals.licensor - tax + credit - costs
    return Licensor(
        received=gross,
        withheld=withheld,
        inventors=inventors,
        net=net,
        rivals=rivals.licensor,
        taxable=income.net_income,
        own_tax=tax,
        credit=credit,
        **parts,
        contribution=contribution,
        floor=floor,
        floor_paid=payments_that_leave(row, income, floor) * safe_divide(gross, income.gross),
        policy=_own(case, row.sunk_research) * row.recovered_share,
        npv=worth,
        gain=worth - contribution,
    )
