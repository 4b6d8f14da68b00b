"""The licensor's money: from payments to what is left, taxes, its own currency, exchange rates, and the split over kinds."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..model.ledger.prices import in_reporting_currency
from ..model.plan.exchange import moved
from ..studies.negotiation.overview import Overview
from .numbers import money, people, percent, signed, stated
from .table import Table

REVIEWED = (
    "Which kind a payment is follows from what is done for it. Tax advisers review the kinds, their rates, treaties and customs "
    "value, and whether people on site make a permanent establishment."
)


def own_rate(case: Case) -> float:
    """The exchange rate of the licensor's currency on day one."""
    return float(in_reporting_currency(1.0, case.deal.licensor.currency, case.money))


def ours(case: Case, value: float, column: float = 0.0) -> str:
    """An amount of the licensor, in its own currency too where that is another one, at the rate of a column of the plan."""
    own, said = case.deal.licensor.currency, money(value, case.currency)
    return said if own == case.currency else f"{said} ({money(value / own_rate(case) / moved(case, own, column), own)})"


def own_tax(case: Case, results: Results) -> str:
    """What the licensor's own tax is, and what of the withholding tax counts against it."""
    own, row = results.deal.licensor, case.deal.licensor
    withheld = f"Withholding tax takes {ours(case, own.withheld)} of the payments."
    if row.tax_relief == "exempt":
        return f"{withheld} The licensor is exempt from tax, so it has no own tax to credit that against, and all of it is lost."
    tax = f"The licensor's own tax of {percent(row.tax_rate)} on the net income of the deal is {ours(case, own.own_tax)}."
    if row.tax_relief == "none":
        return f"{withheld} {tax} None of the tax withheld is credited."
    lost = own.withheld - own.credit
    return f"{withheld} {tax} Of the tax withheld, {ours(case, own.credit)} are credited and {ours(case, lost)} are lost."


def licensor_table(case: Case, results: Results) -> Table:
    """From what is paid to what the licensor has above its floor: taxes, inventors, second licensees, costs."""
    own = results.deal.licensor
    amounts = [
        ("payments of the licensee", own.received),
        ("withholding tax", -own.withheld),
        ("inventors", -own.inventors),
        ("royalty that second licensees take", -own.rivals),
        ("own tax, before the credit", -own.own_tax),
        ("credit of withholding tax", own.credit),
        ("costs, with forgone licences", own.contribution - own.floor),
        ("net present value", own.npv),
        ("contribution that must be left", -own.contribution),
        ("above the floor", own.gain),
    ]
    reliefs = {
        "exempt": "The licensor is exempt from tax on this income, so what is withheld is lost to it.",
        "credit": f"Own tax is {percent(case.deal.licensor.tax_rate)} of net income of {people(own.taxable)}. "
        "The credit is the lesser of the tax withheld and of that tax.",
        "none": f"Own tax is {percent(case.deal.licensor.tax_rate)} of net income of {people(own.taxable)}, without a credit.",
    }
    return Table(
        f"What the licensor has, {case.currency}",
        ["", case.currency, *own_columns(case, "")],
        [[title, people(value), *in_own_money(case, value)] for title, value in amounts],
        note=f"At the licensor's rate. {reliefs[case.deal.licensor.tax_relief]} {rates_of_exchange(case)}".strip(),
        total=True,
    )


def in_own_money(case: Case, value: float) -> list[str]:
    """An amount of the licensor in its own currency, at the exchange rate of day one; nothing where that is the reporting one."""
    own = case.deal.licensor.currency
    return [] if own == case.currency else [people(value / own_rate(case))]


def own_columns(case: Case, title: str) -> list[str]:
    """The head of a column of such amounts."""
    own = case.deal.licensor.currency
    return [] if own == case.currency else [f"{title}, {own}".removeprefix(", ")]


def rates_of_exchange(case: Case) -> str:
    """The exchange rates of all currencies that meet in the deal and the sales, on day one and year by year."""
    rows = (case.fees, case.minimum_royalties, case.buy_outs, case.deliveries, case.yearly_services, case.guarantees,
            case.sublicences, case.prospects, case.other_ways, case.sales)  # fmt: skip
    met = [case.deal.licence.currency, case.deal.licensor.currency, *(row.currency for table in rows for row in table.values())]
    found = []
    for currency in dict.fromkeys(met):
        if currency != case.currency:
            row = case.money[currency.lower()]
            change = 100 * float(row.change) * case.constants.year
            moving = f", changing {signed(change)} % a year" if change else ", held constant"
            found.append(f"{currency} 1 is {case.currency} {stated(float(row.exchange_rate))} on day one{moving}")
    return f"Exchange rates: {'; '.join(found)}." if found else ""


