"""Figures of a sound case that are seldom meant, as energy below a heat balance, or racks that count as tools."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.whole_case import Case
from ...core.units import to_base
from ...model.evaluate import Costs, Results
from ...model.line.plant_growth import counted_tools
from ..negotiation.laboratory_odds import odd_laboratory
from ..negotiation.transfer_oddities import odd_transfer

HOURS_OF_A_PERSON = 2000.0  # a year, holidays and illness off; common practice
MOST_LOADED = 0.95  # of the available time; common practice is a reserve of 5 to 15 % for queues and what varies
MOST_GIVEN_AWAY, MOST_UNSOLD = 0.05, 0.1  # of power made, of modules made; common practice: half a class, and a few modules
MOST_MISSED = 0.5  # probability that a guarantee is missed; common practice: nobody signs what is missed more often than not
MOST_OF_A_DRIVER = 0.5  # one kind of tool in all_tools; common practice: above it, what grows follows that tool alone


def odd_figures(case: Case, results: Results) -> Iterator[str]:
    """What looks odd in the figures of a case: too small a sample, a driver that is one tool, long hours, tools without reserve.

    So is a tool that draws less than the heat its load takes up.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> list(odd_figures(case, evaluate(case)))
    ['carriers.batch_carrier is loaded to 95.8 %; a planning reserve of 5 to 15 % is usual']
    """
    yield from soaked_too_few(case, results)
    yield from one_tool_drives(case, results)
    yield from long_hours(results)
    yield from without_reserve(case, results)
    yield from outside_the_classes(case, results)
    yield from odd_transfer(case, results)
    yield from odd_laboratory(case, results)
    yield from missed_as_stated(results)
    for name, found in results.line.heatings.items():
        if found.drawn_energy < found.least_energy:
            drawn, least = found.drawn_energy / to_base("kWh"), found.least_energy / to_base("kWh")
            tool = case.steps[case.heatings[name].step].tool
            yield f"heatings.{name}: a load takes up {least:.3g} kWh at least, and {tool} draws {drawn:.3g} kWh for it"


def missed_as_stated(results: Results) -> Iterator[str]:
    """Guarantees that the stated inputs miss more often than not: a level above what the case has, or one in another unit.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> high = with_values(case, {"guarantees.power.power": 1.1 * case.guarantees["power"].power})
    >>> [list(missed_as_stated(evaluate(each))) for each in (case, high)][0]
    []
    >>> list(missed_as_stated(evaluate(high)))
    ['guarantees.power is missed with a probability of 97.4 % at the stated inputs: is its level above what the case has?']
    """
    found = results.deal if results.has_deal else None
    for table in ("guarantees", "performance_guarantees") if found is not None else ():
        for name, row in getattr(found, table).items():
            if row.miss_probability > MOST_MISSED:
                often = f"missed with a probability of {100 * row.miss_probability:.3g} % at the stated inputs"
                yield f"{table}.{name} is {often}: is its level above what the case has?"


def long_hours(results: Costs | Results) -> Iterator[str]:
    """Shift crews whose people work more than about 2,000 h a year; common practice.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate_costs
    >>> case = with_values(load_case("inputs_demo/facade"), {"site.crews": 3.0})
    >>> list(long_hours(evaluate_costs(case)))
    ['site.crews gives 2600 h per person and year, more than the usual 2000 h']
    """
    hours = results.line.output.hours_per_crew / to_base("h")
    if hours > HOURS_OF_A_PERSON:
        yield f"site.crews gives {hours:.4g} h per person and year, more than the usual {HOURS_OF_A_PERSON:.0f} h"


def without_reserve(case: Case, results: Costs | Results) -> Iterator[str]:
    """Tools and carriers loaded to more than 95 %: no reserve for queues. Of a frozen plant the fullest is full anyway."""
    for table in ("tools", "carriers") if case.target.mode == "sized" else ():
        for name, use in getattr(results.line, table).items():
            if use.peak_loading > MOST_LOADED:
                yield f"{table}.{name} is loaded to {100 * use.peak_loading:.3g} %; a planning reserve of 5 to 15 % is usual"


def outside_the_classes(case: Case, results: Costs | Results) -> Iterator[str]:
    """Classes of power that are not those of the modules made: much power is given away, or many modules are not sold.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate_costs
    >>> case = load_case("inputs_demo/facade")
    >>> better = with_values(case, {"product.initial_efficiency": 1.2 * case.product.initial_efficiency})
    >>> list(outside_the_classes(better, evaluate_costs(better)))
    ['power_classes.csv gives 6.33 W of 50.3 W a module away: do the classes fit the modules?']
    """
    if not case.power_classes:
        return
    power, made = results.line.power, float(results.line.output.stabilised_power)
    if power.give_away > MOST_GIVEN_AWAY * made:
        yield f"power_classes.csv gives {power.give_away:.3g} W of {made:.3g} W a module away: do the classes fit the modules?"
    if power.unsold_share > MOST_UNSOLD:
        unsold = f"{100 * power.unsold_share:.3g} % of the modules unsold, as they are below the first class"
        yield f"power_classes.csv leaves {unsold}: do the classes fit the modules?"


def one_tool_drives(case: Case, results: Costs | Results) -> Iterator[str]:
    """Kinds of tool that are more than half of all_tools, while something grows with that: racks, as a rule."""
    growing = [row.grows for row in case.growth_steps.values() if row.driver == "all_tools"]
    growing += [row.grows for row in case.growth_exponents.values() if row.driver == "all_tools"]
    counted = {name: results.line.tools[name].tools for name in counted_tools(case)}
    whole = sum(counted.values())
    for name, tools in counted.items() if growing else ():
        if len(counted) > 2 and tools > MOST_OF_A_DRIVER * whole:  # of two kinds, one is the larger half anyway
            yield (
                f"tools.{name} is {tools:.4g} of the {whole:.4g} tools of all_tools, with which {', '.join(growing)} grow; "
                f"in_all_tools 'no' leaves racks out"
            )


def soaked_too_few(case: Case, results: Costs | Results) -> Iterator[str]:
    """Plans that soak fewer modules of a lot than the wanted precision takes even without the common part of the measurement.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate_costs
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
