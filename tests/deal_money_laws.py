"""Laws of a deal, worked again in plain numbers: second licensees, own tax and credit, exchange rates, territories."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import lru_cache
from math import prod

from costmodel.case.whole_case import Case, with_held
from costmodel.model.evaluate import Results, evaluate

from .cases import Inputs, table
from .plans import limited_inputs
from .scaling_laws import broken
from .terms import TABLES
from .transfers import TABLES as TRANSFER

Broken = Iterator[str]
PROSPECTS = """
id,title,territory,value [currency],currency,probability [%],window [year],lost [%],entry_time [year],price_effect [%],\
volume_effect [%]
near,near,here,90000,USD,40,3,75,0.5,8,12
far,far,next door,70000,EUR,30,4,50,1,5,0
away,away,outside,80000,EUR,90,2,50,0,30,30
"""
WAYS = """
id,title,delay [year],cost [currency],currency,probability [%],value_share [%],royalty [%]
alone,alone,1,9000,EUR,50,80,3
"""
FEES = """
id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as
look,a look,12000,USD,0,100,50,licence
first,first module,40000,USD,27,90,0,services
"""


def dealt_inputs() -> Inputs:
    """The tiny plan in two markets, paid in two currencies whose rate moves; the licensor counts dollars and pays own tax."""
    inputs = limited_inputs().cell("money.csv", "usd", "change", "6").cell("sales.csv", "far", "currency", "USD")
    inputs.tables |= {"prospects.csv": table(PROSPECTS), "fees.csv": table(FEES), "other_ways.csv": table(WAYS)}
    inputs.tables |= {file: table(text) for file, text in TRANSFER.items()}
    deal = inputs.documents["deal.yaml"]
    head, own = deal.split("licensor:\n")
    own = own.replace("EUR", "USD").replace("tax_rate: 0 %", "tax_rate: 10 %").replace("tax_relief: exempt", "tax_relief: credit")
    head = head.replace("equity_share: 0 %", "equity_share: 5 %")
    inputs.documents["deal.yaml"] = f"{head}licensor:\n{own}"
    return inputs


@lru_cache(maxsize=1)
def dealt() -> Case:
    """That case, loaded."""
    return dealt_inputs().load()


@lru_cache(maxsize=1)
def labelled() -> Case:
    """The same with modules sold by class: their labels promise less than is made."""
    inputs = dealt_inputs()
    inputs.tables |= {file: table(TABLES[file]) for file in ("power_classes.csv", "measured_powers.csv")}
    return inputs.load()


def path(case: Case, currency: str, column: int) -> float:
    """Units of the reporting currency for one of another, at the end of a quarter."""
    row = case.money[currency.lower()]
    return row.exchange_rate * (1 + row.change * case.constants.year) ** (column / 4)


def own_value(case: Case, flows: list[float]) -> float:
    """Flows in the reporting currency, as the licensor has them in its own on day one."""
    own, each = case.deal.licensor.currency, (1 + case.deal.licensor.discount_rate * case.constants.year) ** 0.25
    return sum(flow / path(case, own, k) / each**k for k, flow in enumerate(flows))


def second_licensees_come_as_the_table_says(case: Case, results: Results) -> Broken:
    """Probabilities by the share of the window that is past, averaged over each quarter; what they take multiplies what is left."""
    year, quarters = case.constants.year, list(results.plan.quarters.values())
    sales, volume = [1.0] * len(quarters), [1.0] * len(quarters)
    near = {name: row for name, row in case.prospects.items() if row.territory in case.deal.licence.territories.split("; ")}
    if near.keys() != results.deal.second_licensees.keys():
        yield f"second licensees are {[*results.deal.second_licensees]}, in the territories are {[*near]}"
    for name, row in near.items():
        window, entry, closed = (4 * time / year for time in (row.window, row.entry_time, case.deal.licence.exclusive_time))

        def signed(time, window=window, closed=closed, lost=row.lost):
            """The probability of having signed by a time."""
            return 0.0 if time < closed else min(1.0, time / window) - lost * min(1.0, closed / window)

        for k, probability in enumerate(results.deal.second_licensees[name].selling.values()):
            ends = (signed(k - 1 - entry + 1e-9), signed(k - entry - 1e-9))  # breaks lie between quarters
            wanted = row.probability * max(0.0, sum(ends) / 2) if k else 0.0
            if abs(probability - wanted) > 1e-8:
                yield f"{name} sells in quarter {k} at {probability}, wanted {wanted}"
            sales[k] *= 1 - probability * (1 - (1 - row.price_effect) * (1 - row.volume_effect))
            volume[k] *= 1 - probability * row.volume_effect
    each = (1 + results.plan.required_return) ** 0.25
    lost = [q.revenue * (1 - s) - q.variable_cost * (1 - v) for q, s, v in zip(quarters, sales, volume)]
    kept = 1 - case.plan.tax.rate
    taken, royalty = results.deal.taken, list(results.deal.taken.royalty.values())
    yield from broken("taken if nothing were paid", taken.licensee_free, sum(kept * x / each**k for k, x in enumerate(lost)))
    with_royalty = sum(kept * (x - y) / each**k for k, (x, y) in enumerate(zip(lost, royalty)))
    yield from broken("taken from the licensee", taken.licensee, with_royalty)
    other = results.deal.licensee
    yield from broken("licensee", other.gain, other.npv_undisturbed - taken.licensee - other.best_alternative)
    share, flows = case.deal.licence.equity_share, zip(quarters, taken.licensee_cash.values(), results.deal.dividends.values())
    for k, (quarter, cash, paid) in enumerate(flows):
        yield from broken(f"dividends in {k}", paid, share * max(quarter.free_cash - cash, 0.0))
    base, per_watt = case.deal.licence.royalty * case.deal.licence.net_sales, case.deal.licence.royalty_per_watt
    paid = [base * q.revenue + per_watt * q.stabilised_watts for q in quarters]
    after = [base * q.revenue * s + per_watt * q.stabilised_watts * v for q, s, v in zip(quarters, sales, volume)]
    for k, (before, then, found) in enumerate(zip(paid, after, royalty)):
        if quarters[k].royalty and abs(quarters[k].royalty - before) < 1e-9 * before:  # in a quarter that is whole in the term
            yield from broken(f"royalty taken in {k}", found, before - then)


def exclusivity_closes_the_territories_of_the_licence(case: Case, results: Results) -> Broken:
    """Licences lost are those of prospects in a territory that the licence names."""
    for name, row in case.prospects.items():
        lost = results.deal.prospects[name].lost
        if (lost > 0) != (row.territory != "outside"):
            yield f"licence to {name} in {row.territory}: {lost} lost"
    found = results.deal.exclusivity
    yield from broken("licences lost", found.licences_lost, sum(x.lost for x in results.deal.prospects.values()))
    yield from broken("payments kept", found.payments_kept, found.licences_lost - found.licensor_cost)
    open_case = with_held(case, {"licence": dataclasses.replace(case.deal.licence, exclusive_time=0.0)})
    open_deal = evaluate(open_case).deal
    yield from broken("cost of exclusivity", found.licensor_cost, open_deal.licensor.gain - results.deal.licensor.gain)
    yield from broken("worth of exclusivity", found.licensee_value, results.deal.licensee.gain - open_deal.licensee.gain)


def own_tax_is_on_net_income_with_a_credit_up_to_it(case: Case, results: Results) -> Broken:
    """Payments less inventors and costs, after what others take; the credit is the lesser of tax withheld and own tax."""
    own, row = results.deal.licensor, case.deal.licensor
    withheld, part = case.payment_kinds["licence"].withholding, case.payment_kinds["licence"].inventors_share
    gone = results.deal.taken.licensor_gross
    costs = own.work + own.travel + own.pilot_time + own.services + own.upkeep + own.damages
    income = own.received - gone - own.inventors + gone * (1 - withheld) * part - costs
    tax = row.tax_rate * max(0.0, income)
    yield from broken("taxable", own.taxable, income)
    yield from broken("own tax", own.own_tax, tax)
    yield from broken("credit", own.credit, min(own.withheld - gone * withheld, tax))
    left = own.received - own.withheld - own.inventors - gone * (1 - withheld) * (1 - part) - tax + own.credit
    yield from broken("licensor", own.npv, left - costs - own.territory)


def money_is_converted_when_it_counts(case: Case, results: Results) -> Broken:
    """Sales, payments and the licensor's present values, each flow at the exchange rate of its day."""
    plan, year, amounts = results.plan, case.constants.year, results.line.output.by_unit()
    for k, quarter in enumerate(plan.quarters.values()):
        money = 0.0
        for row in case.sales.values():
            part = quarter.planned_share * row.output_share
            part *= list(plan.markets[row.market].sold_share.values())[k] if row.market in plan.markets else 1.0
            rise = (1 + row.change * year) ** (max(k - 0.5, 0.0) / 4)
            money += part * amounts[row.per] / 4 * row.price * rise * path(case, row.currency, k)
        yield from broken(f"sales in {k}", quarter.revenue, money)
    for name, row in case.fees.items():
        time = 4 * row.time / year
        due = [max(0.0, 1 - abs(k - time)) for k in range(len(plan.quarters))]
        wanted = [row.amount * row.probability * share * path(case, row.currency, k) for k, share in enumerate(due)]
        for k, amount in enumerate(plan.payments[f"fee_{name}"].quarters.values()):
            yield from broken(f"{name} in {k}", amount, wanted[k])
    flows = [list(row.quarters.values()) for row in plan.payments.values()] + [list(results.deal.dividends.values())]
    received = own_value(case, [sum(column) for column in zip(*flows)])
    yield from broken("received", results.deal.own_money.received, received)
    at_first = path(case, case.deal.licensor.currency, 0)
    yield from broken("received, reported", results.deal.licensor.received, received * at_first)
    yield from broken("gain", results.deal.own_money.gain * at_first, results.deal.licensor.gain)
    share = prod((1 - case.payment_kinds["licence"].withholding, 1 - case.payment_kinds["licence"].inventors_share))
    yield from broken(
        "left of royalty",
        results.deal.by_heading["royalty"].licensor_net,
        share * at_first * own_value(case, list(plan.payments["royalty"].quarters.values())),
    )


