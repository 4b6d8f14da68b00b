"""The plant behind a study: as bought, but sized anew in each draw for what is known before purchase.

ranges.csv states for each uncertain input when its value is known. What is known before purchase is known to those who size the
plant, so that each draw has its own tools; the rest comes to light when the tools stand. Common practice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..case.addresses import replaced, value_at
from ..case.range_records import BEFORE
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.operations import Value
from ..model.bought import installed_for
from ..model.readings.cells import Sheet
from ..model.readings.recording import Recording


def known_before(case: Case) -> list[str]:
    """The uncertain inputs for which the plant of a case is sized anew in each draw; none for a plant that is not as bought.

    >>> from costmodel.model.bought import as_bought
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

    >>> from costmodel.model.bought import as_bought
    >>> from costmodel.case.load import load_case
    >>> plant = as_bought(load_case("inputs_demo/facade"))
    >>> short = bought_in(plant, {"site.scheduled_time": 0.5 * plant.site.scheduled_time})
    >>> short["tools.deposition.installed"], bought_in(plant, {"prices.silane.price": 1.0})
    (6.0, {})
    """
    early = known_before(case)
    own = {address: value for address, value in values.items() if address in early}
    if not own:
        return {}
    return {a: v for a, v in installed_for(replaced(case.design, own)).items() if a not in values}


class PlantRecording:
    """A recording (see `Recording`) of a case whose plant follows what is known before purchase.

    >>> from costmodel.model.bought import as_bought
    >>> from costmodel.case.load import load_case
    >>> plant, tools = as_bought(load_case("inputs_demo/facade")), "line.tools.deposition.tools"
    >>> PlantRecording(plant, ["site.scheduled_time"], [tools]).run({"site.scheduled_time": 0.5 * plant.site.scheduled_time})[tools]
    6.0
    """

    def __init__(self, case: Case, varied: Sequence[str], wanted: Sequence[str], sheet: Sheet | None = None):
        self.case = case
        installed = bought_in(case, {address: value_at(case, address) for address in varied})
        self._recording = Recording(case, [*varied, *installed], wanted, sheet)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers."""
        return self._recording.run({**values, **bought_in(self.case, values)})
