"""Laws about changes to what batch tools have: phases, carriers, loads lost whole; and to the floor that tools stand on."""
from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence
from math import exp

import numpy as np

from costmodel.case.changes import with_values
from costmodel.case.line_records import SoakingLight
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import evaluate

from .evaluator import FUNCTIONS
from .scaling_laws import Broken, broken, downtime_factor, lines_change, scaled, share_of, steps_of, times


def a_phase_half_as_often_takes_half_the_time_and_material(case: Case) -> Broken:
    """Twice the loads for which a phase is done once: half its time for each load, half of what it uses up."""
    before = evaluate(case).line
    for phase, row in case.phases.items():
        changed = times(case, {f"phases.{phase}.loads_between": 2.0})
        after = evaluate(changed).line
        yield from broken(f"time of {phase}", after.phases[phase].time_per_load, before.phases[phase].time_per_load / 2)
        saved = before.steps[row.step].cycle.time - after.steps[row.step].cycle.time
        yield from broken(f"time saved in {row.step}", saved, row.time / row.loads_between / 2)
        for other in case.phases:
            factor = 0.5 if other == phase else 1.0
            yield from broken(f"times of {other}", after.phases[other].occurrences, before.phases[other].occurrences * factor)
        lines = evaluate(changed).ledger.lines
        for name, line in evaluate(case).ledger.lines.items():
            if line.category == "materials" and line.driver != "tool_hour":
                factor = 0.5 if line.driver == f"phase {phase}" else 1.0
                yield from broken(f"line {name} with {phase} half as often", lines[name].cost, line.cost * factor)


def the_state_of_a_phase_moves_hours_between_states_and_nothing_else(case: Case) -> Broken:
    """Time between loads booked in another state: the same output, tools, money, standby and overall effectiveness."""
    before = evaluate(case)
    for phase, row in case.phases.items():
        tool = case.steps[row.step].tool
        for state in ("productive", "scheduled_downtime", "engineering") if row.load_inside == "no" else ():
            after = evaluate(with_values(case, {f"phases.{phase}.state": state}))
            yield from broken(f"cost with {phase} {state}", after.ledger.total.cost, before.ledger.total.cost)
            yield from broken(f"output with {phase} {state}", after.line.output.capacity, before.line.output.capacity)
            yield from broken(f"tools with {phase} {state}", after.line.tools[tool].tools_needed,
                              before.line.tools[tool].tools_needed)
            yield from broken(f"standby with {phase} {state}", after.line.states[tool].standby, before.line.states[tool].standby)
            yield from broken(f"overall with {phase} {state}", after.line.effectiveness[tool].overall,
                              before.line.effectiveness[tool].overall)


def least_energy_follows_mass_and_temperature(case: Case) -> Broken:
    """Twice the glass, or twice its rise: twice its heat. Twice the carrier, or its rise: twice that one's. No money moves."""
    before = evaluate(case).line.heatings
    for name in case.heatings:
        for column in ("glass_thickness", "glass_density", "glass_heat_capacity", "glass_rise"):
            yield from _heats(case, name, column, before[name].glass_heat * 2 + before[name].carrier_heat)
        for column in ("carrier_mass", "carrier_heat_capacity", "carrier_rise"):
            yield from _heats(case, name, column, before[name].glass_heat + before[name].carrier_heat * 2)
        per_load = before[name].least_energy_per_plate * case.tools[case.steps[case.heatings[name].step].tool].load_size
        yield from broken(f"energy per load of {name}", per_load, before[name].least_energy)


def _heats(case: Case, name: str, column: str, least: float) -> Broken:
    changed = times(case, {f"heatings.{name}.{column}": 2.0})
    yield from broken(f"{column} of {name}", evaluate(changed).line.heatings[name].least_energy, least)
    yield from lines_change(f"{column} of {name}", case, changed, lambda *_: 1.0)


def the_energy_drawn_for_a_load_follows_its_time_and_draw(case: Case) -> Broken:
    """The whole draw at work over the whole time of a load, cleaning between loads included."""
    line = evaluate(case).line
    for name, row in case.heatings.items():
        tool, busy = case.steps[row.step].tool, line.steps[row.step].busy_time
        draws = [each.when_processing for each in case.tool_utilities.values() if (each.tool, each.utility) == (tool, row.utility)]
        drawn = line.heatings[name].drawn_energy
        yield from broken(f"energy drawn by {name}", drawn * line.steps[row.step].loads, sum(draws) * busy)
        yield from broken(f"share of {name}", line.heatings[name].least_over_drawn * drawn, line.heatings[name].least_energy)


