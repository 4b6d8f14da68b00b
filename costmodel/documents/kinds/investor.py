"""The investor briefing: what the plant earns, why, and what could change it."""

from __future__ import annotations

from ...present.numbers import stated
from ...present.plain_plan import (
    after,
    bank,
    best_other,
    capital_table,
    likely_share,
    payback,
    return_a_year,
    returns,
    sampling,
    worth_table,
)
from .blocks import Block, Facts, currency_of, heading, opening, table, words
from .cost_parts import kind_table, market_table, stage_picture
from .deal_parts import share, worth_in_full, year_payments_table
from .end_matter import (
    NO_DRAWS,
    about_money,
    annex_blocks,
    evidence_blocks,
    input_blocks,
    last_blocks,
    limit_blocks,
    meanings,
    moved_table,
)
from .plan_parts import cash_picture, moved_picture, product_words, year_table

TITLE = "Investor briefing"
PRICE = "The selling price is for a watt made, over all sales. A price in the inputs is for a unit sold, such as a watt on a label."


def page(facts: Facts) -> list[Block]:
    """The blocks of the briefing."""
    return [*_first(facts), *_why(facts), *_changes(facts), *_tables(facts), *_end(facts)]


def answer(facts: Facts) -> str:
    """The answer, for a reader who reads no more."""
    (_, cash), plan = currency_of(facts), facts["plan"]
    if plan is None:
        return f"A watt costs {cash(facts['cost']['per_watt'])} to make. The return is not computed: the case has no plan.yaml."
    worth, spread, required = plan["project"], facts["npv_spread"], f"{stated(100 * plan['required_return'])} %"
    likely = "No probability is computed, as the case states no ranges."
    if spread:
        likely = f"The probability that the net present value is above 0, at the required {required} a year, is {_likely(spread)}."
    return (
        f"{likely} {_closing(facts)}At the stated inputs the plant takes {cash(plan['capital'])} of capital. It has "
        f"{returns(worth)}{_than(worth, required)}. Its net present value is {cash(worth['npv'])}; {payback(worth)}. "
        f"{_owners(facts)}"
    )


def _closing(facts: Facts) -> str:
    """That the plant closes before the end of the plan, and what its closing leaves open; nothing where it runs to the end."""
    (_, cash), plan = currency_of(facts), facts["plan"]
    time, short = plan["closes_after"], plan["closing_shortfall"]
    if time is None:
        return ""
    said = f"At the stated inputs the plant closes after {after(time)}, before the end of the plan. "
    return said + (f"What is due then exceeds the proceeds by {cash(short)}. " if short > 0 else "")


def _than(worth: Facts, required: str) -> str:
    """How a return compares with what is required; nothing where there is none."""
    return "" if worth["irr"] is None else f", {'more' if worth['npv'] >= 0 else 'less'} than the required {required}"


def _owners(facts: Facts) -> str:
    """What the owners have, who may require another return and have a loan, and how probable it is that they get what they ask."""
    plan, spread = facts["plan"], facts["npv_spread"]
    worth, required = plan["owners"], f"{stated(100 * plan['equity_return'])} %"
    said = f"The owners{', with the loan,' if plan['loan_part'] else ''} have {returns(worth)}{_than(worth, required)}."
    if spread:
        likely = likely_share(spread["owners_above"], spread["draws"])
        said += f" The probability that they get what they require is {likely}."
    return said


def _first(facts: Facts) -> list[Block]:
    (currency, cash), cost, plan = currency_of(facts), facts["cost"], facts["plan"]
    first, product = opening(TITLE, facts, answer(facts)), words(product_words(facts))
    if plan is None:
        return [*first, stage_picture(cost, currency), product, about_money(facts, plan=False)]
    project, owners, least = plan["project"], plan["owners"], plan["least_price"]
    rows = [
        ["Capital", f"{cash(plan['capital'])}, {cash(plan['capital_per_annual_watt'])} per watt a year"],
        ["Peak funding need", f"{cash(-project['low_point'] or 0.0)}, after {after(project['low_point_time'])}"],
        ["Selling price per watt", cash(plan["price_now"])],
        ["Cost to make, per watt", cash(cost["per_watt"])],
        ["Least price for the required return", "none is found" if least is None else cash(least)],
        [
            f"Owners, with the loan; they require {stated(100 * plan['equity_return'])} %",
            f"{return_a_year(owners)}, net present value {cash(owners['npv'])}",
        ],
    ]
    if spread := facts["npv_spread"]:
        rows.insert(2, ["The same in eight draws of ten", _peak(facts)])
        rows.append(["Probability of a net present value above 0", _likely(spread)])
        rows.append(["The same for the owners", likely_share(spread["owners_above"], spread["draws"])])
    return [
        *first,
        cash_picture(plan, currency),
        product,
        table("Key figures", ["", ""], rows, PRICE, texts=(0, 1)),
        *map(words, _shares_given(facts)),
        about_money(facts),
        meanings("npv", "irr", "watt"),
    ]


def _shares_given(facts: Facts) -> list[str]:
    """What the licensor's shares take of the value of the project, which other documents state without it; nothing without any."""
    (_, cash), plan = currency_of(facts), facts["plan"]
    given = plan.get("given") or {}
    if not given.get("equity_share") or "dividends" not in given:
        return []
    part, taken, npv = share(given["equity_share"]), given["dividends"], plan["project"]["npv"]
    left = cash(npv - taken)
    return [
        f"The licensor is given {part} of the shares. Their dividends take {cash(taken)} of the net present value of {cash(npv)}. "
        f"That leaves {left}, the figure that a licence proposal states. "
        "Figures of the owners here are of all shares, those of the licensor among them."
    ]


