"""The licensor: what arrives of the payments, and its floor by parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..operations import Value, safe_divide, smaller, sum_of
from ..plan.licence import spread, yearly
from ..plan.records import Payments
from ..plan.time_of_use import Use
from ..plan.timing import QUARTERS, due, in_quarters, risen, running
from ..plan.worth import each_quarter, npv
from .records import Exposure, Licensor, Received, ServiceCost, Shut, WorkCost


def arriving(case: Case, paid_as: str) -> tuple[Value, Value]:
    """Of a unit paid: the part that is withheld, and the part that goes to the inventors."""
    row = case.payment_kinds[paid_as]
    return row.withholding, (1 - row.withholding) * row.inventors_share


def received(case: Case, headings: Mapping[str, Payments], dividends: Sequence[Value], rate: Value) -> dict[str, Received]:
    """Payments by kind; dividends come under the kind of that name."""
    found = {}
    for kind in case.payment_kinds:
        rows = [list(row.quarters.values()) for row in headings.values() if row.paid_as == kind]
        if kind == "dividends":
            rows.append(list(dividends))
        amounts = [sum_of(parts) for parts in zip([0.0 * amount for amount in dividends], *rows)]
        withheld, inventors = arriving(case, kind)
        now = npv(amounts, rate)
        found[kind] = Received(
            paid=sum_of(amounts),
            paid_now=now,
            withheld=now * withheld,
            inventors=now * inventors,
            net=now - now * withheld - now * inventors,
        )
    return found


def shut_out(case: Case) -> dict[str, Shut]:
    """What exclusivity costs with each other prospect: it would sign at any time of its window alike."""
    rate, found = case.licensor.discount_rate * case.constants.year, {}
    for name, row in case.prospects.items():
        expected = in_reporting_currency(row.value * row.chance, row.currency, case.money)
        within = smaller(case.licence.exclusive_time, row.window)
        lost = expected * row.lost * (within / row.window) / (1 + rate) ** (within / case.constants.year / 2)
        found[name] = Shut(value=expected, lost=lost)
    return found


def work_costs(case: Case, use: Use, rate: Value) -> dict[str, WorkCost]:
    """What each delivery costs while the plant is in use: days with overrun, travel, time of the pilot line; spent evenly."""
    found = {}
    for name, row in case.deliveries.items():
        done = npv(use.while_open(spread(case, len(use.open), row.begin, row.end)), rate)
        found[name] = WorkCost(
            days=done * in_reporting_currency(row.days * (1 + row.overrun) * row.day_cost, row.currency, case.money),
            travel=done * in_reporting_currency(row.travel, row.currency, case.money),
            pilot_time=done * in_reporting_currency(row.pilot_time * row.pilot_cost, row.currency, case.money),
        )
    return found


def service_costs(case: Case, use: Use, rate: Value) -> dict[str, ServiceCost]:
    """What each yearly service costs while the plant is in use."""
    costs = {name: use.while_open(yearly(case, x, x.cost, len(use.open))) for name, x in case.yearly_services.items()}
    return {name: ServiceCost(cost=npv(spent, rate)) for name, spent in costs.items()}


def licensor(
    case: Case,
    use: Use,
    kinds: Mapping[str, Received],
    work: Mapping[str, WorkCost],
    services: Mapping[str, ServiceCost],
    prospects: Mapping[str, Shut],
    guarantees: Mapping[str, Exposure],
) -> Licensor:
    """The licensor. Damages are due only while the plant is in use; rights are kept up beyond.

    Past research is sunk: what policy wants back of it stands apart.
    """
    row, year, count = case.licensor, case.constants.year, len(use.open)
    rate = each_quarter(row.discount_rate * year)

    def own(amount: Value) -> Value:
        """An amount of the licensor's section in the reporting currency."""
        return in_reporting_currency(amount, row.currency, case.money)

    nothing = own(0.0 * row.contribution)
    owed = [(own(row.damages), row.damages_time), *((x.damages, case.guarantees[n].time) for n, x in guarantees.items())]
    damages = [npv(use.while_open([amount * x for x in due(count, in_quarters(case, time))]), rate) for amount, time in owed]
    kept = [1 - share for share in running(count, row.upkeep_time / (year / QUARTERS))]
    inflation = case.returns.inflation * year
    parts = {
        "work": sum_of([nothing, *(each.days for each in work.values())]),
        "travel": sum_of([nothing, *(each.travel for each in work.values())]),
        "pilot_time": sum_of([nothing, *(each.pilot_time for each in work.values())]),
        "services": sum_of([nothing, *(each.cost for each in services.values())]),
        "upkeep": npv([own(row.upkeep * year / QUARTERS) * k * risen(inflation, n) for n, k in enumerate(kept)], rate),
        "damages": sum_of(damages),
        "territory": sum_of([nothing, *(each.lost for each in prospects.values())]),
    }
    contribution = own(row.contribution)
    costs = sum_of(list(parts.values()))
    gross, net = sum_of([x.paid_now for x in kinds.values()]), sum_of([x.net for x in kinds.values()])
    floor = costs + contribution
    return Licensor(
        received=gross,
        withheld=sum_of([x.withheld for x in kinds.values()]),
        inventors=sum_of([x.inventors for x in kinds.values()]),
        net=net,
        **parts,
        contribution=contribution,
        floor=floor,
        floor_paid=floor * safe_divide(gross, net),
        policy=own(row.sunk_research) * row.recovered_share,
        npv=net - costs,
        gain=net - floor,
    )
