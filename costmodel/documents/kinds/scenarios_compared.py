"""The comparison of scenarios: the case as it is and each of its scenarios, side by side."""

from __future__ import annotations

from ...present.numbers import NOT_APPLICABLE, money, people, percent
from ...present.palette import COLOURS
from ...present.plain_plan import in_years, return_a_year
from ...present.texts import INTERNAL
from .. import svg_pictures
from .blocks import Block, Facts, currency_of, heading, items, opening, picture, table, words
from .end_matter import about_money, evidence_blocks, last_blocks, limit_blocks, meanings, millions, signed_millions

TITLE = "Scenarios side by side"


def page(facts: Facts) -> list[Block]:
    """The blocks of the comparison."""
    return [*_first(facts), *_why(facts), *_tables(facts), *_end(facts)]


def has_plan(facts: Facts) -> bool:
    """Whether the case as it is has a plan."""
    return facts["rows"][0]["plan"] is not None


def answer(facts: Facts) -> str:
    """The answer, for a reader who reads no more."""
    (_, cash), rows = currency_of(facts), facts["rows"]
    if len(rows) == 1:
        return f"A stabilised watt costs {cash(rows[0]['per_watt'])} to make; there is no scenario to compare it with."
    if not has_plan(facts):
        dearest, cheapest = (pick(rows, key=lambda row: row["per_watt"]) for pick in (max, min))
        return (
            f"The cost of a stabilised watt is between {cash(cheapest['per_watt'])} (“{cheapest['title']}”) and "
            f"{cash(dearest['per_watt'])} (“{dearest['title']}”)."
        )
    best, worst = (pick(rows, key=lambda row: row["plan"]["npv"]) for pick in (max, min))
    below = sum(row["plan"]["npv"] < 0 for row in rows)
    count = {0: "none of them", len(rows): "all of them"}.get(below, f"{below} of {len(rows)}")
    return (
        f"The net present value is between {cash(worst['plan']['npv'])} (“{worst['title']}”) and {cash(best['plan']['npv'])} "
        f"(“{best['title']}”). It is below 0 in {count}."
    )


def _bars(facts: Facts, name: str, what: str, unit: str, values: list[float]) -> Block:
    names = [row["title"] for row in facts["rows"]]
    says = f"{what}, {unit}: " + "; ".join(f"{n} {people(v)}" for n, v in zip(names, values)) + "."
    return picture(name, svg_pictures.bars(names, [("", COLOURS["level"], values)], f"{what}, {unit}", says), says)


def _first(facts: Facts) -> list[Block]:
    currency, rows, plan = facts["identity"]["currency"], facts["rows"], has_plan(facts)
    costs = [row["per_watt"] for row in rows]
    pictures = [_bars(facts, "cost_by_scenario", "cost to make", f"{currency} per stabilised watt", costs)]
    if plan:
        values = [row["plan"]["npv"] / 1e6 for row in rows]
        pictures.insert(0, _bars(facts, "worth_by_scenario", "net present value", f"million {currency}", values))
    failed = ", ".join(failed["name"] for failed in facts["failed"])
    return [
        *opening(TITLE, facts, answer(facts)),
        pictures[0],
        *([] if rows[0]["licensor_npv"] is None else [words(INTERNAL, "caution")]),
        *([words(f"Left out, since they cannot be read: {failed}.")] if failed else []),
        about_money(facts, plan),
        meanings(*(["npv"] if plan else []), "watt"),
        *pictures[1:],
    ]


def _why(facts: Facts) -> list[Block]:
    currency, (base, *others) = facts["identity"]["currency"], facts["rows"]
    blocks = [heading("Why"), words(f"“As it is”: {facts['identity']['story'][0]}")]
    for row in others:
        moved = f"A watt costs {than_as_it_is(row['per_watt'] - base['per_watt'], currency)}."
        if row["plan"] and base["plan"]:
            change = signed_millions(row["plan"]["npv"] - base["plan"]["npv"])
            moved += f" The net present value changes by {change} million {currency}."
        blocks.append(words(f"“{row['title']}”: {row['story']} {moved}"))
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
    columns = ["", f"cost of a watt, {currency}", f"of a m², {currency}", "MW a year", "yield of the line", "fingerprint"]
    made = [
        [r["title"], people(r["per_watt"], 4), people(r["per_m2"]), people(r["megawatts"]), percent(r["line_yield"]),
         r["fingerprint"]]
        for r in rows
    ]  # fmt: skip
    note = "The fingerprint is of all inputs of the scenario."
    blocks = [heading("Tables"), table("Cost and output", columns, made, note)]
    if has_plan(facts):
        columns = ["", "capital", "net present value", "internal rate of return", "payback after", "lowest cash so far"]
        licensed = rows[0]["licensor_npv"] is not None
        columns += ["to the licensor", "to the licensee"] if licensed else []
        worth = [
            [r["title"], millions(x["capital"]), millions(x["npv"]), return_a_year(x), in_years(x["payback"]),
             millions(x["low_point"]), *(_sides(r) if licensed else [])]
            for r in rows
            if (x := r["plan"])
        ]  # fmt: skip
        note = "To the licensor and to the licensee: net present value of the licence, and of the plant with its payments."
        blocks.append(table(f"As an investment, million {currency}", columns, worth, note if licensed else ""))
    return blocks


def _sides(row: Facts) -> list[str]:
    """What a scenario leaves to licensor and licensee; what does not apply where it has no deal."""
    return [NOT_APPLICABLE if row[name] is None else millions(row[name]) for name in ("licensor_npv", "licensee_npv")]


def _end(facts: Facts) -> list[Block]:
    rows = facts["rows"]
    columns = ["input", "as it is", "in the scenario"]
    changed = [table(row["title"], columns, row["changes"], texts=(0, 1, 2)) for row in rows[1:] if row["changes"]]
    failed = [f"{failed['name']}: {failed['why']}" for failed in facts["failed"]]
    limits = [
        "Each scenario is one set of values; its probability is not computed.",
        "A scenario is a design, with tools sized for it, or an event that hits the plant as bought; each states which.",
        "Only what a scenario sets differs; in a real year more would.",
    ]
    return [
        heading("What each scenario changes"),
        words("Kind and source of each input stand in the full report of the case."),
        *changed,
        *([heading("Left out"), items(failed)] if failed else []),
        *evidence_blocks(facts),
        *limit_blocks(limits),
        *last_blocks(facts),
    ]