def phase_materials_scale_with_amount_and_loss(case: Case) -> Broken:
    """Twice the amount: twice the line. A loss of 100 % on top is twice one of none."""
    for name in case.phase_materials:
        line = f"phase_materials.{name}"
        yield from scaled(case, {f"{line}.amount": 2.0}, lambda found, _, line=line: found == line, 2.0)
        yield from lines_change(f"loss of {name}", with_values(case, {f"{line}.loss": 0.0}),
                                with_values(case, {f"{line}.loss": 1.0}),
                                lambda found, _, line=line: 2.0 if found == line else 1.0)


def longer_waiting_takes_carriers_for_each_load(case: Case) -> Broken:
    """Twice the waiting of a carrier: its need rises by loads x waiting / available, and nothing else of the line moves."""
    before = evaluate(case).line
    for name, row in case.carriers.items():
        after = evaluate(times(case, {f"carriers.{name}.waiting_time": 2.0})).line
        more = before.steps[row.first_step].loads * row.waiting_time / before.carriers[name].available_time
        for other, use in {**before.tools, **before.carriers}.items():
            found = {**after.tools, **after.carriers}[other].tools_needed
            yield from broken(f"need of {other}", found, use.tools_needed + (more if other == name else 0.0))


def half_the_time_out_of_service_doubles_the_carriers(case: Case) -> Broken:
    """Half the time out of service: twice the need of none."""
    for name in case.carriers:
        none, half = (evaluate(with_values(case, {f"carriers.{name}.out_of_service": share})).line.carriers[name].tools_needed
                      for share in (0.0, 0.5))
        yield from broken(f"need of {name}", half, 2 * none)


def a_longer_step_of_the_round_binds_carriers(case: Case) -> Broken:
    """A second more in a step binds the carriers of its loads, longer by the failures of its tool; outside, none."""
    before = evaluate(case).line
    for name in case.carriers:
        for step, row in case.steps.items():
            after = evaluate(with_values(case, {f"steps.{step}.process_time": row.process_time + 1.0})).line
            more = before.steps[step].loads * downtime_factor(case, step) if step in steps_of(case, name) else 0.0
            yield from broken(f"time of {name} with {step}", after.carriers[name].busy_time,
                              before.carriers[name].busy_time + more)


def a_phase_binds_carriers_while_the_load_is_inside(case: Case) -> Broken:
    """Twice the time of a phase: carriers wait for it where the load is in the tool meanwhile, and nowhere else."""
    before = evaluate(case).line
    for phase, row in case.phases.items():
        after = evaluate(times(case, {f"phases.{phase}.time": 2.0})).line
        for name in case.carriers:
            binds = row.load_inside == "yes" and row.step in steps_of(case, name)
            more = before.phases[phase].occurrences * row.time * downtime_factor(case, row.step) if binds else 0.0
            yield from broken(f"time of {name} with {phase}", after.carriers[name].busy_time,
                              before.carriers[name].busy_time + more)


def planned_stops_and_trials_bind_no_carriers(case: Case) -> Broken:
    """They wait until the load is out: more trials leave the carriers alone, and so do planned stops without failures."""
    for name in case.carriers:
        for tool in {case.steps[step].tool for step in steps_of(case, name)}:
            place, sound = f"tools.{tool}", with_values(case, {f"tools.{tool}.unplanned_downtime": 0.0})
            for base, column in ((case, "engineering_time"), (sound, "planned_downtime")):
                none, some = (evaluate(with_values(base, {f"{place}.{column}": share})).line.carriers[name].busy_time
                              for share in (0.0, 0.3))
                yield from broken(f"time of {name} with {column} of {tool}", some, none)


def a_lost_load_takes_its_share_of_what_would_be_good(case: Case) -> Broken:
    """Of the plates processed, a quarter of the loads lost leaves three quarters good, and as many rejects to rework."""
    for step in case.steps:
        none, some = (evaluate(with_values(case, {f"steps.{step}.load_loss": share})).line.steps[step] for share in (0.0, 0.25))
        passing_by = 1 - share_of(case, step)
        yield from broken(f"good of {step}", some.good / some.starts - passing_by,
                          0.75 * (none.good / none.starts - passing_by))
        yield from broken(f"rework of {step}", some.passes / some.starts - share_of(case, step),
                          0.75 * (none.passes / none.starts - share_of(case, step)))


