"""The internal pricing memo: whether both sides can meet, what the terms leave to either, what could change it."""

from __future__ import annotations

from ...present.numbers import people, percent, stated
from ...present.palette import COLOURS
from ...present.plain_plan import worth_table
from ...present.texts import REVIEW
from .. import svg_pictures, zone_picture
from .blocks import Block, Facts, currency_of, heading, items, opening, picture, table, words
from .cost_parts import kind_table
from .deal_parts import price_list, schedule_picture, terms_table, terms_words, work_table, year_payments_table
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
    signed_millions,
    without_deal,
)
from .plan_parts import moved_picture
from .transfer_parts import inside_blocks, inside_tables

TITLE = "Pricing memo, internal"
STANDING = "Internal, no offer"
PARTS = ("origin", "product", "cost", "plan", "licence", "licensor", "negotiation", "project", "deal_moves", "licensor_moved_by",
         "evidence", "inputs")  # fmt: skip


def page(facts: Facts) -> list[Block]:
    """The blocks of the memo."""
    if facts["licence"] is None:
        return without_deal(TITLE, facts)
    return [block for part in (_first, _why, _changes, inside_blocks, _rounds, _end) for block in part(facts)]


def annex(facts: Facts) -> list[Block]:
    """What the memo rests on: floor, payments, splits, exclusivity, guarantees, all tables, all inputs."""
    if facts["licence"] is None:
        return annex_blocks(TITLE, facts, [], STANDING)
    parts = [block for part in (_grounds, _more_changes, inside_tables, _tables) for block in part(facts)]
    given = input_blocks(facts["inputs"], "All inputs of the case, recipe and prices among them.")
    return annex_blocks(TITLE, facts, [*parts, *given, *evidence_blocks(facts)], STANDING)


def answer(facts: Facts) -> str:
    """The answer, for a reader who reads no more."""
    return f"{facts['negotiation']['verdict']} {facts['negotiation']['claim']}"


def _tabled(facts: Facts, *names: str) -> list[Block]:
    """Tables of the negotiation, those that there are."""
    found = facts["negotiation"]["tables"]
    return [found[name] for name in names if found[name]]


def _first(facts: Facts) -> list[Block]:
    currency, found = facts["identity"]["currency"], facts["negotiation"]
    meets = (found["corners"], found["given_up"], found["no_opening"])
    lines = [f"The terms: {terms_words(facts['licence'])}. {found['sides']}", *meets]
    opens = [words("What would open a zone, each by itself, the smallest change first:"), items(found["openings"])]
    return [
        *opening(TITLE, facts, answer(facts), STANDING),
        picture("zone", zone_picture.zone(found["zone"]), found["zone"]["says"]),
        words("Not for the other side: this memo shows what the licensor must have, and what it would keep.", "caution"),
        *(words(line) for line in lines[:2] if line),
        items(found["probabilities"]),
        *(words(line) for line in lines[2:] if line),
        *(opens if found["openings"] else []),
        about_money(facts),
        words(f"Floor, alternatives and gains are present values at day one in {currency}, at each party's discount rate.", "note"),
        meanings("npv", "watt"),
    ]


def _parts(ours: Facts) -> list[tuple[str, float, str]]:
    """How the payments come down to what is left to the licensor: name, amount, colour."""
    return [
        ("paid by the licensee", ours["paid_now"], COLOURS["paid"]),
        ("withholding tax", -ours["withheld"], COLOURS["withheld"]),
        ("to the inventors", -ours["inventors"], COLOURS["inventors"]),
        ("costs of the licensor", -ours["costs"], COLOURS["transfer"]),
        ("own tax after its credit", -ours["own_tax"], COLOURS["withheld"]),
        ("left to the licensor", ours["npv"], COLOURS["licensor"]),
    ]


def _shares_picture(facts: Facts) -> Block:
    """How the value of the licence is shared: what each has of the payments, and what is left to the licensee."""
    currency, ours = facts["identity"]["currency"], facts["licensor"]
    rows = [*_parts(ours), ("left to the licensee", ours["licensee_npv"], COLOURS["licensee"])]
    series = [("", colour, [value / 1e6 if k == n else 0.0 for k in range(len(rows))]) for n, (_, value, colour) in enumerate(rows)]
    shown = "; ".join(f"{name} {people(value / 1e6)}" for name, value, _ in rows)
    says = f"Present value of the terms at day one, million {currency}, at each party's discount rate: {shown}."
    svg = svg_pictures.bars([name for name, *_ in rows], series, f"million {currency}, net present value", says, legend=False)
    return picture("who_has_what", svg, says)


def _why(facts: Facts) -> list[Block]:
    (_, cash), found, ours = currency_of(facts), facts["negotiation"], facts["licensor"]
    dividends = f", {cash(ours['dividends'])} of it as dividends" if ours["dividends"] else ""
    share = f" Of the joint gain, {percent(ours['share'])} are the licensor's." if ours["share"] else ""
    return [
        heading("Why"),
        words(" ".join([found["floor"], *found["floor_drawn"]])),
        words(
            f"The licensee pays {cash(ours['paid'])} over the plan{dividends}. Its present value at day one is "
            f"{cash(ours['paid_now'])}, at the licensor's discount rate of {stated(100 * ours['discount_rate'])} % a year. "
            f"Withholding tax is {cash(ours['withheld'])} of it, the inventors have {cash(ours['inventors'])}, and "
            f"{cash(ours['net'])} are left. "
            f"Costs and forgone licences are {cash(ours['costs'])}, and own tax after its credit {cash(ours['own_tax'])}."
        ),
        words(
            " ".join([found["ceiling"], *found["ceiling_drawn"]])
            + f" The licensee requires {stated(100 * facts['plan']['required_return'])} % a year.{share}"
        ),
        _shares_picture(facts),
        heading("What each term may be"),
        items([*found["ranges"], *found["mix"]]),
    ]