def rates_used(case: Case) -> list[str]:
    """The exchange rates, and how they are used; nothing where all is in one currency."""
    rates = rates_of_exchange(case)
    if not rates:
        return []
    return [
        f"{rates} Sales and payments under the licence are at the rate of their time. The licensor's present values are of flows "
        f"in {case.deal.licensor.currency}; both gains are added at the rate of day one."
    ]


def work_and_tax(case: Case, results: Results) -> list[str]:
    """For each kind of paid work: whether the withholding tax takes more than the work earns the licensor."""
    lines, deal = [], results.deal
    for kind, row in case.payment_kinds.items():
        work = {f"delivery_{n}": x.days + x.travel + x.pilot_time for n, x in deal.deliveries.items()}
        work |= {f"service_{n}": x.cost for n, x in deal.yearly_services.items()}
        paid = [n for n in work if results.plan.payments[n].paid_as == kind and deal.by_heading[n].paid]
        if not paid or not row.withholding:
            continue
        left, cost = sum(deal.by_heading[n].licensor_net for n in paid), sum(work[n] for n in paid)
        tax = left / (1 - row.withholding) / (1 - row.inventors_share) * row.withholding
        before = left + tax - cost
        said = f"“{row.title}”, without what fees cover: the work costs the licensor {ours(case, cost)}. "
        if before <= 0:
            said += f"It is paid {ours(case, -before)} less than that before any tax. "
            lines.append(said + f"Withholding tax takes {ours(case, tax)} besides.")
        elif tax >= before:
            lines.append(said + f"Withholding tax takes {ours(case, tax)}, all of the margin of {ours(case, before)} and more.")
        else:
            lines.append(said + f"Withholding tax takes {ours(case, tax)} of the margin of {ours(case, before)}.")
    return lines


def split(case: Case, found: Overview) -> str:
    """What the best split over kinds of payment brings the licensor, at the same cost to the licensee."""
    best = found.payment_split
    if not best.rows:
        return "No split of the payments over their kinds is within the shares that payment_kinds.csv states. " + REVIEWED
    more = best.licensor[1] - best.licensor[0]
    if more < 0.0005 * abs(best.licensor[0]):
        return "No other split of the payments within the stated shares leaves the licensor more. " + REVIEWED
    moved = ", ".join(
        f"“{case.payment_kinds[x.kind].title}” {percent(x.share[0])} to {percent(x.share[1])}" for x in best.rows if x.paid[0]
    )
    return (
        f"At the same cost to the licensee, the best split leaves the licensor {ours(case, more)} more. It moves shares of the "
        f"payments: {moved}. {REVIEWED}"
    )


def split_table(case: Case, found: Overview) -> Table:
    """Payments by kind now and by the best split, the shares they may have, and what is left to the licensor."""
    best, rows = found.payment_split, []
    for x in best.rows:
        row = case.payment_kinds[x.kind]
        bounds = f"{percent(row.least_share)} to {percent(row.most_share)}"
        rows.append([row.title, people(x.paid[0]), percent(x.share[0]), people(x.paid[1]), percent(x.share[1]), bounds,
                     people(x.net[0]), people(x.net[1]), *in_own_money(case, x.net[1])])  # fmt: skip
    sums = [sum(getattr(x, name)[k] for x in best.rows) for name in ("paid", "net") for k in (0, 1)]
    rows.append(["all", people(sums[0]), "100 %", people(sums[1]), "100 %", "", people(sums[2]), people(sums[3]),
                 *in_own_money(case, sums[3])])  # fmt: skip
    rows.append(["licensor's gain, after own tax", "", "", "", "", "", people(best.licensor[0]), people(best.licensor[1]),
                 *in_own_money(case, best.licensor[1])])  # fmt: skip
    return Table(
        f"Split of the payments over their kinds, {case.currency}",
        ["kind", "now", "share", "best split", "share", "bounds", "net to licensor, now", "best split",
         *own_columns(case, "best split")],
        rows,
        note="Payments as they come; net to the licensor at its rate, before its own tax. Each kind keeps its times; dividends are "
        "left out. The licensee's present value after its tax is the same. " + REVIEWED,
    )  # fmt: skip
