"""The investor briefing: what the plant earns, why, and what could change it."""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent, stated
from .blocks import Block, heading, table, title, words
from .cost_parts import kind_table, market_table, stage_picture
from .deal_parts import year_payments_table
from .end_matter import about_money, evidence_blocks, input_blocks, last_blocks, limit_blocks, meanings, moved_table
from .plan_parts import (
    capital_table,
    cash_picture,
    moved_picture,
    paid_back,
    product_words,
    return_words,
    returns_clause,
    worth_table,
    year_table,
)

TITLE = "Investor briefing"

Facts = dict[str, Any]


def page(facts: Facts) -> list[Block]:
    """The blocks of the briefing."""
    return [*_first(facts), *_why(facts), *_changes(facts), *_tables(facts), *_end(facts)]


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    currency, plan, cost = facts["identity"]["currency"], facts["plan"], facts["cost"]
    if plan is None:
        return (
            f"A watt costs {money(cost['per_watt'], currency)} to make; the case has no plan, so nothing is said of "
            "it as an investment."
        )
    worth = plan["project"]
    word = "more" if worth["npv"] >= 0 else "less"
    worth_words = f"a net present value of {money(worth['npv'], currency)}"
    if worth["irr"] is None:
        return f"The plant takes {money(plan['capital'], currency)} of capital and {returns_clause(worth)}: {worth_words}."
    return (
        f"The plant takes {money(plan['capital'], currency)} of capital and returns {return_words(worth)}, {word} than the "
        f"{stated(100 * plan['required_return'])} % asked: {worth_words}, {paid_back(worth)}."
    )


def _first(facts: Facts) -> list[Block]:
    shown, cost, plan = facts["identity"], facts["cost"], facts["plan"]
    currency = shown["currency"]
    lead = product_words(facts)
    blocks = [words(TITLE, "kicker"), title(shown["title"]), words(answer(facts), "headline")]
    if plan is None:
        return [*blocks, stage_picture(cost, currency), words(lead), about_money(facts, plan=False)]
    rows = [
        ["Capital", f"{money(plan['capital'], currency)}, {money(plan['capital_per_annual_watt'], currency)} for each watt a year"],
        [
            "Most cash needed",
            f"{money(-plan['project']['low_point'], currency)}, after {people(plan['project']['low_point_time'])} years",
        ],
        ["Sells a watt at", money(plan["price_now"], currency)],
        ["Makes a watt at", money(cost["per_watt"], currency)],
        [
            "Least price for the return asked",
            "none would do" if plan["least_price"] is None else money(plan["least_price"], currency),
        ],
        [
            f"Owners, with the loan; they ask {stated(100 * plan['equity_return'])} %",
            f"{return_words(plan['owners'])}, net present value {money(plan['owners']['npv'], currency)}",
        ],
    ]
    if facts["npv_spread"]:
        rows.append(["Probability of a net present value above 0", _likely(facts["npv_spread"])])
    return [
        *blocks,
        cash_picture(plan, currency),
        words(lead),
        table("Key figures", ["", ""], rows, texts=(0, 1)),
        about_money(facts),
        meanings("npv", "irr", "watt"),
    ]


def _why(facts: Facts) -> list[Block]:
    currency, cost, found, plan = facts["identity"]["currency"], facts["cost"], facts["markets"], facts["plan"]
    said = [words(paragraph) for paragraph in facts["identity"]["story"]]
    if plan is not None:
        said.append(
            words(
                f"A watt is sold at {money(plan['price_now'], currency)} and costs "
                f"{money(cost['per_watt'], currency)} to make, running "
                "cost and write-offs of the plant together. Lost plates account for "
                f"{money(cost['yield_loss_per_watt'], currency)} of "
                f"that, tools that stand idle for {money(cost['idle_per_watt'], currency)}."
            )
        )
    if found:
        good = [each for each in found if each["margin"] >= 0]
        names = ", ".join(f"“{each['name']}” (up to {money(each['highest_price'], currency)})" for each in good)
        if good:
            said.append(words(f"Of {len(found)} markets looked at, buyers could pay what a watt costs in {len(good)}: {names}."))
        else:
            said.append(words(f"In none of the {len(found)} markets looked at could buyers pay what a watt costs."))
    picture = [] if plan is None else [stage_picture(cost, currency)]
    return [heading("Why"), *said, *picture]


