"""A first deal: fee and running royalty, seen by the licensor and by the licensee."""

from __future__ import annotations

from dataclasses import replace

from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..ledger.records import Ledger
from ..line.records import Line
from ..operations import choose, safe_divide, smaller, sum_of
from ..plan.capital import assets
from ..plan.plan import Grounds, quarters
from ..plan.records import Plan, Quarter
from ..plan.timing import QUARTERS, steps
from ..plan.worth import each_quarter, npv
from .records import Deal


def compute_deal(case: Case, line: Line, ledger: Ledger, plan: Plan | None) -> Deal | None:
    """What both sides have of the licence of a case; None for a case without plan.yaml or deal.yaml.

    The licensee pays the same whatever is withheld from the licensor on the way.
    """
    if plan is None or case.licence is None:
        return None
    row, quarter = case.licensor, case.constants.year / QUARTERS
    found = list(plan.quarters.values())
    payments = [each.licence_fee + each.royalty for each in found]
    rate = each_quarter(row.discount_rate * case.constants.year)
    paid = npv(payments, rate)
    delivered = [smaller(1.0, (k + 1) * quarter / row.delivery_time) for k in range(len(found))]
    cost = in_reporting_currency(row.delivery_cost, row.currency, case.money)
    delivery = npv([cost * share for share in steps(delivered)], rate)
    withheld = paid * row.withholding
    inventors = (paid - withheld) * row.inventors_share
    licensor = paid - withheld - inventors - delivery
    unpaid = without_payments(case, line, ledger, plan)
    free = npv([each.free_cash for each in unpaid.values()], each_quarter(plan.required_return))
    together = licensor + plan.project.npv
    return Deal(
        without_payments=unpaid,
        paid=sum_of(payments),
        paid_now=paid,
        withheld=withheld,
        inventors=inventors,
        delivery=delivery,
        licensor_npv=licensor,
        licensee_npv=plan.project.npv,
        licensee_npv_without_payments=free,
        licensee_cost=free - plan.project.npv,
        licensor_share=choose(together > 0, safe_divide(licensor, together), 0.0),
    )


def without_payments(case: Case, line: Line, ledger: Ledger, plan: Plan) -> dict[str, Quarter]:
    """The quarters of the plan if nothing were paid for the licence."""
    found = assets(case, line)
    grounds = Grounds(plan.start, found, plan.use_years, plan.costs, plan.required_return, plan.equity_return)
    unpaid = quarters(replace(case, licence=None), line, ledger, grounds)
    return dict(zip(plan.quarters, unpaid))
