"""What services, laboratory and materials bring either side: the few sentences of all three that a memo has room for."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..studies.negotiation.laboratory_odds import odds_of_tests
from ..studies.negotiation.supplied_odds import odds_of_supply
from . import laboratory_report, services_report, supplied_report


def earned(case: Case, results: Results, draws: int, seed: int) -> list[str]:
    """What services, tests and materials leave, each with its probability; nothing for a case that has none of them.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("costmodel/studies/verification/published_cases/thin_film")
    >>> earned(case, evaluate(case), draws=0, seed=0)
    []
    """
    if not results.has_deal:
        return []
    said: list[str] = []
    if case.service_effects:
        found = services_report.found_or_why(case, draws, seed)
        said += [found] if isinstance(found, str) else services_report.in_short(case, found)
    if results.deal.laboratory is not None:
        said += laboratory_report.in_short(case, results.deal.laboratory, odds_of_tests(case, draws, seed))
    if case.supplied_materials:
        said += supplied_report.in_short(case, results, odds_of_supply(case, draws, seed))
    return said
