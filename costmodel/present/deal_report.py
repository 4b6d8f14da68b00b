"""The deal in money: floor and alternatives, payments, taxes, exchange rates, what both sides have; sentences and tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..model.ledger.prices import in_reporting_currency
from ..model.plan.exchange import moved
from ..studies.negotiation.overview import Overview
from .numbers import NOT_APPLICABLE, amount, label, people, percent, signed, stated
from .table import Table, table_of
from .texts import REVIEW

NO_DEAL = "The case has no deal.yaml, so no payment for the know-how is computed."
CAUTIONS = (
    "Nothing here is an offer, and nothing is advice on law or tax. Terms are for people with the authority to agree them, "
    "and for their advisers."
)
REVIEWED = (
    "Which kind a payment is follows from what is done for it. Tax advisers review the kinds, their rates, treaties and customs "
    "value, and whether people on site make a permanent establishment."
)
EACH_AT_ITS_RATE = "Present value at day one, at each party's discount rate."
FLOOR_PARTS = {
    "work": "working days at full cost",
    "travel": "travel, documents, expenses",
    "pilot_time": "time of the pilot line",
    "services": "yearly services",
    "upkeep": "upkeep of the rights",
    "damages": "expected damages",
    "territory": "forgone licences",
    "contribution": "contribution required",
}


# amounts


def in_money(case: Case, value: float) -> str:
    """An amount in the reporting currency."""
    return amount(value, case.currency)


def in_licence_money(case: Case, value: float) -> str:
    """An amount in the currency of the licence."""
    return amount(value, case.deal.licence.currency)


def own_rate(case: Case) -> float:
    """The exchange rate of the licensor's currency on day one."""
    return float(in_reporting_currency(1.0, case.deal.licensor.currency, case.money))


def ours(case: Case, value: float, column: float = 0.0) -> str:
    """An amount of the licensor, in its own currency too where that is another one, at the rate of a column of the plan."""
    own, shown = case.deal.licensor.currency, in_money(case, value)
    return shown if own == case.currency else f"{shown} ({amount(value / own_rate(case) / moved(case, own, column), own)})"


def in_own_money(case: Case, value: float) -> list[str]:
    """An amount of the licensor in its own currency, at the exchange rate of day one; nothing where that is the reporting one."""
    return [] if case.deal.licensor.currency == case.currency else [people(value / own_rate(case))]


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
        f"in {case.deal.licensor.currency}. Both gains are added at the rate of day one."
    ]


# both sides


def sides(case: Case, results: Results) -> str:
    """What the terms leave to each side."""
    return gained(case, results.deal.licensor.gain, results.deal.licensee.gain)


def gained(case: Case, own: float, other: float) -> str:
    """The same from the gains of licensor and licensee."""
    return (
        f"By these terms the licensor is {ours(case, abs(own))} {'above' if own >= 0 else 'below'} its floor. The licensee is "
        f"{in_money(case, abs(other))} {'above' if other >= 0 else 'below'} its best alternative."
    )


def sides_table(case: Case, licensor: tuple[float, float, float], licensee: tuple[float, float, float]) -> Table:
    """Both sides' values: what each has by these terms, what it could or must have without, and the difference."""
    rows = [["licensor", *map(people, licensor)], ["licensee", *map(people, licensee)]]
    if case.deal.licensor.currency != case.currency:
        rows.insert(1, [f"licensor, {case.deal.licensor.currency}", *(people(value / own_rate(case)) for value in licensor)])
    return Table(
        f"Value to both sides, {case.currency}",
        ["", "by these terms", "floor, or best alternative", "above it"],
        rows,
        note=f"{EACH_AT_ITS_RATE} The licensor requires its contribution, the licensee its best alternative.",
    )


# the licensor


def floor(case: Case, results: Results) -> str:
    """What the licensor must have, and what that takes in payments."""
    own = results.deal.licensor
    takes = (
        f"With the mix of the offer that takes payments of {ours(case, own.floor_paid)}, before withholding tax and inventors."
        if own.received
        else "The mix of the offer pays it nothing."
    )
    return (
        f"The licensor must be left with {ours(case, own.floor)}: all costs to come and its contribution. {takes} "
        f"Past research is not in it. Recovery target for sunk research: {ours(case, own.policy)}."
    )


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
        words = f"“{row.title}”, without what fees cover: the work costs the licensor {ours(case, cost)}. "
        takes = f"Withholding tax takes {ours(case, tax)}"
        if before <= 0:
            lines.append(f"{words}It is paid {ours(case, -before)} less than that before any tax. {takes} besides.")
        elif tax >= before:
            lines.append(f"{words}{takes}, all of the margin of {ours(case, before)} and more.")
        else:
            lines.append(f"{words}{takes} of the margin of {ours(case, before)}.")
    return lines


def _share(part: float, whole: float) -> str:
    return percent(part / whole) if whole else NOT_APPLICABLE


