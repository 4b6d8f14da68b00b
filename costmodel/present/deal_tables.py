"""Tables of the deal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ..case.addresses import input_at
from ..case.whole_case import Case
from ..core.fields import unit_of
from ..model.evaluate import Results
from ..studies.negotiation.concessions import Concession
from ..studies.negotiation.guarantees import RISK
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.price_paths import FORMS, MINIMUM_PART
from .deal_money import in_own_money, licensor_table, own_columns, own_rate, rates_of_exchange, split_table
from .deal_words import alternative_name
from .numbers import exact, label, people, percent, signed, spoken
from .study_tables import input_name
from .table import Table

EACH_AT_ITS_RATE = "Present value at day one, at each party's discount rate."
FLOOR_PARTS = {
    "work": "working days at full cost",
    "travel": "travel, documents, expenses",
    "pilot_time": "time of the pilot line",
    "services": "yearly services",
    "upkeep": "upkeep of the rights",
    "damages": "damages to be expected",
    "territory": "forgone licences",
    "contribution": "contribution that must be left",
}


def _share(part: float, whole: float) -> str:
    return percent(part / whole) if whole else "–"


def floor_table(case: Case, results: Results) -> Table:
    """The licensor's floor by parts, and what is received."""
    own = results.deal.licensor
    parts = [(title, getattr(own, name)) for name, title in FLOOR_PARTS.items()] + [("floor", own.floor)]
    rows = [[title, people(value), *in_own_money(case, value), _share(value, own.floor)] for title, value in parts]
    return Table(
        f"The licensor's floor, {case.currency}",
        ["", case.currency, *own_columns(case, ""), "share"],
        rows,
        note=f"{EACH_AT_ITS_RATE} Past research, a line apart: {people(own.policy)}. {rates_of_exchange(case)}".strip(),
        total=True,
    )


def received_table(case: Case, results: Results) -> Table:
    """What is paid by kind, what is withheld, and what is left to the licensor."""
    rows = [
        [case.payment_kinds[kind].title, people(x.paid), people(x.paid_now), people(-x.withheld), people(-x.inventors),
         people(x.net), *in_own_money(case, x.net), percent(x.net / x.paid_now) if x.paid_now else "–"]
        for kind, x in results.deal.by_kind.items()
        if x.paid
    ]  # fmt: skip
    own = results.deal.licensor
    rows.append(
        ["all", people(sum(x.paid for x in results.deal.by_kind.values())), people(own.received), people(-own.withheld),
         people(-own.inventors), people(own.net), *in_own_money(case, own.net), _share(own.net, own.received)]
    )  # fmt: skip
    return Table(
        f"What is paid, and what arrives, {case.currency}",
        [
            "kind",
            "paid in all",
            "at the licensor's rate",
            "withholding tax",
            "inventors",
            "left",
            *own_columns(case, "left"),
            "share",
        ],
        rows,
        note="Before the licensor's own tax and its credit.",
        total=True,
    )


def headings_table(case: Case, results: Results) -> Table:
    """Every payment by heading, as both sides have it."""
    rows = [
        [
            heading_name(case, name),
            people(x.paid),
            people(x.licensor_net),
            *in_own_money(case, x.licensor_net),
            people(x.licensee_paid),
        ]
        for name, x in results.deal.by_heading.items()
        if x.paid
    ]
    return Table(
        f"Payments by heading, {case.currency}",
        ["", "paid in all", "left to the licensor", *own_columns(case, "left to the licensor"), "paid by the licensee, before tax"],
        rows,
        note="The first as it comes; the others present value at day one, at each party's discount rate.",
    )


def heading_name(case: Case, name: str) -> str:
    """What a heading of payments is called."""
    tables: Mapping[str, Mapping] = {
        "fee": case.fees,
        "expansion": case.expansions,
        "delivery": case.deliveries,
        "service": case.yearly_services,
        "supply": case.supplies,
        "sublicence": case.sublicences,
    }
    kind, _, row = name.partition("_")
    if name.startswith("buy_out_"):
        return case.buy_outs[name.removeprefix("buy_out_")].title
    if kind in tables:
        before = {"supply": "margin on ", "sublicence": "part of the sublicence: ", "expansion": "expansion: "}.get(kind, "")
        return before + tables[kind][row].title
    return {"upfront": "upfront fee", "royalty": "running royalty", "minimum": "on top, to the minimum"}.get(name, label(name))


def alternatives_table(case: Case, results: Results) -> Table:
    """What the licensee could do instead."""
    other = results.deal.licensee
    rows = [["the plant with nothing paid for the licence", people(other.npv_free)]]
    rows += [["the plant by this offer", people(other.npv)]]
    rows += [[alternative_name(case, name), people(x.npv)] for name, x in results.deal.alternatives.items()]
    return Table(f"The licensee's alternatives, {case.currency}", ["", "net present value"], rows, note="At its required return.")


