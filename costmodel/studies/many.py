"""Figures of a case for many values of its inputs at once: the one way in which every study takes the model.

The plant is as bought, but sized anew in each draw for what is known before purchase: ranges.csv states for each uncertain input
when its value is known. What is known before purchase is known to those who size the plant, so that each draw has its own tools;
the rest comes to light when the tools stand. Common practice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ..case.addresses import replaced, value_at
from ..case.changes import with_values
from ..case.range_records import BEFORE
from ..case.uncertain import uncertain
from ..case.values import BadValue, parse_number
from ..case.whole_case import Case, kept
from ..core.faults import Fault, InputFaults, nearest
from ..core.fields import STATUS, value_below
from ..core.operations import Value
from ..core.units import UnitError, to_base
from ..model.as_bought import installed_for
from ..model.evaluate import Known, evaluate, known_figures, last_stage, reasons, results_up_to
from ..model.readings.recording import Recording
from ..model.readings.taped import is_shared

CHUNK = 8_192  # draws at a time: arrays of 64 kB, of which those that live together fit a cache
FEW = 64  # draws for which all figures on arrays, the same to the last bit, take less time than a recording


@dataclass(frozen=True, slots=True)
class Wanted:
    """A figure that a study computes: its address, the unit to show it in, its meaning, and its value as it is, in base units.

    Where it may have no value, `reasons` says why, by the number of its status. `reason` is why it has none as it is, else "".
    """

    address: str
    unit: str
    meaning: str
    present: float
    reasons: Mapping[float, str] = field(default_factory=dict)
    reason: str = ""

    @property
    def status(self) -> str:
        """The address of its status."""
        return self.address + STATUS

    def shown(self, value):
        """A value in base units, or an array of them, in the unit of the figure."""
        return value / to_base(self.unit)


def wanted_figures(case: Case, addresses: Sequence[str], origin: str = "--figure") -> dict[str, Wanted]:
    """The figures at some addresses, in that order. Raises InputFaults naming every one that there is not.

    >>> from costmodel.case.load import load_case
    >>> wanted_figures(load_case("inputs_demo/facade"), ["line.output.plate_area"])["line.output.plate_area"].unit
    'm2/plate'
    """
    known = known_figures(case)
    allowed = "the address of a figure, as `line --json` and `cost --json` show them"
    faults = [Fault(origin, None, None, f"'{a}'", f"{allowed}{nearest(a, known)}") for a in addresses if a not in known]
    if faults:
        raise InputFaults(faults)
    why = kept(case, "reasons", lambda: reasons(evaluate(case)))
    return {address: _wanted(address, known, why.get(address, {})) for address in addresses}


def _wanted(address: str, known: Mapping[str, Known], reasons: Mapping[float, str]) -> Wanted:
    figure, status = known[address], float(known[address + STATUS].value) if reasons else 1.0
    return Wanted(address, figure.unit, figure.meaning, figure.value, reasons, reasons.get(status, ""))


def with_statuses(case: Case, addresses: Sequence[str]) -> list[str]:
    """Addresses of figures, each followed by its status where it may have no value.

    >>> from costmodel.case.load import load_case
    >>> with_statuses(load_case("inputs_demo/facade"), ["plan.project.irr", "line.output.plate_area"])
    ['plan.project.irr', 'plan.project.irr_status', 'line.output.plate_area']
    """
    known = known_figures(case)
    return [each for address in addresses for each in (address, address + STATUS) if each == address or each in known]


def parse_figure(figure: Wanted, written: str, origin: str) -> float:
    """A value of a figure in base units from a text such as `0.9 EUR/Wp_stabilised`; a bare number is in the figure's unit.

    Raises InputFaults.
    """
    number, _, unit = written.strip().partition(" ")
    if number.endswith("%") and not unit:
        number, unit = number[:-1], "%"
    unit = unit.strip() or figure.unit
    unit = figure.unit if unit == "%" and figure.unit.startswith("%*") else unit  # an efficiency, in watts per watt
    try:
        return parse_number(number) * to_base(unit, like=figure.unit)
    except BadValue as problem:
        raise InputFaults([Fault(origin, None, figure.address, problem.found, problem.allowed)]) from None
    except UnitError as problem:
        raise InputFaults([Fault(origin, None, figure.address, f"'{written}' ({problem})", f"a number in {figure.unit}")]) from None


def known_before(case: Case) -> list[str]:
    """The uncertain inputs for which the plant of a case is sized anew in each draw; none for a plant that is not as bought.

    >>> from costmodel.model.as_bought import as_bought
    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> known_before(case), "site.scheduled_time" in known_before(as_bought(case))
    ([], True)
    """
    if case.target.mode != "as_bought" or case.design is None:
        return []
    return [row.address for row in uncertain(case).values() if row.known == BEFORE]


def bought_in(case: Case, values: Mapping[str, Value]) -> dict[str, Value]:
    """What is installed where inputs have other values, if any of them is known before purchase; by the address that states it.

    The plant is that of the design with these inputs; what the case makes of all others came after it.

    >>> from costmodel.model.as_bought import as_bought
    >>> from costmodel.case.load import load_case
    >>> plant = as_bought(load_case("inputs_demo/facade"))
    >>> short = bought_in(plant, {"site.scheduled_time": 0.5 * plant.site.scheduled_time})
    >>> short["tools.deposition.installed"], bought_in(plant, {"prices.silane.price": 1.0})
    (6.0, {})
    """
    early = known_before(case)
    own = {address: value for address, value in values.items() if address in early}
    if not own or case.design is None:
        return {}
    return {a: v for a, v in installed_for(replaced(case.design, own)).items() if a not in values}


class PlantRecording:
    """A recording (see `Recording`) of a case whose plant follows what is known before purchase.

    >>> from costmodel.model.as_bought import as_bought
    >>> from costmodel.case.load import load_case
    >>> plant, tools = as_bought(load_case("inputs_demo/facade")), "line.tools.deposition.tools"
    >>> PlantRecording(plant, ["site.scheduled_time"], [tools]).run({"site.scheduled_time": 0.5 * plant.site.scheduled_time})[tools]
    6.0
    """

    def __init__(self, case: Case, varied: Sequence[str], wanted: Sequence[str]):
        self.case = case
        installed = bought_in(case, {address: value_at(case, address) for address in varied})
        self._recording = Recording(case, [*varied, *installed], wanted)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers."""
        return self._recording.run({**values, **bought_in(self.case, values)})


