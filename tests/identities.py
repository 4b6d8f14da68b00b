"""General laws of every right case, as plain functions: each yields a message for each figure that breaks it.

A law says which totals agree, what must close, and what a change may and may not touch. The tests run them on the demo
and on cases made for them; seeded_faults.py shows that they find slips in the model.
"""
from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from itertools import pairwise
from math import ceil, prod

import numpy as np

from costmodel.case.changes import with_values
from costmodel.case.range_records import AFTER, BEFORE, Range
from costmodel.case.whole_case import Case
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import Results, evaluate, figures
from costmodel.studies.many import PlantRecording

from .batch_laws import BATCH_LAWS
from .film_laws import FILM_LAWS
from .growth_laws import GROWTH_LAWS
from .market_laws import MARKET_LAWS_OF_CHANGES, MARKET_LAWS_OF_ONE_CASE
from .power_class_laws import POWER_LAWS_OF_CHANGES, POWER_LAWS_OF_ONE_CASE
from .scaling_laws import SCALING_LAWS, broken, downtime_factor, share_of, steps_of, with_target
from .terms_laws import TERMS_LAWS_OF_CHANGES, TERMS_LAWS_OF_ONE_CASE, without_terms

Broken = Iterator[str]


def frozen(case: Case) -> Case:
    """The case with the plant sized for its target, and the output left to follow from it."""
    line = evaluate(case).line
    installed = {f"tools.{name}.installed": use.tools for name, use in line.tools.items()}
    installed |= {f"carriers.{name}.installed": use.tools for name, use in line.carriers.items()}
    for table, figure in (("growth_steps", "units"), ("growth_exponents", "size")):
        for name, row in getattr(case, table).items():
            kind, identity = row.grows.split(".")
            installed[f"{table}.{name}.installed"] = getattr(line.growth[kind][identity], figure)
    return with_values(case, installed | {"target.mode": "frozen"})


def totals_agree_by_every_road(case: Case, results: Results) -> Broken:
    """The total by line, step, category and group."""
    ledger = results.ledger
    total = sum(line.cost for line in ledger.lines.values())
    yield from broken("total", ledger.total.cost, total)
    for name in ("by_step", "by_category", "by_group"):
        yield from broken(name, sum(cost.cost for cost in getattr(ledger, name).values()), total)


def rows_and_columns_of_the_table_agree(case: Case, results: Results) -> Broken:
    """Step by category: rows are the steps, columns the categories."""
    ledger = results.ledger
    table = ledger.by_step_and_category
    for step, cost in ledger.by_step.items():
        yield from broken(f"row {step}", sum(table[step].values()), cost.cost)
    for category, cost in ledger.by_category.items():
        yield from broken(f"column {category}", sum(row[category] for row in table.values()), cost.cost)


def matrices_take_yield_loss_out_of_each_category(case: Case, results: Results) -> Broken:
    """On each basis the matrix adds up to the cost of each step; the yield loss in it is all that is lost."""
    ledger, output = results.ledger, results.line.output
    for matrix, basis in ((ledger.matrix_per_m2, output.good_area),
                          (ledger.matrix_per_stabilised_watt, output.stabilised_watts)):
        for step, row in matrix.items():
            yield from broken(f"row {step}", sum(row.values()) * basis, ledger.by_step[step].cost)
        yield from broken("yield loss", sum(row["yield_loss"] for row in matrix.values()) * basis, ledger.yield_loss)
        for category, cost in ledger.by_category.items():
            lost = sum(line.lost for line in ledger.lines.values() if line.category == category)
            column = sum(row[category] for row in matrix.values())
            yield from broken(f"column {category}", column * basis, cost.cost - lost)


