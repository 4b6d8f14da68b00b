"""What yearly services are paid: their yearly price, or the tests of the price list at their prices."""

from __future__ import annotations

from ...case.deal_records import YearlyService
from ...case.laboratory_records import tests_of
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ...core.series import Row
from .exchange_rates import converted
from .timing import QUARTERS, between, risen, still_to_come


def yearly_in_own_currency(case: Case, row: YearlyService, amount: Value, count: int) -> Row:
    """An amount a year of a yearly service, by quarter, as it changes, in the currency that it is stated in.

        change = row.change * case.constants.year    [1]
        each = amount * case.constants.year / QUARTERS    [any]
        amounts = each * between(case, count, row.begin, row.end) * Row([risen(change, number) for number in range(count)])
            [any]

    Takes: amount [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(begin=0.0, end=1.5, change=0.0)
    >>> yearly_in_own_currency(Some(constants=Some(year=4.0)), row, 10.0, 4)
    [0.0, 10.0, 5.0, 0.0]
    """
    each, change = amount * case.constants.year / QUARTERS, row.change * case.constants.year
    return each * between(case, count, row.begin, row.end) * Row(risen(change, number) for number in range(count))


def yearly(case: Case, row: YearlyService, amount: Value, currency: str, count: int) -> Row:
    """The same in the reporting currency."""
    return converted(case, yearly_in_own_currency(case, row, amount, count), currency)


def service_paid(case: Case, name: str, count: int) -> Row:
    """What a yearly service is paid, by quarter: its price, and each of its tests at the price of a sample times the samples.

        row = case.yearly_services[name]    [any]
        tests = [each for each in case.laboratory_tests.values() if each.service == name]    [any]
        listed = [converted(case, yearly_in_own_currency(case, row, each.price * each.samples, count), each.currency) for each
            in tests]    [money]
        paid = sum_of([converted(case, yearly_in_own_currency(case, row, row.price, count), row.currency), *listed])    [money]

    Source: common practice.

    Twelve samples a year at 5, for the first two of four quarters:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0), money={"eur": Some(exchange_rate=1.0)}, currency="EUR")
    >>> case.yearly_services = {"analysis": Some(price=0.0, currency="EUR", begin=0.0, end=2.0, change=0.0)}
    >>> case.laboratory_tests = {"peel": Some(service="analysis", price=5.0, samples=3.0, currency="EUR")}
    >>> service_paid(case, "analysis", 4)
    [0.0, 15.0, 15.0, 0.0]
    """
    row = case.yearly_services[name]
    listed = [
        yearly(case, row, each.price * each.samples, each.currency, count)
        for each in tests_of(case.laboratory_tests, name).values()
    ]
    return sum_of([yearly(case, row, row.price, row.currency, count), *listed])


def service_still_due(case: Case, name: str, count: int) -> Row:
    """What a yearly service would still be paid after each column, at the exchange rate of that column.

        row = case.yearly_services[name]    [any]
        tests = [each for each in case.laboratory_tests.values() if each.service == name]    [any]
        listed = [converted(case, still_to_come(yearly_in_own_currency(case, row, each.price * each.samples, count)),
            each.currency) for each in tests]    [money]
        own = converted(case, still_to_come(yearly_in_own_currency(case, row, row.price, count)), row.currency)    [money]
        later = sum_of([own, *listed])    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(constants=Some(year=4.0), money={"eur": Some(exchange_rate=1.0)}, currency="EUR")
    >>> case.yearly_services = {"analysis": Some(price=0.0, currency="EUR", begin=0.0, end=2.0, change=0.0)}
    >>> case.laboratory_tests = {"peel": Some(service="analysis", price=5.0, samples=3.0, currency="EUR")}
    >>> service_still_due(case, "analysis", 4)
    [30.0, 15.0, 0.0, 0.0]
    """
    row = case.yearly_services[name]

    def left(amount: Value, currency: str) -> Row:
        """What of an amount a year is still to come after each column."""
        return converted(case, still_to_come(yearly_in_own_currency(case, row, amount, count)), currency)

    listed = [left(each.price * each.samples, each.currency) for each in tests_of(case.laboratory_tests, name).values()]
    return sum_of([left(row.price, row.currency), *listed])