def sides_table(case: Case, licensor: tuple[float, float, float], licensee: tuple[float, float, float]) -> Table:
    """Both sides' values: what each has by these terms, what it could or must have without, and what lies between."""
    rows = [["licensor", *map(people, licensor)], ["licensee", *map(people, licensee)]]
    if case.deal.licensor.currency != case.currency:
        ours = [each for value in licensor for each in in_own_money(case, value)]
        rows.insert(1, [f"licensor, {case.deal.licensor.currency}", *ours])
    return Table(
        f"What both sides have, {case.currency}",
        ["", "by these terms", "floor, or best alternative", "above it"],
        rows,
        note=f"{EACH_AT_ITS_RATE} The licensor must be left with its contribution, the licensee with its best alternative.",
    )


def concessions_table(case: Case, found: Sequence[Concession], most: int = 16) -> Table:
    """What one unit of each term does to both sides."""
    rows = [
        [input_name(case, x.address), f"+ {x.words}{_jumping(x)}", people(x.licensor), *in_own_money(case, x.licensor),
         people(x.licensee),
         "–" if math.isnan(x.taken) else people(x.taken)]
        for x in found[:most]
    ]  # fmt: skip
    jumps = " Within a step with a jump, no smaller step is worth its part." if any(x.jumps for x in found[:most]) else ""
    return Table(
        f"What one unit of a term is worth, {case.currency}",
        [
            "term",
            "moved by",
            "licensor",
            *own_columns(case, "licensor"),
            "licensee",
            "licensor has of each unit it costs the licensee",
        ],
        rows,
        note=f"{EACH_AT_ITS_RATE} Terms high in the last column are those to ask for; those low in it are those to give.{jumps}",
        texts=(0, 1),
    )


def _jumping(found: Concession) -> str:
    """Whose gain jumps within a step, in words that follow it."""
    sides = dict.fromkeys(side for side, _ in found.jumps)
    return f" (jump for the {' and the '.join(sides)})" if sides else ""


def price_paths_table(case: Case, found: Overview) -> Table:
    """What both sides lose under falling prices, by form of royalty."""
    paths = found.price_paths
    rows = [[f"licensor, royalty {form}", *_and_changes(paths.gains[form].licensor)] for form in FORMS]
    if case.deal.licensor.currency != case.currency:
        rate = own_rate(case)
        rows += [
            [f"licensor, royalty {form}, {case.deal.licensor.currency}", *_and_changes(paths.gains[form].licensor / rate)]
            for form in FORMS
        ]
    rows += [[f"licensee, royalty {form}", *_and_changes(paths.gains[form].licensee)] for form in FORMS]
    rows.append(["licensee, if nothing were paid", *_and_changes(paths.unpaid)])
    columns = ["", "at the plan's prices", "change: flat", *(f"−{percent(fall, 2)} a year" for fall in paths.falls)]
    planned = ", ".join(f"{row.title} {signed(100 * row.change * case.constants.year)} % a year" for row in case.sales.values())
    return Table(
        f"Falling prices: gains of both sides, and how they change, {case.currency}",
        columns,
        rows,
        note=f"{EACH_AT_ITS_RATE} The plan's prices: {planned}. Behind them all prices change evenly instead. The minimum is "
        f"{people(paths.minimum)} {case.currency} a year, "
        f"{percent(MINIMUM_PART, 2)} of what a middle year of the plan earns. The forms have no cap.",
    )


def _and_changes(gains: Sequence[float]) -> list[str]:
    """A gain, and how it changes in the other columns."""
    return [people(gains[0]), *(people(gain - gains[0]) for gain in gains[1:])]


def guarantees_table(case: Case, found: Overview) -> Table:
    """Lower and higher guarantees: probabilities, damages, what to keep in reserve, and the fee that does the same."""
    columns = ["guaranteed, W", "damages", "error", "normal", "as stated", "cap reached", f"expected, {case.currency}",
               *own_columns(case, "expected"), f"reserve, {case.currency}", *own_columns(case, "reserve"),
               f"worth in fee, {case.deal.licence.currency}"]  # fmt: skip
    rows = [
        [people(level.power), _probability(level.probability), _error(level.error), _probability(level.formula),
         _probability(level.stated), _probability(level.cap_probability), people(level.damages),
         *in_own_money(case, level.damages), people(level.reserve), *in_own_money(case, level.reserve), signed(level.fee)]
        for each in found.guarantees
        for level in each.levels
    ]  # fmt: skip
    several = len(found.guarantees) > 1
    if several:
        titles = [case.guarantees[each.row].title for each in found.guarantees for _ in each.levels]
        columns, rows = ["", *columns], [[title, *row] for title, row in zip(titles, rows)]
    return Table(
        "Guaranteed power, lower and higher: probability of damages, and what they cost",
        columns,
        rows,
        note="Damages: their probability over the draws of efficiency and stabilisation in ranges.csv, with its standard error. "
        "Normal: the same by formula, both taken for normal. As stated: by formula, both as the case has them. Transfer, sample "
        f"and measurement are independent and normal. The reserve covers the damages of {percent(1 - RISK, 2)} of such transfers.",
        texts=(0,) if several else (),
    )


