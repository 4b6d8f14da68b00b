"""The licensor: what arrives of the payments, and its gain above its floor."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, sum_of
from ...core.series import Row
from ..plan.plan_figures import Payments
from .deal_figures import Licensor, Received, Taken
from .licensor_costs import Floor
from .licensor_tax import Income, own_tax, payments_that_leave
from .licensor_value import arriving, own_amount, own_npv


def received(case: Case, headings: Mapping[str, Payments], dividends: Row, rate: Value) -> dict[str, Received]:
    """Payments by kind; dividends come under the kind of that name.

        rows = [[*[Row(row.quarters.values()) for row in headings.values() if row.paid_as == kind], *([dividends] if kind ==
            "dividends" else [])] for kind in case.payment_kinds]    [money]
        amounts = [sum_of([0.0 * dividends, *each]) for each in rows]    [money]
        parts = [arriving(case, kind) for kind in case.payment_kinds]    [1]
        paid = [sum_of(each) for each in amounts]
        paid_now = [own_npv(case, each, rate) for each in amounts]
        withheld = [now * part[0] for now, part in zip(paid_now, parts)]
        inventors = [now * part[1] for now, part in zip(paid_now, parts)]
        net = [now - tax - given for now, tax, given in zip(paid_now, withheld, inventors)]

    Takes: dividends [money], rate [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", deal=Some(licensor=Some(currency="EUR")))
    >>> case.payment_kinds = {"licence": Some(withholding=0.2, inventors_share=0.25)}
    >>> received(case, {"royalty": Some(paid_as="licence", quarters={"q000": 100.0})}, Row([0.0]), 0.01)
    {'licence': Received(paid=100.0, paid_now=100.0, withheld=20.0, inventors=20.0, net=60.0)}
    """
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


def licensor(case: Case, kinds: Mapping[str, Received], floor_costs: Floor, rivals: Taken) -> Licensor:
    """The licensor. Past research is sunk: what policy wants back of it stands apart.

        row = case.deal.licensor    [any]
        work = floor_costs.work
        travel = floor_costs.travel
        pilot_time = floor_costs.pilot_time
        services = floor_costs.services
        upkeep = floor_costs.upkeep
        damages = floor_costs.damages
        territory = floor_costs.territory
        materials = floor_costs.materials
        costs = sum_of([work, travel, pilot_time, services, upkeep, damages, territory, materials])    [money]
        contribution = own_amount(case, row.contribution)
        received = sum_of([each.paid_now for each in kinds.values()])
        withheld = sum_of([each.withheld for each in kinds.values()])
        inventors = sum_of([each.inventors for each in kinds.values()])
        net = received - withheld - inventors
        shares = arriving(case, "licence")    [1]
        income = Income(received - rivals.licensor_gross, withheld - rivals.licensor_gross * shares[0], inventors -
            rivals.licensor_gross * shares[1], costs - territory)    [any]
        taxable = income.net_income
        taxes = own_tax(row, income)    [money]
        own_tax = taxes[0]
        credit = taxes[1]
        floor = costs + contribution
        floor_paid = payments_that_leave(row, income, floor) * safe_divide(received, income.gross)
        policy = own_amount(case, row.sunk_research) * row.recovered_share
        npv = net - rivals.licensor - own_tax + credit - costs
        gain = npv - contribution
        rivals = rivals.licensor

    Source: common practice.

    100 are paid, 10 are withheld; costs are 40, of which 15 is a licence lost, and 20 must be left:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(contribution=20.0, currency="EUR", sunk_research=0.0, recovered_share=0.0, tax_rate=0.0, tax_relief="none")
    >>> case = Some(deal=Some(licensor=row), money={"eur": Some(exchange_rate=1.0)})
    >>> case.payment_kinds = {"licence": Some(withholding=0.1, inventors_share=0.0)}
    >>> kinds = {"licence": Received(100.0, 100.0, 10.0, 0.0, 90.0)}
    >>> costs = Floor(25.0, 0.0, 0.0, 0.0, 0.0, 0.0, 15.0, 0.0)
    >>> found = licensor(case, kinds, costs, Some(licensor=0.0, licensor_gross=0.0))
    >>> found.net, found.floor, found.npv, found.gain
    (90.0, 60.0, 50.0, 30.0)
    """
    row, parts = case.deal.licensor, floor_costs.parts()
    contribution = own_amount(case, row.contribution)
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
        policy=own_amount(case, row.sunk_research) * row.recovered_share,
        npv=worth,
        gain=worth - contribution,
    )
