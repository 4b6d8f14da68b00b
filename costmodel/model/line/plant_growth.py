"""What grows with the plant besides its tools: in whole units, or as a power of a size. What has no row is fixed."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.cost_records import DRIVERS, GrowthExponent, GrowthStep
from ...case.whole_case import Case
from ...core.operations import Value, sum_of, whole_up
from .line_figures import Growth, Line, Output, ToolUse


def units_needed(size: Value, size_per_unit: Value) -> Value:
    """Whole units that serve a size.

        units = whole_up(size / size_per_unit)    [1]

    Takes: size [any], size_per_unit [any].
    Source: common practice.

    >>> units_needed(3.0, 2.0)
    2.0
    """
    return whole_up(size / size_per_unit)


def scaled(size: Value, reference_size: Value, exponent: Value) -> Value:
    """Multiple of what holds at the reference size.

        multiple = (size / reference_size) ** exponent    [1]

    Takes: size [any], reference_size [any], exponent [1].
    Source: Turton et al., Analysis, Synthesis and Design of Chemical Processes; with an exponent of 0.6 the six-tenths rule.

    >>> round(scaled(2.0, 1.0, 0.6), 4)
    1.5157
    """
    return (size / reference_size) ** exponent


def growth_of_plant(case: Case, tools: Mapping[str, ToolUse], output: Output) -> dict[str, dict[str, Growth]]:
    """How much the plant has of all that grows, by table and row. A frozen plant has what was bought."""
    found: dict[str, dict[str, Growth]] = {}
    frozen = case.target.mode != "sized"
    rows: list[GrowthStep | GrowthExponent] = [*case.growth_steps.values(), *case.growth_exponents.values()]
    for row in rows:
        table, name = row.grows.split(".")
        size, unit = driver_size(case, row.driver, tools, output), driver_unit(case, row.driver)
        of_row = _in_steps(row, size, unit, frozen) if isinstance(row, GrowthStep) else _by_exponent(row, size, unit, frozen)
        found.setdefault(table, {})[name] = of_row
    return found


def _in_steps(row: GrowthStep, size: Value, unit: str, frozen: bool) -> Growth:
    return Growth(unit=unit, size=size, units=row.installed if frozen else units_needed(size, row.size_per_unit))


def _by_exponent(row: GrowthExponent, size: Value, unit: str, frozen: bool) -> Growth:
    built_for = row.installed if frozen else size
    return Growth(unit=unit, size=built_for, units=scaled(built_for, row.reference_size, row.exponent))


def driver_unit(case: Case, driver: str) -> str:
    """The base unit of what something grows with."""
    return "tool" if driver in case.tools else DRIVERS.get(driver, "m2")


def counted_tools(case: Case) -> list[str]:
    """The tools that count in the driver all_tools: machines, but not racks, which need neither people nor utilities.

    Common practice. Support staff and utilities follow the machines that they keep running.

    >>> from costmodel.case.load import load_case
    >>> "soak_rack" in counted_tools(load_case("inputs_demo/facade"))
    False
    """
    return [name for name, row in case.tools.items() if row.in_all_tools == "yes"]


def driver_size(case: Case, driver: str, tools: Mapping[str, ToolUse], output: Output) -> Value:
    """Size of the plant by a driver: tools of a kind or all that count, output of a year, or floor under tools.

        of tools = tools[driver].tools if driver in case.tools else sum_of([tools[name].tools for name in counted_tools(case)])
            [tool]
        of output = {"stabilised_watts": output.stabilised_watts, "good_area": output.good_area, "good_modules":
            output.good_modules}.get(driver)    [any]
        of floor = sum_of([row.footprint * tools[name].tools for name, row in case.tools.items() if row.area == driver])    [m2]
        size = of_tools if driver in case.tools or driver == "all_tools" else of_output if driver in DRIVERS else of_floor
            [any]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> line = evaluate(demo_case()).line
    >>> driver_size(demo_case(), "good_modules", line.tools, line.output) == line.output.good_modules
    True
    """
    if driver in case.tools:
        return tools[driver].tools
    if driver == "all_tools":
        return sum_of([tools[name].tools for name in counted_tools(case)])
    if driver in DRIVERS:
        return getattr(output, driver)
    return sum_of([row.footprint * tools[name].tools for name, row in case.tools.items() if row.area == driver])


def grown(line: Line, table: str, name: str, amount: Value) -> Value:
    """Amount of a row at the size of the plant; the amount itself where the row does not grow.

        grown = amount * line.growth[table][name].units if name in line.growth.get(table, {}) else amount    [any]

    Takes: amount [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Plant
    >>> plant = Plant(growth={"crew": {"engineer": Plant(units=3.0)}})
    >>> grown(plant, "crew", "engineer", 2.0), grown(plant, "crew", "management", 6.0)
    (6.0, 6.0)
    """
    found = line.growth.get(table, {}).get(name)
    return amount if found is None else amount * found.units
