"""How probable it is that tests of the laboratory leave the licensor something; what is odd about its hours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...model.as_bought import as_bought
from ...model.evaluate import Results
from ..risk import run_risk
from ..spread import Probability

TESTS = ("laboratory_tests", "laboratory_work", "laboratory_equipment", "laboratory_staff", "transfer_resources", "payment_kinds")
ALL = "deal.laboratory.left_a_year"


@dataclass(frozen=True, slots=True)
class OddsOfTests:
    """The probability that a test leaves something after full cost, by test; and that all leave something together."""

    by_test: dict[str, Probability]
    together: Probability
    draws: int
    seed: int


def odds_of_tests(case: Case, draws: int, seed: int) -> OddsOfTests | None:
    """These probabilities over draws of all that is uncertain; None without draws, or where nothing of the laboratory is.

    >>> from costmodel.case.load import load_case
    >>> found = odds_of_tests(load_case("inputs_demo/facade"), draws=64, seed=0)
    >>> found.by_test["damp_heat"].share
    0.0
    """
    tables = {row.address.partition(".")[0] for row in uncertain(case).values()}
    if not draws or not tables & {*TESTS, "money"}:
        return None
    addresses = {name: f"deal.laboratory.tests.{name}.left" for name in case.laboratory_tests}
    figures = run_risk(as_bought(case), [*addresses.values(), ALL], draws, seed).figures
    by_test = {name: Probability(float((figures[address] >= 0).mean()), draws) for name, address in addresses.items()}
    return OddsOfTests(by_test, Probability(float((figures[ALL] >= 0).mean()), draws), draws, seed)


def odd_laboratory(case: Case, results: Results) -> Iterator[str]:
    """Instruments and people of which more is promised and sold than there is; nothing for a case without a laboratory.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> list(odd_laboratory(case, evaluate(case)))
    []
    """
    found = results.deal.laboratory if results.has_deal else None
    if found is None:
        return
    for table, rows in (("laboratory_equipment", found.equipment), ("laboratory_staff", found.staff)):
        for name, row in rows.items():
            if row.free < 0:
                yield f"{table}.{name} is promised and sold at {100 * float(row.load):.3g} % of its hours"