def _why(facts: Facts) -> list[Block]:
    (currency, cash), cost, found, plan = currency_of(facts), facts["cost"], facts["markets"], facts["plan"]
    said = list(facts["identity"]["story"])
    if plan is not None:
        said.append(
            f"A watt is sold at {cash(plan['price_now'])} and costs {cash(cost['per_watt'])} to make, with running cost and "
            f"depreciation. Lost plates account for {cash(cost['yield_loss_per_watt'])} of that, idle tools for "
            f"{cash(cost['idle_per_watt'])}."
        )
    good = ", ".join(f"“{each['name']}” (up to {cash(each['highest_price'])})" for each in found or () if each["margin"] >= 0)
    if good:
        count = sum(each["margin"] >= 0 for each in found)
        one = f"Buyers in the only market could pay what a watt costs: {good}."
        said.append(f"Of {len(found)} markets, buyers could pay what a watt costs in {count}: {good}." if len(found) > 1 else one)
    elif found and len(found) == 1:
        said.append("In the only market buyers could not pay what a watt costs.")
    elif found:
        said.append(f"In none of the {len(found)} markets could buyers pay what a watt costs.")
    return [heading("Why"), *map(words, said), *([] if plan is None else [stage_picture(cost, currency)])]


def _changes(facts: Facts) -> list[Block]:
    (currency, cash), moved, spread, plan = currency_of(facts), facts["npv_moved_by"], facts["npv_spread"], facts["plan"]
    if not moved or not moved["bars"]:
        return [heading("What could change it"), words("The case states no ranges, so no input is uncertain.")]
    said = []
    if spread:
        correlated = " and stated correlations" if spread["correlated"] else ""
        said.append(
            f"All of these are drawn at once, in {spread['draws']:,} draws. In eight draws of ten the net present value is between "
            f"{cash(spread['p10'])} and {cash(spread['p90'])}, in half of them above {cash(spread['p50'])}. The probability that "
            f"it is above 0 is {_likely(spread)}. {sampling(spread['draws'])} "
            f"Ranges are independent but for their groups{correlated}; the plant is as bought."
        )
    note = (
        "The tools stay as bought, and no more is sold than planned. With every input as it is, the net present value is "
        f"{cash(moved['present'])}, as above. The bars are changes from there."
    )
    return [
        heading("What could change it"),
        moved_picture("what_could_change_it", moved, "net present value", currency),
        *map(words, said),
        words(note, "note"),
        *([words(bank(plan))] if plan["loan_part"] else []),
        *([words(_in_draws(facts))] if spread else []),
        *([words(best_other(plan, currency))] if plan["others"] else []),
    ]


def _likely(spread: Facts) -> str:
    """A probability with its standard error."""
    return likely_share(spread["above"], spread["draws"])


def _peak(facts: Facts) -> str:
    """How the peak funding need is spread over the draws."""
    (_, cash), spread = currency_of(facts), facts["npv_spread"]
    return f"{cash(spread['peak_p10'])} to {cash(spread['peak_p90'])}; in half of them above {cash(spread['peak_p50'])}"


def _in_draws(facts: Facts) -> str:
    """How probable a year below the required DSCR, an early closing and a higher funding need are: beside the stated inputs."""
    spread, said = facts["npv_spread"], []
    if spread["below_dscr"] is not None:
        said.append(f"The probability of a year below the required DSCR is {likely_share(spread['below_dscr'], spread['draws'])}.")
    if spread["closes"] is not None:
        words = "The probability that the plant closes before the end of the plan is"
        said.append(f"{words} {likely_share(spread['closes'], spread['draws'])}.")
    return " ".join([*said, f"In eight draws of ten the peak funding need is {_peak(facts)}."])


def _tables(facts: Facts) -> list[Block]:
    (currency, _), plan = currency_of(facts), facts["plan"]
    blocks = [heading("Tables")]
    worth = worth_in_full(plan, currency) if plan and facts["licence"] else worth_table(plan, currency).as_block() if plan else None
    blocks += [worth, capital_table(plan, currency).as_block()] if worth else []
    blocks.append(kind_table(facts["cost"], currency))
    blocks += [market_table(facts["markets"], currency)] if facts["markets"] else []
    return [*blocks, *([year_table(plan, currency)] if plan else [])]


def _end(facts: Facts) -> list[Block]:
    spread, plan = facts["npv_spread"], facts["plan"]
    closed = " until it closes" if plan and plan["closes_after"] is not None else ""
    limits = [
        facts["cost"]["not_in_it"],
        f"The plan sells all output at the prices of the plan{closed}. What a market takes is an input, not a forecast.",
        "Ranges are those that the inputs state. Errors in ranges, inputs or the method are in no figure here.",
        "Figures rest on a pilot line and plans; a plant may do better or worse than either.",
    ]
    return [
        *evidence_blocks(facts),
        *limit_blocks(limits),
        *last_blocks(facts, f"Draws: {spread['draws']:,}, seed {spread['seed']}." if spread else NO_DRAWS, apart=True),
    ]


def annex(facts: Facts) -> list[Block]:
    """Payments year by year, what each uncertain input does, and the inputs."""
    (currency, _), moved, parts = currency_of(facts), facts["npv_moved_by"], []
    if facts["licence"]:
        parts += [heading("Payments under the licence"), year_payments_table(facts["licence"], currency)]
    if moved:
        parts += [heading("What each uncertain input does"), moved_table(moved, "Net present value with one input moved", currency)]
    first = "Product, plan, markets and terms. The recipe, tools and prices behind the cost are not disclosed here."
    return annex_blocks(TITLE, facts, [*parts, *input_blocks(facts["plan_inputs"], first)])
