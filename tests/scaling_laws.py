"""Laws about changes: what one changed input does to the ledger and the line, and what it leaves alone."""
from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.line_records import Step
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import Results, evaluate
from costmodel.model.ledger.ledger_figures import IMPUTED, LedgerLine
from costmodel.model.line.line_figures import StepFlow

Broken = Iterator[str]
TOLERANCE = 1e-9


def broken(name: str, found: float, wanted: float) -> Broken:
    """A message when two figures differ by more than rounding; two without a value agree."""
    if found != found and wanted != wanted:
        return
    if not abs(found - wanted) <= TOLERANCE * max(abs(found), abs(wanted), 1e-6):
        yield f"{name}: {found!r} is not {wanted!r}"


def with_target(case: Case, basis: str, output: float) -> Case:
    """The case sized for an output counted in `basis`."""
    return with_values(case, {"target.mode": "sized", "target.basis": basis, "target.output": output})


def times(case: Case, factors: Mapping[str, float]) -> Case:
    """The case with some inputs multiplied."""
    return with_values(case, {address: value_at(case, address) * factor for address, factor in factors.items()})


def steps_of(case: Case, carrier: str) -> list[str]:
    """The steps that a carrier goes through with its load."""
    order, row = list(case.steps), case.carriers[carrier]
    return order[order.index(row.first_step):order.index(row.last_step) + 1]


def steps_on_carriers(case: Case) -> set[str]:
    """The steps in which loads stay together: all plates go through them, and none is reworked."""
    return {step for carrier in case.carriers for step in steps_of(case, carrier)}


def steps_off_carriers(case: Case) -> dict[str, Step]:
    """The other steps."""
    return {name: step for name, step in case.steps.items() if name not in steps_on_carriers(case)}


def downtime_factor(case: Case, step: str) -> float:
    """How much longer a load sits in a step because its tool fails: of the time that is not planned, failures take a part."""
    tool = case.tools[case.steps[step].tool]
    unplanned = tool.unplanned_downtime / (1 - tool.planned_downtime)
    return 1 / (1 - unplanned)


def tools_with_loads_of_one_size(case: Case) -> list[set[str]]:
    """Kinds of tools whose loads have one size: those that share a carrier, together; any other alone."""
    together = [{case.steps[step].tool for step in steps_of(case, carrier)} for carrier in case.carriers]
    for tool in case.tools:
        meeting = [group for group in together if tool in group]
        together = [group for group in together if tool not in group] + [{tool}.union(*meeting)]
    return together


def share_of(case: Case, step: str) -> float:
    """The share of the plates that go through a step; one that rates soaked modules again states its share of these."""
    soaks = [case.steps[plan.step].processed_share for plan in case.soaking.values() if plan.retest == step != plan.step]
    return case.steps[step].processed_share * math.prod(soaks)


def lines_change(what: str, before: Case, after: Case, factor: Callable[[str, LedgerLine], float]) -> Broken:
    """Every ledger line costs `factor` times what it did, and the others the same.

    Interest on stock that waits follows from what the modules have cost, and has a law of its own.
    """
    old, new = evaluate(before).ledger.lines, evaluate(after).ledger.lines
    if list(old) != list(new):
        yield f"{what}: other lines"
    for name, line in old.items():
        if line.driver == IMPUTED:
            continue
        yield from broken(f"{what}, line {name}", new[name].cost, line.cost * factor(name, line))


def scaled(case: Case, factors: Mapping[str, float], touched: Callable[[str, LedgerLine], bool],
           factor: float) -> Broken:
    """Multiplying inputs multiplies the lines touched, and no others."""
    yield from lines_change(", ".join(factors), case, times(case, factors),
                            lambda name, line: factor if touched(name, line) else 1.0)


def a_tariff_scales_its_lines_and_no_others(case: Case) -> Broken:
    """Twice a tariff."""
    for item in case.utilities:
        yield from scaled(case, {f"utilities.{item}.price": 2.0},
                          lambda _, x, item=item: x.category in ("utilities", "facilities") and x.item == item, 2.0)