def yield_loss_agrees_by_line_and_by_step(case: Case, results: Results) -> Broken:
    """Money in lost plates, counted at the lines and at the steps."""
    ledger = results.ledger
    by_line = sum(line.lost for line in ledger.lines.values())
    yield from broken("yield loss", ledger.yield_loss, by_line)
    yield from broken("yield loss by step", sum(value.lost for value in ledger.route.values()), by_line)
    for name, line in ledger.lines.items():
        of_good_modules = line.driver == "module" or name.endswith(".modules")
        wanted = "all" if name.startswith("scrap.") else "none" if line.step == "plant" or of_good_modules else "share"
        if line.loss != wanted:
            yield f"{name}, counted by {line.driver} in {line.step}, bears loss: {line.loss}"
        shares = {"all": 1.0, "none": 0.0, "share": 1 - results.line.steps[line.step].good_end_share if wanted == "share" else 0.0}
        share = shares[wanted]
        yield from broken(f"loss in {name}", line.lost, line.cost * share)


def a_module_costs_its_plate_the_lost_plates_and_what_bears_no_loss(case: Case, results: Results) -> Broken:
    """Cost of a good module: a plate through all steps, plates lost on the way, and costs of no step or of good modules."""
    ledger, modules = results.ledger, results.line.output.good_modules
    module = ledger.module
    yield from broken("module", module.through_all_steps + module.lost_plates + module.no_step, ledger.total.cost_per_module)
    yield from broken("lost plates", module.lost_plates * modules, sum(line.lost for line in ledger.lines.values()))
    plate = sum(line.cost / results.line.steps[line.step].starts for line in ledger.lines.values() if line.loss == "share")
    yield from broken("plate through all steps", module.through_all_steps * case.constants.modules_per_plate, plate)


def checks_of_the_ledger_are_zero(case: Case, results: Results) -> Broken:
    """The differences that the ledger states itself are zero against what they are differences of."""
    ledger, checks = results.ledger, results.ledger.checks
    bought = sum(coating.bought for coating in ledger.coatings.values())
    fed = sum(film.silicon_fed for film in ledger.films.values())
    for name, scale in (("by_step_less_total", ledger.total.cost), ("by_category_less_total", ledger.total.cost),
                        ("loss_by_step_less_by_line", ledger.total.cost), ("silicon_unaccounted", fed),
                        ("coating_unaccounted", bought), ("plates_unaccounted", results.line.output.plates_started),
                        ("module_cost_unaccounted", ledger.total.cost_per_module)):
        if not abs(getattr(checks, name)) <= 1e-12 * scale:
            yield f"{name}: {getattr(checks, name)!r} is not zero"


def silicon_closes(case: Case, results: Results) -> Broken:
    """Silicon fed is in the film or lost, is what its silane carries, and is never less than what is in the film."""
    carried = case.constants.molar_mass_silicon / case.constants.molar_mass_silane
    for name, film in results.ledger.films.items():
        yield from broken(f"silicon of {name}", film.silicon_in_film + film.silicon_lost, film.silicon_fed)
        yield from broken(f"silane of {name}", film.silane_fed * carried, film.silicon_fed)
        growing = film.silicon_fed - film.silicon_settling
        step = case.layers[name].step
        places = results.line.steps[step].loads * case.tools[case.steps[step].tool].load_size  # a load is fed whether full or not
        full = results.line.steps[step].passes / places
        yield from broken(f"use of {name}", film.silicon_in_film, growing * case.layers[name].utilisation * full)
        growth = results.line.layers[name].growth_time
        yield from broken(f"settling of {name}", film.silicon_settling * growth, growing * case.layers[name].settling_time)
        if not 0 <= film.silicon_in_film <= film.silicon_fed:
            yield f"film {name} holds {film.silicon_in_film} of {film.silicon_fed} kg fed"


def target_material_closes(case: Case, results: Results) -> Broken:
    """Target material bought is on plates, recovered or lost, and no more than the rest is recovered."""
    for name, coating in results.ledger.coatings.items():
        yield from broken(f"target of {name}", coating.on_plates + coating.recovered + coating.lost, coating.bought)
        if not 0 <= coating.recovered <= coating.bought - coating.on_plates:
            yield f"coating {name} recovers {coating.recovered} kg"


