"""Figures of a sound case that are seldom meant, as energy below a heat balance or too small a sample."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case
from ..model import Costs, Results
from ..units import to_base


def odd_figures(case: Case, results: Results) -> Iterator[str]:
    """What looks odd in the figures of a case: too small a sample, or a tool that draws less than the heat its load takes up.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> list(odd_figures(case, evaluate(case)))
    []
    """
    yield from soaked_too_few(case, results)
    for name, found in results.line.heatings.items():
        if found.drawn_energy < found.least_energy:
            drawn, least = found.drawn_energy / to_base("kWh"), found.least_energy / to_base("kWh")
            tool = case.steps[case.heatings[name].step].tool
            yield f"heatings.{name}: a load takes up {least:.3g} kWh at least, and {tool} draws {drawn:.3g} kWh for it"


def soaked_too_few(case: Case, results: Costs | Results) -> Iterator[str]:
    """Plans that soak fewer modules of a lot than the wanted precision takes even without the common part of the measurement.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model import evaluate_costs
    >>> case = with_values(load_case("inputs_demo/field"), {"soaking.rating.precision": 0.01})
    >>> list(soaked_too_few(case, evaluate_costs(case)))
    ['soaking.rating soaks 6 modules of a lot, the precision of 1 % takes 9']
    """
    for name, plan in results.ledger.soaking.items():
        found, precision = plan.rating, f"the precision of {100 * case.soaking[name].precision:.3g} %"
        if found.sample_for_random_status == 0.0:
            yield f"soaking.{name} soaks {found.soaked:.4g} modules of a lot, {precision} is out of reach of any sample"
        elif found.soaked < found.sample_for_random - 1e-9:
            yield f"soaking.{name} soaks {found.soaked:.4g} modules of a lot, {precision} takes {found.sample_for_random:.4g}"