def a_price_scales_its_lines_and_no_others(case: Case) -> Broken:
    """Twice a price of the price book, with the quote of the metal in it where there is one."""
    for item in case.prices:
        quotes = {f"metals.{name}.quote": 2.0 for name, row in case.metals.items() if row.item == item}
        yield from scaled(case, {f"prices.{item}.price": 2.0} | quotes,
                          lambda _, x, item=item: x.category == "materials" and x.item == item, 2.0)


def without_levies(case: Case) -> Case:
    """The case without shares of the value of equipment, which follow every price of equipment; they have a law of their own."""
    return dataclasses.replace(case, levies={})


def levies_follow_the_value_of_equipment(case: Case) -> Broken:
    """Twice the price of every tool, carrier and system: twice the value, twice the levies; twice a rate, twice its levy."""
    prices = {f"{table}.{name}.price": 2.0 for table in ("tools", "carriers", "facilities") for name in getattr(case, table)}
    before, after = evaluate(case).ledger, evaluate(times(case, prices)).ledger
    yield from broken("value of equipment", after.equipment_value, 2 * before.equipment_value)
    for name, row in case.levies.items():
        place = f"levies.{name}"
        yield from broken(place, before.lines[place].cost, before.equipment_value * row.rate * case.constants.year)
        yield from broken(place, after.lines[place].cost, 2 * before.lines[place].cost)
        yield from scaled(case, {f"{place}.rate": 2.0}, lambda line, _, place=place: line == place, 2.0)


def greenhouse_gas_follows_the_use_and_its_factor(case: Case) -> Broken:
    """Gas is use times factor; twice the factor, twice the gas and its cost; twice the price, twice the cost of that source."""
    ledger = evaluate(case).ledger
    for name, row in case.emissions.items():
        used = sum(x.quantity for line, x in ledger.lines.items()
                   if x.item == row.emitter and not line.startswith("emissions.") and not line.endswith(".credit"))
        yield from broken(f"gas of {name}", ledger.emissions[name].mass, used * row.factor)
        for field in ("factor", "price"):
            yield from scaled(case, {f"emissions.{name}.{field}": 2.0},
                              lambda line, _, name=name: line.startswith(f"emissions.{name}."), 2.0)


def overheads_and_systems_scale_by_themselves(case: Case) -> Broken:
    """Twice an amount, twice its line; twice the draw of a system, twice its line; twice its life, half its depreciation."""
    case = without_levies(case)
    for name in case.overheads:
        yield from scaled(case, {f"overheads.{name}.amount": 2.0}, lambda line, _, name=name: line == f"overheads.{name}", 2.0)
    for name in case.facility_utilities:
        yield from scaled(case, {f"facility_utilities.{name}.draw": 2.0},
                          lambda line, _, name=name: line == f"facility_utilities.{name}", 2.0)
    for name in case.facilities:
        place = f"facilities.{name}"
        yield from scaled(case, {f"{place}.life": 2.0}, lambda line, _, place=place: line == f"{place}.depreciation", 0.5)
        yield from scaled(case, {f"{place}.price": 2.0},
                          lambda line, _, place=place: line in (f"{place}.depreciation", f"{place}.upkeep"), 2.0)
        yield from scaled(case, {f"{place}.footprint": 2.0}, lambda line, _, place=place: line == f"{place}.floor", 2.0)


def _currency_of(case: Case, line: LedgerLine) -> str:
    kind, _, name = line.driver.partition(" ")
    if line.category == "emissions":
        return case.emissions[line.item].currency
    if line.category == "overheads" and line.item == "warranty":
        return next(iter(case.warranty.values())).currency
    if line.category == "overheads":
        return (case.soaking if line.driver == "watts claimed" else case.overheads)[line.item].currency
    if line.category == "facilities":
        if line.item in case.utilities:
            return case.utilities[line.item].currency
        row = case.facilities[line.item]
        return case.areas[row.area].currency if line.driver == "floor" else row.currency
    if line.category == "building":
        return case.areas[case.tools[name].area].currency
    if line.category in ("depreciation", "maintenance"):
        return (case.carriers if kind == "carrier" else case.tools)[name].currency
    return {"materials": case.prices, "utilities": case.utilities, "labour": case.crew}[line.category][line.item].currency