def plates_pass_from_step_to_step(case: Case, results: Results) -> Broken:
    """A plate that enters a step leaves it or is lost; what leaves one step enters the next, or is a module."""
    flows = list(results.line.steps.items())
    entering = [flow.starts for _, flow in flows[1:]] + [results.line.output.good_plates]
    for (name, flow), following in zip(flows, entering):
        yield from broken(f"plates at {name}", flow.good + flow.lost, flow.starts)
        yield from broken(f"plates after {name}", flow.good, following)
        if not 0 <= flow.lost <= flow.starts:
            yield f"{name} loses {flow.lost} of {flow.starts} plates"
    output = results.line.output
    lost = sum(flow.lost for _, flow in flows)
    yield from broken("plates started", output.good_plates + lost, output.plates_started)
    yield from broken("line yield", output.line_yield, prod(flow.good / flow.starts for _, flow in flows))
    yield from broken("takt", output.takt * output.plates_started, case.site.scheduled_time)


def tools_are_busy_for_their_steps_and_for_nothing_else(case: Case, results: Results) -> Broken:
    """Busy time of a tool is that of its steps, and that of a step is its loads times its cycle."""
    for name, use in results.line.tools.items():
        steps = sum(results.line.steps[step].busy_time for step, row in case.steps.items() if row.tool == name)
        yield from broken(f"busy time of {name}", use.busy_time, steps)
    for name, flow in results.line.steps.items():
        yield from broken(f"busy time of {name}", flow.busy_time, flow.loads * flow.cycle.time)


def loads_are_full_or_stay_together(case: Case, results: Results) -> Broken:
    """Loads hold as many plates as the tool takes; on a carrier they go on as they are, less those lost whole."""
    flows = results.line.steps
    before = {step: last for carrier in case.carriers for last, step in pairwise(steps_of(case, carrier))}
    for name, row in case.steps.items():
        wanted = flows[name].passes / case.tools[row.tool].load_size
        if name in before:
            wanted = flows[before[name]].loads * (1 - case.steps[before[name]].load_loss)
        yield from broken(f"loads of {name}", flows[name].loads, wanted)


def carriers_are_busy_for_their_round(case: Case, results: Results) -> Broken:
    """A carrier is bound while its load is in a tool, longer where that fails, and while it waits, once for each load."""
    line = results.line
    for name, row in case.carriers.items():
        wanted = line.steps[row.first_step].loads * row.waiting_time
        for step in steps_of(case, name):
            wanted += line.steps[step].loads * line.steps[step].cycle.load_time * downtime_factor(case, step)
        yield from broken(f"busy time of {name}", line.carriers[name].busy_time, wanted)
        available = case.site.scheduled_time * (1 - row.out_of_service)
        yield from broken(f"available time of {name}", line.carriers[name].available_time, available)


def equipment_is_loaded_by_its_work(case: Case, results: Results) -> Broken:
    """Loading, capacity and need of each kind of tool and carrier; none works more than the time it has."""
    for name, use in {**results.line.tools, **results.line.carriers}.items():
        yield from broken(f"loading of {name}", use.loading * use.tools * use.available_time, use.busy_time)
        yield from broken(f"need of {name}", use.tools_needed * use.available_time, use.busy_time)
        yield from broken(f"capacity of {name}", use.capacity * use.loading, results.line.output.good_modules)
        yield from broken(f"capacity of one {name}", use.capacity_of_one * use.tools, use.capacity)
        if use.loading > 1 + 1e-9:
            yield f"{name} is loaded to {use.loading}"


def equipment_is_the_least_whole_number_that_suffices(case: Case, results: Results) -> Broken:
    """A sized plant has whole tools and carriers and none too many."""
    for name, use in {**results.line.tools, **results.line.carriers}.items():
        if case.target.mode == "sized" and (use.tools % 1 or not -1e-9 <= use.tools - use.tools_needed < 1):
            yield f"{name}: {use.tools} for {use.tools_needed} needed"


