"""What payments and costs are worth to the licensor: in its currency, at its rate, after withholding tax and inventors."""

from __future__ import annotations

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..plan.exchange_rates import moved_against
from ..plan.worth import npv


def arriving(case: Case, paid_as: str) -> tuple[Value, Value]:
    """Of a unit paid: the part that is withheld, and the part that goes to the inventors.

        row = case.payment_kinds[paid_as]    [any]
        withheld, inventors = row.withholding, (1 - row.withholding) * row.inventors_share    [1, 1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> arriving(Some(payment_kinds={"licence": Some(withholding=0.2, inventors_share=0.25)}), "licence")
    (0.2, 0.2)
    """
    row = case.payment_kinds[paid_as]
    return row.withholding, (1 - row.withholding) * row.inventors_share


def own_npv(case: Case, flows: Row, rate: Value, currency: str = "") -> Value:
    """The present value of flows to the licensor, in the reporting currency at the exchange rate of the first day.

        rates = moved_against(case, currency or case.currency, case.deal.licensor.currency, len(flows))    [1]
        value = npv(flows * rates, rate)    [any]

    Takes: flows [any], rate [1].
    Source: common practice.

    Flows are amounts, or shares of one. Each is brought into the licensor's currency at the rate of its quarter and discounted at
    the licensor's rate. `currency` is that which the amounts were stated in before they were converted at the rate of the first
    day; else the reporting one.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", deal=Some(licensor=Some(currency="EUR")))
    >>> round(own_npv(case, Row([100.0, 101.0]), 0.01), 9)
    200.0
    """
    rates = moved_against(case, currency or case.currency, case.deal.licensor.currency, len(flows))
    return npv(flows * rates, rate)


def left_of(case: Case, amounts: Row, paid_as: str, rate: Value) -> Value:
    """What payments of a kind leave to the licensor after withholding tax and inventors, before its own tax.

        withheld, inventors = arriving(case, paid_as)    [1, 1]
        left = own_npv(case, amounts, rate) * (1 - withheld - inventors)    [money]

    Takes: amounts [money], rate [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", deal=Some(licensor=Some(currency="EUR")))
    >>> case.payment_kinds = {"licence": Some(withholding=0.2, inventors_share=0.25)}
    >>> round(left_of(case, Row([100.0]), "licence", 0.01), 9)
    60.0
    """
    withheld, inventors = arriving(case, paid_as)
    return own_npv(case, amounts, rate) * (1 - withheld - inventors)


def own_amount(case: Case, amount: Value) -> Value:
    """An amount of the licensor's section in the reporting currency."""
    return in_reporting_currency(amount, case.deal.licensor.currency, case.money)
