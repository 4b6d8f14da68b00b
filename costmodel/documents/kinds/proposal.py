"""The licensee proposal: terms, schedule, deliverables, guarantees, and what the licensee has of it.

It goes to the other side: it asks for no part that tells what the licensor has of the deal, nor for the recipe.
"""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent, stated
from ...present.texts import REVIEW
from .blocks import Block, heading, items, table, title, words
from .deal_parts import (
    NO_DEAL,
    heading_table,
    payments_picture,
    schedule_picture,
    tax_table,
    terms_table,
    terms_words,
    work_table,
    year_payments_table,
)
from .end_matter import NO_DRAWS, about_money, input_blocks, last_blocks, limit_blocks, meanings, signed_millions
from .plan_parts import paid_back, product_words, returns_clause, worth_table

TITLE = "Licence proposal"

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
    return [
        *_first(facts),
        *_why(facts),
        *_scope(facts),
        *_guarantees(facts),
        *_changes(facts),
        *_tables(facts),
        *_review(),
        *_end(facts),
    ]


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    _currency, licence, worth = facts["identity"]["currency"], facts["licence"], facts["plan"]["project"]
    returns = returns_clause(worth)
    return (
        f"For {terms_words(licence)}, you receive the process to make "
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
        terms_table(facts["licence"]),
        about_money(facts),
        meanings("npv", "irr", "watt"),
    ]


def _why(facts: Facts) -> list[Block]:
    currency, licence, plan = facts["identity"]["currency"], facts["licence"], facts["plan"]
    return [
        heading("Why"),
        words(
            f"At the return of {stated(100 * plan['required_return'])} % that the plan asks, the plant is worth "
            f"{money(licence['licensee_npv'], currency)} to you with all payments made. The payments take "
            f"{money(licence['licensee_cost'], currency)} of net present value after tax."
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
    alone = f"for {stated(12 * licence['exclusive_time'])} months of it no one else is licensed there"
    exclusive = alone if licence["exclusive_time"] else "others may be licensed there"
    return [
        heading("Schedule"),
        schedule_picture(licence),
        heading("What is delivered"),
        items(
            [
                f"The right to make and sell modules by the process in {licence['territories']}; {exclusive}.",
                f"The know-how of all {made['steps']} steps of the route ({', '.join(made['stages'])}): how each is set up, run, "
                "measured and kept.",
                "The work, services and supplies of the table below, at the times and prices that stand there.",
                "All other equipment and materials and the building are bought by the licensee; the plan counts them.",
            ]
        ),
        work_table(licence),
    ]


def _guarantees(facts: Facts) -> list[Block]:
    made = facts["product"]
    area = "agreed laboratory, agreed correction of the simulator, uncertainty taken off the mean"
    rows = [
        [
            "Throughput",
            "days of continuous running, good modules an hour at the agreed uptime",
            f"{people(made['modules'])} good a year",
        ],
        ["Yield, mechanical and electrical", "plates started and good modules, in the same run", percent(made["line_yield"])],
        ["Power before light soaking", "mean and spread of all good modules of the run", f"{people(made['initial_power'])} W"],
        ["Stabilised power", f"random sample, soaked by the agreed rule; {area}", f"{people(made['stabilised_power'])} W"],
        ["Consumption", "gases, targets and electricity for a watt of good modules, in the same run", "to be agreed"],
        ["Certification", "IEC 61215-1-3 and IEC 61730, by an accredited laboratory", "passed"],
    ]
    return [
        heading("What is guaranteed"),
        words(
            "Below is what a guarantee would be about, how it is measured by common practice, "
            "and what the plan counts on. The levels to be promised, and what is paid where they are missed, are for the contract."
        ),
        table("What would be guaranteed", ["", "how it is measured", "by the plan"], rows, texts=(0, 1, 2)),
        items(
            [
                "The licensee's people run the test by the licensor's written instructions; it can be run again after a failure.",
                "A test that is not run in the time agreed, for no fault of the licensor, counts as passed.",
                "Damages are agreed beforehand, with a cap, and are the only remedy; below a least level the plant may be refused.",
                "There is a time to make good, liability has a limit, and there is none for consequential loss.",
            ]
        ),
        words("These are clauses as common practice has them; the case holds no figures for them.", "note"),
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
    licence = facts["licence"]
    rows = [
        ["With nothing paid", money(licence["licensee_npv_without_payments"], currency)],
        ["Taken by the payments, after tax", money(-licence["licensee_cost"], currency)],
        ["With all payments made", money(licence["licensee_npv"], currency)],
    ]
    return [
        heading("Tables"),
        table("What you have of it, net present value", ["", ""], rows, "At the return that the plan asks.", total=True),
        heading_table(licence, currency),
        year_payments_table(licence, currency),
        tax_table(licence),
        worth_table(facts["plan"], currency),
    ]


def _review() -> list[Block]:
    return [heading("For review before anything is signed"), words("By those who know the law of the place:"), items(REVIEW)]


def _end(facts: Facts) -> list[Block]:
    first = "Schedule, returns asked, tax, ramp, sales and terms: what both sides talk about."
    limits = [
        "The plan sells in each market at most a stated share of its volume; buyers may take less.",
        "Your own costs, tax and returns may differ: put your figures in the place of these before you decide.",
        "Taxes at source, duties and permits depend on law and treaties at your site; ask licensed advisers.",
    ]
    evidence = [heading("Evidence"), words("Each input above bears its kind: measured, quote, handbook, estimate or invented.")]
    return [*input_blocks(facts["term_inputs"], first), *evidence, *limit_blocks(limits), *last_blocks(facts, NO_DRAWS)]
