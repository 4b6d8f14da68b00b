"""What a module costs, by step, kind and tool, and what is lost to yield: sentences and tables."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.labour import people_employed, people_wanted
from ..model.ledger.ledger_figures import KINDS_OF_COST, PLANT
from ..studies.factory.full_use import Point
from .numbers import amount, duration, fixed, in_unit, label, money, named, people, percent
from .table import Table, table_of


def step_title(case: Case, step: str) -> str:
    """The title of a step, or the words for costs that belong to no step."""
    return "Plant (no step)" if step == PLANT else case.steps[step].title


def share_of(part: float, whole: float) -> float:
    """A part over a whole, and 0 of nothing."""
    return part / whole if whole else 0.0


def headline(case: Case, results: Results) -> str:
    """The answer in one sentence."""
    total = results.ledger.total
    return (
        f"A module costs {money(total.cost_per_module, case.currency)} to make: "
        f"{money(total.cost_per_stabilised_watt, case.currency)} per stabilised watt, "
        f"{money(total.cost_per_m2, case.currency)} per m²."
    )


def volume(results: Results) -> str:
    """What the plant makes, in one sentence."""
    output = results.line.output
    return (
        f"The plant makes {people(output.good_modules, words=True)} good modules of {people(output.stabilised_power)} W a year, "
        f"{people(output.stabilised_watts / to_base('MWp_stabilised'))} MW stabilised, from "
        f"{people(output.plates_started, words=True)} plates."
    )


def dearest(case: Case, results: Results) -> str:
    """Which steps and which category cost most."""
    total = results.ledger.total.cost
    if not total:
        return "Nothing costs anything."
    steps = sorted(((c.cost, s) for s, c in results.ledger.by_step.items() if s != PLANT and c.cost > 0), reverse=True)[:3]
    category, cost = max(results.ledger.by_category.items(), key=lambda item: item[1].cost)
    kind = f"The largest kind of cost is {label(category)}: {percent(cost.cost / total, 2)}."
    if not steps:
        return kind
    count = {1: "most expensive step is", 2: "two most expensive steps are", 3: "three most expensive steps are"}[len(steps)]
    names = named(step_title(case, step) for _, step in steps)
    return f"The {count} {names}: {percent(sum(cost for cost, _ in steps) / total, 2)} of the cost. {kind}"


def spent_most_on(case: Case, results: Results) -> str:
    """What most of the money of a year goes to."""
    total, groups = results.ledger.total.cost, sorted(results.ledger.by_group.items(), key=lambda item: -item[1].cost)
    if not total:
        return "Nothing costs anything."
    parts = ", ".join(f"{label(name)} {percent(each.cost / total, 2)}" for name, each in groups[:3])
    return f"A year costs {amount(total, case.currency)}. Most of it goes to: {parts}."


def payroll(case: Case, results: Results) -> str:
    """How many people are employed, and what they cost."""
    employed = {name: sum(people_employed(case, people_wanted(case, results.line, name)).values()) for name in case.crew}
    if not employed:
        return "The case has no people."
    most = max(employed, key=lambda name: employed[name])
    return (
        f"{sum(employed.values()):.4g} people are on the payroll, at {amount(_cost_of(results, 'crew.'), case.currency)} a year. "
        f"“{case.crew[most].title}” is the largest role: {employed[most]:.4g}."
    )


def not_in_it(case: Case) -> str:
    """What the figures leave out."""
    left = ["ramp and start-up", "taxes on income", "interest", "outbound freight", "licence fees"]
    left += [] if case.facilities else ["facility systems"]
    left += [] if case.overheads else ["warranty and administration"]
    left += [] if case.levies else ["insurance and property tax"]
    left += [] if case.soaking else ["claims for lots rated too high"]
    return f"Not in the cost of a module: {', '.join(left)}."


def closing(case: Case, results: Results) -> str:
    """Why a module costs more than a plate that went through all steps."""
    module = results.ledger.module
    return (
        f"A plate through all steps costs {money(module.through_all_steps, case.currency)}. A good module costs "
        f"{money(results.ledger.total.cost_per_module, case.currency)}, with {money(module.lost_plates, case.currency)} for lost "
        f"plates and {money(module.no_step, case.currency)} of costs of no step."
    )


def idle(case: Case, results: Results) -> str:
    """What capacity costs that is not used."""
    ledger = results.ledger
    return (
        f"Idle time of tools{' and carriers' if case.carriers else ''} costs {amount(ledger.idle, case.currency)} a year, "
        f"{money(ledger.idle_per_stabilised_watt, case.currency)} per stabilised watt. This counts depreciation and floor, "
        "without people, upkeep and facility systems."
    )


def owned(case: Case, results: Results) -> str:
    """Which tool costs most to own."""
    name, most = max(results.ledger.ownership.items(), key=lambda item: item[1].cost)
    return (
        f"With the materials of its steps, “{case.tools[name].title}” is the most expensive to own: "
        f"{amount(most.cost, case.currency)} a year, {money(most.cost_per_plate_leaving, case.currency)} per plate leaving it."
    )


def points(case: Case, found: list[Point]) -> str:
    """Where a point of yield is worth most and least."""
    most, least = max(found, key=lambda p: p.plates), min(found, key=lambda p: p.plates)
    return (
        f"A point of yield is worth most in “{step_title(case, most.step)}”: {amount(most.plates, case.currency)} a year in "
        f"plates. On the plant as bought a point less there costs {amount(most.as_bought, case.currency)} a year. "
        f"A point is worth least in “{step_title(case, least.step)}”: {amount(least.plates, case.currency)} in plates."
    )


def losses(case: Case, results: Results) -> str:
    """What is lost to yield and where most of it."""
    ledger, output = results.ledger, results.line.output
    if output.line_yield >= 1.0:
        return "No plate is lost, so nothing is lost to yield."
    if not ledger.yield_loss:
        return f"{percent(1 - output.line_yield)} of the plates are lost, but nothing had been spent on them."
    step, value = max(ledger.route.items(), key=lambda item: item[1].lost)
    return (
        f"Plates that do not end as good modules cost {amount(ledger.yield_loss, case.currency)} a year, "
        f"{money(ledger.yield_loss_per_stabilised_watt, case.currency)} per stabilised watt. This is an average share of the cost"
        f"{_scrap_revenue(case, results)}. “{step_title(case, step)}” loses most: {percent(value.lost / ledger.yield_loss, 2)}."
    )


def _scrap_revenue(case: Case, results: Results) -> str:
    """The revenue from lost plates, where anything is known of it."""
    revenue = results.ledger.scrap_revenue
    if not case.scrap:
        return ""
    return f", {'with' if revenue < 0 else 'less'} {amount(abs(revenue), case.currency)} of " + (
        "disposal cost" if revenue < 0 else "revenue from scrap and second grade"
    )


def key_figures(case: Case, results: Results) -> Table:
    """What the plant makes and what it costs, in a few lines."""
    output, ledger = results.line.output, results.ledger
    rows = [
        ["Good modules a year", people(output.good_modules)],
        ["Stabilised power a year", f"{people(output.stabilised_watts / to_base('MWp_stabilised'))} MW"],
        ["Area a year", f"{people(output.good_area)} m²"],
        ["Power of a module, initial and stabilised", f"{people(output.initial_power)} W and {people(output.stabilised_power)} W"],
        ["Yield of the line", percent(output.line_yield)],
        ["Takt: one plate started every", duration(output.takt)],
        ["Tools in the plant could make", f"{people(output.capacity)} modules a year"],
        ["Scheduled time of each crew", in_unit(output.hours_per_crew, "h/crew").replace("/crew", " a year")],
        ["Cost a year", money(ledger.total.cost, case.currency)],
    ]
    return Table("Key figures", ["", ""], rows)


def basis_table(case: Case, results: Results) -> Table:
    """Each category of cost on every basis."""
    bases = ("plate_started", "module", "m2", "initial_watt", "stabilised_watt")
    costs = [*((label(name).capitalize(), x) for name, x in results.ledger.by_category.items()), ("Total", results.ledger.total)]
    rows = [[name, people(x.cost), *(people(getattr(x, f"cost_per_{basis}")) for basis in bases)] for name, x in costs]
    columns = ["", "a year", "per plate started", "per module", "per m²", "per initial W", "per stabilised W"]
    return Table(f"Cost by category on every basis, {case.currency}", columns, rows, total=True)


def group_table(case: Case, results: Results) -> Table:
    """What is bought, by group, a year and per square metre."""
    columns = {
        "": lambda name, x: label(name).capitalize(),
        "a year": lambda _, x: people(x.cost),
        "per m²": lambda _, x: people(x.cost_per_m2),
        "share": lambda _, x: percent(share_of(x.cost, results.ledger.total.cost)),
    }
    groups = sorted(results.ledger.by_group.items(), key=lambda item: -item[1].cost)
    return table_of(f"Spending by group, {case.currency}", groups, columns)


def matrix_table(case: Case, results: Results, basis: str) -> Table:
    """Cost by step and kind on a basis (`m2` or `stabilised_watt`); rows and columns add to the same total."""
    ledger, places = results.ledger, 2 if basis == "m2" else 4
    matrix = getattr(ledger, f"matrix_per_{basis}")
    costs = {step_title(case, step): (kinds, getattr(ledger.by_step[step], f"cost_per_{basis}")) for step, kinds in matrix.items()}
    costs["Total"] = ({kind: sum(kinds[kind] for kinds in matrix.values()) for kind in KINDS_OF_COST},
                      getattr(ledger.total, f"cost_per_{basis}"))  # fmt: skip
    rows = [
        [name, *(fixed(x, places) for x in (*(kinds[kind] for kind in KINDS_OF_COST), all_))]
        for name, (kinds, all_) in costs.items()
    ]
    return Table(
        f"Cost by step and kind, {case.currency} per {'m²' if basis == 'm2' else 'stabilised watt'}",
        ["", *(label(kind) for kind in KINDS_OF_COST), "total"],
        rows,
        total=True,
        note="Yield loss is what a step spends on plates that do not end as good modules, wherever these are lost. "
        "The other columns leave it out. It is an average share of the cost. A better yield saves less, as whole tools and people "
        "stay.",
    )


def route_table(case: Case, results: Results) -> Table:
    """Cost added along the route, and what is lost at each step."""
    columns = {
        "": lambda step, x: case.steps[step].title,
        "added per plate": lambda _, x: people(x.cost_added),
        "so far": lambda _, x: people(x.cost_so_far),
        "scrap revenue a year": lambda _, x: people(x.scrap_revenue),
        "lost here a year": lambda _, x: people(x.lost),
        "share of all losses": lambda _, x: percent(share_of(x.lost, results.ledger.yield_loss)),
    }
    note = "Lost here: cost so far of the plates lost in this step, less their scrap revenue. "
    title = f"Cost added along the route, and plates lost, {case.currency}"
    return table_of(title, results.ledger.route.items(), columns, note=note + closing(case, results))


def points_table(case: Case, points: list[Point]) -> Table:
    """What one point less of yield costs, step by step."""
    columns = {
        "": lambda p: step_title(case, p.step),
        "plates lost by it": lambda p: people(p.plates),
        "same output, plant resized": lambda p: people(p.resized),
        "plant as bought": lambda p: people(p.as_bought),
    }
    return table_of(
        f"One point less of first-pass yield, {case.currency} a year",
        ((p,) for p in points),
        columns,
        note="Plates lost by it: their cost so far, with all costs in proportion. Resized: what the year costs more at the "
        "same output. As bought: the plant makes less; the rise of a module's cost times the modules made before.",
    )


def ownership_table(case: Case, results: Results) -> Table:
    """Cost of ownership by tool, the most expensive first."""
    columns = {
        "": lambda name, o: case.tools[name].title,
        "fixed": lambda _, o: people(o.fixed),
        "recurring": lambda _, o: people(o.recurring),
        "yield loss": lambda _, o: people(o.yield_loss),
        "all": lambda _, o: people(o.cost),
        "plates per hour": lambda _, o: people(o.throughput * to_base("h")),
        "yield": lambda _, o: percent(o.composite_yield),
        "utilisation": lambda _, o: percent(o.utilisation),
        "good plates": lambda _, o: people(o.good_plates),
        "per good plate": lambda _, o: people(o.cost_per_good_plate),
        "per plate leaving": lambda _, o: people(o.cost_per_plate_leaving),
    }
    return table_of(
        f"Cost of ownership by tool (structure of SEMI E35), {case.currency} a year",
        sorted(results.ledger.ownership.items(), key=lambda item: -item[1].cost),
        columns,
        note="Fixed: depreciation, with that of carriers in its steps, and floor. Recurring: all other costs of its steps. "
        "Yield loss: the cost so far of the plates lost in its steps. Plates per hour are of one tool at work; utilisation is of "
        "the year. Good plates are those processed; where a sample is processed, more plates leave the step.",
    )


def emissions_table(case: Case, results: Results) -> Table:
    """Greenhouse gas by source."""
    ledger = results.ledger
    columns = {
        "": lambda name, e: case.emissions[name].title,
        "t a year": lambda _, e: people(e.mass / to_base("t")),
        "kg per m²": lambda _, e: people(e.mass_per_m2),
        "g per stabilised W": lambda _, e: people(e.mass_per_stabilised_watt / to_base("g")),
        f"{case.currency} a year": lambda name, _: people(_cost_of(results, f"emissions.{name}.")),
    }
    return table_of(
        "Greenhouse gas of what is used, as CO₂ equivalent",
        ledger.emissions.items(),
        columns,
        note="By the factors of emissions.csv, less abatement; only the sources that the table names.",
    )


def _cost_of(results: Results, beginning: str) -> float:
    """The sum of the lines of the ledger whose addresses begin so."""
    return sum(x.cost for address, x in results.ledger.lines.items() if address.startswith(beginning))


def people_table(case: Case, results: Results) -> Table:
    """People by role: needed at tools, whole people in each crew, at no tool, and on the payroll.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> people_table(case, evaluate(case)).columns[:3]
    ['', 'needed at tools, per crew', 'whole people per crew']
    """
    rows, crews, together = [], case.site.crews, 0.0
    for name, role in case.crew.items():
        wanted = people_wanted(case, results.line, name)
        employed = people_employed(case, wanted)
        needed, whole = (sum(part for place, part in each.items() if place != PLANT) / crews for each in (wanted, employed))
        payroll = sum(employed.values())
        together += payroll
        shown = (needed, whole, wanted[PLANT], payroll, _cost_of(results, f"crew.{name}."))
        rows.append([role.title, *map(people, shown)])
    rows.append(["Total", "", "", "", people(together), people(_cost_of(results, "crew."))])
    return Table(
        f"People by role, in {crews:g} crews",
        ["", "needed at tools, per crew", "whole people per crew", "at no tool", "on the payroll", f"{case.currency} a year"],
        rows,
        total=True,
        note="Parts of people at tools are pooled by role and rounded up in each crew. The payroll counts all crews.",
    )
