"""Laws about changes to what batch tools have: phases, carriers, loads lost whole; and to the floor that tools stand on."""
from __future__ import annotations

from costmodel.case.changes import with_values
from costmodel.case.records import Case
from costmodel.model import evaluate

from .scaling_laws import Broken, broken, held_up, lines_change, scaled, steps_of, times


def a_phase_half_as_often_takes_half_the_time_and_material(case: Case) -> Broken:
    """Twice the loads for which a phase is done once: half its time for each load, half of what it uses up."""
    before = evaluate(case).line
    for phase, row in case.phases.items():
        changed = times(case, {f"phases.{phase}.every": 2.0})
        after = evaluate(changed).line
        yield from broken(f"time of {phase}", after.phases[phase].time_per_load, before.phases[phase].time_per_load / 2)
        saved = before.steps[row.step].cycle.time - after.steps[row.step].cycle.time
        yield from broken(f"time saved in {row.step}", saved, row.time / row.every / 2)
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
            after = evaluate(with_values(case, {f"steps.{step}.own_time": row.own_time + 1.0})).line
            more = before.steps[step].loads * held_up(case, step) if step in steps_of(case, name) else 0.0
            yield from broken(f"time of {name} with {step}", after.carriers[name].busy_time,
                              before.carriers[name].busy_time + more)


def a_phase_binds_carriers_while_the_load_is_inside(case: Case) -> Broken:
    """Twice the time of a phase: carriers wait for it where the load is in the tool meanwhile, and nowhere else."""
    before = evaluate(case).line
    for phase, row in case.phases.items():
        after = evaluate(times(case, {f"phases.{phase}.time": 2.0})).line
        for name in case.carriers:
            binds = row.load_inside == "yes" and row.step in steps_of(case, name)
            more = before.phases[phase].occurrences * row.time * held_up(case, row.step) if binds else 0.0
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
    for step, row in case.steps.items():
        none, some = (evaluate(with_values(case, {f"steps.{step}.load_loss": share})).line.steps[step] for share in (0.0, 0.25))
        passing_by = 1 - row.processed_share
        yield from broken(f"good of {step}", some.good / some.starts - passing_by,
                          0.75 * (none.good / none.starts - passing_by))
        yield from broken(f"rework of {step}", some.passes / some.starts - row.processed_share,
                          0.75 * (none.passes / none.starts - row.processed_share))


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


def a_soaking_plan_scales_with_the_spread_of_its_lots(case: Case) -> Broken:
    """Twice the spread and twice the tolerance: twice the half-width, shortfall and claims. Every module soaked: none."""
    before = evaluate(case).ledger.soaking
    for name, row in case.soaking.items():
        after = evaluate(times(case, {f"soaking.{name}.spread": 2.0, f"soaking.{name}.tolerance": 2.0})).ledger.soaking[name]
        for figure in ("half_width", "shortfall", "claims"):
            yield from broken(f"{figure} of {name}", getattr(after, figure), getattr(before[name], figure) * 2)
            if not getattr(before[name], figure) >= 0:
                yield f"{figure} of {name} is {getattr(before[name], figure)}"
        whole = evaluate(with_values(case, {f"steps.{row.step}.processed_share": 1.0})).ledger.soaking[name]
        yield from broken(f"claims of {name} when all are soaked", whole.claims, 0.0)
        dearer = evaluate(times(case, {f"soaking.{name}.holding_rate": 2.0})).ledger.soaking[name]
        yield from broken(f"interest of {name}", dearer.holding, before[name].holding * 2)
        together = before[name].step_cost + before[name].claims + before[name].holding
        yield from broken(f"cost of {name}", before[name].cost_and_risk, together)
        yield from broken(f"step of {name}", before[name].step_cost, evaluate(case).ledger.by_step[row.step].cost)


BATCH_LAWS = (
    a_phase_half_as_often_takes_half_the_time_and_material, the_state_of_a_phase_moves_hours_between_states_and_nothing_else,
    least_energy_follows_mass_and_temperature, the_energy_drawn_for_a_load_follows_its_time_and_draw,
    phase_materials_scale_with_amount_and_loss,
    longer_waiting_takes_carriers_for_each_load, half_the_time_out_of_service_doubles_the_carriers,
    a_longer_step_of_the_round_binds_carriers, a_phase_binds_carriers_while_the_load_is_inside,
    planned_stops_and_trials_bind_no_carriers, a_lost_load_takes_its_share_of_what_would_be_good,
    a_soaking_plan_scales_with_the_spread_of_its_lots, floor_scales_the_building_and_nothing_else,
    ideal_times_touch_effectiveness_only,
)
