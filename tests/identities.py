"""General laws of every right case, as plain functions: each yields a message for each figure that breaks it.

A law says which totals agree, what must close, and what a change may and may not touch. The tests run them on the demo
and the tiny case; seeded_faults.py shows that they find slips in the model.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator
from math import ceil, prod

from costmodel.case.addresses import with_values
from costmodel.case.records import Case
from costmodel.faults import InputFaults
from costmodel.model import Results, evaluate

from .scaling_laws import SCALING_LAWS, broken, with_target

Broken = Iterator[str]


def frozen(case: Case) -> Case:
    """The case with the plant sized for its target, and the output left to follow from it."""
    tools = {f"tools.{name}.installed": use.tools for name, use in evaluate(case).line.tools.items()}
    return with_values(case, tools | {"target.mode": "frozen"})


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
        if line.step == "plant":
            yield from broken(f"loss in {name}, of no step", line.lost, 0.0)


def checks_of_the_ledger_are_zero(case: Case, results: Results) -> Broken:
    """The differences that the ledger states itself are zero against what they are differences of."""
    ledger, checks = results.ledger, results.ledger.checks
    bought = sum(coating.bought for coating in ledger.coatings.values())
    fed = sum(film.silicon_fed for film in ledger.films.values())
    for name, scale in (("by_step_less_total", ledger.total.cost), ("by_category_less_total", ledger.total.cost),
                        ("loss_by_step_less_by_line", ledger.total.cost), ("silicon_unaccounted", fed),
                        ("coating_unaccounted", bought), ("plates_unaccounted", results.line.output.plates_started)):
        if not abs(getattr(checks, name)) <= 1e-12 * scale:
            yield f"{name}: {getattr(checks, name)!r} is not zero"


def silicon_closes(case: Case, results: Results) -> Broken:
    """Silicon fed is in the film or lost, is what its silane carries, and is never less than what is in the film."""
    carried = case.constants.molar_mass_silicon / case.constants.molar_mass_silane
    for name, film in results.ledger.films.items():
        yield from broken(f"silicon of {name}", film.silicon_in_film + film.silicon_lost, film.silicon_fed)
        yield from broken(f"silane of {name}", film.silane_fed * carried, film.silicon_fed)
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
    """Busy time of a tool, of its steps, and of its loading."""
    for name, use in results.line.tools.items():
        steps = sum(results.line.steps[step].busy_time for step, row in case.steps.items() if row.tool == name)
        yield from broken(f"busy time of {name}", use.busy_time, steps)
        yield from broken(f"loading of {name}", use.loading * use.tools * use.available_time, use.busy_time)
        yield from broken(f"capacity of {name}", use.capacity * use.loading, results.line.output.good_modules)
        if use.loading > 1 + 1e-9:
            yield f"{name} is loaded to {use.loading}"


def tools_are_the_least_whole_number_that_suffices(case: Case, results: Results) -> Broken:
    """A sized plant has whole tools and none too many."""
    for name, use in results.line.tools.items():
        if case.target.mode == "sized" and (use.tools % 1 or not -1e-9 <= use.tools - use.tools_needed < 1):
            yield f"{name}: {use.tools} tools for {use.tools_needed} needed"


def tools_in_the_plant_are_paid_once(case: Case, results: Results) -> Broken:
    """The tools of the equipment lines are those in the plant, and an hour of one costs each of its steps the same."""
    lines = results.ledger.lines
    for name, use in results.line.tools.items():
        steps = [step for step, row in case.steps.items() if row.tool == name]
        for category in ("depreciation", "maintenance"):
            parts = [lines[f"{category}.{step}"] for step in steps]
            yield from broken(f"{category} of {name}", sum(part.quantity for part in parts), use.tools)
            for step, part in zip(steps, parts):
                share = results.line.steps[step].busy_time / use.busy_time
                yield from broken(f"{category} of {name} at {step}", part.quantity, use.tools * share)


def people_at_tools_are_whole_in_each_crew(case: Case, results: Results) -> Broken:
    """A role has the least whole number of people of each crew that its tools want, besides its heads."""
    for role, row in case.crew.items():
        crews = case.site.crews
        employed = sum(x.quantity for x in results.ledger.lines.values() if x.category == "labour" and x.item == role)
        wanted = sum(tool.operators * results.line.tools[name].tools for name, tool in case.tools.items()
                     if tool.role == role)
        heads = row.heads * (crews if row.per == "crew" else 1)
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
    yield from broken("capacity", output.capacity, min(use.capacity for use in results.line.tools.values()))


def sized_output_meets_the_target_on_every_basis(case: Case, results: Results) -> Broken:
    """A sized plant makes what is wanted, whatever it is counted in."""
    for basis, made in (("Wp_stabilised", "stabilised_watts"), ("m2", "good_area"), ("module", "good_modules")):
        output = evaluate(with_target(case, basis, 123_456.0)).line.output
        yield from broken(f"target in {basis}", getattr(output, made), 123_456.0)


def frozen_plant_runs_at_its_tightest_tool(case: Case, results: Results) -> Broken:
    """The plant sized for the target, then frozen, makes its capacity with its tightest tool full, at the same cost."""
    sized = evaluate(with_values(case, {"target.mode": "sized"}))
    free = evaluate(frozen(with_values(case, {"target.mode": "sized"})))
    yield from broken("frozen output", free.line.output.good_modules, sized.line.output.capacity)
    yield from broken("loading of the tightest tool", max(use.loading for use in free.line.tools.values()), 1.0)
    for category in ("depreciation", "maintenance"):
        yield from broken(category, free.ledger.by_category[category].cost, sized.ledger.by_category[category].cost)


LAWS_OF_ONE_CASE = (
    totals_agree_by_every_road, rows_and_columns_of_the_table_agree, matrices_take_yield_loss_out_of_each_category,
    checks_of_the_ledger_are_zero, yield_loss_agrees_by_line_and_by_step, silicon_closes, target_material_closes,
    plates_pass_from_step_to_step, tools_are_busy_for_their_steps_and_for_nothing_else,
    tools_are_the_least_whole_number_that_suffices, tools_in_the_plant_are_paid_once,
    people_at_tools_are_whole_in_each_crew, costs_agree_on_every_basis, lines_are_quantity_times_price,
    output_volumes_agree, sized_output_meets_the_target_on_every_basis, frozen_plant_runs_at_its_tightest_tool,
)


def messages(law: Callable, case: Case) -> list[str]:
    """What breaks a law in a case: a law of one case is put to the frozen plant as well."""
    if law in LAWS_OF_ONE_CASE:
        return [message for each in (case, frozen(case)) for message in law(each, evaluate(each))]
    return list(law(case))


def violated(case: Case) -> list[str]:
    """The names of the laws that a case breaks, each with what breaks it first; a law that cannot be put is broken."""
    found = []
    for law in (*LAWS_OF_ONE_CASE, *SCALING_LAWS):
        try:
            problems = messages(law, case)
        except (ArithmeticError, InputFaults) as problem:
            problems = [f"{type(problem).__name__}: {problem}"]
        found += [f"{law.__name__}: {problem}" for problem in problems[:1]]
    return found
