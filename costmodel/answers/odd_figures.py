"""Figures of a sound case that are seldom meant, as energy below a heat balance."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case
from ..model import Results
from ..units import to_base


def odd_figures(case: Case, results: Results) -> Iterator[str]:
    """What looks odd in the figures of a case: a heated load for which its tool draws less than the heat that it takes up.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> list(odd_figures(case, evaluate(case)))
    []
    """
    for name, found in results.line.heatings.items():
        if found.drawn_energy < found.least_energy:
            drawn, least = found.drawn_energy / to_base("kWh"), found.least_energy / to_base("kWh")
            tool = case.steps[case.heatings[name].step].tool
            yield f"heatings.{name}: a load takes up {least:.3g} kWh at least, and {tool} draws {drawn:.3g} kWh for it"