def floor_scales_the_building_and_nothing_else(case: Case) -> Broken:
    """Twice the footprint of a tool, or twice the charge of a kind of floor."""
    for tool in case.tools:
        yield from scaled(case, {f"tools.{tool}.footprint": 2.0},
                          lambda _, x, tool=tool: x.category == "building" and x.item == tool, 2.0)
    for area in case.areas:
        yield from scaled(case, {f"areas.{area}.charge": 2.0}, lambda _, x, area=area:
                          (x.category == "building" and case.tools[x.item].area == area)
                          or (x.driver == "floor" and case.facilities[x.item].area == area), 2.0)


def ideal_times_touch_effectiveness_only(case: Case) -> Broken:
    """Half the ideal time of every load: half the rate and the whole, as much money and time."""
    halved = times(case, {f"steps.{step}.rate_efficiency": 0.5 for step in case.steps})
    yield from lines_change("rate_efficiency", case, halved, lambda *_: 1.0)
    before, after = evaluate(case).line, evaluate(halved).line
    for tool, found in after.effectiveness.items():
        for factor, by in (("availability", 1.0), ("operational", 1.0), ("rate", 0.5), ("quality", 1.0), ("overall", 0.5)):
            yield from broken(f"{factor} of {tool}", getattr(found, factor), getattr(before.effectiveness[tool], factor) * by)
        yield from broken(f"work of {tool}", after.tools[tool].busy_time, before.tools[tool].busy_time)


def a_rating_scales_with_what_makes_it_uncertain(case: Case) -> Broken:
    """Every uncertainty and the tolerance twice: twice the half-width, shortfall and claims. Each alone: the squares add up."""
    before = evaluate(case).ledger.soaking
    for name, row in case.soaking.items():
        parts = [f"soaking.{name}.{part}" for part in ("spread", "lot_to_lot", "measurement_random", "measurement_common")]
        after = evaluate(times(case, {**dict.fromkeys(parts, 2.0), f"soaking.{name}.tolerance": 2.0})).ledger.soaking[name]
        for figure, found in (("half_width", [x.rating.error.half_width for x in (before[name], after)]),
                              ("shortfall", [x.rating.shortfall for x in (before[name], after)]),
                              ("claims", [x.claims for x in (before[name], after)])):
            yield from broken(f"{figure} of {name}", found[1], found[0] * 2)
            if not found[0] >= 0:
                yield f"{figure} of {name} is {found[0]}"
        squares = [evaluate(with_values(case, {other: 1e-9 for other in parts if other != part})).ledger.soaking[name].rating.error
                   for part in parts]
        together = sum(error.standard**2 for error in squares) ** 0.5
        yield from broken(f"uncertainty of {name}", round(before[name].rating.error.standard, 12), round(together, 12))
        common = with_values(case, {f"soaking.{name}.{part}": 1e-12 for part in ("spread", "measurement_random", "lot_to_lot")})
        whole = evaluate(with_values(common, {f"steps.{row.step}.processed_share": 1.0})).ledger.soaking[name].rating.error.standard
        yield from broken(f"common part of {name}", round(whole, 12), round(row.measurement_common, 12))


def a_sample_is_the_least_that_reaches_its_precision(case: Case) -> Broken:
    """The sample needed, soaked, meets the precision, and one module less does not; whichever way the spread is known."""
    exact = {"measurement_random": 1e-9, "measurement_common": 1e-9, "lot_to_lot": 1e-4}
    for name, row in case.soaking.items():
        impossible = with_values(case, {f"soaking.{name}.precision": 1e-6})
        none = evaluate(impossible).ledger.soaking[name].rating.sample_needed
        if none == none:
            yield f"sample of {name} for a precision out of reach is {none}"
        for known, lots, others in itertools.product(("given", "from_sample"), (1.0, 2.0), ({}, exact)):
            asked = others | {"spread_known": known, "lots_averaged": lots, "precision": row.precision * (0.6 if others else 1.3)}
            asked = {f"soaking.{name}.{column}": value for column, value in asked.items()}
            rating = evaluate(with_values(case, asked)).ledger.soaking[name].rating
            needed, least = rating.sample_needed, 2 if known == "from_sample" else 1
            for size, wanted in ((needed, 1.0), (needed - 1, 0.0)) if rating.sample_needed_status else ():
                if size < least:
                    continue  # a smaller sample is refused
                share = {f"steps.{row.step}.processed_share": min(size / row.lot, 1.0)}
                found = evaluate(with_values(case, {**asked, **share})).ledger.soaking[name].rating.precision_met
                yield from broken(f"precision of {name} with {size} soaked, spread {known}", found, wanted)