def states_of_a_tool_are_the_whole_year(case: Case, results: Results) -> Broken:
    """The six states of SEMI E10: their sum, the work in it, and the scheduled time; none is less than nothing."""
    for name, states in results.line.states.items():
        use = results.line.tools[name]
        in_operations = (states.scheduled_down + states.unscheduled_down + states.engineering + states.standby
                         + states.productive)
        yield from broken(f"year of {name}", states.non_scheduled + in_operations, use.tools * case.constants.year)
        yield from broken(f"scheduled time of {name}", in_operations, use.tools * case.site.scheduled_time)
        apart = {state: sum(row.time * results.line.phases[phase].occurrences for phase, row in case.phases.items()
                            if case.steps[row.step].tool == name and row.state == state)
                 for state in ("scheduled_downtime", "engineering")}
        busy = states.productive + sum(apart.values())
        yield from broken(f"work of {name}", busy, use.busy_time)
        yield from broken(f"time for work of {name}", busy + states.standby, use.tools * use.available_time)
        for state in ("planned_downtime", "scheduled_down"), ("unplanned_downtime", "unscheduled_down"), (
                "engineering_time", "engineering"):
            share = getattr(case.tools[name], state[0])
            of_phases = apart.get("engineering" if state[1] == "engineering" else f"{state[1]}time", 0.0)
            yield from broken(f"{state[1]} of {name}", getattr(states, state[1]),
                              use.tools * case.site.scheduled_time * share + of_phases)
        least = min(states.non_scheduled, states.scheduled_down, states.unscheduled_down, states.engineering,
                    states.standby + 1e-9 * states.productive, states.productive)
        if least < 0:
            yield f"a state of {name} takes {least}"


def factors_of_effectiveness_multiply_to_the_whole(case: Case, results: Results) -> Broken:
    """SEMI E79: the four factors, and the whole as the ideal time of what became good, over year and scheduled time."""
    for name, found in results.line.effectiveness.items():
        use = results.line.tools[name]
        down = case.tools[name].planned_downtime + case.tools[name].unplanned_downtime
        stopped = sum(row.time / row.loads_between * results.line.steps[row.step].loads for row in case.phases.values()
                      if case.steps[row.step].tool == name and row.state == "scheduled_downtime")
        yield from broken(f"uptime of {name}", found.availability * case.constants.year,
                          case.site.scheduled_time * (1 - down) - stopped / use.tools)
        yield from broken(f"effectiveness of {name}", found.overall,
                          found.availability * found.operational * found.rate * found.quality)
        good = 0.0
        for step, row in case.steps.items():
            if row.tool == name:
                flow = results.line.steps[step]
                good_of_processed = flow.starts * share_of(case, step) - flow.lost
                good += good_of_processed / case.tools[name].load_size * flow.cycle.load_time * row.rate_efficiency
        yield from broken(f"overall of {name}", found.overall * use.tools * case.constants.year, good)
        yield from broken(f"overall of {name} when scheduled",
                          found.overall_when_scheduled * use.tools * case.site.scheduled_time, good)
        for factor in ("availability", "operational", "rate", "quality", "overall", "overall_when_scheduled"):
            if not 0 <= getattr(found, factor) <= 1 + 1e-9:
                yield f"{factor} of {name} is {getattr(found, factor)}"


def good_plates_are_throughput_times_productive_time(case: Case, results: Results) -> Broken:
    """SEMI E35: throughput, composite yield, utilisation and the year of the tools give the good plates (from memory)."""
    for name, found in results.ledger.ownership.items():
        year = results.line.tools[name].tools * case.constants.year
        yield from broken(f"good plates of {name}", found.throughput * found.composite_yield * found.utilisation * year,
                          found.good_plates)
        yield from broken(f"utilisation of {name}", found.utilisation * year, results.line.states[name].productive)


def each_minute_of_a_cycle_stands_in_one_part(case: Case, results: Results) -> Broken:
    """A cycle is the sum of its parts; phases and films are in the cycle of their step and of no other."""
    for name, flow in results.line.steps.items():
        parts = flow.cycle
        yield from broken(f"cycle of {name}", parts.time,
                          parts.process_time + parts.phase_time + parts.growth_time + parts.purge_time + parts.settling_time
                          + parts.coating_time + parts.soaking_time)
        outside = sum(row.time / row.loads_between for row in case.phases.values() if row.step == name and row.load_inside == "no")
        yield from broken(f"load in {name}", parts.load_time, parts.time - outside)
        yield from broken(f"own time of {name}", parts.process_time, case.steps[name].process_time)
        phases = sum(row.time / row.loads_between for row in case.phases.values() if row.step == name)
        yield from broken(f"phases of {name}", parts.phase_time, phases)
        films = [film for film, row in case.layers.items() if row.step == name]
        yield from broken(f"films of {name}", parts.growth_time + parts.purge_time + parts.settling_time,
                          sum(results.line.layers[film].time for film in films))
        yield from broken(f"growth in {name}", parts.growth_time, sum(results.line.layers[film].growth_time for film in films))