def an_exchange_rate_scales_what_is_bought_in_its_currency(case: Case) -> Broken:
    """Twice the rate of each foreign currency."""
    case = without_levies(case)
    for identity, currency in case.money.items():
        if currency.code != case.currency:
            yield from scaled(case, {f"money.{identity}.exchange_rate": 2.0},
                              lambda _, x, code=currency.code: x.driver != IMPUTED and _currency_of(case, x) == code, 2.0)


def _equipment(case: Case) -> Iterator[tuple[str, str]]:
    """Address of each kind of tool and carrier, and the driver of its lines in the ledger."""
    yield from ((f"tools.{name}", f"tool {name}") for name in case.tools)
    yield from ((f"carriers.{name}", f"carrier {name}") for name in case.carriers)


def life_divides_depreciation_and_touches_nothing_else(case: Case) -> Broken:
    """Twice the life of a tool or carrier."""
    for place, driver in _equipment(case):
        yield from scaled(case, {f"{place}.life": 2.0},
                          lambda _, x, driver=driver: x.category == "depreciation" and x.driver == driver, 0.5)


def a_price_of_equipment_scales_its_depreciation_and_maintenance(case: Case) -> Broken:
    """Twice the price of a tool or carrier."""
    case = without_levies(case)
    for place, driver in _equipment(case):
        yield from scaled(case, {f"{place}.price": 2.0}, lambda _, x, driver=driver:
                          x.category in ("depreciation", "maintenance") and x.driver == driver, 2.0)


def a_wage_scales_the_labour_of_its_role(case: Case) -> Broken:
    """Twice the wage of a role; a burden of 100 % on the wage is twice one of none."""
    for role in case.crew:
        yield from scaled(case, {f"crew.{role}.wage": 2.0},
                          lambda _, x, role=role: x.category == "labour" and x.item == role, 2.0)
        yield from lines_change(f"burden of {role}", with_values(case, {f"crew.{role}.burden": 0.0}),
                                with_values(case, {f"crew.{role}.burden": 1.0}),
                                lambda _, x, role=role: 2.0 if x.category == "labour" and x.item == role else 1.0)


def charges_on_a_price_add_up(case: Case) -> Broken:
    """Charges of 100 % in all double a price, as against none: freight and duty, and with tools installation."""
    case = without_levies(case)
    for table, charges in (("prices", {"freight": 0.5, "duty": 0.5}), ("carriers", {"freight_and_duty": 1.0}),
                           ("tools", {"freight_and_duty": 0.5, "installation": 0.5})):
        for item in getattr(case, table):
            none = with_values(case, {f"{table}.{item}.{name}": 0.0 for name in charges})
            all_of_it = with_values(case, {f"{table}.{item}.{name}": share for name, share in charges.items()})
            yield from lines_change(f"charges on {table}.{item}", none, all_of_it, lambda name, x, table=table, item=item:
                                    2.0 if _bought_as(x, table, item) and not name.endswith(".credit") else 1.0)


def _bought_as(line: LedgerLine, table: str, item: str) -> bool:
    """Whether a line stands for an item of the price book, a tool or a carrier."""
    if table == "prices":
        return line.category == "materials" and line.item == item
    categories = ("depreciation",) if table == "carriers" else ("depreciation", "maintenance")  # of carriers, of their bare price
    return line.category in categories and line.driver == f"{table.removesuffix('s')} {item}"


def films_scale_with_thickness_density_and_use(case: Case) -> Broken:
    """Twice the thickness at twice the rate, twice the density, half the utilisation: twice the silane."""
    for layer in case.layers:
        place = f"layers.{layer}"
        for factors in ({"thickness": 2.0, "rate": 2.0}, {"density": 2.0}, {"utilisation": 0.5}):
            yield from scaled(case, {f"{place}.{name}": factor for name, factor in factors.items()},
                              lambda name, _, place=place: name == place, 2.0)


def coatings_scale_with_thickness_density_and_use(case: Case) -> Broken:
    """Twice the thickness at twice the rate, or the density: twice target and credit. Half of a use factor: twice bought."""
    for coating in case.coatings:
        place = f"coatings.{coating}"
        for factors in ({"thickness": 2.0, "dynamic_rate": 2.0}, {"density": 2.0}):
            yield from scaled(case, {f"{place}.{name}": factor for name, factor in factors.items()},
                              lambda name, _, place=place: name.startswith(f"{place}."), 2.0)
        unrecovered = with_values(case, {f"{place}.recovered_share": 0.0})
        for factor in ("deposition_efficiency", "target_utilisation"):
            yield from scaled(unrecovered, {f"{place}.{factor}": 0.5},
                              lambda name, _, place=place: name == f"{place}.bought", 2.0)