def _grounds(facts: Facts) -> list[Block]:
    """How the floor and what is paid come about, and what a step of each term is worth."""
    found = facts["negotiation"]
    return [
        heading("Floor, payments, taxes and their split"),
        *_tabled(facts, "floor"),
        words(found["own_tax"]),
        *_tabled(facts, "received", "licensor"),
        words(found["split"]),
        *_tabled(facts, "split"),
        *(words(line, "note") for line in found["exchange"]),
        heading("Alternatives of the licensee"),
        *_tabled(facts, "alternatives"),
        heading("What a step of each term is worth"),
        *_tabled(facts, "concessions"),
    ]


def _changes(facts: Facts) -> list[Block]:
    (currency, cash), moved, found = currency_of(facts), facts["licensor_moved_by"], facts["negotiation"]
    rows = [[move["name"], signed_millions(move["licensor"]), signed_millions(move["licensee"])] for move in facts["deal_moves"]]
    blocks = [
        heading("What could change it"),
        table(f"One change at a time, million {currency} of net present value", ["", "licensor", "licensee"], rows),
    ]
    if moved and moved["bars"]:
        note = (
            "The tools stay as bought, and no more is sold than planned. With every input as it is, the licensor is left "
            f"{cash(moved['present'])}. The bars are changes from there."
        )
        what = "what is left to the licensor"
        blocks += [moved_picture("what_moves_the_licensor", moved, what, currency, 6), words(note, "note")]
    last = ", services" if found["earned"] else ""
    blocks += [heading(f"Exclusivity, minimum royalties, buy-out{last}"), words(found["exclusive"])]
    blocks += [items(found["minimums"])] if found["minimums"] else []
    blocks.append(words(found["buy_out"]))
    if found["earned"]:
        blocks.append(words(" ".join(found["earned"])))
    if found["promises"]:  # the powers one by one stand in the annex then
        return [*blocks, heading("All guarantees together"), words(f"{found['promises'][0]} {found['promise_reserve']}")]
    return blocks + ([heading("Guaranteed power"), items(found["guarantees"])] if found["guarantees"] else [])


def _more_changes(facts: Facts) -> list[Block]:
    """Falling prices, exclusivity by years, guaranteed levels; and what licences of others were paid, for context."""
    found = facts["negotiation"]
    return [
        heading("If prices fall"),
        words(found["price_falls"]),
        *_tabled(facts, "price_paths"),
        *([heading("Exclusivity by years"), *_tabled(facts, "exclusivity")] if found["tables"]["exclusivity"] else []),
        *([heading("Guaranteed levels"), items(found["guarantees"]), *_tabled(facts, "guarantees")] if found["guarantees"] else []),
        *([heading("All guarantees"), items(found["promises"])] if found["promises"] else []),
        *_tabled(facts, "promises", "promise_sets"),
        *([heading("Services, laboratory and materials")] if found["earned"] else []),
        *_tabled(facts, "services", "laboratory", "hours", "materials"),
        *([heading("What each round moved"), *_tabled(facts, "rounds")] if found["rounds"] else []),
    ]


def _rounds(facts: Facts) -> list[Block]:
    rounds = facts["negotiation"]["rounds"]
    return [heading("Rounds so far"), items(rounds)] if rounds else []


def _tables(facts: Facts) -> list[Block]:
    (currency, cash), licence, moved = currency_of(facts), facts["licence"], facts["licensor_moved_by"]
    rows = [[f"{name[:1].upper()}{name[1:]}", cash(value)] for name, value, _ in _parts(facts["licensor"])]
    note = "Present value at day one, at the licensor's discount rate. Its costs: transfer, services, upkeep, damages, territory, "
    note += "forgone royalties."
    change = [moved_table(moved, "What is left to the licensor with one input moved", currency)] if moved else []
    return [
        heading("Tables"),
        terms_table(licence),
        work_table(licence),
        *price_list(licence),
        table("What is left to the licensor", ["", "net present value"], rows, note, total=True),
        *_tabled(facts, "headings", "years"),
        year_payments_table(licence, currency),
        schedule_picture(licence),
        worth_table(facts["plan"], currency).as_block(),
        kind_table(facts["cost"], currency),
        *change,
        heading("Yardsticks, for context only"),
        words(facts["negotiation"]["yardsticks"]),
        words(facts["negotiation"]["yardstick_sources"], "note"),
    ]


def _end(facts: Facts) -> list[Block]:
    drawn = facts["negotiation"]["draws"]
    limits = [
        facts["cost"]["not_in_it"],
        "The licensee's alternatives and the value of other prospects are the licensor's estimates.",
        "Withholding tax is at the rates of payment_kinds.csv; a treaty may lower it. Own tax and credit are over the whole deal.",
        "Damages for missing power are a mean over draws of efficiency and stabilisation, from ranges.csv. Transfer, sample and "
        "measurement are independent and normal, as guarantees.csv states them.",
        "The floor counts damages under guarantees with inputs as stated, each guarantee alone, without a common cap. "
        "Other damages are an expected figure.",
    ]
    return [
        heading("For review before anything is signed"),
        words("This memo is no offer and no advice on law or tax. For review by lawyers who know the law of the place:"),
        items(REVIEW),
        *limit_blocks(limits),
        *last_blocks(
            facts, f"Draws for probabilities: {drawn['draws']:,}, seed {drawn['seed']}." if drawn else NO_DRAWS, apart=True
        ),
    ]
