"""The licensee proposal: terms, schedule, deliverables, guarantees, who answers for what, and the licensee's plan at stated inputs.

It is handed to the other side: it needs no part with what the licensor has of the deal, nor the recipe. It promises no return.
"""

from __future__ import annotations

from ...present.numbers import people, percent, stated
from ...present.plain_plan import after, returns
from ...present.texts import REVIEW
from .blocks import Block, Facts, currency_of, heading, items, opening, table, words
from .deal_parts import (
    heading_table,
    payments_picture,
    price_list,
    schedule_picture,
    share,
    tax_table,
    terms_table,
    terms_words,
    work_table,
    worth_in_full,
    year_payments_table,
)
from .end_matter import (
    about_money,
    annex_blocks,
    first_day_of,
    input_blocks,
    last_blocks,
    limit_blocks,
    meanings,
    signed_millions,
    without_deal,
)
from .guarantee_parts import guaranteed_blocks
from .plan_parts import product_words
from .transfer_parts import gate_table, task_blocks

TITLE = "Licence proposal"
NO_PROMISE = (
    "The figures of this part are computed at the stated inputs. They are no forecast and no promise, and their probability is not "
    "stated here. Replace the inputs by your own before you decide."
)
LICENSOR_ANSWERS = "the work and know-how that it delivers, and the levels that the contract guarantees, within the agreed caps"
LICENSEE_ANSWERS = "building, other equipment, staff, materials, permits, safety, finance, sales and prices, and so for any return"
CLAUSES = (
    "The licensee's people run the test by the licensor's written instructions; it can be repeated after a failure.",
    "A test that is not run in the agreed time, for no fault of the licensor, counts as passed.",
    "Damages are agreed beforehand, with a cap, and are the only remedy; below a least level the plant may be refused.",
    "There is a time to make good, liability has a limit, and there is none for consequential loss.",
)


def page(facts: Facts) -> list[Block]:
    """The blocks of the proposal."""
    if facts["licence"] is None:
        return without_deal(TITLE, facts)
    parts = (_first, _scope, _guarantees, _plan, _payments, _end)
    return [block for part in parts for block in part(facts)]


def answer(facts: Facts) -> str:
    """The answer, for a reader who reads no more."""
    return (
        "You receive the right and the know-how to make modules by the process. "
        f"You pay {terms_words(facts['licence'])}. "
        f"The plant of the plan makes {people(facts['product']['megawatts'])} MW a year. "
        "The licensor answers for what the contract guarantees, "
        "you for the plant and its sales. No return is promised."
    )


def _first(facts: Facts) -> list[Block]:
    sent = "From the licensor, who owns the process, to the licensee, who would build and run the plant. "
    sent += f"The first day is {first_day_of(facts)}. "
    offer = f"{sent}This is an indication of terms. It is no offer and binds nobody before a contract."
    return [
        *opening(TITLE, facts, answer(facts)),
        payments_picture(facts["licence"], facts["identity"]["currency"]),
        words(product_words(facts)),
        words(offer),
        terms_table(facts["licence"]),
        about_money(facts),
    ]


def _plan(facts: Facts) -> list[Block]:
    """The licensee's plan at the stated inputs, and what one change does to it."""
    (currency, cash), licence, plan, moves = currency_of(facts), facts["licence"], facts["plan"], facts["licensee_moves"]
    owners, npv = plan["owners"], licence["licensee_npv"]
    least = "" if plan["least_price"] is None else f" At {cash(plan['least_price'])} it would earn just the required return."
    lowest = min(moves, key=lambda move: move["licensee"])
    left = npv + lowest["licensee"]
    below = f"{cash(left)} would be left" + (", less than the required return asks." if left < 0 else ".")
    return [
        heading("Your plan at the stated inputs"),
        words(NO_PROMISE, "caution"),
        words(
            f"At the required return of {stated(100 * plan['required_return'])} %, the net present value after all payments is "
            f"{cash(npv)}. Your owners have {returns(owners)}; they require {stated(100 * plan['equity_return'])} %."
        ),
        words(
            f"The payments cost {cash(licence['licensee_cost'])} of net present value after tax. "
            f"The plant takes {cash(plan['capital'])} of capital besides the fee. Its cash is lowest after "
            f"{after(plan['project']['low_point_time'])}, at {cash(plan['project']['low_point'])}. "
            f"A watt is sold at {cash(plan['price_now'])}.{least}"
        ),
        words(
            f"Of the changes below, “{lowest['name']}” costs most: {signed_millions(lowest['licensee'])} million {currency}. "
            f"{below}"
        ),
        table(
            f"One change at a time, million {currency}",
            ["", "your net present value"],
            [[move["name"], signed_millions(move["licensee"])] for move in moves],
        ),
        *_shares_given(facts),
        worth_in_full(plan, currency),
        meanings("npv", "irr", "watt"),
    ]


def _shares_given(facts: Facts) -> list[Block]:
    """What leads from the value of the project to that after all payments: dividends on shares given; nothing without any."""
    (_, cash), licence, npv = currency_of(facts), facts["licence"], facts["plan"]["project"]["npv"]
    if not licence["equity_share"]:
        return []
    taken = cash(npv - licence["licensee_npv"])
    return [
        words(
            f"In the table below, the net present value of the project is {cash(npv)}. Dividends on the "
            f"{share(licence['equity_share'])} of the shares that the licensor is given take {taken} of it, which leaves "
            f"{cash(licence['licensee_npv'])}. Figures of your owners are of all shares, those of the licensor among them."
        )
    ]