def phases_are_done_once_in_so_many_loads(case: Case, results: Results) -> Broken:
    """Times a phase is done, times the loads for which it is done once, are the loads of its step."""
    for name, row in case.phases.items():
        found, flow = results.line.phases[name], results.line.steps[row.step]
        yield from broken(f"loads of {name}", found.occurrences * row.loads_between, flow.loads)
        yield from broken(f"time of {name}", found.time_per_load * flow.loads, found.occurrences * row.time)
    for name, row in case.phase_materials.items():
        used = results.ledger.lines[f"phase_materials.{name}"].quantity
        yield from broken(f"use of {name}", used, results.line.phases[row.phase].occurrences * row.amount * (1 + row.loss))


def tools_in_the_plant_are_paid_once(case: Case, results: Results) -> Broken:
    """The tools of the equipment lines are those in the plant, and an hour of one costs each of its steps the same."""
    for name, use in results.line.tools.items():
        steps = [step for step, row in case.steps.items() if row.tool == name]
        for category in ("depreciation", "maintenance", "building"):
            yield from _paid_once(results, f"{category} of {name}", {step: f"{category}.{step}" for step in steps}, use.tools)
    for name, use in results.line.carriers.items():
        for category in ("depreciation", "maintenance"):
            lines = {step: f"carriers.{name}.{category}.{step}" for step in steps_of(case, name)}
            yield from _paid_once(results, f"{category} of {name}", lines, use.tools)


def _paid_once(results: Results, what: str, lines: dict[str, str], tools: float) -> Broken:
    """The lines of the steps hold all tools, shared by the time that the steps work."""
    together = sum(results.line.steps[step].busy_time for step in lines)
    for step, line in lines.items():
        share = results.line.steps[step].busy_time / together
        yield from broken(f"{what} at {step}", results.ledger.lines[line].quantity, tools * share)
    yield from broken(what, sum(results.ledger.lines[line].quantity for line in lines.values()), tools)


def floor_is_paid_for_every_tool(case: Case, results: Results) -> Broken:
    """The building is the floor of all tools at the charge of its kind, and nothing else."""
    floor = 0.0
    for name, use in results.line.tools.items():
        area = case.areas[case.tools[name].area]
        rate = case.money[area.currency.lower()].exchange_rate
        floor += use.tools * case.tools[name].footprint * area.charge * case.constants.year * rate
    for where, name in ((results.ledger.by_category, "building"), (results.ledger.by_group, "building")):
        yield from broken(name, where[name].cost, floor)


def people_at_tools_are_whole_in_each_crew(case: Case, results: Results) -> Broken:
    """A role has the least whole number of people of each crew that its tools want, besides its heads."""
    for role, row in case.crew.items():
        crews = case.site.crews
        employed = sum(x.quantity for x in results.ledger.lines.values() if x.category == "labour" and x.item == role)
        wanted = sum(tool.operators * results.line.tools[name].tools for name, tool in case.tools.items()
                     if tool.role == role)
        units = results.line.growth.get("crew", {}).get(role)
        grown = row.heads * (units.units if units else 1)
        in_steps = any(step.grows == f"crew.{role}" for step in case.growth_steps.values())
        heads = (ceil(round(grown, 9)) if in_steps else grown) * (crews if row.per == "crew" else 1)
        yield from broken(f"{role} in a crew", (employed - heads) / crews, ceil(round(wanted, 9)))


