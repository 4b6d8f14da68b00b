"""Results as pandas tables, for work in a notebook."""

from __future__ import annotations

import dataclasses

import pandas as pd

from ..core.fields import Figure, declared
from ..core.units import to_base
from .evaluate import Results, figures
from .ledger.ledger_figures import LedgerLine


def figures_frame(results: Results, currency: str) -> pd.DataFrame:
    """Every figure by its address: value, the unit it is in, meaning.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> figures_frame(evaluate(case), case.currency).loc["line.output.plate_area", "unit"]
    'm2/plate'
    """
    rows = [(address, value / to_base(unit), unit, meaning) for address, value, unit, meaning in figures(results, currency)]
    return pd.DataFrame(rows, columns=["address", "value", "unit", "meaning"]).set_index("address")


def ledger_frame(results: Results) -> pd.DataFrame:
    """The ledger as a table, one row for each line; `cost` and `lost` are of one year, in the reporting currency.

    The quantity is in the unit of the line, the price for one such unit. Group it as you like:

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> frame = ledger_frame(evaluate(load_case("inputs_demo/facade")))
    >>> sorted(frame.groupby("category").cost.sum().index)
    ['building', 'depreciation', 'emissions', 'facilities', 'labour', 'maintenance', 'materials', 'overheads', 'utilities']
    """
    lines = results.ledger.lines
    frame = pd.DataFrame([dataclasses.asdict(line) for line in lines.values()], index=pd.Index(lines, name="line"))
    ratios = frame["unit"].map(to_base)
    frame = frame.assign(quantity=frame["quantity"] / ratios, price=frame["price"] * ratios)
    numeric = [name for name, d in declared(LedgerLine).items() if isinstance(d, Figure)]
    return frame[[column for column in frame if column not in numeric] + numeric]
