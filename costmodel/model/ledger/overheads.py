"""Costs of the firm: amounts for a year, a module or a watt, and shares of the value of equipment."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.whole_case import Case
from ...core.operations import Value
from ..line.line_figures import Line
from ..line.plant_growth import grown
from .entries import Account, entry
from .landed_prices import in_reporting_currency
from .ledger_figures import PLANT, LedgerLine


def overhead_entries(case: Case, line: Line, value: Value) -> Iterator[tuple[str, LedgerLine]]:
    """Lines of overheads, and of levies on the value of equipment; none bears yield loss.

        amounts = {"year": case.constants.year, **line.output.by_unit()}    [any]
        quantity = [grown(line, "overheads", n, amounts[row.per]) for n, row in case.overheads.items()] + [case.constants.year
            for row in case.levies.values()]
        price = [in_reporting_currency(row.amount, row.currency, case.money) for row in case.overheads.values()] + [value *
            row.rate for row in case.levies.values()]

    Takes: value [money].
    Source: accounting practice.

    They are for good modules, or for no plate.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> dict(overhead_entries(case, line, 100.0))["levies.insurance"].price == 100 * case.levies["insurance"].rate
    True
    """
    amounts = {"year": case.constants.year, **line.output.by_unit()}
    for name, row in case.overheads.items():
        yield (
            f"overheads.{name}",
            entry(
                line,
                Account(step=PLANT, category="overheads", item=name, group="overheads", unit=row.per, driver=row.per),
                quantity=grown(line, "overheads", name, amounts[row.per]),
                price=in_reporting_currency(row.amount, row.currency, case.money),
                variable_share=0.0 if row.per == "year" else 1.0,
            ),
        )
    for name, levy in case.levies.items():
        yield (
            f"levies.{name}",
            entry(
                line,
                Account(step=PLANT, category="overheads", item=name, group="overheads", unit="year", driver="value of equipment"),
                quantity=case.constants.year,
                price=value * levy.rate,
            ),
        )