def costs_agree_on_every_basis(case: Case, results: Results) -> Broken:
    """A cost per unit times the units is the cost."""
    ledger, output = results.ledger, results.line.output
    units = {"cost_per_plate_started": output.plates_started, "cost_per_module": output.good_modules,
             "cost_per_m2": output.good_area, "cost_per_initial_watt": output.initial_watts,
             "cost_per_stabilised_watt": output.stabilised_watts}
    for where in ({"total": ledger.total}, ledger.by_step, ledger.by_category, ledger.by_group):
        for name, cost in where.items():
            for basis, amount in units.items():
                yield from broken(f"{basis} of {name}", getattr(cost, basis) * amount, cost.cost)
    yield from broken("yield loss per watt", ledger.yield_loss_per_stabilised_watt * output.stabilised_watts,
                      ledger.yield_loss)


def lines_are_quantity_times_price(case: Case, results: Results) -> Broken:
    """Every ledger line; and no more of it is lost than it costs."""
    for name, line in results.ledger.lines.items():
        yield from broken(f"line {name}", line.quantity * line.price, line.cost)
        if abs(line.lost) > abs(line.cost) * (1 + 1e-9):
            yield f"line {name} loses {line.lost} of {line.cost}"


def output_volumes_agree(case: Case, results: Results) -> Broken:
    """Plates, modules, area and watts of the output, and the module's powers."""
    output = results.line.output
    modules = output.good_modules
    yield from broken("modules", modules, output.good_plates * case.constants.modules_per_plate)
    yield from broken("area", output.good_area, output.good_plates * output.plate_area)
    yield from broken("initial watts", output.initial_watts, modules * output.initial_power)
    stabilised = output.initial_watts * case.product.stabilisation_ratio
    yield from broken("stabilised watts", output.stabilised_watts, stabilised)
    equipment = [*results.line.tools.values(), *results.line.carriers.values()]
    yield from broken("capacity", output.capacity, min(use.capacity for use in equipment))
    yield from broken("hours of a crew", output.hours_per_crew * case.site.crews, case.site.scheduled_time)


def sized_output_meets_the_target_on_every_basis(case: Case, results: Results) -> Broken:
    """A sized plant makes what is wanted, whatever it is counted in."""
    for basis, made in (("Wp_stabilised", "stabilised_watts"), ("m2", "good_area"), ("module", "good_modules")):
        output = evaluate(with_target(case, basis, 123_456.0)).line.output
        yield from broken(f"target in {basis}", getattr(output, made), 123_456.0)


def frozen_plant_runs_at_its_tightest_tool_or_carrier(case: Case, results: Results) -> Broken:
    """The plant sized for the target, then frozen, makes its capacity with its tightest equipment full, at the same cost."""
    case = without_terms(case)  # so that no charge follows the work done
    sized = evaluate(with_values(case, {"target.mode": "sized"}))
    free = evaluate(frozen(with_values(case, {"target.mode": "sized"})))
    yield from broken("frozen output", free.line.output.good_modules, sized.line.output.capacity)
    equipment = [*free.line.tools.values(), *free.line.carriers.values()]
    yield from broken("loading of the tightest", max(use.loading for use in equipment), 1.0)
    for category in ("depreciation", "maintenance", "building"):
        yield from broken(category, free.ledger.by_category[category].cost, sized.ledger.by_category[category].cost)


def plant_as_bought_makes_what_was_planned_as_far_as_it_can(case: Case, results: Results) -> Broken:
    """The plant as bought is its design to every figure; with less time or sales it makes no more than planned, nor than it can."""
    design = with_values(case, {"target.mode": "sized"})
    plant, wanted = as_bought(design), evaluate(design)
    known = {name: value for name, value, *_ in figures(wanted, case.currency)}
    for name, value, *_ in figures(evaluate(plant), case.currency):
        yield from broken(name, value, known[name])
    planned, able = wanted.line.output.good_modules, wanted.line.output.capacity
    for hours, sales in ((0.97, 1.0), (0.6, 1.0), (1.0, 0.2)):
        fewer = {"site.scheduled_time": case.site.scheduled_time * hours, "target.output": case.target.output * sales}
        found = evaluate(with_values(plant, fewer)).line
        what = f"output at {hours} of the hours and {sales} of the target"
        yield from broken(what, found.output.good_modules, min(planned * sales, able * hours))
        for name, use in wanted.line.tools.items():
            yield from broken(f"tools of {name}", found.tools[name].tools, use.tools)
        for table, rows in wanted.line.growth.items():
            for name, row in rows.items():
                yield from broken(f"units of {table}.{name}", found.growth[table][name].units, row.units)