def credit_follows_what_is_recovered(case: Case) -> Broken:
    """No recovery, or all kept by the refiner: no credit. All recovered, refined for nothing, at no fee, freight or duty: net
    of the credit, only the metal on plates is paid."""
    for name, row in case.coatings.items():
        place = f"coatings.{name}"
        for metal in [metal for metal, each in case.metals.items() if each.item == row.item]:
            for changed in ({f"{place}.recovered_share": 0.0}, {f"metals.{metal}.refining_share": 1.0}):
                lines = evaluate(with_values(case, changed)).ledger.lines
                yield from broken(f"credit of {name} with {changed}", lines[f"{place}.credit"].cost, 0.0)
            bare = {f"{place}.recovered_share": 1.0, f"metals.{metal}.refining_share": 0.0}
            bare |= {f"prices.{row.item}.{charge}": 0.0 for charge in ("price", "freight", "duty")}
            ledger = evaluate(with_values(case, bare)).ledger
            bought, credit = ledger.lines[f"{place}.bought"], ledger.lines[f"{place}.credit"]
            on_plates = bought.price * ledger.coatings[name].on_plates
            yield from broken(f"net cost of {name}", bought.cost + credit.cost, on_plates)


def gases_scale_with_flow_and_growth_time(case: Case) -> Broken:
    """Twice the flow: twice the gas. Purging takes none, growth at a fixed number of loads takes it in proportion."""
    case = with_values(case, {f"layers.{name}.settling_time": 0.0 for name in case.layers})
    for gas, row in case.gases.items():
        yield from scaled(case, {f"gases.{gas}.flow": 2.0}, lambda name, _, gas=gas: name == f"gases.{gas}", 2.0)
        before = evaluate(case).ledger.lines[f"gases.{gas}"].cost
        purged = evaluate(times(case, {f"layers.{row.layer}.purge_time": 3.0})).ledger.lines[f"gases.{gas}"].cost
        slower = evaluate(times(case, {f"layers.{row.layer}.rate": 0.5})).ledger.lines[f"gases.{gas}"].cost
        yield from broken(f"gas {gas} with longer purging", purged, before)
        yield from broken(f"gas {gas} at half the rate", slower, before * 2)


def materials_scale_with_amount_and_loss(case: Case) -> Broken:
    """Twice the amount: twice the line. A loss of 100 % on top is twice one of none."""
    for name in case.materials:
        line = f"materials.{name}"
        yield from scaled(case, {f"{line}.amount": 2.0}, lambda found, _, line=line: found == line, 2.0)
        yield from lines_change(f"loss of {name}", with_values(case, {f"{line}.loss": 0.0}),
                                with_values(case, {f"{line}.loss": 1.0}),
                                lambda found, _, line=line: 2.0 if found == line else 1.0)


def what_a_step_uses_for_a_load_does_not_depend_on_its_yield(case: Case) -> Broken:
    """Other yields and rework: the same for each load, each plate entering, each module, whatever it is counted by."""
    before = evaluate(case)
    for step in case.steps:
        changed = {"first_pass_yield": 0.9, "rework_share": 0.3, "rework_success": 0.5}
        if step in steps_on_carriers(case):
            changed = {"first_pass_yield": 0.9, "load_loss": 0.1}
        after = evaluate(with_values(case, {f"steps.{step}.{name}": value for name, value in changed.items()}))
        for name, line in before.ledger.lines.items():
            if line.step == step and line.category == "materials":
                amounts = [_counted(results, step, line.driver) for results in (before, after)]
                yield from broken(f"{name} for each {line.driver}", after.ledger.lines[name].cost / amounts[1],
                                  line.cost / amounts[0])


def _counted(results: Results, step: str, driver: str) -> float:
    flow = results.line.steps[step]
    counts = {"plate_entering": flow.starts, "plate": flow.passes, "m2": flow.passes, "load": flow.loads,
              "tool_hour": flow.loads, "module": results.line.output.good_modules}
    return counts[driver] if driver in counts else flow.loads if driver.startswith("phase ") else flow.passes


