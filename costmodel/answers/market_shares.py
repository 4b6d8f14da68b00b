"""Which planned sales ask for a large share of a market."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case
from ..case.summary import NEWCOMER
from ..model import Results


def large_plans(case: Case, results: Results) -> Iterator[str]:
    """Markets of which the plan would sell more than a third in a year, in words for `check`.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> any("home_market" in words for words in large_plans(case, evaluate(case)))
    False
    """
    for name, found in (results.plan.markets if results.plan else {}).items():
        share = max(found.planned_by_year.values()) / case.markets[name].volume
        if share > NEWCOMER:
            yield f"sales plan {100 * share:.3g} % of markets.{name}.volume in a year, much for a newcomer"
