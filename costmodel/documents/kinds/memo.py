"""The internal pricing memo: whether both sides can meet, what the terms leave to either, what could change it. It stays inside."""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent, stated
from ...present.palette import COLOURS
from ...present.texts import REVIEW
from .. import svg_pictures, zone_picture
from .blocks import Block, heading, items, picture, table, title, words
from .cost_parts import kind_table
from .deal_parts import NO_DEAL, schedule_picture, terms_table, terms_words, work_table, year_payments_table
from .end_matter import (
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
from .plan_parts import moved_picture, worth_table

TITLE = "Pricing memo, internal"
PARTS = ("origin", "product", "cost", "plan", "licence", "licensor", "negotiation", "deal_moves", "licensor_moved_by", "evidence",
         "inputs")  # fmt: skip

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
    return [*_first(facts), *_why(facts), *_changes(facts), *_rounds(facts), *_tables(facts), *_review(), *_end(facts)]


def answer(facts: Facts) -> str:
    """The answer in one sentence."""
    return facts["negotiation"]["verdict"]


def _zone_picture(facts: Facts) -> Block:
    """Where both gain, in the plane of fee and royalty."""
    zone = facts["negotiation"]["zone"]
    return picture("zone", zone_picture.zone(zone), zone["says"])


def _tabled(facts: Facts, *names: str) -> list[Block]:
    """Tables of the negotiation, those that there are."""
    found = facts["negotiation"]["tables"]
    return [found[name] for name in names if found[name]]


def _first(facts: Facts) -> list[Block]:
    currency, found = facts["identity"]["currency"], facts["negotiation"]
    lines = [f"The terms: {terms_words(facts['licence'])}. {found['sides']}", found["corners"]]
    return [
        words(TITLE, "kicker"),
        title(facts["identity"]["title"]),
        words(answer(facts), "headline"),
        _zone_picture(facts),
        words("Not for the other side: this memo tells what the licensor must have, and what it would keep.", "caution"),
        *(words(line) for line in lines if line),
        items(found["probabilities"]),
        *_openings(found),
        about_money(facts),
        words(f"Floor, alternatives and gains are in {currency} of the first day, each side at its own rate.", "note"),
        meanings("npv", "watt"),
    ]


def _openings(found: Facts) -> list[Block]:
    if found["no_opening"]:
        return [words(found["no_opening"])]
    if not found["openings"]:
        return []
    return [words("What would open a zone, each by itself, the smallest change first:"), items(found["openings"])]


def _shares_picture(facts: Facts) -> Block:
    """How what the licence makes is shared: what each has of the payments, and what is left to the licensee."""
    currency, ours = facts["identity"]["currency"], facts["licensor"]
    rows = [
        ("paid by the licensee", ours["paid_now"], COLOURS["paid"]),
        ("withheld at source", -ours["withheld"], COLOURS["withheld"]),
        ("to the inventors", -ours["inventors"], COLOURS["inventors"]),
        ("costs of the licensor", -ours["costs"], COLOURS["transfer"]),
        ("own tax after its credit", -ours["own_tax"], COLOURS["withheld"]),
        ("left to the licensor", ours["npv"], COLOURS["licensor"]),
        ("left to the licensee", ours["licensee_npv"], COLOURS["licensee"]),
    ]
    series = [("", colour, [value / 1e6 if k == n else 0.0 for k in range(len(rows))]) for n, (_, value, colour) in enumerate(rows)]
    says = (
        f"What the terms are worth, million {currency} of net present value, each side at its own rate: "
        + "; ".join(f"{name} {people(value / 1e6).replace('-', '−')}" for name, value, _ in rows)
        + "."
    )
    svg = svg_pictures.bars([name for name, *_ in rows], series, f"million {currency}, net present value", says, legend=False)
    return picture("who_has_what", svg, says)


def _why(facts: Facts) -> list[Block]:
    currency, found, ours, plan = facts["identity"]["currency"], facts["negotiation"], facts["licensor"], facts["plan"]
    share = f" Of what both gain together, {percent(ours['share'])} are the licensor's." if ours["share"] else ""
    return [
        heading("Why"),
        words(found["floor"]),
        words(
            f"The licensee pays {money(facts['licence']['paid'], currency)} over the plan, {money(ours['paid_now'], currency)} "
            "on the "
            f"first day at the licensor's {stated(100 * ours['discount_rate'])} % a year. Tax at source takes "
            f"{money(ours['withheld'], currency)} of it, the inventors have {money(ours['inventors'], currency)}, and "
            f"{money(ours['net'], currency)} are left. Of that, what is done and given up takes "
            f"{money(ours['costs'], currency)}, and own tax after its credit {money(ours['own_tax'], currency)}."
        ),
        words(found["own_tax"]),
        *_tabled(facts, "floor", "received", "licensor"),
        words(found["split"]),
        *_tabled(facts, "split"),
        *(words(line, "note") for line in found["exchange"]),
        words(f"{found['ceiling']} The licensee asks {stated(100 * plan['required_return'])} % a year.{share}"),
        *_tabled(facts, "alternatives"),
        _shares_picture(facts),
        heading("What each term may be"),
        items([*found["ranges"], *found["mix"]]),
        *_tabled(facts, "concessions"),
    ]


def _changes(facts: Facts) -> list[Block]:
    currency, moved, found = facts["identity"]["currency"], facts["licensor_moved_by"], facts["negotiation"]
    rows = [[move["name"], signed_millions(move["licensor"]), signed_millions(move["licensee"])] for move in facts["deal_moves"]]
    blocks = [
        heading("What could change it"),
        table(f"One change at a time, million {currency} of net present value", ["", "licensor", "licensee"], rows),
    ]
    if moved and moved["bars"]:
        blocks += [
            moved_picture("what_moves_the_licensor", moved, "what is left to the licensor", currency, 6),
            words(
                "Here the tools stay as bought, and no more is sold than planned. With every input as it is, the licensor is left "
                f"{money(moved['present'], currency)}. The bars are changes from there.",
                "note",
            ),
        ]
    blocks += [words(found["price_falls"]), *_tabled(facts, "price_paths")]
    blocks += [heading("Exclusivity, minimum royalties, buy-out"), words(found["exclusive"]), *_tabled(facts, "exclusivity")]
    if found["minimums"]:
        blocks.append(items(found["minimums"]))
    blocks.append(words(found["buy_out"]))
    if found["guarantees"]:
        blocks += [heading("Guaranteed power"), items(found["guarantees"]), *_tabled(facts, "guarantees")]
    return blocks


def _rounds(facts: Facts) -> list[Block]:
    found = facts["negotiation"]
    if not found["rounds"]:
        return []
    return [heading("Rounds so far"), items(found["rounds"]), *_tabled(facts, "rounds")]


def _tables(facts: Facts) -> list[Block]:
    currency, ours, found = facts["identity"]["currency"], facts["licensor"], facts["negotiation"]
    rows = [
        ["Payments, at the licensor's rate", money(ours["paid_now"], currency)],
        ["Withheld at source", money(-ours["withheld"], currency)],
        ["To the inventors", money(-ours["inventors"], currency)],
        ["Costs: transfer, services, upkeep, damages, territory, royalty that others take", money(-ours["costs"], currency)],
        ["Own tax after its credit", money(-ours["own_tax"], currency)],
        ["Left to the licensor", money(ours["npv"], currency)],
    ]
    blocks = [
        heading("Tables"),
        terms_table(facts["licence"]),
        work_table(facts["licence"]),
        table("What is left to the licensor", ["", "net present value"], rows, "At its own rate, with inflation.", total=True),
        *_tabled(facts, "headings", "years"),
        year_payments_table(facts["licence"], currency),
        schedule_picture(facts["licence"]),
        worth_table(facts["plan"], currency),
        kind_table(facts["cost"], currency),
    ]
    if facts["licensor_moved_by"]:
        blocks.append(moved_table(facts["licensor_moved_by"], "What is left to the licensor with one input moved", currency))
    return [*blocks, heading("Yardsticks, as history"), words(found["yardsticks"])]


def _review() -> list[Block]:
    said = "This memo is no offer and no advice on law or tax. For review by those who know the law of the place:"
    return [heading("For review before anything is signed"), words(said), items(REVIEW)]


def _end(facts: Facts) -> list[Block]:
    drawn = facts["negotiation"]["draws"]
    seed = f"Draws for probabilities: {drawn['draws']:,}, seed {drawn['seed']}." if drawn else NO_DRAWS
    limits = [
        facts["cost"]["not_in_it"],
        "What the licensee could do instead, and what other prospects are worth, is what the licensor believes of them.",
        "Withholding tax is at the rates of payment_kinds.csv; a treaty may lower it. Own tax and credit are over the whole deal.",
        "Damages for missing power are a mean over draws of efficiency and stabilisation, as ranges.csv has them. Transfer, sample "
        "and measurement are independent and normal, as guarantees.csv states them.",
        "The floor counts these damages with efficiency and stabilisation as stated. Other damages are an expected figure.",
    ]
    return [
        *input_blocks(facts["inputs"], "All inputs of the case, recipe and prices among them."),
        *evidence_blocks(facts),
        *limit_blocks(limits),
        *last_blocks(facts, seed),
    ]
