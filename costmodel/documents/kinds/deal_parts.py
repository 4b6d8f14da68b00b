"""Words, pictures and tables of the terms, which proposal, memo and briefing share."""

from __future__ import annotations

import dataclasses

from ...present.numbers import NOT_APPLICABLE, many, money, people, stated, typeset
from ...present.palette import COLOURS, INK, PALE
from ...present.plain_plan import worth_table
from .. import svg_pictures
from .blocks import Block, Facts, picture, table
from .end_matter import millions

GROUPS = {
    "fees": "materials",
    "royalty": "maintenance",
    "work": "labour",
    "yearly services": "building",
    "expansion, buy-out, sublicences": "overheads",
}  # groups of payments in the order in which they stand, each with its colour


CLOSED = {"stops": "none after the plant closes", "due": "if the plant closes, what remains falls due then"}


def months(years: float) -> str:
    """A time in months.

    >>> months(1 / 12), months(2.5)
    ('1 month', '30 months')
    """
    shown = stated(round(12 * years, 4))
    return f"{shown} month{'' if shown == '1' else 's'}"


def when(years: float) -> str:
    """A day, counted from the first.

    >>> when(0.0), when(2.75)
    ('on the first day', 'after 33 months')
    """
    return f"after {months(years)}" if years else "on the first day"


def between(row: Facts) -> str:
    """A time from the first day on, in months.

    >>> between({"begin": 0.5, "end": 2.0}), between({"begin": 0.0, "end": 1.0})
    ('months 6 to 24', 'to month 12')
    """
    begin, end = (stated(round(12 * row[name], 2)) for name in ("begin", "end"))
    return f"months {begin} to {end}" if row["begin"] else f"to month {end}"


def amount(value: float, currency: str) -> str:
    """An amount that people have agreed, unrounded.

    >>> amount(1_250_000.0, "EUR")
    'EUR 1,250,000'
    """
    return f"{currency} {stated(value)}"


def share(value: float) -> str:
    """A stated share in per cent."""
    return f"{stated(round(100 * value, 6))} %"


def each_year(change: float) -> str:
    """How an amount changes from year to year, as words that follow it; nothing where it stays.

    >>> each_year(0.02), each_year(-0.05), each_year(0.0)
    (', 2 % more each year', ', 5 % less each year', '')
    """
    return f", {share(abs(change))} {'more' if change > 0 else 'less'} each year" if change else ""


def terms_words(licence: Facts) -> str:
    """The main terms in a few words: fees as they are paid, and what of them counts as paid of the upfront fee."""
    currency, parts = licence["currency"], []
    milestones: dict[str, float] = {}
    credited: dict[str, float] = {}
    for fee in licence["fees"]:
        for sums, part in ((milestones, 1.0), (credited, fee["credited"])):
            sums[fee["currency"]] = sums.get(fee["currency"], 0.0) + fee["amount"] * part

    def together(sums: dict[str, float]) -> str:
        """Sums by currency, in words."""
        return " and ".join(money(total, own) for own, total in sums.items() if total)

    if licence["upfront"]:
        less = f" less {together(credited)} credited" if together(credited) else ""
        parts.append(f"{money(licence['upfront'], currency)} upfront{less}")
    if together(milestones):
        parts.append(f"{together(milestones)} at milestones")
    running = [f"{share(licence['royalty'])} of net sales"] if licence["royalty"] else []
    running += [f"{money(licence['royalty_per_watt'], currency)} per watt sold"] if licence["royalty_per_watt"] else []
    if running:
        parts.append(f"{' and '.join(running)} over {stated(licence['term'])} years of production")
    return " and ".join(part for part in (", ".join(parts[:-1]), *parts[-1:]) if part) or "nothing"


def terms_table(licence: Facts) -> Block:
    """The main terms, one by one, each in its currency."""
    own, by_watt = licence["currency"], licence["royalty_per_watt"]
    rows = [("Upfront fee", f"{amount(licence['upfront'], own)}, {when(licence['upfront_time'])}")]
    for fee in sorted(licence["fees"], key=lambda each: each["time"]):
        credited = f", {share(fee['credited'])} of it credited against the upfront fee" if fee["credited"] else ""
        rows.append((f"Fee: {fee['title']}", f"{amount(fee['amount'], fee['currency'])}, {when(fee['time'])}{credited}"))
    rows += [
        ("Running royalty", f"{share(licence['royalty'])} of net sales"),
        ("Net sales", f"as the licence defines them, to be agreed; the plan counts {share(licence['net_sales'])} of sales"),
        ("Royalty per watt sold", f"{amount(by_watt, own)}{each_year(licence['per_watt_change'])}" if by_watt else ""),
        *(
            (
                "Royalty in later years",
                f"{share(x['factor'])} of that from {stated(x['time'])} years after the start of production on",
            )
            for x in licence["steps"]
        ),
        ("Royalty cap", f"at most {share(licence['royalty_cap'])} of net sales, apart from a minimum"),
        *(
            (
                f"Minimum royalty: {x['title']}",
                f"{amount(x['a_year'], x['currency'])} a year, {between(x)} from the first day; {CLOSED[x['after_closing']]}",
            )
            for x in licence["minimums"]
        ),
        *(
            (x["title"], f"{amount(x['amount'], x['currency'])}, {stated(x['time'])} years after the start of production")
            for x in licence["buy_outs"]
        ),
        ("Term", f"royalty for {stated(licence['term'])} years from the start of production"),
        ("Exclusivity", f"{months(licence['exclusive_time'])} from the first day" if licence["exclusive_time"] else "none"),
        ("Expansion", f"{amount(licence['expansion_fee'], own)} per watt a year added" if licence["expansion_fee"] else ""),
        ("Sublicences", f"{share(licence['sublicence_share'])} of their income" if licence["sublicence_share"] else ""),
        ("Shares given to the licensor", share(licence["equity_share"]) if licence["equity_share"] else ""),
    ]
    return table("Terms", ["", ""], [row for row in rows if row[1]], texts=(0, 1))


