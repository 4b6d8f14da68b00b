"""The plant as bought: tools sized at the values of a case, then left as they are while inputs change."""

from __future__ import annotations

import dataclasses

from ..case.changes import with_values
from ..case.whole_case import Case, kept
from ..core.operations import Value
from .line.line import compute_line
from .line.line_figures import Growth, Line


def installed_for(case: Case) -> dict[str, Value]:
    """What the plant of a sized case has of tools, carriers and all that grows with it, by the address that states it.

    >>> from costmodel.case.load import load_case
    >>> installed_for(load_case("inputs_demo/facade"))["tools.deposition.installed"]
    3.0
    """
    line = compute_line(case)
    installed = {f"tools.{name}.installed": use.tools for name, use in line.tools.items()}
    installed |= {f"carriers.{name}.installed": use.tools for name, use in line.carriers.items()}
    return {**installed, **_grown(case, line)}


def _grown(case: Case, line: Line) -> dict[str, Value]:
    """Units and sizes in the plant of what grows with it, by the address that states them for a plant that stays."""
    units = {f"growth_steps.{n}.installed": row.grows for n, row in case.growth_steps.items()}
    sizes = {f"growth_exponents.{n}.installed": row.grows for n, row in case.growth_exponents.items()}
    return {address: _at(line, row).units for address, row in units.items()} | {
        address: _at(line, row).size for address, row in sizes.items()
    }


def _at(line: Line, row: str) -> Growth:
    table, name = row.split(".")
    return line.growth[table][name]


def as_bought(case: Case) -> Case:
    """The case with the plant that it has now; it makes the output that was planned, as far as these tools allow.

    `design` is the case that the plant was bought for. A case whose tables state what is installed is as bought already.

    >>> from costmodel.case.load import load_case
    >>> plant = as_bought(load_case("inputs_demo/facade"))
    >>> plant.target.mode, plant.tools["deposition"].installed, plant.target.output
    ('as_bought', 3.0, 9000000.0)
    """
    if case.target.mode != "sized":
        return case
    return kept(case, "as bought", lambda: _bought(case))


def _bought(case: Case) -> Case:
    bought = with_values(case, {**installed_for(case), "target.mode": "as_bought"})
    return dataclasses.replace(bought, design=case)


def on_one_plant(before: Case, after: Case) -> tuple[Case, Case]:
    """Two cases, both as bought where one of them is, so that only what happens to the plant stands between them.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> [each.target.mode for each in on_one_plant(case, as_bought(case))]
    ['as_bought', 'as_bought']
    """
    if any(case.design is not None and case.target.mode == "as_bought" for case in (before, after)):
        return as_bought(before), as_bought(after)
    return before, after
