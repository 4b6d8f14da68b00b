"""The licensee: its alternatives, and what the payments leave to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...case.whole_case import Case
from ...core.operations import Value, larger, sum_of
from ..ledger.prices import in_reporting_currency
from ..plan.exchange import moved
from ..plan.plan_figures import Plan, Quarter
from ..plan.time_of_use import Use
from ..plan.timing import due, in_quarters
from ..plan.worth import each_quarter, npv
from .deal_figures import Alternative, Exposure, Licensee, Taken


def dividends(case: Case, quarters: Sequence[Quarter], lost: Sequence[Value]) -> list[Value]:
    """What the licensor's shares are paid: its part of the cash of the project, where there is any; `lost` is taken by others."""
    return [case.deal.licence.equity_share * larger(each.free_cash - gone, 0.0) for each, gone in zip(quarters, lost)]


def alternatives(case: Case, plan: Plan, free: Value, sales: Value) -> dict[str, Alternative]:
    """Doing nothing, another line for the same money, and the same plant by another way; at the licensee's rate and tax."""
    found = {"nothing": Alternative(npv=0.0 * free)}
    found |= {f"line_{name}": Alternative(npv=each.worth.npv) for name, each in plan.others.items()}
    for name, row in case.other_ways.items():
        years = row.delay / case.constants.year
        later = (1 + plan.required_return) ** years
        cost = in_reporting_currency(row.cost, row.currency, case.money) / (1 + plan.required_return) ** (years / 2)
        royalty = row.royalty * sales * (1 - case.plan.tax.rate)
        found[f"way_{name}"] = Alternative(npv=row.probability * (row.value_share * free - royalty) / later - cost)
    return found


def damages_received(case: Case, use: Use, guarantees: Mapping[str, Exposure], rate: Value) -> Value:
    """Expected damages from the licensor, after tax, at the licensee's rate: due while the plant is in use. Common practice."""
    owed = [(x.damages, case.guarantees[name].time, case.guarantees[name].currency) for name, x in guarantees.items()]
    row = case.deal.licensor
    owed.append((in_reporting_currency(row.damages, row.currency, case.money), row.damages_time, row.currency))
    found = []
    for amount, time, currency in owed:
        shares = use.while_open(due(len(use.open), in_quarters(case, time)))
        paid = [amount * share * moved(case, currency, column) for column, share in enumerate(shares)]
        found.append(npv(paid, each_quarter(rate)))
    return sum_of(found) * (1 - case.plan.tax.rate)


def licensee(
    plan: Plan, ways: Mapping[str, Alternative], free: Value, sales: Value, given: Sequence[Value], rivals: Taken, damages: Value
) -> Licensee:
    """The licensee at its required return; its shares in the licensor's hands are a payment too, damages one that comes back.

    `free` is the plant if nothing were paid and no one else were licensed in the territory.
    """
    shares = npv(given, each_quarter(plan.required_return))
    best = ways["nothing"].npv
    for each in ways.values():
        best = larger(best, each.npv)
    undisturbed = plan.project.npv - shares
    left, unpaid = undisturbed - rivals.licensee + damages, free - rivals.licensee_free
    return Licensee(
        npv=left,
        npv_undisturbed=undisturbed,
        npv_free=unpaid,
        best_alternative=best,
        ceiling=unpaid - best,
        cost=unpaid - left,
        gain=left - best,
        sales_now=sales,
        dividends=shares,
        damages=damages,
    )
