"""The laboratory: what a sample of each test costs and leaves, and what of instruments and people is left to sell."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.laboratory_records import LaboratoryWork, tests_of, work_on
from ...case.whole_case import Case
from ...core.operations import Value, larger, least_of, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..plan.price_list import yearly
from .laboratory_figures import Laboratory, LaboratoryHours, SampleFigures
from .licensor_value import arriving

Amount = tuple[Value, str]  # money for a sample, and its currency


def equipment_costs(case: Case, work: Sequence[LaboratoryWork]) -> list[Amount]:
    """What the instruments of a sample cost, each in its currency.

        costs = [each.equipment_hours * case.laboratory_equipment[each.equipment].hour_cost for each in work]    [any]
        result = list(zip(costs, [case.laboratory_equipment[each.equipment].currency for each in work]))    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(laboratory_equipment={"chamber": Some(hour_cost=2.0, currency="EUR")})
    >>> equipment_costs(case, [Some(equipment="chamber", equipment_hours=10.0)])
    [(20.0, 'EUR')]
    """
    rows = [(each, case.laboratory_equipment[each.equipment]) for each in work]
    return [(each.equipment_hours * row.hour_cost, row.currency) for each, row in rows]


def staff_costs(case: Case, work: Sequence[LaboratoryWork]) -> list[Amount]:
    """What the people of a sample cost, each in the currency of their role: hours over those of a working day, at its cost.

        staff = [case.laboratory_staff[each.staff] for each in work]    [any]
        days = [each.staff_hours / row.working_day for each, row in zip(work, staff)]    [any]
        roles = [case.transfer_resources[row.role] for row in staff]    [any]
        result = [(time * role.day_cost, role.currency) for time, role in zip(days, roles)]    [any]

    Source: common practice.

    A working day is a third of a day's hours, and costs 30, which is 10 for each of its 3 hours here:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(laboratory_staff={"people": Some(role="test", working_day=3.0 / 9.0)})
    >>> case.transfer_resources = {"test": Some(day_cost=30.0 / 9.0, currency="EUR")}
    >>> [(round(cost, 9), currency) for cost, currency in staff_costs(case, [Some(staff="people", staff_hours=2.0)])]
    [(20.0, 'EUR')]
    """
    found = []
    for each in work:
        row = case.laboratory_staff[each.staff]
        role = case.transfer_resources[row.role]
        found.append((each.staff_hours / row.working_day * role.day_cost, role.currency))
    return found


def tests_cost(case: Case, service: str, count: int) -> list[Row]:
    """What the tests of a yearly service cost, by quarter, part by part: as many samples as are sold, at full cost.

        row = case.yearly_services[service]    [any]
        tests = [(name, each) for name, each in case.laboratory_tests.items() if each.service == service]    [any]
        work = {name: [each for each in case.laboratory_work.values() if each.test == name] for name, test in tests}    [any]
        parts = [(test, part) for name, test in tests for part in [(test.consumables, test.currency), *equipment_costs(case,
            work[name]), *staff_costs(case, work[name])]]    [any]
        result = [yearly(case, row, part[0] * test.samples, part[1], count) for test, part in parts]    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0), money={"eur": Some(exchange_rate=1.0)}, currency="EUR", laboratory_work={})
    >>> case.yearly_services = {"analysis": Some(begin=0.0, end=2.0, change=0.0)}
    >>> case.laboratory_tests = {"peel": Some(service="analysis", consumables=5.0, samples=3.0, currency="EUR")}
    >>> tests_cost(case, "analysis", 4)
    [[0.0, 15.0, 15.0, 0.0]]
    """
    row, found = case.yearly_services[service], []
    for name, test in tests_of(case.laboratory_tests, service).items():
        work = work_on(case.laboratory_work, name)
        for amount, currency in [
            (test.consumables, test.currency), *equipment_costs(case, work), *staff_costs(case, work)
        ]:  # fmt: skip
            found.append(yearly(case, row, amount * test.samples, currency, count))
    return found


def hours(there: Value, promised_share: Value, taken: Sequence[Value]) -> LaboratoryHours:
    """Hours a month of an instrument or of people: those promised to others, those sold here, and what is left.

        promised = there * promised_share
        sold = sum_of([0.0 * there, *taken])
        free = there - there * promised_share - sum_of([0.0 * there, *taken])
        load = (there * promised_share + sum_of([0.0 * there, *taken])) / there

    Takes: there [1], promised_share [1], taken [1].
    Source: common practice.

    >>> hours(8.0, 0.5, [1.0, 2.0])
    LaboratoryHours(promised=4.0, sold=3.0, free=1.0, load=0.875)
    """
    others, sold = there * promised_share, sum_of([0.0 * there, *taken])
    return LaboratoryHours(promised=others, sold=sold, free=there - others - sold, load=(others + sold) / there)


def still_to_sell(needs: Sequence[tuple[Value, Value]]) -> Value:
    """Samples of a test that free hours still allow: of all that it needs, what runs out first; none of a test without needs.

        samples = least_of([larger(free, 0.0) / each for free, each in needs] or [0.0])    [sample/s]

    Takes: needs [any].
    Source: common practice: the bottleneck limits.

    60 free hours of an instrument at 10 for a sample, 12 of people at 3:

    >>> still_to_sell([(60.0, 10.0), (12.0, 3.0)]), still_to_sell([(-5.0, 10.0)]), still_to_sell([])
    (4.0, 0.0, 0.0)
    """
    return least_of([larger(free, 0.0) / each for free, each in needs] or [0.0])


def sample_figures(case: Case, name: str, needs: Sequence[tuple[Value, Value]]) -> SampleFigures:
    """What a sample of a test costs and leaves; `needs` are free hours with those that a sample takes.

        row = case.laboratory_tests[name]    [any]
        work = [each for each in case.laboratory_work.values() if each.test == name]    [any]
        price = in_reporting_currency(row.price, row.currency, case.money)
        lost = arriving(case, case.yearly_services[row.service].paid_as)    [1]
        arriving = price * (1 - lost[0] - lost[1])
        consumables = in_reporting_currency(row.consumables, row.currency, case.money)
        equipment = sum_of([0.0 * price, *[in_reporting_currency(cost, own, case.money) for cost, own in equipment_costs(case,
            work)]])
        staff = sum_of([0.0 * price, *[in_reporting_currency(cost, own, case.money) for cost, own in staff_costs(case, work)]])
        cost = consumables + equipment + staff
        margin = price - cost
        left = arriving - cost
        left_a_year = left * row.samples
        could_sell = still_to_sell(needs)

    Takes: needs [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(laboratory_work={}, money={"eur": Some(exchange_rate=1.0)})
    >>> case.laboratory_tests = {"peel": Some(service="a", price=50.0, consumables=8.0, samples=3.0, currency="EUR")}
    >>> case.yearly_services = {"a": Some(paid_as="services")}
    >>> case.payment_kinds = {"services": Some(withholding=0.1, inventors_share=0.0)}
    >>> found = sample_figures(case, "peel", [(4.0, 2.0)])
    >>> found.cost, found.margin, found.left, found.left_a_year, found.could_sell
    (8.0, 42.0, 37.0, 111.0, 2.0)
    """
    row, work = case.laboratory_tests[name], work_on(case.laboratory_work, name)
    price = in_reporting_currency(row.price, row.currency, case.money)
    withheld, inventors = arriving(case, case.yearly_services[row.service].paid_as)
    arrives = price * (1 - withheld - inventors)

    def together(amounts: Sequence[Amount]) -> Value:
        """Amounts in the reporting currency, added up."""
        return sum_of([0.0 * price, *[in_reporting_currency(amount, currency, case.money) for amount, currency in amounts]])

    consumables = in_reporting_currency(row.consumables, row.currency, case.money)
    equipment, staff = together(equipment_costs(case, work)), together(staff_costs(case, work))
    cost = consumables + equipment + staff
    return SampleFigures(
        price=price,
        arriving=arrives,
        consumables=consumables,
        equipment=equipment,
        staff=staff,
        cost=cost,
        margin=price - cost,
        left=arrives - cost,
        left_a_year=(arrives - cost) * row.samples,
        could_sell=still_to_sell(needs),
    )


def compute_laboratory(case: Case) -> Laboratory | None:
    """The laboratory of a case; None for a case without laboratory_work.csv, which knows a price list at most.

    >>> from costmodel.case.load import load_case
    >>> found = compute_laboratory(load_case("inputs_demo/facade"))
    >>> all(each.load > 0 for each in found.equipment.values())
    True
    """
    if not case.laboratory_work:
        return None
    work = list(case.laboratory_work.values())

    def taken(column: str, name: str) -> list[Value]:
        """Hours of an instrument or of people that the samples sold take, test by test."""
        return [
            getattr(each, f"{column}_hours") * case.laboratory_tests[each.test].samples
            for each in work
            if getattr(each, column) == name
        ]

    equipment = {n: hours(row.hours, row.promised, taken("equipment", n)) for n, row in case.laboratory_equipment.items()}
    staff = {n: hours(row.hours, row.promised, taken("staff", n)) for n, row in case.laboratory_staff.items()}

    def needs(test: str) -> list[tuple[Value, Value]]:
        """Free hours of what a test needs, each with what a sample takes of it in all its work."""
        found = []
        for column, there in (("equipment", equipment), ("staff", staff)):
            for name, row in there.items():
                own = [getattr(x, f"{column}_hours") for x in work_on(case.laboratory_work, test) if getattr(x, column) == name]
                found += [(row.free, sum_of(own))] if own else []
        return found

    tests = {name: sample_figures(case, name, needs(name)) for name in case.laboratory_tests}
    return Laboratory(
        tests=tests, equipment=equipment, staff=staff, left_a_year=sum_of([each.left_a_year for each in tests.values()])
    )
