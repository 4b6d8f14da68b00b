"""Payments under the licence: from what is paid to what the licensor has; sentences and tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..studies.negotiation.overview import Overview
from .deal_report import in_money, in_own_money, ours, own_columns, part_of, rates_of_exchange
from .numbers import label, people, percent
from .table import Table, table_of

REVIEWED = (
    "Which kind a payment is follows from what is done for it. Tax advisers review the kinds, their rates, treaties and customs "
    "value, and whether people on site make a permanent establishment."
)


def own_tax(case: Case, results: Results) -> str:
    """What the licensor's own tax is, and what of the withholding tax counts against it."""
    own, row = results.deal.licensor, case.deal.licensor
    shares = float(sum(x.withheld for kind, x in results.deal.by_kind.items() if kind == "dividends"))
    part = f", {ours(case, shares)} of it on dividends" if shares else ""
    withheld = f"Withholding tax takes {ours(case, own.withheld)} of the payments{part}."
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
        words = f"The work that is paid as “{row.title}” costs the licensor {ours(case, cost)}, without work that fees cover. "
        takes = f"Withholding tax takes {ours(case, tax)}"
        if before <= 0:
            lines.append(f"{words}Payments for it are {ours(case, -before)} less than that before any tax. {takes} more.")
        elif tax >= before:
            lines.append(f"{words}{takes}, all of the margin of {ours(case, before)} and more.")
        else:
            lines.append(f"{words}{takes} of the margin of {ours(case, before)}.")
    return lines


def paid(case: Case, results: Results) -> str:
    """What the licensee pays in all, what that is worth to the licensor, and its largest part."""
    kinds, headings = results.deal.by_kind, results.deal.by_heading
    total = float(sum(x.paid for x in kinds.values()))
    if total <= 0:
        return "By these terms the licensee pays nothing."
    largest = max(headings, key=lambda name: float(headings[name].paid))
    part = float(headings[largest].paid)
    return (
        f"The licensee pays {in_money(case, total)} over the plan. Its present value to the licensor is "
        f"{ours(case, results.deal.licensor.received)}, before withholding tax and inventors. The largest part is "
        f"“{heading_name(case, largest)}”: {in_money(case, part)}, {part_of(part, total)}."
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


def received_table(case: Case, results: Results) -> Table:
    """What is paid by kind, what is withheld, and what is left to the licensor."""
    own, kinds = results.deal.licensor, results.deal.by_kind
    found: list[tuple] = [(case.payment_kinds[kind].title, x.paid, x.paid_now, x) for kind, x in kinds.items() if x.paid]
    found.append(("all", sum(x.paid for x in kinds.values()), own.received, own))
    rows = [
        [title, *map(people, (paid, now, -x.withheld, -x.inventors, x.net)), *in_own_money(case, x.net), part_of(x.net, now)]
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
        "supplied": case.supplied_materials,
        "sublicence": case.sublicences,
    }
    kind, _, row = name.partition("_")
    if name.startswith("buy_out_"):
        return case.buy_outs[name.removeprefix("buy_out_")].title
    if kind in tables:
        before = {
            "supply": "margin on ",
            "supplied": "above a second source: ",
            "sublicence": "part of the sublicence: ",
            "expansion": "expansion: ",
        }.get(kind, "")
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
