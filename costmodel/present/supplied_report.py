"""Materials that the licensor supplies: what they leave it, and what the licensee pays beside a second source."""

from __future__ import annotations

from ..case.supplied_records import SuppliedMaterial
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.deal.supplied_figures import SuppliedFigures
from ..model.evaluate import Results
from ..model.plan.timing import QUARTERS
from ..studies.negotiation.supplied_odds import SupplyOdds
from .deal_report import EACH_AT_ITS_RATE, in_money, ours, rates_of_exchange
from .numbers import NOT_APPLICABLE, many, named, people, percent, signed, stated, typeset
from .table import Table

NO_MATERIALS = "The case has no supplied_materials.csv, so the licensor supplies no material item by item."
CAUTIONS = "A licence that ties the licensee to materials of the licensor may meet competition law: consult lawyers first."
MONTH = to_base("month")


def headline(case: Case, results: Results, odds: SupplyOdds | None) -> list[str]:
    """What the materials leave the licensor, and for which of them the licensee pays more or less than elsewhere."""
    rows = results.deal.supplied
    left, pays = (sum(float(getattr(each, name)) for each in rows.values()) for name in ("licensor_margin", "licensee_pays"))
    words = f"{many(len(rows), 'material')} {'leaves' if len(rows) == 1 else 'leave'}"
    said = [f"{words} the licensor {ours(case, left)} before own tax at the stated inputs, at its discount rate."]
    dearer = [name for name, each in rows.items() if each.licensee_pays > 0]
    amount = f"{in_money(case, abs(pays))} {'more' if pays >= 0 else 'less'}"
    said.append(
        f"The licensee pays more than a second source for {len(dearer) or 'none'} of {len(rows)}; for all together {amount}."
    )
    if odds is not None:
        said.append(
            f"They cost it no more than a second source in {percent(odds.pays_less.share, 2)} of {odds.draws:,} draws, "
            f"seed {odds.seed}."
        )
        said.append(f"They leave the licensor something in {percent(odds.left.share, 2)} of these draws.")
    said += _elsewhere(case, results)
    return said


def in_short(case: Case, results: Results, odds: SupplyOdds | None) -> list[str]:
    """What materials leave the licensor, and how probable it is that they cost the licensee no more than elsewhere."""
    said = headline(case, results, odds)
    return said[:1] if odds is None else [said[0], said[2]]


def _elsewhere(case: Case, results: Results) -> list[str]:
    """What the licensee buys elsewhere as soon as it is free to, and what is supplied at a loss."""
    rows, plan = results.deal.supplied, results.plan.supplied
    gone = []
    for name, row in case.supplied_materials.items():
        free_from, columns = row.free_from / case.constants.year * QUARTERS, enumerate(plan[name].quantity)
        free = [k for number, k in columns if number > free_from and plan[name].used[k] > 0]
        if free and not any(float(plan[name].quantity[k]) for k in free):
            gone.append(row.title)
    lost = [case.supplied_materials[name].title for name, each in rows.items() if each.margin < 0]
    said = [f"Once free to, the licensee buys elsewhere: {named(gone)}."] if gone else []
    return said + ([f"Sold below own cost: {named(lost)}."] if lost else [])


def _in_unit(value: float, row: SuppliedMaterial) -> str:
    """A price by the unit of its row."""
    return people(float(value) * to_base(row.unit))


def materials_table(case: Case, results: Results, odds: SupplyOdds | None) -> Table:
    """Each material: quantity, both prices, own cost, margin, what each side has of it, from when the licensee is free."""
    columns = ["", "unit", "supplied", "of what is used", "our price", "own cost", "margin", "second source", "left to us",
               "licensee pays more", "no dearer", "free from"]  # fmt: skip
    rows = [_row(case.supplied_materials[name], each, odds, name) for name, each in results.deal.supplied.items()]
    return Table(
        f"Materials supplied by the licensor, {case.currency}",
        columns,
        rows,
        note=f"{EACH_AT_ITS_RATE} Prices are those of the first day, landed. Left to us: before own tax. No dearer: the "
        f"probability that the licensee pays no more than elsewhere. {rates_of_exchange(case)}".strip(),
        texts=(0, 1, 11),
    )


def _row(row: SuppliedMaterial, each: SuppliedFigures, odds: SupplyOdds | None, name: str) -> list[str]:
    free = "never" if row.free_from >= row.end else f"month {stated(float(row.free_from) / MONTH)}"
    return [
        row.title,
        typeset(row.unit),
        people(float(each.quantity) / to_base(row.unit)),
        percent(float(each.quantity) / float(each.used)) if each.used else NOT_APPLICABLE,
        *(_in_unit(value, row) for value in (each.price, each.own_cost, each.margin, each.second_price)),
        signed(each.licensor_margin),
        signed(each.licensee_pays),
        percent(odds.by_material[name].share, 2) if odds else NOT_APPLICABLE,
        free,
    ]


def sources_table(case: Case) -> Table:
    """The second source of each material, and the risk of its delivery, as the case states it."""
    rows = [[row.title, row.second_source, _most(row)] for row in case.supplied_materials.values()]
    return Table(
        "Second sources, as supplied_materials.csv states them",
        ["", "who, and the risk of delivery", "most from us in a year"],
        rows,
        note=CAUTIONS,
        texts=(0, 1, 2),
    )


def _most(row: SuppliedMaterial) -> str:
    return f"{people(float(row.most) / to_base(row.unit))} {typeset(row.unit)}"
