"""The licensee proposal: terms, schedule, deliverables, guarantees, and what the licensee has of it.

It goes to the other side: it asks for no part that tells what the licensor has of the deal, nor for the recipe.
"""

from __future__ import annotations

from typing import Any

from ..numbers import money, people, percent, stated
from .blocks import Block, heading, items, table, title, words
from .closing import (
    NO_DRAWS,
    about_money,
    input_blocks,
    last_blocks,
    limit_blocks,
    meanings,
    signed_millions,
)
from .deal_parts import NO_DEAL, months, payments_picture, schedule_picture, terms_table, terms_words, year_payments_table
from .plan_parts import paid_back, product_words, return_words, worth_table

TITLE = "Licence proposal"
PARTS = ("product", "plan", "licence", "licensee_moves", "term_inputs")

Facts = dict[str, Any]


def page(facts: Facts) -> list[Block]:
    """The blocks of the proposal."""
    if facts["licence"] is None:
        return [
            words(TITLE, "kicker"),
            title(facts["identity"]["title"]),
            words(NO_DEAL, "headline"),
            *last_blocks(facts, NO_DRAWS),
        ]
    return [*_first(facts), *_why(facts), *_scope(facts), *_changes(facts), *_tables(facts), *_end(facts)]


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    currency, licence, worth = facts["identity"]["currency"], facts["licence"], facts["plan"]["project"]
    returns = f"returns {return_words(worth)}" if worth["irr"] is not None else f"has {return_words(worth)}"
    return (
        f"For {terms_words(licence, currency)}, you receive the process to make "
        f"{people(facts['product']['megawatts'])} MW of modules a "
        f"year, in a plant that {returns} after all payments and is {paid_back(worth)}."
    )


def _first(facts: Facts) -> list[Block]:
    shown, currency = facts["identity"], facts["identity"]["currency"]
    return [
        words(TITLE, "kicker"),
        title(shown["title"]),
        words(answer(facts), "headline"),
        payments_picture(facts["licence"], currency),
        words(product_words(facts)),
        words(
            "This is an indication of terms to talk about, made from the figures listed in it: no offer, and "
            "binding on nobody until a "
            "contract is signed."
        ),
        terms_table(facts["licence"], currency),
        about_money(facts),
        meanings("npv", "irr", "watt"),
    ]


def _why(facts: Facts) -> list[Block]:
    currency, licence, plan = facts["identity"]["currency"], facts["licence"], facts["plan"]
    share = (
        licence["licensee_cost"] / licence["licensee_npv_without_payments"]
        if licence["licensee_npv_without_payments"] > 0
        else None
    )
    of_it = f", {percent(share)} of what the plant would be worth without them" if share is not None and share < 1 else ""
    return [
        heading("Why"),
        words(
            f"At the return of {stated(100 * plan['required_return'])} % that the plan asks, the plant is worth "
            f"{money(licence['licensee_npv'], currency)} to you with all payments made. The payments take "
            f"{money(licence['licensee_cost'], currency)} of net present value after tax{of_it}."
        ),
        words(
            f"The plant takes {money(plan['capital'], currency)} of capital besides the fee; its cash is lowest after "
            f"{people(plan['project']['low_point_time'])} years, at {money(plan['project']['low_point'], currency)}. "
            f"A watt is sold at {money(plan['price_now'], currency)}"
            + (
                "."
                if plan["least_price"] is None
                else f"; at {money(plan['least_price'], currency)} it would earn just the return asked."
            )
        ),
    ]


def _scope(facts: Facts) -> list[Block]:
    made, licence = facts["product"], facts["licence"]
    stages = ", ".join(made["stages"])
    return [
        heading("Schedule"),
        schedule_picture(licence),
        heading("What is delivered"),
        items(
            [
                f"The right to make and sell modules by the process for {stated(licence['term'])} years from the "
                "start of production.",
                f"The know-how of all {made['steps']} steps of the route ({stages}): how each is set up, run, measured and kept.",
                f"Handing over, on site and at the pilot line, over {months(licence['transfer_time'])} from the first day.",
                "Equipment, materials and the building are bought by the licensee; the plan counts them in its capital and costs.",
            ]
        ),
        heading("What is guaranteed"),
        words(
            "The case states no guarantee yet. These are the figures that the plan counts on and that a "
            "guarantee would be about; what is "
            "promised, how it is measured and what is paid if it is missed belongs in the contract."
        ),
        table(
            "Figures a guarantee would be about",
            ["", "by the plan, in full swing"],
            [
                ["Power of a module after the first weeks in the light", f"{people(made['stabilised_power'])} W"],
                ["The same before", f"{people(made['initial_power'])} W"],
                ["Plates started that end as good modules", percent(made["line_yield"])],
                ["Good modules a year", people(made["modules"])],
                ["Output a year", f"{people(made['megawatts'])} MW"],
            ],
        ),
    ]


def _changes(facts: Facts) -> list[Block]:
    currency, moves = facts["identity"]["currency"], facts["licensee_moves"]
    rows = [[move["name"], signed_millions(move["licensee"])] for move in moves]
    largest = max(moves, key=lambda move: abs(move["licensee"]))
    return [
        heading("What could change it"),
        words(
            f"Of the changes below, “{largest['name']}” weighs most: your net present value would move by "
            f"{signed_millions(largest['licensee'])} million {currency}."
        ),
        table(f"One change at a time, million {currency}", ["", "your net present value"], rows),
    ]


def _tables(facts: Facts) -> list[Block]:
    currency = facts["identity"]["currency"]
    return [heading("Tables"), worth_table(facts["plan"], currency), year_payments_table(facts["licence"], currency)]


def _end(facts: Facts) -> list[Block]:
    first = "Schedule, returns asked, tax, ramp, sales and terms: what both sides talk about."
    limits = [
        "The plan sells all that it makes at its prices; markets may not take that.",
        "Your own costs, tax and returns may differ: put your figures in the place of these before you decide.",
        "Taxes at source, duties and permits depend on law and treaties at your site; ask licensed advisers.",
    ]
    evidence = [heading("Evidence"), words("Each input above bears its kind: measured, quote, handbook, estimate or invented.")]
    return [*input_blocks(facts["term_inputs"], first), *evidence, *limit_blocks(limits), *last_blocks(facts, NO_DRAWS)]