def another_process_does_not_wait_for_ours(case: Case, results: Results) -> Broken:
    """A year of delay of ours leaves what the licensee has by another way, and so do our terms."""
    late = dataclasses.replace(case.plan.schedule, delay=case.constants.year)
    dear = dataclasses.replace(case.deal.licence, royalty=0.5, royalty_cap=1.0)
    for what, held in (("our delay", {"schedule": late}), ("our royalty", {"licence": dear})):
        moved = evaluate(with_held(case, held)).deal
        yield from broken(what, moved.alternatives["way_alone"].npv, results.deal.alternatives["way_alone"].npv)


def royalty_counts_watts_on_labels(case: Case, results: Results) -> Broken:
    """What is earned by year is what is paid, before any gross-up; of watts that others take, those on labels count."""
    plan, deal, power = results.plan, results.deal, results.line.power
    kind, row = case.payment_kinds["licence"], case.deal.licence
    paid = list(plan.payments["royalty"].quarters.values())
    gross = 1 / (1 - kind.withholding * kind.gross_up)
    yield from broken("earned", sum(each.earned for each in deal.years.values()) * gross, sum(paid))
    quarters, rivals = list(plan.quarters.values()), [case.prospects[name] for name in deal.second_licensees]
    chances = [list(each.selling.values()) for each in deal.second_licensees.values()]
    on_label = power.labelled_power / results.line.output.stabilised_power
    for k, (quarter, lost) in enumerate(zip(quarters, deal.taken.royalty.values())):
        volume = prod(1 - chance[k] * each.volume_effect for each, chance in zip(rivals, chances))
        sales = prod(
            1 - chance[k] * (1 - (1 - each.price_effect) * (1 - each.volume_effect)) for each, chance in zip(rivals, chances)
        )
        on_sales = row.royalty * row.net_sales * quarter.revenue
        by_watts = row.royalty_per_watt * on_label * quarter.stabilised_watts
        if quarter.royalty and abs(quarter.royalty - on_sales - by_watts) < 1e-9 * quarter.royalty:  # whole in the term
            yield from broken(f"lost in {k}", lost, on_sales * (1 - sales) + by_watts * (1 - volume))


DEAL_MONEY_LAWS = (
    second_licensees_come_as_the_table_says, exclusivity_closes_the_territories_of_the_licence,
    own_tax_is_on_net_income_with_a_credit_up_to_it, money_is_converted_when_it_counts, another_process_does_not_wait_for_ours,
)  # fmt: skip


def violated_by_deal_money(case: Case) -> Iterator[str]:
    """What the laws find in a deal with prospects whose times are whole quarters."""
    results = evaluate(case)
    yield from (f"{law.__name__}: {message}" for law in DEAL_MONEY_LAWS for message in law(case, results))
    case = labelled()
    yield from (f"royalty on labels: {message}" for message in royalty_counts_watts_on_labels(case, evaluate(case)))
