"""What plates lost on the way sell for: scrap, metal to recover, second grade; disposal where that costs."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.whole_case import Case
from ..line.line_figures import Line
from .entries import Account, entry
from .landed_prices import in_reporting_currency
from .ledger_figures import ALL_LOST, LedgerLine


def scrap_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for the plates lost, by row of scrap.csv; negative for what is earned, and all of it belongs to lost plates.

        quantity = [line.steps[row.step].lost * row.lost_share for row in case.scrap.values()]
        price = [-in_reporting_currency(row.value, row.currency, case.money) for row in case.scrap.values()]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> row = case.scrap["second_grade"]
    >>> dict(scrap_entries(case, line))["scrap.second_grade"].cost == -line.steps[row.step].lost * row.lost_share * row.value
    True
    """
    for name, row in case.scrap.items():
        yield (
            f"scrap.{name}",
            entry(
                line,
                Account(step=row.step, category="materials", item=name, group="scrap", unit="plate", driver="plates lost"),
                quantity=line.steps[row.step].lost * row.lost_share,
                price=-in_reporting_currency(row.value, row.currency, case.money),
                loss=ALL_LOST,
            ),
        )