def work_table(licence: Facts, brief: bool = False) -> Block:
    """What the licensor delivers and does, when, and what is paid for it; in brief, materials in one row."""
    rows = [
        [x["title"], between(x), amount(x["price"], x["currency"]) if x["price"] else "covered by the fees"]
        for x in licence["deliveries"]
    ]
    rows += [[x["title"], between(x), _of_service(licence, x)] for x in licence["services"]]
    materials = licence.get("materials", [])
    if brief and materials:
        rows.append(["materials by item", "as they are used", f"{many(len(materials), 'material')} at the prices of the proposal"])
    else:
        rows += [[x["title"], between(x), _of_material(x)] for x in materials]
    for x in licence["supplies"]:
        covered = f"{share(x['part'])} of {x['covers']} by value, at the prices of each order"
        covered += f"; inside: {share(x['margin'])} on what they cost the plant" if "margin" in x else ""
        rows.append([x["title"], "as they are used" if x["covers"] == "materials" else "as they are paid", covered])
    return table("Work, yearly services and supplies", ["", "when", "price"], rows, texts=(0, 1, 2))


def _of_service(licence: Facts, service: Facts) -> str:
    """What a yearly service costs the licensee: a price a year, or what its price list says."""
    price = f"{amount(service['a_year'], service['currency'])} a year"
    if licence.get("tests") and not service["a_year"]:
        alone = len([each for each in licence["services"] if not each["a_year"]]) == 1
        price = f"by the price list{f', some {_a_year(licence)} a year' if alone else ''}"
    return f"{price}{each_year(service['change'])}"


def _of_material(row: Facts) -> str:
    """What a supplied material costs the licensee, up to which quantity, and from when it may buy elsewhere."""
    words = f"{amount(row['price'], row['currency'])} per {typeset(row['unit'])}{each_year(row['change'])}, "
    words += f"up to {stated(row['most'])} {typeset(row['unit'])} a year"
    return words + (f"; free to buy elsewhere {when(row['free_from'])}" if row["free_from"] < row["end"] else "")


def _a_year(licence: Facts) -> str:
    """What the price list comes to a year at the samples that the plan counts on, by currency."""
    sums: dict[str, float] = {}
    for test in licence["tests"]:
        sums[test["currency"]] = sums.get(test["currency"], 0.0) + test["price"] * test["a_year"]
    return " and ".join(money(value, own) for own, value in sums.items())


def price_list(licence: Facts) -> list[Block]:
    """The tests of the licensor's laboratory, each at its price; nothing where there are none."""
    tests = licence.get("tests", [])
    if not tests:
        return []
    rows = [
        [test["title"], amount(test["price"], test["currency"]), f"{stated(round(test['a_year'] / 12, 4))} a month"]
        for test in tests
    ]
    note = f"Samples are those that the plan counts on: {_a_year(licence)} a year in all."
    return [table("Price list of the laboratory", ["", "a sample", "samples"], rows, note, texts=(0, 1, 2))]


def tax_table(licence: Facts) -> Block:
    """Withholding tax by kind of payment, and who pays it."""
    rows = [[x["title"], share(x["rate"]), share(x["on_top"]) if x["rate"] else NOT_APPLICABLE] for x in licence["withholding_tax"]]
    note = "The tax is withheld from the payments, except for the share that the licensee pays on top. "
    note += "Whether a treaty changes it is for tax advisers."
    return table("Withholding tax", ["payment", "rate", "paid on top by the licensee"], rows, note)


def tax_words(licence: Facts) -> str:
    """The same in words."""
    taxed = [x for x in licence["withholding_tax"] if x["rate"]]
    if not taxed:
        return "none; whether a treaty changes that is for tax advisers"
    rates = "; ".join(f"{x['title']} {share(x['rate'])}, {share(x['on_top'])} of it paid on top by the licensee" for x in taxed)
    return f"{rates}; others none. Whether a treaty changes it is for tax advisers."