def load_size_divides_loads(case: Case) -> Broken:
    """Twice the plates in a load: half the loads and half the time of tools and carriers, the same flow of plates."""
    before = evaluate(case).line
    for tools in tools_with_loads_of_one_size(case):
        after = evaluate(times(case, {f"tools.{tool}.load_size": 2.0 for tool in tools})).line
        for step, row in case.steps.items():
            factor = 0.5 if row.tool in tools else 1.0
            for figure in ("loads", "busy_time"):
                yield from broken(f"{figure} of {step}", getattr(after.steps[step], figure),
                                  getattr(before.steps[step], figure) * factor)
            yield from broken(f"passes of {step}", after.steps[step].passes, before.steps[step].passes)
        for carrier, row in case.carriers.items():
            factor = 0.5 if case.steps[row.first_step].tool in tools else 1.0
            yield from broken(f"time of {carrier}", after.carriers[carrier].busy_time,
                              before.carriers[carrier].busy_time * factor)


def perfect_yield_loses_nothing(case: Case) -> Broken:
    """All steps at 100 % and no load lost: as many plates everywhere, no yield loss, no rework."""
    perfect = {f"steps.{step}.first_pass_yield": 1.0 for step in case.steps}
    results = evaluate(with_values(case, perfect | {f"steps.{step}.load_loss": 0.0 for step in case.steps}))
    yield from broken("yield loss", results.ledger.yield_loss, 0.0)
    yield from broken("cost of lost plates", results.ledger.module.lost_plates, 0.0)
    for step, flow in results.line.steps.items():
        yield from broken(f"plates at {step}", flow.starts, results.line.output.good_plates)
        yield from broken(f"passes at {step}", flow.passes, flow.starts * share_of(case, step))
        yield from broken(f"loss at {step}", flow.lost, 0.0)


def _with_rework(case: Case, step: str, share: float, success: float) -> StepFlow:
    """A step with other rework and no load lost."""
    changed = {"rework_share": share, "rework_success": success, "load_loss": 0.0}
    return evaluate(with_values(case, {f"steps.{step}.{name}": value for name, value in changed.items()})).line.steps[step]


def rework_saves_only_what_it_makes_good(case: Case) -> Broken:
    """Rework without success changes no yield; of all rejects, with full success, it leaves no loss."""
    for step, row in steps_off_carriers(case).items():
        without = _with_rework(case, step, 0.0, row.rework_success)
        failed, saved = _with_rework(case, step, 0.5, 0.0), _with_rework(case, step, 1.0, 1.0)
        yield from broken(f"yield of {step} with failing rework", failed.good / failed.starts,
                          without.good / without.starts)
        yield from broken(f"loss of {step} with perfect rework", saved.lost, 0.0)
        yield from broken(f"passes of {step} without rework", without.passes, without.starts * share_of(case, step))


def each_reject_is_lost_or_worked_again(case: Case) -> Broken:
    """Without rework the rejects are lost. All reworked in vain, each plate lost has been worked twice."""
    for step, row in steps_off_carriers(case).items():
        without, twice = (_with_rework(case, step, share, 0.0) for share in (0.0, 1.0))
        yield from broken(f"loss of {step}", without.lost, without.passes * (1 - row.first_pass_yield))
        yield from broken(f"second passes of {step}", twice.passes - twice.starts * share_of(case, step), twice.lost)


def plates_that_pass_by_are_neither_worked_nor_lost(case: Case) -> Broken:
    """Half the share processed: half the passes and half the losses for each plate entering."""
    for step in steps_off_carriers(case):
        before = evaluate(case).line.steps[step]
        after = evaluate(times(case, {f"steps.{step}.processed_share": 0.5})).line.steps[step]
        for figure in ("passes", "lost"):
            yield from broken(f"{figure} of {step}", getattr(after, figure) / after.starts,
                              getattr(before, figure) / before.starts / 2)