def floor_table(case: Case, results: Results) -> Table:
    """The licensor's floor by parts, and what is received."""
    own = results.deal.licensor
    parts = [(title, getattr(own, name)) for name, title in FLOOR_PARTS.items()] + [("floor", own.floor)]
    return Table(
        f"The licensor's floor, {case.currency}",
        ["", case.currency, *own_columns(case, ""), "share"],
        [[title, people(value), *in_own_money(case, value), _share(value, own.floor)] for title, value in parts],
        note=f"{EACH_AT_ITS_RATE} Past research is not in it: {people(own.policy)}. {rates_of_exchange(case)}".strip(),
        total=True,
    )


def licensor_table(case: Case, results: Results) -> Table:
    """From what is paid to what the licensor has above its floor: taxes, inventors, second licensees, costs."""
    own = results.deal.licensor
    amounts = [
        ("payments of the licensee", own.received),
        ("withholding tax", -own.withheld),
        ("inventors", -own.inventors),
        ("royalty lost to second licensees", -own.rivals),
        ("own tax, before the credit", -own.own_tax),
        ("credit of withholding tax", own.credit),
        ("costs, with forgone licences", own.contribution - own.floor),
        ("net present value", own.npv),
        ("contribution required", -own.contribution),
        ("above the floor", own.gain),
    ]
    taxed = f"Own tax is {percent(case.deal.licensor.tax_rate)} of net income of {people(own.taxable)}"
    reliefs = {
        "exempt": "The licensor is exempt from tax on this income, so what is withheld is lost to it.",
        "credit": f"{taxed}. The credit is the lesser of the tax withheld and of that tax.",
        "none": f"{taxed}, without a credit.",
    }
    return Table(
        f"From payments to the licensor's gain, {case.currency}",
        ["", case.currency, *own_columns(case, "")],
        [[title, people(value), *in_own_money(case, value)] for title, value in amounts],
        note=f"At the licensor's rate. {reliefs[case.deal.licensor.tax_relief]} {rates_of_exchange(case)}".strip(),
        total=True,
    )


# the licensee


def ceiling(case: Case, results: Results) -> str:
    """How much the licensee can pay, against what."""
    other = results.deal.licensee
    best = max(results.deal.alternatives, key=lambda name: results.deal.alternatives[name].npv)
    words = (
        f"With nothing paid the plant is worth {in_money(case, other.npv_free)} to the licensee. Its best alternative is "
        f"{alternative_name(case, best)}, worth {in_money(case, other.best_alternative)}."
    )
    if other.ceiling < 0:
        return f"{words} That is more than the plant with nothing paid, so no payment is low enough."
    most, offered = in_money(case, other.ceiling), in_money(case, other.cost)
    return f"{words} So payments can be up to {most} after tax. The offer's are {offered}."


def alternative_name(case: Case, name: str) -> str:
    """What an alternative is called."""
    kind, _, row = name.partition("_")
    if kind == "line":
        return f"“{case.other_lines[row].title}” for the same money"
    return f"“{case.other_ways[row].title}”" if kind == "way" else "doing nothing"


def alternatives_table(case: Case, results: Results) -> Table:
    """What the licensee could do instead."""
    other = results.deal.licensee
    rows = [["the plant with nothing paid for the licence", people(other.npv_free)], ["the plant by this offer", people(other.npv)]]
    rows += [[alternative_name(case, name), people(x.npv)] for name, x in results.deal.alternatives.items()]
    return Table(f"The licensee's alternatives, {case.currency}", ["", "net present value"], rows, note="At its required return.")


# payments


def received_table(case: Case, results: Results) -> Table:
    """What is paid by kind, what is withheld, and what is left to the licensor."""
    own, kinds = results.deal.licensor, results.deal.by_kind
    found: list[tuple] = [(case.payment_kinds[kind].title, x.paid, x.paid_now, x) for kind, x in kinds.items() if x.paid]
    found.append(("all", sum(x.paid for x in kinds.values()), own.received, own))
    rows = [
        [title, *map(people, (paid, now, -x.withheld, -x.inventors, x.net)), *in_own_money(case, x.net), _share(x.net, now)]
        for title, paid, now, x in found
    ]
    return Table(
        f"Payments, and what the licensor receives, {case.currency}",
        [
            "kind",
            "paid in all",
            "at the licensor's rate",
            "withholding tax",
            "inventors",
            "left",
            *own_columns(case, "left"),
            "share",
        ],
        rows,
        note="Before the licensor's own tax and its credit.",
        total=True,
    )


