"""Tables of people by role, and of metals bought at their quote."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.labour import people_employed, people_wanted
from ..model.ledger.ledger_figures import PLANT
from .numbers import people
from .table import Table


def people_table(case: Case, results: Results) -> Table:
    """People by role: needed at tools, whole people in each crew, at no tool, and on the payroll.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> people_table(case, evaluate(case)).columns[:3]
    ['', 'needed at tools, per crew', 'whole people per crew']
    """
    rows, crews, together = [], case.site.crews, 0.0
    for name, role in case.crew.items():
        wanted = people_wanted(case, results.line, name)
        employed = people_employed(case, wanted)
        needed, whole = (sum(part for place, part in each.items() if place != PLANT) / crews for each in (wanted, employed))
        payroll = sum(employed.values())
        cost = sum(x.cost for at, x in results.ledger.lines.items() if at.startswith(f"crew.{name}."))
        together += payroll
        rows.append([role.title, people(needed), people(whole), people(wanted[PLANT]), people(payroll), people(cost)])
    total = sum(x.cost for at, x in results.ledger.lines.items() if at.startswith("crew."))
    rows.append(["Total", "", "", "", people(together), people(total)])
    return Table(
        f"People by role, in {crews:g} crews",
        ["", "needed at tools, per crew", "whole people per crew", "at no tool", "on the payroll", f"{case.currency} a year"],
        rows,
        total=True,
        note="Parts of people at tools are pooled by role and rounded up in each crew. The payroll counts all crews.",
    )


def metals_table(case: Case, results: Results) -> Table:
    """Metals bought at their quote for sputtered films: the quote, the conversion fee with freight and duty, the credit."""
    rows = []
    for item, metal in {row.item: row for row in case.metals.values()}.items():
        films = [name for name, row in case.coatings.items() if row.item == item]
        if films:
            bought = [results.ledger.lines[f"coatings.{name}.bought"] for name in films]
            credit = sum(results.ledger.lines[f"coatings.{name}.credit"].cost for name in films)
            cost, quantity = sum(x.cost for x in bought), sum(x.quantity for x in bought)
            quote = quantity * results.ledger.landed[item].metal
            mass = people(quantity / to_base("kg"))
            rows.append([metal.title, mass, people(quote), people(cost - quote), people(credit), people(cost + credit)])
    return Table(
        f"Metals bought at their quote, {case.currency} a year",
        ["", "kg bought", "metal at quote", "fee, freight and duty", "credit for recovered metal", "net cost"],
        rows,
    )