def a_spread_from_a_sample_takes_student_s_factor(case: Case) -> Broken:
    """The factor by another evaluator: normal for a given spread, else of the degrees of freedom of Welch and Satterthwaite."""
    for name, row in case.soaking.items():
        for lots in (1.0, 3.0):
            asked = {f"soaking.{name}.spread_known": "from_sample", f"soaking.{name}.lots_averaged": lots}
            given, found = (evaluate(with_values(case, changes)).ledger.soaking[name].rating for changes in ({}, asked))
            freedom = lots * (found.soaked - 1) * (found.error.standard / found.error.within_lot) ** 4
            tail = (1 + row.coverage_probability) / 2
            yield from broken(f"factor of {name}, spread given", given.error.coverage_factor, FUNCTIONS["normal_quantile"](tail))
            yield from broken(f"factor of {name}", found.error.coverage_factor, FUNCTIONS["student_t_quantile"](tail, freedom))


def more_lots_average_what_is_random(case: Case) -> Broken:
    """Four like lots: a quarter of the variance that a sample leaves. Lots that differ: three quarters of theirs on top."""
    for name, row in case.soaking.items():
        def error(lots: float, differ: float, name: str = name):
            return evaluate(with_values(case, {f"soaking.{name}.lots_averaged": lots, f"soaking.{name}.lot_to_lot": differ}))

        one, four, differing = (error(*x).ledger.soaking[name].rating.error for x in ((1.0, 0.0), (4.0, 0.0), (4.0, 0.02)))
        left = one.standard**2 - row.measurement_common**2
        yield from broken(f"mean of four of {name}", four.standard**2 - row.measurement_common**2, left / 4)
        yield from broken(f"differing lots of {name}", differing.standard**2 - four.standard**2, 0.75 * 0.02**2)


def claims_and_interest_are_in_the_cost_of_a_module_once(case: Case) -> Broken:
    """Twice a claim or an interest: that line twice, the total more by it. The plan of soaking is its steps and these two."""
    ledger = evaluate(case).ledger
    for name, row in case.soaking.items():
        yield from scaled(case, {f"soaking.{name}.claim": 2.0}, lambda at, _, name=name: at == f"soaking.{name}.claims", 2.0)
        plan, dearer = ledger.soaking[name], evaluate(times(case, {f"soaking.{name}.holding_rate": 2.0})).ledger
        yield from broken(f"interest of {name}", dearer.lines[f"soaking.{name}.holding"].cost, 2 * plan.holding)
        yield from broken(f"total with twice the interest of {name}", dearer.total.cost, ledger.total.cost + plan.holding)
        steps = sum(ledger.by_step[step].cost for step in {row.step, row.retest})
        yield from broken(f"cost of {name}", plan.cost_and_risk, steps + plan.claims + plan.holding)
        yield from broken(f"steps of {name}", plan.step_cost, steps)
        yield from broken(f"stock of {name}", plan.stock.money_tied_up, plan.stock.waiting * ledger.route[row.step].cost_so_far)


