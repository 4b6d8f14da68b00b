"""The whole model: a case in, figures out. Numbers, arrays, quantities or cells, whatever the case holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .case.records import Case
from .fields import Figure, walk
from .ledger.ledger import compute_ledger
from .ledger.records import Ledger
from .line.line import compute_line
from .line.records import Line
from .market.market import compute_market
from .market.records import Markets
from .operations import Value


@dataclass(frozen=True, slots=True)
class Results:
    """All figures of a case."""

    line: Line
    ledger: Ledger
    market: Markets


def evaluate(case: Case) -> Results:
    """Compute all figures of a case.

    >>> from costmodel.case.load import load_case
    >>> results = evaluate(load_case("inputs_demo/facade"))
    >>> results.ledger.total.cost > 0
    True
    """
    line = compute_line(case)
    ledger = compute_ledger(case, line)
    return Results(line=line, ledger=ledger, market=compute_market(case, line, ledger))


def figures(results: Results, money: str) -> Iterator[tuple[str, Value, str, str]]:
    """Every figure: address, value, unit, meaning. The address is the path through the records."""
    yield from walk(results.line, "line", Figure, money)
    yield from walk(results.ledger, "ledger", Figure, money)
    yield from walk(results.market, "market", Figure, money)
