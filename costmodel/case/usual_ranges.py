"""What the trade knows of each kind of input: an amount far outside is allowed, and marked as odd, since a slip is likelier.

Ranges stand by the unit of a field, and by field where its unit says too little; in base units, from memory throughout, an order of
magnitude or more beyond what plants of this kind have. Money is taken in a currency of about a euro; one of far smaller units gets
marks that its reader may pass over. An input of 0 says that something is not there, and is not looked at.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator

from ..core.fields import Number
from ..core.units import to_base
from .addresses import input_at, numeric_inputs
from .whole_case import Case

DAY, YEAR = to_base("day"), to_base("year")
USUAL: dict[str, tuple[float, float]] = {
    "1": (1e-6, 1e5), "1/K": (1e-5, 0.1), "1/s": (1e-5 / YEAR, 2.0 / YEAR), "K": (1.0, 2e3), "J/kg/K": (50.0, 1e4),
    "kg/m3": (0.1, 3e4), "kg/load": (0.1, 1e5), "W/m2": (1.0, 1e4), "crew": (1.0, 10.0), "plate/load": (1.0, 1e4),
    "m": (1e-10, 20.0), "m/plate": (1e-3, 20.0), "m2": (0.01, 1e6), "m2/tool": (0.01, 1e5), "m*load/s/tool": (1e-13, 1e-6),
    "m2*load/s/tool": (1e-12, 1e-3), "mol/s/tool": (1e-9, 10.0), "s": (60.0, 100.0 * YEAR), "s*tool/load": (0.1, 30.0 * DAY),
    "s*tool/occurrence": (1.0, 30.0 * DAY), "tool": (0.01, 1e4), "person/tool/crew": (1e-4, 50.0), "load/occurrence": (0.1, 1e6),
    "Wp_initial/W": (0.01, 0.5), "Wp_stabilised/W": (0.01, 0.5), "Wp_stabilised/module": (0.5, 2e3),
    "{currency}": (1.0, 1e10), "{currency}/tool": (1.0, 1e9), "{currency}/m2": (1e-3, 1e5), "{currency}/kg": (1e-6, 1e6),
    "{currency}/person/s": (10.0 / YEAR, 1e7 / YEAR), "{currency}/plate": (1e-4, 1e4), "{currency}/s": (1.0 / YEAR, 1e10 / YEAR),
    "{currency}/module": (0.01, 1e4), "{currency}/Wp_stabilised": (1e-5, 100.0), "money/{code}": (1e-6, 1e4),
}  # fmt: skip
BY_FIELD: dict[str, tuple[float, float]] = {
    "product.length": (0.05, 10.0), "product.width": (0.05, 10.0), "layers.thickness": (1e-10, 1e-3),
    "steps.process_time": (0.1, 30 * DAY),
    "steps.first_pass_yield": (0.5, 1.0), "product.stabilisation_ratio": (0.5, 1.2), "licence.royalty": (1e-4, 0.3),
    "warranty.degradation": (0.001 / YEAR, 0.03 / YEAR), "warranty.later_failures": (1e-6 / YEAR, 0.02 / YEAR),
    "warranty.early_failures": (1e-5, 0.03), "warranty.end_power": (0.5, 0.95), "warranty.product_term": (YEAR, 30 * YEAR),
    "tax.rate": (0.01, 0.7), "loan.interest": (1e-4 / YEAR, 0.5 / YEAR), "returns.required_return": (0.005 / YEAR, 0.6 / YEAR),
}  # fmt: skip
PRICED: dict[str, tuple[float, float]] = {
    "kg": (1e-3, 1e6),
    "g": (1e-3, 1e6),
    "t": (1e-3, 1e9),
    "L": (1e-4, 1e5),
    "m3": (1e-4, 1e6),
    "Nm3": (1e-4, 1e6),
    "m2": (1e-4, 1e5),
    "m": (1e-4, 1e5),
    "piece": (1e-5, 1e6),
    "kWh": (1e-4, 100.0),
    "MWh": (0.1, 1e5),
    "W": (1e-5, 100.0),
}  # fmt: skip  (money per unit in which a price is stated)


def far_from_usual(case: Case, among: Container[str] | None = None) -> Iterator[str]:
    """Inputs far outside what the trade knows, each with its value and the range; of all inputs, or of those `among` some.

    >>> from costmodel.case.changes import with_values
    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> list(far_from_usual(case)), list(far_from_usual(with_values(case, {"prices.silane.price": 1e9})))
    ([], ['prices.silane.price is 1e+09 USD/kg, and usual is 0.001 to 1e+06'])
    """
    for address, value, known in _far(case, among):
        unit = case.entry_units[address]
        size = to_base(unit)
        yield f"{address} is {value / size:.4g} {unit}, and usual is {known[0] / size:.3g} to {known[1] / size:.3g}"


def as_usual(case: Case) -> dict[str, float]:
    """Each input far outside what the trade knows, with the value that was likelier meant: a slip of units, or the nearest usual.

    >>> from costmodel.case.changes import with_values
    >>> from costmodel.case.load import load_case
    >>> slipped = {"steps.pack.first_pass_yield": 0.00998, "product.length": 1200.0, "product.width": 3e4}
    >>> {address: round(value, 6) for address, value in as_usual(with_values(load_case("inputs_demo/facade"), slipped)).items()}
    {'product.length': 1.2, 'product.width': 10.0, 'steps.pack.first_pass_yield': 0.998}
    """
    return {address: _likelier(value, known) for address, value, known in _far(case)}


SLIPS = (100.0, 0.01, 1e3, 1e-3, 1e6, 1e-6)  # %, and the steps of the units of SI


def _likelier(value: float, known: tuple[float, float]) -> float:
    """The value within a range that a slip of units leads to; else the end of the range that is nearest."""
    meant = (value * times for times in SLIPS if known[0] <= abs(value * times) <= known[1])
    return next(meant, math.copysign(min(max(abs(value), known[0]), known[1]), value))


def _far(case: Case, among: Container[str] | None = None) -> Iterator[tuple[str, float, tuple[float, float]]]:
    """Inputs far outside what the trade knows, each with its value and its range."""
    for address, value, *_ in numeric_inputs(case):
        if address.startswith("constants.") or not isinstance(value, (int, float)) or value == 0.0:
            continue
        if among is not None and address not in among:
            continue
        declaration, record = input_at(case, address)
        if not case.entry_units.get(address, "") or not isinstance(declaration, Number):
            continue
        known = _range(address, declaration, getattr(record, "unit", "") or getattr(record, "per", ""))
        if known and not known[0] <= abs(value) <= known[1]:
            yield address, value, known


def _range(address: str, declaration: Number, priced_in: str) -> tuple[float, float] | None:
    """The range of an input in base units; None where the trade's is not known."""
    table, field = address.partition(".")[0], address.rpartition(".")[2]
    if f"{table}.{field}" in BY_FIELD:
        return BY_FIELD[f"{table}.{field}"]
    if declaration.unit in ("{currency}/{unit}", "{currency}/{per}"):
        found = PRICED.get(priced_in)
        return found and (found[0] / to_base(priced_in), found[1] / to_base(priced_in))
    return USUAL.get(declaration.unit)