def recorded(case: Case, varied: Sequence[str], wanted: Sequence[str]) -> PlantRecording:
    """The recording of a case for these inputs and figures, made once for each case."""
    return kept(case, recording_name(varied, wanted), lambda: PlantRecording(case, varied, wanted))


def recording_name(varied: Sequence[str], wanted: Sequence[str]) -> str:
    """The name under which a case keeps a recording."""
    return f"recording: {' '.join(varied)} > {' '.join(wanted)}"


def figures_of(
    case: Case,
    values: Mapping[str, np.ndarray],
    wanted: Sequence[str],
    recording: PlantRecording | Recording | None = None,
    origin: str = "changes",
) -> dict[str, np.ndarray]:
    """Wanted figures for arrays of values of some inputs, all of one length, in base units; checked like any input.

    A plant as bought is sized anew for inputs that are known before purchase. A `recording` is that of another state of the
    case, whose inputs are all among the values: a panel has one for all that its sliders make of a case. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> case, area = load_case("inputs_demo/facade"), "line.output.plate_area"
    >>> figures_of(case, {"product.length": np.array([1.0, 2.0])}, [area])[area].tolist()
    [0.6, 1.2]
    """
    moved = with_values(case, values, origin)
    count = len(next(iter(values.values())))
    ready = recording or recording_name(list(values), wanted) in case.memory or is_shared(case, list(values))
    if not ready and count <= FEW:
        known = known_figures(replaced(moved, bought_in(case, values)))
        return {address: np.broadcast_to(known[address].value, count).astype(float) for address in wanted}
    return in_chunks(recording or recorded(case, list(values), wanted), values, wanted)


def in_chunks(
    recording: PlantRecording | Recording, values: Mapping[str, np.ndarray], wanted: Sequence[str]
) -> dict[str, np.ndarray]:
    """Wanted figures of a recording for arrays of values, unchecked, a chunk at a time."""
    count = len(next(iter(values.values())))
    found = {address: np.empty(count) for address in wanted}
    for start in range(0, count, CHUNK):
        part = slice(start, min(start + CHUNK, count))
        made = recording.run({address: value[part] for address, value in values.items()})
        for address in wanted:
            found[address][part] = made[address]
    return found


def why_without(case: Case, values: Mapping[str, np.ndarray], figure: Wanted, made: np.ndarray) -> list[str]:
    """Why a figure has no value for values of some inputs, of which it was `made`; an empty text where it has one."""
    without = np.isnan(made)
    if not without.any():
        return [""] * len(made)
    if not figure.reasons:
        return ["it cannot be computed" if missing else "" for missing in without]
    chosen = {address: column[without] for address, column in values.items()}
    found = iter(figures_of(case, chosen, [figure.status])[figure.status])
    return [figure.reasons[float(next(found))] if missing else "" for missing in without]


def figures_at(case: Case, wanted: Sequence[str]) -> dict[str, float]:
    """Wanted figures of a case as it is, in base units."""
    stages = results_up_to(case, last_stage(wanted)).stages()
    return {address: float(value_below(stages, address)) for address in wanted}


def sound(case: Case, address: str, values: np.ndarray) -> np.ndarray:
    """Which values of an input the case takes, alone and together with its other inputs: halves are tried until it is known."""
    if len(values) == 0:
        return np.array([], dtype=bool)
    try:
        with_values(case, {address: values})
    except InputFaults:
        if len(values) == 1:
            return np.array([False])
        half = len(values) // 2
        return np.concatenate([sound(case, address, values[:half]), sound(case, address, values[half:])])
    return np.full(len(values), True)