def headings_table(case: Case, results: Results) -> Table:
    """Every payment by heading, as both sides have it."""
    rows = [
        [heading_name(case, name), people(x.paid), people(x.licensor_net), *in_own_money(case, x.licensor_net),
         people(x.licensee_paid)]
        for name, x in results.deal.by_heading.items()
        if x.paid
    ]  # fmt: skip
    left = "left to the licensor"
    return Table(
        f"Payments by heading, {case.currency}",
        ["", "paid in all", left, *own_columns(case, left), "paid by the licensee, before tax"],
        rows,
        note="Paid in all: as it comes. The others: present value at day one, at each party's discount rate.",
    )


def heading_name(case: Case, name: str) -> str:
    """What a heading of payments is called."""
    tables: Mapping[str, Mapping] = {
        "fee": case.fees,
        "expansion": case.expansions,
        "delivery": case.deliveries,
        "service": case.yearly_services,
        "supply": case.supplies,
        "sublicence": case.sublicences,
    }
    kind, _, row = name.partition("_")
    if name.startswith("buy_out_"):
        return case.buy_outs[name.removeprefix("buy_out_")].title
    if kind in tables:
        before = {"supply": "margin on ", "sublicence": "part of the sublicence: ", "expansion": "expansion: "}.get(kind, "")
        return before + tables[kind][row].title
    return {"upfront": "upfront fee", "royalty": "running royalty", "minimum": "on top, to the minimum"}.get(name, label(name))


def years_table(case: Case, results: Results, probabilities: Mapping[str, float] | None = None) -> Table:
    """Royalty earned, the minimum and all payments, year by year; with the probability that the minimum binds if drawn."""
    columns = {
        "year": lambda name, x: name.removeprefix("y").lstrip("0"),
        "royalty earned": lambda _, x: people(x.earned),
        "minimum": lambda _, x: people(x.minimum),
        "on top": lambda _, x: people(x.missing),
        "due at closing": lambda _, x: people(x.due_at_closing),
        "all payments": lambda _, x: people(x.paid),
    }
    if not any(x.due_at_closing for x in results.deal.years.values()):
        del columns["due at closing"]
    note = "Expected amounts, as they come."
    if probabilities:
        columns["minimum binds"] = lambda name, _: percent(probabilities[name])
        note += " Probability over the draws of the inputs in ranges.csv."
    rows = ((name, x) for name, x in results.deal.years.items() if x.paid or x.minimum)
    return table_of(f"Payments by year of the plan, {case.currency}", rows, columns, note=note)


def split(case: Case, found: Overview) -> str:
    """What the best split over kinds of payment brings the licensor, at the same cost to the licensee."""
    best = found.payment_split
    if not best.rows:
        return "No split of the payments over their kinds is within the shares that payment_kinds.csv states. " + REVIEWED
    more = best.licensor[1] - best.licensor[0]
    if more < 0.0005 * abs(best.licensor[0]):
        return "No other split of the payments within the stated shares leaves the licensor more. " + REVIEWED
    shares = ", ".join(
        f"“{case.payment_kinds[x.kind].title}” {percent(x.share[0])} to {percent(x.share[1])}" for x in best.rows if x.paid[0]
    )
    return (
        f"At the same cost to the licensee, the best split leaves the licensor {ours(case, more)} more. It changes shares of the "
        f"payments: {shares}. {REVIEWED}"
    )


def split_table(case: Case, found: Overview) -> Table:
    """Payments by kind now and by the best split, the shares they may have, and what is left to the licensor."""
    best = found.payment_split

    def row(title: str, bounds: str, paid: Iterable[float], share: Iterable[str], net: tuple[float, float]) -> list[str]:
        """A row: paid and share now, then by the best split; the bounds of the share; net to the licensor."""
        pairs = [cell for amount, part in zip(map(people, paid), share) for cell in (amount, part)]
        return [title, *(pairs or [""] * 4), bounds, *map(people, net), *in_own_money(case, net[1])]

    rows = []
    for x in best.rows:
        kind = case.payment_kinds[x.kind]
        bounds = f"{percent(kind.least_share)} to {percent(kind.most_share)}"
        rows.append(row(kind.title, bounds, x.paid, map(percent, x.share), x.net))
    paid, net = (tuple(sum(getattr(x, name)[k] for x in best.rows) for k in (0, 1)) for name in ("paid", "net"))
    rows.append(row("all", "", paid, ("100 %", "100 %"), net))
    rows.append(row("licensor's gain, after own tax", "", (), (), best.licensor))
    return Table(
        f"Split of the payments over their kinds, {case.currency}",
        ["kind", "now", "share now", "best split", "share then", "bounds", "net to licensor, now", "net, best split",
         *own_columns(case, "net, best split")],
        rows,
        note="Payments as they come; net to the licensor at its rate, before its own tax. Each kind keeps its times; dividends are "
        "left out. The licensee's present value after its tax is the same. " + REVIEWED,
    )  # fmt: skip


def cautions() -> list[str]:
    """What people must look at before anything is signed."""
    return [CAUTIONS, *(f"For review: {point}." for point in REVIEW)]