def soaking_takes_dose_over_irradiance(case: Case) -> Broken:
    """Twice the light: half the time. The rule of three measurements holds at the end and not an interval before."""
    line = evaluate(case).line
    for name, row in case.soaking.items():
        rows = [key for key, light in case.soaking_light.items() if light.plan == name]
        bright = evaluate(times(case, {f"soaking_light.{key}.irradiance": 2.0 for key in rows})).line
        found, cycle = line.soaking[name], line.steps[row.step].cycle
        yield from broken(f"time of {name}", bright.soaking[name].time, found.time / 2)
        light = [case.soaking_light[key] for key in rows]
        yield from broken(f"mean of {name}", found.time, sum(each.part_of_year * found.dose / each.irradiance for each in light))
        yield from broken(f"cycle of {name}", bright.steps[row.step].cycle.time, cycle.time - cycle.soaking_time / 2)
        ratio, steps = case.product.stabilisation_ratio, row.interval_dose / row.dose_constant
        power = [ratio + (1 - ratio) * exp(-k * steps) for k in range(round(found.intervals) + 1)]
        for last, wanted in ((len(power), True), (len(power) - 1, False)):
            three = power[last - 3:last]
            if last >= 3 and ((max(three) - min(three)) / (sum(three) / 3) <= row.stability_limit) is not wanted:
                yield f"{name}: {last - 1} intervals of {found.intervals} are {'not ' if wanted else ''}enough"
        sun = evaluate(with_values(case, {f"soaking_light.{key}.clock": "calendar" for key in rows}))
        handling = case.steps[row.step].process_time * case.constants.year / case.site.scheduled_time
        mean, longest = walked(found.dose, light, case.constants.year)
        yield from broken(f"wait of {name} in the sun", sun.ledger.soaking[name].stock.waiting_time, mean + handling)
        yield from broken(f"peak of {name} in the sun", sun.line.soaking[name].longest, longest)
        rack = sun.line.tools[case.steps[row.step].tool]
        at_peak = sun.line.steps[row.step].loads * (longest - mean) * case.site.scheduled_time / case.constants.year
        yield from broken(f"racks of {name} in the sun", rack.tools_needed * rack.available_time, rack.busy_time + at_peak)


def walked(dose: float, light: Sequence[SoakingLight], year: float) -> tuple[float, float]:
    """Mean and longest stay of modules put out evenly over the year: a walk from each day on which a stay changes its course."""
    years = 2 + int(dose / sum(each.irradiance * each.part_of_year * year for each in light))
    lengths = np.tile([each.part_of_year * year for each in light], years)
    days = np.concatenate([[0.0], np.cumsum(lengths)])
    doses = np.concatenate([[0.0], np.cumsum(lengths * np.tile([each.irradiance for each in light], years))])
    ends = days[: 2 * len(light) * years]
    starts = np.concatenate([ends, np.interp(doses[doses >= dose] - dose, doses, days)])
    starts = np.unique(np.concatenate([[0.0, year], starts[(starts >= 0) & (starts <= year)]]))
    stays = np.interp(np.interp(starts, days, doses) + dose, doses, days) - starts
    return float(np.sum((stays[1:] + stays[:-1]) / 2 * np.diff(starts)) / year), float(np.max(stays))


def soaked_modules_are_rated_again(case: Case) -> Broken:
    """A step that rates again takes its share of the soaked modules, and its tool's time."""
    for name, row in case.soaking.items():
        first = next(iter(case.steps.values()))
        again = dataclasses.replace(first, processed_share=0.75, rework_share=0.0, load_loss=0.0)
        plans = case.soaking | {name: dataclasses.replace(row, retest="again")}
        other = dataclasses.replace(case, steps={**case.steps, "again": again}, soaking=plans)
        flow, found = evaluate(other).line.steps["again"], evaluate(other).ledger.soaking[name]
        yield from broken(f"rated again of {name}", flow.passes / flow.starts, 0.75 * case.steps[row.step].processed_share)
        yield from broken(f"rating again in the cost of {name}", found.step_cost,
                          sum(evaluate(other).ledger.by_step[step].cost for step in (row.step, "again")))


BATCH_LAWS = (
    a_phase_half_as_often_takes_half_the_time_and_material, the_state_of_a_phase_moves_hours_between_states_and_nothing_else,
    least_energy_follows_mass_and_temperature, the_energy_drawn_for_a_load_follows_its_time_and_draw,
    phase_materials_scale_with_amount_and_loss,
    longer_waiting_takes_carriers_for_each_load, half_the_time_out_of_service_doubles_the_carriers,
    a_longer_step_of_the_round_binds_carriers, a_phase_binds_carriers_while_the_load_is_inside,
    planned_stops_and_trials_bind_no_carriers, a_lost_load_takes_its_share_of_what_would_be_good,
    a_rating_scales_with_what_makes_it_uncertain, a_sample_is_the_least_that_reaches_its_precision,
    a_spread_from_a_sample_takes_student_s_factor, more_lots_average_what_is_random,
    claims_and_interest_are_in_the_cost_of_a_module_once, soaking_takes_dose_over_irradiance,
    soaked_modules_are_rated_again, floor_scales_the_building_and_nothing_else,
    ideal_times_touch_effectiveness_only,
)
