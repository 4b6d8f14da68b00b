"""What is allowed but seldom meant, where only figures show it; what inputs show by themselves is in case/summary.py."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case
from ..model import Costs, Results


def soaked_too_few(case: Case, results: Costs | Results) -> Iterator[str]:
    """Plans that soak fewer modules of a lot than the wanted precision takes even without the common part of the measurement.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate_costs
    >>> case = load_case("inputs_demo/field")
    >>> list(soaked_too_few(case, evaluate_costs(case)))
    ['soaking.rating soaks 10 modules of a lot, the precision of 1 % takes 20']
    """
    for name, plan in results.ledger.soaking.items():
        found, precision = plan.rating, f"the precision of {100 * case.soaking[name].precision:.3g} %"
        if found.random_part_possible == 0.0:
            yield f"soaking.{name} soaks {found.soaked:.4g} modules of a lot, {precision} is out of reach of any sample"
        elif found.soaked < found.sample_for_random - 1e-9:
            yield f"soaking.{name} soaks {found.soaked:.4g} modules of a lot, {precision} takes {found.sample_for_random:.4g}"
