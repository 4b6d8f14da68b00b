"""What the licence costs the licensor: deliveries, services, upkeep of the rights, damages, licences forgone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from ...case.deal_records import OUTSIDE
from ...case.whole_case import Case
from ...core.operations import Value, smaller, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..plan.closing_time import Use
from ..plan.price_list import yearly
from ..plan.timing import QUARTERS, due, in_quarters, risen, running, spread
from ..plan.worth import each_quarter, npv
from .deal_figures import ForgoneLicence, ServiceCost, WorkCost
from .laboratory import tests_cost
from .licensor_value import own_amount, own_npv
from .performance_guarantees import Owed
from .supplied_figures import SuppliedFigures


def forgone_licences(case: Case) -> dict[str, ForgoneLicence]:
    """What exclusivity costs with each other prospect: it would sign at any time of its window alike.

        rate = case.deal.licensor.discount_rate * case.constants.year    [1]
        rows = case.prospects.values()    [any]
        value = [in_reporting_currency(row.value * row.probability, row.currency, case.money) for row in rows]
        within = [smaller(0.0 * row.window if row.territory == OUTSIDE else case.deal.licence.exclusive_time, row.window) for
            row in rows]    [s]
        lost = [worth * row.lost * (time / row.window) / (1 + rate) ** (time / case.constants.year / 2) for row, worth, time
            in zip(rows, value, within)]

    Source: common practice.

    Exclusivity holds in the territories of the licence; a prospect outside of them is not lost.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(value=100.0, probability=0.5, currency="EUR", territory="here", window=4.0, lost=0.8)
    >>> case = Some(prospects={"a": row}, money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=1.0))
    >>> case.deal = Some(licensor=Some(discount_rate=0.0), licence=Some(exclusive_time=2.0))
    >>> forgone_licences(case)
    {'a': ForgoneLicence(value=50.0, lost=20.0)}
    """
    rate, found = case.deal.licensor.discount_rate * case.constants.year, {}
    for name, row in case.prospects.items():
        expected = in_reporting_currency(row.value * row.probability, row.currency, case.money)
        within = smaller(0.0 * row.window if row.territory == OUTSIDE else case.deal.licence.exclusive_time, row.window)
        lost = expected * row.lost * (within / row.window) / (1 + rate) ** (within / case.constants.year / 2)
        found[name] = ForgoneLicence(value=expected, lost=lost)
    return found


def work_costs(case: Case, use: Use, rate: Value) -> dict[str, WorkCost]:
    """What each delivery costs while the plant is in use: days with overrun, travel, time of the pilot line; spent evenly.

        rows = case.deliveries.values()    [any]
        done = [own_npv(case, use.while_open(spread(case, len(use.open), row.begin, row.end)), rate, row.currency) for row in
            rows]    [1]
        days = [part * in_reporting_currency(row.days * (1 + row.overrun) * row.day_cost, row.currency, case.money) for row,
            part in zip(rows, done)]
        travel = [part * in_reporting_currency(row.travel, row.currency, case.money) for row, part in zip(rows, done)]
        pilot_time = [part * in_reporting_currency(row.pilot_time * row.pilot_cost, row.currency, case.money) for row, part in
            zip(rows, done)]

    Takes: rate [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> case = Some(currency="EUR", constants=Some(year=4.0), money={"eur": Some(exchange_rate=1.0)})
    >>> case.deal = Some(licensor=Some(currency="EUR"))
    >>> row = Some(begin=0.0, end=2.0, currency="EUR", days=10.0, overrun=0.2, day_cost=5.0)
    >>> row.travel, row.pilot_time, row.pilot_cost = 3.0, 2.0, 4.0
    >>> case.deliveries = {"training": row}
    >>> work_costs(case, to_the_end(3), 0.0)
    {'training': WorkCost(days=60.0, travel=3.0, pilot_time=8.0)}
    """
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
    """What each yearly service costs while the plant is in use: its own cost, or that of its tests.

        rows = case.yearly_services.items()    [any]
        spent = [sum_of([yearly(case, row, row.cost, row.currency, len(use.open)), *tests_cost(case, name, len(use.open))]) for
            name, row in rows]    [money]
        cost = [own_npv(case, use.while_open(each), rate) for each in spent]

    Takes: rate [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> case = Some(currency="EUR", constants=Some(year=4.0), money={"eur": Some(exchange_rate=1.0)}, laboratory_tests={})
    >>> case.deal = Some(licensor=Some(currency="EUR"))
    >>> case.yearly_services = {"analysis": Some(cost=40.0, currency="EUR", begin=0.0, end=2.0, change=0.0)}
    >>> service_costs(case, to_the_end(4), 0.0)
    {'analysis': ServiceCost(cost=80.0)}
    """
    found, count = {}, len(use.open)
    for name, row in case.yearly_services.items():
        spent = sum_of([yearly(case, row, row.cost, row.currency, count), *tests_cost(case, name, count)])
        found[name] = ServiceCost(cost=own_npv(case, use.while_open(spent), rate))
    return found


def upkeep_cost(case: Case, count: int) -> Value:
    """What the upkeep of the rights costs at the licensor's rate, risen with inflation, as long as they are kept.

        row = case.deal.licensor    [any]
        kept = running(count, 0.0) - running(count, in_quarters(case, row.upkeep_time))    [1]
        a_quarter = in_reporting_currency(row.upkeep * case.constants.year / QUARTERS, row.currency, case.money)    [money]
        rises = Row([risen(case.plan.returns.inflation * case.constants.year, number) for number in range(count)])    [1]
        cost = npv(a_quarter * kept * rises, each_quarter(row.discount_rate * case.constants.year))    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(upkeep=10.0, upkeep_time=2.0, currency="EUR", discount_rate=0.0)
    >>> case = Some(deal=Some(licensor=row), plan=Some(returns=Some(inflation=0.0)))
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> upkeep_cost(case, 5)
    20.0
    """
    row, year = case.deal.licensor, case.constants.year
    kept = running(count, 0.0) - running(count, in_quarters(case, row.upkeep_time))
    a_quarter, inflation = own_amount(case, row.upkeep * year / QUARTERS), case.plan.returns.inflation * year
    rises = Row(risen(inflation, number) for number in range(count))
    return npv(a_quarter * kept * rises, each_quarter(row.discount_rate * year))


def expected_damages(case: Case, use: Use, promised: Owed) -> Value:
    """Damages to be expected at the licensor's rate, each due at its time if the plant is in use then.

        row = case.deal.licensor    [any]
        rate = each_quarter(row.discount_rate * case.constants.year)    [1]
        amounts = [in_reporting_currency(row.damages, row.currency, case.money), *[amount for amount, time, currency in
            promised]]    [money]
        times = [row.damages_time, *[time for amount, time, currency in promised]]    [s]
        currencies = [row.currency, *[currency for amount, time, currency in promised]]    [any]
        shares = [due(len(use.open), in_quarters(case, time)) for time in times]    [1]
        damages = sum_of([own_npv(case, use.while_open(amount * share), rate, currency) for amount, share, currency in
            zip(amounts, shares, currencies)])    [money]

    Source: common practice.

    `promised` are damages under each guarantee with the licensor's part of its tests: amount, time, currency.

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> row = Some(damages=100.0, damages_time=1.0, currency="EUR", discount_rate=0.0)
    >>> case = Some(deal=Some(licensor=row), currency="EUR")
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> expected_damages(case, to_the_end(3), [])
    100.0
    """
    row, rate = case.deal.licensor, each_quarter(case.deal.licensor.discount_rate * case.constants.year)
    owed = [(own_amount(case, row.damages), row.damages_time, row.currency), *promised]
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
    materials: Value

    def parts(self) -> dict[str, Value]:
        """The parts by the names that the licensor's figures have for them."""
        return {each.name: getattr(self, each.name) for each in fields(self)}


def floor_of(
    case: Case,
    use: Use,
    work: Mapping[str, WorkCost],
    services: Mapping[str, ServiceCost],
    prospects: Mapping[str, ForgoneLicence],
    promised: Owed,
    supplied: Mapping[str, SuppliedFigures],
) -> Floor:
    """The parts of the floor. Damages are due only while the plant is in use; rights are kept up beyond.

        travel = sum_of([each.travel for each in work.values()])    [money]
        pilot_time = sum_of([each.pilot_time for each in work.values()])    [money]
        work = sum_of([each.days for each in work.values()])    [money]
        services = sum_of([each.cost for each in services.values()])    [money]
        upkeep = upkeep_cost(case, len(use.open))    [money]
        damages = expected_damages(case, use, promised)    [money]
        territory = sum_of([each.lost for each in prospects.values()])    [money]
        materials = sum_of([each.cost for each in supplied.values()])    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> row = Some(damages=0.0, damages_time=0.0, currency="EUR", discount_rate=0.0, upkeep=0.0, upkeep_time=1.0, contribution=0.0)
    >>> case = Some(deal=Some(licensor=row), plan=Some(returns=Some(inflation=0.0)), currency="EUR")
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> costs = floor_of(case, to_the_end(3), {"training": WorkCost(60.0, 3.0, 8.0)}, {}, {"a": ForgoneLicence(50.0, 20.0)}, [], {})
    >>> costs.work, costs.travel, costs.pilot_time, costs.territory
    (60.0, 3.0, 8.0, 20.0)
    """
    nothing = own_amount(case, 0.0 * case.deal.licensor.contribution)
    return Floor(
        work=sum_of([nothing, *(each.days for each in work.values())]),
        travel=sum_of([nothing, *(each.travel for each in work.values())]),
        pilot_time=sum_of([nothing, *(each.pilot_time for each in work.values())]),
        services=sum_of([nothing, *(each.cost for each in services.values())]),
        upkeep=upkeep_cost(case, len(use.open)),
        damages=expected_damages(case, use, promised),
        territory=sum_of([nothing, *(each.lost for each in prospects.values())]),
        materials=sum_of([nothing, *(each.cost for each in supplied.values())]),
    )