def target_scales_flows_and_materials_and_never_lowers_tools(case: Case) -> Broken:
    """Twice the output, and twice again."""
    before = evaluate(case)
    for factor in (2.0, 4.0):
        after = evaluate(times(case, {"target.output": factor}))
        for step, flow in before.line.steps.items():
            for figure in ("starts", "passes", "lost", "loads", "busy_time"):
                yield from broken(f"{figure} of {step}", getattr(after.line.steps[step], figure),
                                  getattr(flow, figure) * factor)
        for name, line in before.ledger.lines.items():
            if line.category == "materials":
                yield from broken(f"line {name}", after.ledger.lines[name].cost, line.cost * factor)
        for tool, use in before.line.tools.items():
            if after.line.tools[tool].tools < use.tools:
                yield f"{tool}: fewer tools for {factor} times the output"


def stated_area(case: Case) -> Case:
    """The case with the active area as a share that is stated, whatever the geometry of its cells."""
    share = evaluate(case).line.output.active_area_share
    return dataclasses.replace(case, cells={}, product=dataclasses.replace(case.product, active_area_share=share),
                               entry_units=case.entry_units | {"product.active_area_share": "1"})


def power_scales_with_area_efficiency_and_stabilisation(case: Case) -> Broken:
    """Twice an input of the power: twice the power. With a target in area, power changes no cost, but for a longer soak."""
    before = evaluate(case).line.output
    case = stated_area(case)
    for name, initial in (("width", 2.0), ("length", 2.0), ("active_area_share", 0.5), ("initial_efficiency", 2.0),
                          ("stabilisation_ratio", 1.0)):
        factor = 0.5 if name in ("active_area_share", "stabilisation_ratio") else 2.0
        after = evaluate(times(case, {f"product.{name}": factor})).line.output
        yield from broken(f"initial power with {name}", after.initial_power, before.initial_power * initial)
        yield from broken(f"stabilised power with {name}", after.stabilised_power, before.stabilised_power * factor)
    shortest = with_values(case, {f"soaking.{name}.stability_limit": 1.0 for name in case.soaking})
    area = with_target(shortest, "m2", before.good_area)
    yield from scaled(area, {"product.initial_efficiency": 2.0, "product.stabilisation_ratio": 0.5},
                      lambda *_: False, 1.0)


def what_is_counted_by_area_follows_the_area_of_the_plates(case: Case) -> Broken:
    """Plates twice as wide, as many modules: twice the films, coatings, and what is counted by area or watt."""
    modules = with_target(stated_area(case), "module", evaluate(case).line.output.good_modules)
    modules = dataclasses.replace(modules, power_classes={}, power_spread={}, measured_powers={})  # whose limits stay
    by_area = ("m2", "Wp_stabilised", "watts claimed")
    yield from scaled(modules, {"product.width": 2.0},
                      lambda name, x: x.driver in by_area or name.startswith(("layers.", "coatings.")), 2.0)


def each_minute_of_downtime_is_counted_once(case: Case) -> Broken:
    """Only the sum of the three shares counts."""
    for tool in case.tools:
        place = f"tools.{tool}"
        names = [f"{place}.{name}" for name in ("planned_downtime", "unplanned_downtime", "engineering_time")]
        available = [evaluate(with_values(case, dict(zip(names, shares)))).line.tools[tool].available_time
                     for shares in ((0.0, 0.0, 0.0), (0.25, 0.0, 0.0), (0.0, 0.25, 0.0), (0.0, 0.0, 0.25),
                                    (0.1, 0.1, 0.05))]
        yield from broken(f"scheduled time of {tool}", available[0], case.site.scheduled_time)
        for time in available[1:]:
            yield from broken(f"available time of {tool}", time, 0.75 * available[0])


def a_minute_more_in_a_film_or_phase_is_a_minute_more_in_its_step(case: Case) -> Broken:
    """Purging, growth, phases and the step's own time add up to the cycle of that step and of no other."""
    before = evaluate(case).line
    changes = [(row.step, f"steps.{row.step}.process_time", case.steps[row.step].process_time + 60.0)
               for row in (*case.layers.values(), *case.phases.values())]
    for layer, row in case.layers.items():
        growth = before.layers[layer].growth_time
        changes += [(row.step, f"layers.{layer}.purge_time", row.purge_time + 60.0),
                    (row.step, f"layers.{layer}.rate", row.rate * growth / (growth + 60.0))]
    changes += [(row.step, f"phases.{phase}.time", row.time + 60.0 * row.loads_between) for phase, row in case.phases.items()]
    for longer, address, value in dict.fromkeys(changes):
        after = evaluate(with_values(case, {address: value})).line
        for step, flow in before.steps.items():
            more = 60.0 if step == longer else 0.0
            yield from broken(f"cycle of {step} with {address}", after.steps[step].cycle.time, flow.cycle.time + more)