def _changes(facts: Facts) -> list[Block]:
    currency, moved, spread = facts["identity"]["currency"], facts["npv_moved_by"], facts["npv_spread"]
    if not moved or not moved["bars"]:
        return [heading("What could change it"), words("The case states no ranges, so it does not say what is uncertain.")]
    blocks = [heading("What could change it"), moved_picture("what_could_change_it", moved, "net present value", currency)]
    if spread:
        blocks.append(
            words(
                f"All of these drawn at once, in {spread['draws']:,} draws: the net present value is between "
                f"{money(spread['p10'], currency)} and {money(spread['p90'], currency)} in eight draws of ten, half of them above "
                f"{money(spread['p50'], currency)}. The probability that it is above 0 is {_likely(spread)}: ranges independent "
                f"but for their groups{' and stated correlations' if spread['correlated'] else ''}, plant as bought."
            )
        )
    blocks.append(
        words(
            "Here the tools stay as bought, and no more is sold than planned. With every input as it is, the net present value is "
            f"{money(moved['present'], currency)}, as above. The bars are changes from there.",
            "note",
        )
    )
    plan = facts["plan"]
    if plan["loan_part"]:
        blocks.append(words(_bank(plan)))
    if plan["others"]:
        best = max(plan["others"], key=lambda other: other["npv"])
        returns = "" if best["irr"] is None else f", {percent(best['irr'])} a year"
        blocks.append(
            words(f"For the same money, the best other line would be “{best['name']}”: {money(best['npv'], currency)}{returns}.")
        )
    return blocks


def _likely(spread: Facts) -> str:
    """A probability with its standard error."""
    return f"{percent(spread['above'], 2)} (standard error {percent(spread['error'], 2)})"


def _bank(plan: Facts) -> str:
    """What the bank sees in the leanest year."""
    if plan["minimum_dscr"] is None:
        return f"{stated(100 * plan['loan_part'])} % of the capital is a loan. Nothing of it is repaid within the plan."
    below = plan["years_below_minimum_dscr"]
    years = {0: "no year falls below it", 1: "one year falls below it"}.get(below, f"{below} years fall below it")
    return (
        f"{stated(100 * plan['loan_part'])} % of the capital is a loan. In the leanest year cash is "
        f"{people(plan['minimum_dscr'])} times what interest and repayment take; the bank asks for "
        f"{stated(plan['required_dscr'])}, and {years}."
    )


def _tables(facts: Facts) -> list[Block]:
    currency, plan = facts["identity"]["currency"], facts["plan"]
    blocks = [heading("Tables")]
    if plan:
        blocks += [worth_table(plan, currency), capital_table(plan, currency)]
    blocks.append(kind_table(facts["cost"], currency))
    if facts["markets"]:
        blocks.append(market_table(facts["markets"], currency))
    if plan:
        blocks.append(year_table(plan, currency))
    if facts["licence"]:
        blocks.append(year_payments_table(facts["licence"], currency))
    if facts["npv_moved_by"]:
        blocks.append(moved_table(facts["npv_moved_by"], "Net present value with one input moved", currency))
    return blocks


def _end(facts: Facts) -> list[Block]:
    first = "Product, plan, markets and terms. The recipe, tools and prices behind the cost are not told here."
    limits = [
        facts["cost"]["not_in_it"],
        "The plan sells all that it makes at the prices of the plan; what a market takes is an input beside it, not a forecast.",
        "Ranges are those that the inputs state. That ranges, inputs or the method are wrong is not in any figure here.",
        "Figures rest on a pilot line and plans; a plant may do better or worse than either.",
    ]
    spread = facts["npv_spread"]
    seed = f"Draws: {spread['draws']:,}, seed {spread['seed']}." if spread else "No random draws are used, so there is no seed."
    return [*input_blocks(facts["plan_inputs"], first), *evidence_blocks(facts), *limit_blocks(limits), *last_blocks(facts, seed)]
