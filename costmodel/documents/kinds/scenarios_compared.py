"""The comparison of scenarios: the case as it is and each of its scenarios, side by side."""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent, short_return
from ...present.palette import COLOURS
from ...present.texts import INTERNAL
from .. import svg_pictures
from .blocks import Block, heading, items, picture, table, title, words
from .end_matter import NO_DRAWS, about_money, evidence_blocks, last_blocks, limit_blocks, meanings, millions, signed_millions
from .plan_parts import years

TITLE = "Scenarios side by side"

Facts = dict[str, Any]


def page(facts: Facts) -> list[Block]:
    """The blocks of the comparison."""
    return [*_first(facts), *_why(facts), *_tables(facts), *_end(facts)]


def has_plan(facts: Facts) -> bool:
    """Whether the case as it is has a plan."""
    return facts["rows"][0]["plan"] is not None


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    currency, (base, *others) = facts["identity"]["currency"], facts["rows"]
    if not others:
        return f"A stabilised watt costs {money(base['per_watt'], currency)} to make; there is no scenario to hold against it."
    if has_plan(facts):
        worst = min(facts["rows"], key=lambda row: row["plan"]["npv"])
        best = max(facts["rows"], key=lambda row: row["plan"]["npv"])
        below = sum(row["plan"]["npv"] < 0 for row in facts["rows"])
        count = (
            "none of them" if not below else "all of them" if below == len(facts["rows"]) else f"{below} of {len(facts['rows'])}"
        )
        return (
            f"The plant is worth {money(best['plan']['npv'], currency)} at best (“{best['title']}”) and "
            f"{money(worst['plan']['npv'], currency)} at worst (“{worst['title']}”); it earns less than asked in {count}."
        )
    dearest, cheapest = (pick(facts["rows"], key=lambda row: row["per_watt"]) for pick in (max, min))
    return (
        f"A stabilised watt costs {money(cheapest['per_watt'], currency)} to make at best (“{cheapest['title']}”) and "
        f"{money(dearest['per_watt'], currency)} at worst (“{dearest['title']}”)."
    )


def _bars(facts: Facts, name: str, what: str, unit: str, values: list[float]) -> Block:
    names = [row["title"] for row in facts["rows"]]
    says = f"{what}, {unit}: " + "; ".join(f"{n} {people(v).replace('-', '−')}" for n, v in zip(names, values)) + "."
    return picture(name, svg_pictures.bars(names, [("", COLOURS["level"], values)], f"{what}, {unit}", says), says)


def _first(facts: Facts) -> list[Block]:
    currency = facts["identity"]["currency"]
    cost = _bars(
        facts, "cost_by_scenario", "cost to make", f"{currency} per stabilised watt", [r["per_watt"] for r in facts["rows"]]
    )
    first, second = cost, []
    if has_plan(facts):
        values = [row["plan"]["npv"] / 1e6 for row in facts["rows"]]
        first, second = _bars(facts, "worth_by_scenario", "net present value", f"million {currency}", values), [cost]
    failed = (
        [words(f"Left out, since they cannot be read: {', '.join(f['name'] for f in facts['failed'])}.")] if facts["failed"] else []
    )
    return [
        words(TITLE, "kicker"),
        title(facts["identity"]["title"]),
        words(answer(facts), "headline"),
        first,
        *([] if facts["rows"][0]["licensor_npv"] is None else [words(INTERNAL, "caution")]),
        *failed,
        about_money(facts, plan=has_plan(facts)),
        meanings("npv", "watt") if has_plan(facts) else meanings("watt"),
        *second,
    ]


def _why(facts: Facts) -> list[Block]:
    currency, (base, *others) = facts["identity"]["currency"], facts["rows"]
    blocks = [heading("Why"), words(f"“As it is”: {facts['identity']['story'][0]}")]
    for row in others:
        moved = f"A watt costs {than_as_it_is(row['per_watt'] - base['per_watt'], currency)}"
        if row["plan"] and base["plan"]:
            moved += (
                f", and the net present value moves by {signed_millions(row['plan']['npv'] - base['plan']['npv'])} "
                f"million {currency}"
            )
        blocks.append(words(f"“{row['title']}”: {row['story']} {moved}."))
    return blocks


def than_as_it_is(change: float, currency: str) -> str:
    """A change of cost in words.

    >>> than_as_it_is(-0.5, "EUR")
    'EUR 0.500 less than in the case as it is'
    """
    if change == 0:
        return "as much as in the case as it is"
    return f"{money(abs(change), currency)} {'less' if change < 0 else 'more'} than in the case as it is"


def _tables(facts: Facts) -> list[Block]:
    currency, rows = facts["identity"]["currency"], facts["rows"]
    columns = ["", f"cost of a watt, {currency}", f"of a m2, {currency}", "MW a year", "yield of the line"]
    made = [
        [r["title"], people(r["per_watt"], 4), people(r["per_m2"]), people(r["megawatts"]), percent(r["line_yield"])] for r in rows
    ]
    blocks = [heading("Tables"), table("Cost and output", columns, made)]
    if has_plan(facts):
        columns = ["", "capital", "net present value", "return a year", "paid back after", "least cash so far"]
        worth = [
            [
                row["title"],
                millions(row["plan"]["capital"]),
                millions(row["plan"]["npv"]),
                short_return(row["plan"]["irr"], row["plan"]["irr_status"], row["plan"]["recovered"]),
                years(row["plan"]["payback"]),
                millions(row["plan"]["low_point"]),
            ]
            for row in rows
            if row["plan"]
        ]
        blocks.append(table(f"As an investment, million {currency}", columns, worth))
    if rows[0]["licensor_npv"] is not None:
        sides = [
            [r["title"], millions(r["licensor_npv"]), millions(r["licensee_npv"])] for r in rows if r["licensor_npv"] is not None
        ]
        blocks.append(table(f"The licence, million {currency} of net present value", ["", "licensor", "licensee"], sides))
    return blocks


def _end(facts: Facts) -> list[Block]:
    blocks = [heading("What each scenario changes"), words("Kind and source of each input stand in the full report of the case.")]
    for row in facts["rows"][1:]:
        if row["changes"]:
            blocks.append(table(row["title"], ["input", "as it is", "in the scenario"], row["changes"], texts=(0, 1, 2)))
    if facts["failed"]:
        blocks += [heading("Left out"), items([f"{failed['name']}: {failed['why']}" for failed in facts["failed"]])]
    limits = [
        "Each scenario is one set of values, and nothing is said of how likely it is.",
        "A scenario is a design, with tools sized for it, or an event that hits the plant as bought; each states which.",
        "Only what a scenario sets differs; in a real year more would.",
    ]
    prints = table("Fingerprints", ["", "inputs"], [[row["title"], row["fingerprint"]] for row in facts["rows"]], texts=(0, 1))
    return [*blocks, *evidence_blocks(facts), *limit_blocks(limits), *last_blocks(facts, NO_DRAWS), prints]
