"""The internal pricing memo: what the terms leave to us and to them, and what could change it. It stays inside."""

from __future__ import annotations

from typing import Any

from .. import pictures
from ..numbers import money, people, percent, stated
from ..palette import COLOURS
from .blocks import Block, heading, picture, table, title, words
from .closing import (
    NO_DRAWS,
    about_money,
    evidence_blocks,
    input_blocks,
    last_blocks,
    limit_blocks,
    meanings,
    moved_table,
    signed_millions,
)
from .cost_parts import kind_table
from .deal_parts import NO_DEAL, schedule_picture, terms_table, terms_words, year_payments_table
from .plan_parts import moved_picture, worth_table

TITLE = "Pricing memo, internal"
PARTS = ("origin", "product", "cost", "plan", "licence", "licensor", "deal_moves", "licensor_moved_by", "evidence", "inputs")

Facts = dict[str, Any]


def page(facts: Facts) -> list[Block]:
    """The blocks of the memo."""
    if facts["licence"] is None:
        return [
            words(TITLE, "kicker"),
            title(facts["identity"]["title"]),
            words(NO_DEAL, "headline"),
            *last_blocks(facts, NO_DRAWS),
        ]
    return [*_first(facts), *_why(facts), *_changes(facts), *_tables(facts), *_end(facts)]


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    currency, ours, theirs = facts["identity"]["currency"], facts["licensor"], facts["licence"]["licensee_npv"]
    kept = (
        f"leave us {money(ours['npv'], currency)} after all costs of the transfer"
        if ours["npv"] >= 0
        else f"do not cover our costs: we would lose {money(-ours['npv'], currency)}"
    )
    left = (
        f"leave the licensee {money(theirs, currency)}"
        if theirs >= 0
        else f"cost the licensee {money(-theirs, currency)} more than it gains"
    )
    verdict = "" if ours["npv"] >= 0 and theirs >= 0 else " There is no deal at these terms and beliefs."
    return f"The terms, {terms_words(facts['licence'], currency)}, {kept} and {left}, in net present value.{verdict}"


def _shares_picture(facts: Facts) -> Block:
    """How what the licence makes is shared: what each has of the payments, and what is left to the licensee."""
    currency, ours, both = facts["identity"]["currency"], facts["licensor"], facts["licence"]
    rows = [
        ("paid by the licensee", ours["paid_now"], COLOURS["materials"]),
        ("withheld at source", -ours["withheld"], COLOURS["overheads"]),
        ("to the inventors", -ours["inventors"], COLOURS["labour"]),
        ("our costs", -ours["costs"], COLOURS["maintenance"]),
        ("left to us", ours["npv"], COLOURS["yield_loss"]),
        ("left to the licensee", both["licensee_npv"], COLOURS["depreciation"]),
    ]
    series = [("", colour, [value / 1e6 if k == n else 0.0 for k in range(len(rows))]) for n, (_, value, colour) in enumerate(rows)]
    says = (
        f"What the terms are worth, million {currency} of net present value, each side at its own rate: "
        + "; ".join(f"{name} {people(value / 1e6).replace('-', '−')}" for name, value, _ in rows)
        + "."
    )
    svg = pictures.bars([name for name, *_ in rows], series, f"million {currency}, net present value", says, legend=False)
    return picture("who_has_what", svg, says)


def _first(facts: Facts) -> list[Block]:
    return [
        words(TITLE, "kicker"),
        title(facts["identity"]["title"]),
        words(answer(facts), "headline"),
        _shares_picture(facts),
        words("Not for the other side: this memo tells what we would keep.", "caution"),
        terms_table(facts["licence"], facts["identity"]["currency"]),
        about_money(facts),
        meanings("npv", "watt"),
    ]


def _why(facts: Facts) -> list[Block]:
    currency, ours, both, plan = facts["identity"]["currency"], facts["licensor"], facts["licence"], facts["plan"]
    share = f"Of what both gain together, {percent(ours['share'])} are ours. " if ours["share"] else ""
    return [
        heading("Why"),
        words(
            f"The licensee pays {money(both['paid'], currency)} over the plan, "
            f"{money(ours['paid_now'], currency)} on the first day at our rate "
            f"of {stated(100 * ours['discount_rate'])} % a year. Tax at source takes "
            f"{money(ours['withheld'], currency)} of it, the inventors have {money(ours['inventors'], currency)}, "
            f"and all that we do and give up costs us {money(ours['costs'], currency)}."
        ),
        words(
            f"Without payments the plant would be worth {money(both['licensee_npv_without_payments'], currency)} "
            "to the licensee at the "
            f"{stated(100 * plan['required_return'])} % it asks; the payments take "
            f"{money(both['licensee_cost'], currency)} of that after tax. "
            f"{share}"
            "More than the plant is worth without payments it cannot give."
        ),
    ]


def _changes(facts: Facts) -> list[Block]:
    currency, moved = facts["identity"]["currency"], facts["licensor_moved_by"]
    rows = [[move["name"], signed_millions(move["licensor"]), signed_millions(move["licensee"])] for move in facts["deal_moves"]]
    blocks = [
        heading("What could change it"),
        table(f"One change at a time, million {currency} of net present value", ["", "ours", "the licensee's"], rows),
    ]
    if moved and moved["bars"]:
        blocks += [
            moved_picture("what_moves_ours", moved, "what is left to us", currency, 6),
            words(
                "Here the tools stay as bought and make all they can, and all of it is sold: with every input as "
                "it is that alone would "
                f"leave us {money(moved['present'], currency)}. The bars are changes from there.",
                "note",
            ),
        ]
    return blocks


def _tables(facts: Facts) -> list[Block]:
    currency = facts["identity"]["currency"]
    ours = facts["licensor"]
    rows = [
        ["Fee and royalty, at our rate", money(ours["paid_now"], currency)],
        ["Withheld at source", money(-ours["withheld"], currency)],
        ["To the inventors", money(-ours["inventors"], currency)],
        ["Our costs: transfer, services, upkeep, damages, territory", money(-ours["costs"], currency)],
        ["Left to us", money(ours["npv"], currency)],
    ]
    blocks = [
        heading("Tables"),
        table("What is left to us", ["", "net present value"], rows, "At our own rate, with inflation.", total=True),
        worth_table(facts["plan"], currency),
        schedule_picture(facts["licence"]),
        year_payments_table(facts["licence"], currency),
        kind_table(facts["cost"], currency),
    ]
    if facts["licensor_moved_by"]:
        blocks.append(moved_table(facts["licensor_moved_by"], "What is left to us with one input moved", currency))
    return blocks


def _end(facts: Facts) -> list[Block]:
    limits = [
        facts["cost"]["not_in_it"],
        "Without a licence each side is taken to have nothing: what another licensee or another line would bring "
        "is not set against it.",
        "What is withheld is taken for lost; a treaty or a credit may return some of it.",
        "Claims, guarantees and the upkeep of rights are not in these figures unless they are in the cost of the transfer.",
    ]
    return [
        *input_blocks(facts["inputs"], "All inputs of the case, recipe and prices among them."),
        *evidence_blocks(facts),
        *limit_blocks(limits),
        *last_blocks(facts, NO_DRAWS),
    ]