def _scope(facts: Facts) -> list[Block]:
    made, licence = facts["product"], facts["licence"]
    alone = f"for {stated(12 * licence['exclusive_time'])} months of it no one else is licensed there"
    scope = [
        "The right to make and sell modules by the process in "
        f"{licence['territories']}; {alone if licence['exclusive_time'] else 'others may be licensed there'}.",
        f"The know-how of all {made['steps']} steps of the route ({', '.join(made['stages'])}): how each is set up, run, "
        "measured and kept.",
        "The work, services and supplies of the table below, at the stated times and prices.",
        "All other equipment and materials and the building are bought by the licensee; the plan counts them.",
    ]
    answers = [
        ["the licensor", LICENSOR_ANSWERS],
        ["the licensee", LICENSEE_ANSWERS],
        ["neither, before a contract", "anything else"],
    ]
    return [
        heading("What is delivered"),
        items(scope),
        work_table(licence),
        table("Who answers for what", ["", "answers for"], answers, texts=(0, 1)),
        heading("Schedule"),
        schedule_picture(licence),
        *gate_table(facts),
    ]


def _by_plan(made: Facts) -> list[list[str]]:
    """Rates and powers of the plan; a row for each that is disclosed."""
    soaked = "random sample, soaked by the agreed rule; agreed laboratory, simulator correction and allowance for uncertainty"
    yields, first = "plates started and good modules, in the same run", "mean and spread of all good modules of the run"
    running, in_watts = "days of continuous running, good modules an hour at the agreed uptime", lambda value: f"{people(value)} W"
    rows = (
        ("Throughput", running, "modules", lambda value: f"{people(value)} good a year"),
        ("Yield, mechanical and electrical", yields, "line_yield", percent),
        ("Power before light soaking", first, "initial_power", in_watts),
        ("Stabilised power", soaked, "stabilised_power", in_watts),
    )
    return [[name, how, shown(made[figure])] for name, how, figure, shown in rows if figure in made]


def _guarantees(facts: Facts) -> list[Block]:
    consumption = "gases, targets and electricity, in the same run"
    held = "levels offered behind" if any(each["bound"] == "at most" for each in facts.get("promised") or ()) else "to be agreed"
    rows = [
        *_by_plan(facts["product"]),
        ["Consumption", consumption, held],
        ["Certification", "IEC 61215-1-3 and IEC 61730, by an accredited laboratory", "passed"],
    ]
    offered = facts.get("guaranteed") or facts.get("promised")
    stand = "offered in the table behind it; others are for the contract" if offered else "for the contract"
    about = (
        "The table shows what a guarantee would cover, how it is measured by common practice, and the figure of the plan. "
        f"Guaranteed levels, and damages where they are missed, are {stand}."
    )
    return [
        heading("What is guaranteed"),
        words(about),
        table("What would be guaranteed", ["", "how it is measured", "by the plan"], rows, texts=(0, 1, 2)),
        *guaranteed_blocks(facts),
        items(CLAUSES),
        words("These are clauses of common practice; figures that do not stand here are agreed apart from this document.", "note"),
    ]


def _payments(facts: Facts) -> list[Block]:
    (currency, cash), licence = currency_of(facts), facts["licence"]
    rows = [
        ["With nothing paid", cash(licence["licensee_npv_without_payments"])],
        ["Cost of the payments, after tax", cash(-licence["licensee_cost"])],
        ["With all payments made", cash(licence["licensee_npv"])],
    ]
    return [
        table("Your net present value", ["", ""], rows, "At the required return.", total=True),
        heading("Payments and taxes"),
        year_payments_table(licence, currency),
        tax_table(licence),
    ]


def _end(facts: Facts) -> list[Block]:
    limits = [
        "The plan sells in each market at most a stated share of its volume; buyers may take less.",
        "Your own costs, tax and returns may differ: replace these figures by yours before you decide.",
        "Withholding taxes, duties and permits depend on law and treaties at your site; ask licensed advisers.",
    ]
    return [
        heading("For review before anything is signed"),
        words("By lawyers who know the law of the place:"),
        items(REVIEW),
        *limit_blocks(limits),
        *last_blocks(facts, apart=True),
    ]


def annex(facts: Facts) -> list[Block]:
    """Payments by heading, and the inputs that both sides negotiate."""
    parts = []
    if facts["licence"] is not None:
        parts = [heading("Payments by heading"), heading_table(facts["licence"], facts["identity"]["currency"])]
        parts += price_list(facts["licence"])
    if tasks := task_blocks(facts):
        parts += [heading("The transfer, task by task"), *tasks]
    first = "Schedule, required returns, tax, ramp, sales and terms: what both sides negotiate."
    known = words("Each input above has its kind: measured, quote, handbook, estimate or invented.")
    return annex_blocks(TITLE, facts, [*parts, *input_blocks(facts["term_inputs"], first), heading("Evidence"), known])
