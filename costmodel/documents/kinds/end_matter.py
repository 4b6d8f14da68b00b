"""What every document holds in the same way: money, inputs, evidence, limits, cautions, conventions, where it comes from."""

from __future__ import annotations

from collections.abc import Sequence

from ...present.numbers import MILLION, fixed, people, spoken
from ...present.texts import CAUTIONS, CONVENTIONS
from .blocks import INDICATION, Block, Facts, contents, heading, items, opening, table, words

MEANINGS = {
    "watt": "A stabilised watt is rated power that remains after the first weeks in the light, in which such modules lose some.",
    "npv": "Net present value is what all cash of the plan is worth on its first day, at the required return. Above 0 the plant "
    "earns more than that return.",
    "irr": "The internal rate of return is the return at which the net present value is 0.",
}
NO_DRAWS = "No random draws are used, so there is no seed."
IN_ANNEX = " Further tables, inputs with their sources and conventions are in the annex, a file beside this one."


def about_money(facts: Facts, plan: bool = True) -> Block:
    """The version of the terms, currencies and price year, on the first page."""
    shown = facts["identity"]
    later = " Figures of the plan are with inflation from there." if plan else ""
    money = f"Figures are in {shown['currency']}, inputs in the currency beside them."
    prices = f"Costs are at prices of {shown['price_years']}.{later}"
    return words(" ".join(filter(None, (shown.get("terms", ""), money, shown.get("money", ""), prices))), "note")


def first_day_of(facts: Facts) -> str:
    """When the first day is, from which all times count.

    >>> first_day_of({"identity": {"first_month": "2027-06"}})
    'in 2027-06, as planned; all times count from it'
    """
    month = facts["identity"].get("first_month", "")
    return f"in {month}, as planned; all times count from it" if month else "to be agreed; all times count from it"


def meanings(*names: str) -> Block:
    """What words mean, for a reader who meets them for the first time."""
    return words(" ".join(MEANINGS[name] for name in names), "note")


def input_blocks(found: Sequence[Facts], first: str) -> list[Block]:
    """Inputs with kind and source, a table for each file."""
    columns = ["", "entered", "kind", "source", "date", "by"]
    tables = []
    for each in found:
        count = len(each["rows"][0])  # an external edition says neither date nor person
        tables.append(table(each["title"], columns[:count], each["rows"], texts=tuple(range(count)), style="inputs"))
    return [heading("Inputs, each with its kind and source"), words(first), *tables]


def evidence_blocks(facts: Facts) -> list[Block]:
    """How well the inputs are known."""
    known = facts["evidence"]
    total = sum(known["rows"].values())
    kinds = sorted(known["rows"].items(), key=lambda x: -x[1])
    parts = ", ".join(f"{people(100 * count / total, 2)} % {kind}" for kind, count in kinds)
    dates = f" Dates of figures run from {known['oldest']} to {known['newest']}." if known["oldest"] else ""
    said = [f"The document counts {total} rows of inputs: {parts}.{dates}"]
    if known["rows"].get("invented") == total:
        said.append("Every figure is invented: this document shows a method, and describes no plant.")
    elif known["rows"].get("invented"):
        files = ", ".join(f"{file} {invented} of {rows}" for file, (invented, rows) in known["invented"].items() if invented)
        said.append(f"Invented still: {files}.")
    best_first = "Kinds, the best known first: measured, quote, handbook, estimate, invented."
    return [heading("Evidence"), *map(words, said), words(best_first, "note")]


def limit_blocks(limits: Sequence[str]) -> list[Block]:
    """Where the figures stop being valid."""
    return [heading("Limits"), items(limits)]


def last_blocks(facts: Facts, seed: str = NO_DRAWS, apart: bool = False) -> list[Block]:
    """Cautions, conventions, and what it takes to make the document again; conventions may stand apart, in the annex."""
    shown, origin = facts["identity"], facts.get("origin")
    inputs = f"Case “{origin['case']}”, fingerprint of its inputs {origin['fingerprint']}. " if origin else ""
    made = (
        f"{inputs}Fingerprint of the facts in this document: {shown['contents']}. "
        f"Made on {shown['made_on']} with costmodel {shown['version']}. {seed}"
    )
    parts = {"Cautions": items(CAUTIONS)} | ({} if apart else {"Conventions": items(CONVENTIONS)})
    parts["Where this comes from"] = words(f"{made}{IN_ANNEX if apart else ''}", "origin")
    return [block for name, part in parts.items() for block in (heading(name), part)]


def annex_blocks(kicker: str, facts: Facts, parts: Sequence[Block], standing: str = INDICATION) -> list[Block]:
    """The annex of a document: what it is of, its contents, its parts, and the conventions."""
    first = opening(f"{kicker}, annex", facts, "Further tables, inputs with their sources, and conventions.", standing)
    of_what = words(f"Fingerprint of the facts in this annex and its document: {facts['identity']['contents']}.", "origin")
    return [*first, contents(), *parts, heading("Conventions"), items(CONVENTIONS), of_what]


def without_deal(kicker: str, facts: Facts) -> list[Block]:
    """The document of a case that has no deal."""
    none = "The case has no plan.yaml or no deal.yaml, so there are no terms to show."
    return [*opening(kicker, facts, none), *last_blocks(facts)]


def moved_table(found: Facts, what: str, currency: str) -> Block:
    """What each uncertain input does to a figure, with how well it is known."""
    rows = [
        [bar["input"], bar["now"], f"{bar['low']} to {bar['high']} {spoken(bar['unit'])}", signed_millions(bar["at_low"]),
         signed_millions(bar["at_high"]), bar["kind"], bar["source"]]
        for bar in found["bars"]
    ]  # fmt: skip
    columns = ["uncertain input", "now", "range", "at its low end", "at its high end", "kind", "source"]
    return table(f"{what}, change in million {currency}", columns, rows, texts=(0, 1, 2, 5, 6))


def signed_millions(value: float) -> str:
    """A change in millions, to two decimals.

    >>> signed_millions(-1_234_567.0), signed_millions(2e6), signed_millions(100.0)
    ('−1.23', '+2.00', '0')
    """
    shown = millions(value)
    return f"+{shown}" if value > 0 and shown != "0" else shown


def millions(value: float) -> str:
    """An amount in millions, to two decimals."""
    return fixed(value / MILLION, 2)
