"""The term sheet: heads of terms on two pages, for the lawyers of both sides to write a contract from.

Its parts are those of common practice. It is handed to the other side, and is made from the same release as the proposal.
"""

from __future__ import annotations

from ...present.numbers import people, stated
from .blocks import Block, Facts, heading, items, opening, table, terms_of, words
from .deal_parts import share, tax_words, terms_table, work_table
from .end_matter import first_day_of, without_deal
from .guarantee_parts import guaranteed_blocks

TITLE = "Term sheet"
BINDS = (
    "This sheet binds neither side; it is subject to contract and to approval by both. "
    "What is to bind before the contract, such as confidentiality, is agreed in a paper of its own. "
    "Lawyers who know the law of the place review it first."
)
LINE = "_" * 32
SIGNED = f"Signed, of no binding effect: for the licensor {LINE} for the licensee {LINE}"
NO_RATES = (
    "acceptance test: protocol, repetition, time to make good, least level below which the plant may be refused",
    "consumption of gases, targets and electricity: whether it is guaranteed, and at which level",
)
OPEN = (
    "liability: its limit, and none for consequential loss; rights in improvements of either side, and what is granted back",
    "kinds of payment for withholding tax, treaty relief, customs value, establishment of staff on site, export control",
    "confidentiality, audit of royalty reports, late payment, termination and what remains after it; law and arbitration",
)


def page(facts: Facts) -> list[Block]:
    """The blocks of the term sheet."""
    if facts["licence"] is None:
        return without_deal(TITLE, facts)
    licence = facts["licence"]
    return [
        *opening(TITLE, facts, answer(facts)),
        words(BINDS, "caution"),
        table("Heads of terms", ["", ""], _heads(facts), texts=(0, 1)),
        terms_table(licence),
        work_table(licence, brief=True),
        *guaranteed_blocks(facts),
        heading("Open points"),
        items([*_left_open(facts), *OPEN]),
        words(SIGNED, "note"),
    ]


def answer(facts: Facts) -> str:
    """What the sheet is, for a reader who reads no more."""
    licence = facts["licence"]
    return f"Heads of terms for a licence to make thin-film silicon modules in {licence['territories']}."


def _heads(facts: Facts) -> list[tuple[str, str]]:
    """Parties as roles, grant, territory, term, money with its exchange rates, validity."""
    licence, made, terms = facts["licence"], facts["product"], terms_of(facts)
    alone = "non-exclusive"
    if licence["exclusive_time"]:
        alone = f"exclusive for {stated(round(12 * licence['exclusive_time'], 4))} months from the first day, then non-exclusive"
    rows = [
        ("Parties", "the licensor, who owns the process; the licensee, who builds and runs the plant"),
        ("Grant", f"right to make and sell modules by the process, and the know-how of its {made['steps']} steps; {alone}"),
        ("Territory", licence["territories"]),
        ("First day", first_day_of(facts)),
        ("Plant", f"about {people(made['megawatts'])} MW of stabilised modules a year, by the plan of both sides"),
        ("Sublicences", f"{share(licence['sublicence_share'])} of their income" if licence["sublicence_share"] else "none agreed"),
        ("Withholding tax", tax_words(licence)),
        *([("Money", money)] if (money := facts["identity"].get("money", "")) else []),
        ("Validity", terms or "to be stated by the licensor when the sheet is sent"),
    ]
    return rows


def _left_open(facts: Facts) -> list[str]:
    """What the terms of this case leave open."""
    levels = [] if facts.get("guaranteed") else ["guaranteed levels, damages and caps: the terms state none"]
    return levels if facts.get("promised") else [*levels, *NO_RATES]