def longer_hours_and_longer_cycles_leave_the_tools_alone(case: Case) -> Broken:
    """Twice the hours and twice every cycle."""
    factors = {"site.scheduled_time": 0.5}
    factors |= {f"steps.{step}.process_time": 0.5 for step in case.steps}
    factors |= {f"phases.{phase}.time": 0.5 for phase in case.phases}
    factors |= {f"carriers.{carrier}.waiting_time": 0.5 for carrier in case.carriers}
    for layer in case.layers:
        factors |= {f"layers.{layer}.purge_time": 0.5, f"layers.{layer}.settling_time": 0.5, f"layers.{layer}.rate": 2.0}
    factors |= {f"coaters.{coater}.lock_time": 0.5 for coater in case.coaters}
    factors |= {f"coatings.{coating}.dynamic_rate": 2.0 for coating in case.coatings}
    factors |= {f"soaking_light.{light}.irradiance": 2.0 for light in case.soaking_light}
    before, after = evaluate(case).line, evaluate(times(case, factors)).line
    for name, use in {**before.tools, **before.carriers}.items():
        same = {**after.tools, **after.carriers}[name]
        yield from broken(f"need of {name}", same.tools_needed, use.tools_needed)


def _drawn(results: Results, name: str) -> float:
    return sum(x.quantity for line, x in results.ledger.lines.items() if line.startswith(f"tool_utilities.{name}."))


def a_constant_draw_is_drawn_in_all_scheduled_time(case: Case) -> Broken:
    """A tool that draws as much idle as busy draws it for every scheduled hour of every tool in the plant."""
    for name, row in case.tool_utilities.items():
        results = evaluate(with_values(case, {f"tool_utilities.{name}.when_idle": row.when_processing}))
        drawn = _drawn(results, name)
        hours = results.line.tools[row.tool].tools * case.site.scheduled_time
        yield from broken(f"draw of {name}", drawn, row.when_processing * hours)


def a_tool_without_idle_draw_draws_by_its_work(case: Case) -> Broken:
    """Nothing drawn while idle: the draw is that of the busy hours."""
    for name, row in case.tool_utilities.items():
        results = evaluate(with_values(case, {f"tool_utilities.{name}.when_idle": 0.0}))
        drawn = _drawn(results, name)
        yield from broken(f"draw of {name}", drawn, row.when_processing * results.line.tools[row.tool].busy_time)


SCALING_LAWS = (
    greenhouse_gas_follows_the_use_and_its_factor,
    levies_follow_the_value_of_equipment,
    overheads_and_systems_scale_by_themselves,
    a_tariff_scales_its_lines_and_no_others, a_price_scales_its_lines_and_no_others,
    an_exchange_rate_scales_what_is_bought_in_its_currency, life_divides_depreciation_and_touches_nothing_else,
    a_price_of_equipment_scales_its_depreciation_and_maintenance, a_wage_scales_the_labour_of_its_role,
    charges_on_a_price_add_up, films_scale_with_thickness_density_and_use,
    coatings_scale_with_thickness_density_and_use, credit_follows_what_is_recovered,
    gases_scale_with_flow_and_growth_time, materials_scale_with_amount_and_loss,
    what_a_step_uses_for_a_load_does_not_depend_on_its_yield, load_size_divides_loads, perfect_yield_loses_nothing,
    rework_saves_only_what_it_makes_good, each_reject_is_lost_or_worked_again,
    plates_that_pass_by_are_neither_worked_nor_lost,
    target_scales_flows_and_materials_and_never_lowers_tools, power_scales_with_area_efficiency_and_stabilisation,
    what_is_counted_by_area_follows_the_area_of_the_plates, each_minute_of_downtime_is_counted_once,
    a_minute_more_in_a_film_or_phase_is_a_minute_more_in_its_step,
    longer_hours_and_longer_cycles_leave_the_tools_alone, a_constant_draw_is_drawn_in_all_scheduled_time,
    a_tool_without_idle_draw_draws_by_its_work,
)
