"""Which inputs stand behind a division by nought: read as cells, the divisor knows how it came about."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from ...case.addresses import map_inputs
from ...case.whole_case import Case, tables
from ...core.collecting import no_collecting
from ...core.faults import DividesByNought, Fault, InputFaults
from ...core.operations import Value
from ...core.units import to_base
from ..evaluate import evaluate
from .cells import Cell, NoughtDivisor, is_nothing

MOST = 5
TINY = 1e-6  # in the unit of the table: next to nought, and so the more likely slip
ALLOWED = "figures that leave nothing to divide by nought; these stand behind the divisor"


def refusal(problem: DividesByNought) -> InputFaults:
    """A division by nought as faults of the inputs behind its divisor; where none is found, of the case."""
    whole = Fault("case.yaml", None, None, "inputs for which the model divides by nought", "figures that are not next to nought")
    return InputFaults(nought_faults(problem.case) or [whole])


def nought_faults(case: Case) -> list[Fault]:
    """The inputs nearest to the divisor that is nought, each as a fault at its place; none where nothing is divided by nought.

    >>> from costmodel.case.changes import with_values
    >>> from costmodel.case.load import load_case
    >>> nought_faults(load_case("inputs_demo/facade"))
    []
    """
    cells: dict[str, Cell] = {}

    def as_cell(address: str, value: Value, _unit: str) -> Cell:
        """The cell of an input, kept under its address."""
        cells[address] = Cell(value)
        return cells[address]

    with no_collecting():
        try:
            evaluate(map_inputs(case, as_cell))
        except DividesByNought as problem:
            cause = problem.__cause__
            divisor = cause.divisor if isinstance(cause, NoughtDivisor) else None
        else:
            return []
    names = {id(cell): address for address, cell in cells.items()}
    behind = [names[id(cell)] for cell in inputs_below(divisor) if id(cell) in names] if isinstance(divisor, Cell) else []
    own = [address for address in behind if not address.startswith("constants.")]
    tiny = [address for address in own if 0 < abs(cells[address].value / to_base(case.entry_units[address])) < TINY]
    return [_fault(case, address, cells[address].value) for address in (tiny or own)[:MOST]]


def inputs_below(cell: Cell) -> Iterator[Cell]:
    """The inputs that a value of nought follows from, nearest first: of a product with a factor of nought, that factor alone.

    >>> some, none = Cell(3.0), Cell(0.0)
    >>> [each is none for each in inputs_below(some * none)]
    [True]
    >>> len(list(inputs_below(some - Cell(3.0))))
    2
    """
    waiting, seen = deque([cell]), {id(cell)}
    while waiting:
        value = waiting.popleft()
        if not value.operation:
            yield value
        below = [each for each in value.arguments if isinstance(each, Cell) and not is_nothing(each)]
        if value.operation == "/":
            below = below[:1] if isinstance(value.arguments[0], Cell) else below
        if value.operation == "*":
            below = [each for each in below if each.value == 0] or below
        for each in below:
            if id(each) not in seen:
                seen.add(id(each))
                waiting.append(each)


def _fault(case: Case, address: str, value: float) -> Fault:
    name, *rest = address.split(".")
    table, unit = tables()[name], case.entry_units[address]
    place = address if table.section else ".".join(rest)
    return Fault(table.file, None, place, f"{value / to_base(unit):.6g} {unit}".removesuffix(" 1"), ALLOWED)