def _error(value: float) -> str:
    return percent(value, 2) if value else "–"


def _probability(value: float) -> str:
    return percent(value) if value >= 0.001 else "below 0.1 %"


def exclusivity_table(case: Case, found: Overview) -> Table:
    """What exclusivity of several lengths costs the licensor, by prospect, and what it is worth to the licensee."""
    times = found.exclusivity
    columns = ["", "territory", *(f"{years:g} years" for years in times.years)]
    rows = [
        [case.prospects[name].title, case.prospects[name].territory, *(people(float(x)) for x in lost)]
        for name, lost in times.lost.items()
    ]
    kept = [float(sum(lost[k] for lost in times.lost.values()) - cost) for k, cost in enumerate(times.cost)]
    rows.append(["less royalty that no one else takes", "", *(people(-each) for each in kept)])
    rows.append(["costs the licensor", "", *(people(float(cost)) for cost in times.cost)])
    if case.deal.licensor.currency != case.currency:
        own = own_rate(case)
        rows.append([f"the same, {case.deal.licensor.currency}", "", *(people(float(cost) / own) for cost in times.cost)])
    rows.append(["is worth to the licensee", "", *(people(float(worth)) for worth in times.worth)])
    rows.append(["lies between", "", *(people(float(b - a)) for a, b in zip(times.cost, times.worth))])
    return Table(
        f"What exclusivity costs the licensor and is worth to the licensee, {case.currency}",
        columns,
        rows,
        note=f"{EACH_AT_ITS_RATE} The first rows are licences that are lost, by prospect. The least price of exclusivity is "
        "what it costs, the most what it is worth.",
        texts=(0, 1),
    )


def rounds_table(case: Case, found: Overview) -> Table:
    """What was moved from round to round, and what it cost."""
    rows, before, own = [], None, own_columns(case, "licensor")
    for turn in found.turns:
        moved = []
        for address, (was, now) in turn.moved.items():
            declaration, record = input_at(turn.case, address)
            unit = unit_of(record, declaration.entry)
            unit = "%" if unit == "1" else unit
            moved.append(f"{input_name(case, address)} {exact(was, unit)} → {exact(now, unit)}")
        change = (
            ["", ""]
            if before is None
            else [_moved(turn.gains.licensor - before.licensor), _moved(turn.gains.licensee - before.licensee)]
        )
        rows.append(
            [f"{turn.round.date} {turn.round.by}", spoken("; ".join(moved)), people(turn.gains.licensor),
             *in_own_money(case, turn.gains.licensor), change[0],
             people(turn.gains.licensee), change[1], turn.round.valid_until]
        )  # fmt: skip
        before = turn.gains
    return Table(
        f"Rounds, {case.currency}",
        ["round", "moved", "licensor", *own, "change", "licensee", "change", "valid until"],
        rows,
        note="Gains above floor and best alternative, each side at its own rate.",
        texts=(0, 1),
    )


def all_tables(case: Case, results: Results, found: Overview, probabilities: Mapping[str, float] | None = None) -> list[Table]:
    """Every table of the deal that has rows; with probabilities, those that the minimum royalty of each year binds."""
    made = (floor_table, received_table, licensor_table, headings_table, alternatives_table)
    tables = [make(case, results) for make in made]
    tables.insert(3, split_table(case, found))
    tables += [
        years_table(case, results, probabilities),
        concessions_table(case, found.concessions),
        price_paths_table(case, found),
    ]
    if found.exclusivity.lost:
        tables.append(exclusivity_table(case, found))
    if case.guarantees:
        tables.append(guarantees_table(case, found))
    if found.turns:
        tables.append(rounds_table(case, found))
    return tables


def _moved(value: float) -> str:
    return ("+" if value > 0 else "") + people(value)


def years_table(case: Case, results: Results, probabilities: Mapping[str, float] | None = None) -> Table:
    """Royalty earned, the minimum and all payments, year by year; with the probability that the minimum binds if drawn."""
    ends = any(x.due_at_closing for x in results.deal.years.values())
    columns = ["year", "royalty earned", "minimum", "on top", *(["due at closing"] if ends else []), "all payments",
               *(["minimum binds"] if probabilities else [])]  # fmt: skip
    rows = [
        [name.removeprefix("y").lstrip("0"), people(x.earned), people(x.minimum), people(x.missing),
         *([people(x.due_at_closing)] if ends else []), people(x.paid), *([percent(probabilities[name])] if probabilities else [])]
        for name, x in results.deal.years.items()
        if x.paid or x.minimum
    ]  # fmt: skip
    note = "Expected amounts, as they come." + (" Probability over the draws of the inputs in ranges.csv." if probabilities else "")
    return Table(f"Payments by year of the plan, {case.currency}", columns, rows, note=note)