def payments_picture(licence: Facts, currency: str) -> Block:
    """What is paid in each year."""
    names = [str(k + 1) for k in range(licence["horizon"])]
    paid = {name: [value / 1e6 for value in licence["by_year"][name]] for name in GROUPS if any(licence["by_year"][name])}
    parts = ", ".join(f"{name} {people(sum(values))} million" for name, values in paid.items())
    says = f"Payments in each year of the plan, million {currency}: {parts}; {people(licence['paid'] / 1e6)} million in all."
    series = [(name, COLOURS[GROUPS[name]], values) for name, values in paid.items()]
    return picture("payments", svg_pictures.columns(names, series, f"million {currency} a year", "year", says), says)


def schedule_picture(licence: Facts) -> Block:
    """When things happen."""
    rows = schedule(licence)
    says = "Schedule in years from the first day: " + "; ".join(f"{name}: {said}" for name, _, _, said, _ in rows) + "."
    return picture("schedule", svg_pictures.timeline(rows, "years from the first day", says), says)


def schedule(licence: Facts) -> list[tuple[str, float, float, str, str]]:
    """What happens when: name, start and end in years, words, colour; milestones have no length."""
    plant, work, paid, right = COLOURS["project"], COLOURS["licensor"], COLOURS["paid"], PALE
    start, last = licence["start"], float(licence["horizon"])
    marks = [("upfront fee", licence["upfront_time"]), *((f"fee due: {fee['title']}", fee["time"]) for fee in licence["fees"])]
    royalty = [("royalty runs", start, licence["royalty_end"], paid)] if licence["royalty"] or licence["royalty_per_watt"] else []
    bars = [
        ("plant is built and started up", 0.0, start, plant),
        *((x["title"], x["begin"], x["end"], work) for x in licence["deliveries"]),
        ("ramp to full output", start, licence["full_swing"], plant),
        *((x["title"], x["begin"], x["end"], work) for x in licence["services"] if x["a_year"] or licence.get("tests")),
        *royalty,
        *((x["title"], x["begin"], x["end"], paid) for x in licence["minimums"] if x["a_year"]),
        ("exclusivity", 0.0, licence["exclusive_time"], right),
    ]
    rows = [(name, time, time, when(time), INK) for name, time in marks]
    for name, begin, end, colour in bars:
        end = min(end, last)
        rows += [(name, begin, end, between({"begin": begin, "end": end}), colour)] if end > begin else []
    return sorted(rows, key=lambda row: (row[1], row[2]))


def year_payments_table(licence: Facts, currency: str) -> Block:
    """What is paid, year by year."""
    parts = {name: licence["by_year"][name] for name in GROUPS if any(licence["by_year"][name])}
    rows = [[str(k + 1), *map(millions, year), millions(sum(year))] for k, year in enumerate(zip(*parts.values()))]
    rows.append(["all", *(millions(sum(part)) for part in parts.values()), millions(licence["paid"])])
    note = f"{_amounts(licence)}, with the inflation of the plan. Royalty includes what is paid on top to reach a minimum."
    note += _supplied_apart(licence)
    return table(f"Payments, million {currency}", ["year", *parts, "all"], rows, note, total=True)


def _amounts(licence: Facts) -> str:
    """Whether uncertain payments are weighted by their probability: a document that does not know it counts each in full."""
    weighted = any("probability" in fee for fee in licence.get("fees", ()))
    if weighted:
        return "Expected amounts, uncertain payments by their probability"
    sublicensed = licence.get("sublicence_share", 1.0) and any(licence["by_year"].get("expansion, buy-out, sublicences", ()))
    return "Every payment in full, but those of sublicences by their probability" if sublicensed else "Every payment in full"


def worth_in_full(plan: Facts, currency: str) -> Block:
    """Value and returns in an external document, which knows of no payment how probable it is."""
    found = worth_table(plan, currency)
    note = "Every fee of the licence counts in full; a plan that weights fees by their probability has another value."
    return dataclasses.replace(found, note=f"{found.note} {note}".strip()).as_block()


def _supplied_apart(licence: Facts) -> str:
    """That supplied goods are not among the payments; nothing where none are supplied."""
    if not licence.get("supplies") and not licence.get("materials"):
        return ""
    return " Supplied equipment, parts and materials are not in it: they are paid as they are ordered, and the plan counts them."


def heading_table(licence: Facts, currency: str) -> Block:
    """What is paid under each heading in all."""
    rows = [
        [
            x["name"],
            f"{x['first']} to {x['last']}" if x["last"] > x["first"] else str(x["first"]),
            share(x["withheld"]),
            people(x["paid"]),
        ]
        for x in licence["by_heading"]
    ]
    rows.append(["all", "", "", people(licence["paid"])])
    unsure = [f"“{fee['title']}” at {share(fee['probability'])}" for fee in licence["fees"] if fee.get("probability", 1.0) < 1]
    note = f"{_amounts(licence)}, not discounted." + (f" Weighted by their probability: {', '.join(unsure)}." if unsure else "")
    note += _supplied_apart(licence)
    columns = ["", "years", "withholding tax", "paid in all"]
    return table(f"Payments by heading, {currency}", columns, rows, note, total=True, texts=(0, 1))