def tools_follow_what_is_known_before_purchase(case: Case, results: Results) -> Broken:
    """Hours known before purchase: each draw is the plant sized for them; hours that come after it: the plant of the case."""
    design = with_values(case, {"target.mode": "sized"})
    address, hours = "site.scheduled_time", design.site.scheduled_time * np.array([0.5, 0.8, 1.0])
    wanted = ["line.output.good_modules", "ledger.total.cost"]
    for known in (BEFORE, AFTER):
        row = Range(address, "uniform", float(hours[0]), float(hours[1]), float(hours[2]), "s", "hours", known)
        plant = as_bought(dataclasses.replace(design, ranges={"hours": row}, correlations={}, outcomes={}, samples={}))
        found = PlantRecording(plant, [address], wanted).run({address: hours})
        for number, each in enumerate(hours.tolist()):
            one = with_values(design if known == BEFORE else as_bought(design), {address: each})
            for name, value, *_ in figures(evaluate(one), case.currency):
                if name in wanted:
                    yield from broken(f"{name}, hours {known}", float(np.broadcast_to(found[name], 3)[number]), value)


LAWS_OF_ONE_CASE = (
    totals_agree_by_every_road, rows_and_columns_of_the_table_agree, matrices_take_yield_loss_out_of_each_category,
    checks_of_the_ledger_are_zero, yield_loss_agrees_by_line_and_by_step,
    a_module_costs_its_plate_the_lost_plates_and_what_bears_no_loss, silicon_closes, target_material_closes,
    plates_pass_from_step_to_step, tools_are_busy_for_their_steps_and_for_nothing_else, loads_are_full_or_stay_together,
    carriers_are_busy_for_their_round,
    equipment_is_loaded_by_its_work, equipment_is_the_least_whole_number_that_suffices, states_of_a_tool_are_the_whole_year,
    factors_of_effectiveness_multiply_to_the_whole, good_plates_are_throughput_times_productive_time,
    each_minute_of_a_cycle_stands_in_one_part,
    phases_are_done_once_in_so_many_loads, tools_in_the_plant_are_paid_once, floor_is_paid_for_every_tool,
    people_at_tools_are_whole_in_each_crew, costs_agree_on_every_basis, lines_are_quantity_times_price,
    output_volumes_agree, sized_output_meets_the_target_on_every_basis, frozen_plant_runs_at_its_tightest_tool_or_carrier,
    plant_as_bought_makes_what_was_planned_as_far_as_it_can, tools_follow_what_is_known_before_purchase,
    *TERMS_LAWS_OF_ONE_CASE, *MARKET_LAWS_OF_ONE_CASE, *GROWTH_LAWS, *POWER_LAWS_OF_ONE_CASE,
)
LAWS_WITHOUT_TERMS = (*SCALING_LAWS, *BATCH_LAWS, *FILM_LAWS)
LAWS_OF_CHANGES = (*LAWS_WITHOUT_TERMS, *TERMS_LAWS_OF_CHANGES, *MARKET_LAWS_OF_CHANGES, *POWER_LAWS_OF_CHANGES)


def messages(law: Callable, case: Case) -> list[str]:
    """What breaks a law in a case.

    A law of one case is put to the frozen plant as well; one of proportions, to the case without terms of purchase and the like.
    """
    if law in LAWS_OF_ONE_CASE:
        return [message for each in (case, frozen(case)) for message in law(each, evaluate(each))]
    return list(law(without_terms(case) if law in LAWS_WITHOUT_TERMS else case))


def violated(case: Case) -> Iterator[str]:
    """The names of the laws that a case breaks, each with what breaks it first; a law that cannot be put is broken."""
    for law in (*LAWS_OF_ONE_CASE, *LAWS_OF_CHANGES):
        try:
            problems = messages(law, case)
        except (ArithmeticError, InputFaults) as problem:
            problems = [f"{type(problem).__name__}: {problem}"]
        yield from (f"{law.__name__}: {problem}" for problem in problems[:1])
