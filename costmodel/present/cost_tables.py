"""Tables of costs."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.ledger_figures import KINDS_OF_COST, PLANT, Cost
from ..studies.factory.choices import SHORT, Outcome, cost_on_basis
from ..studies.factory.full_use import Point, title_of
from ..studies.factory.plant_size import Size
from ..studies.factory.written_off import Year
from ..studies.sensitivities import Elasticity
from .line_tables import equipment
from .numbers import duration, exact, in_unit, label, money, people, percent
from .table import Table


def step_title(case: Case, step: str) -> str:
    """The title of a step, or the words for costs that belong to no step."""
    return "Plant (no step)" if step == PLANT else case.steps[step].title


def key_figures(case: Case, results: Results) -> Table:
    """What the plant makes and what it costs, in a few lines."""
    output, ledger = results.line.output, results.ledger
    rows = [
        ["Good modules a year", people(output.good_modules)],
        ["Stabilised power a year", in_unit(output.stabilised_watts, "MWp_stabilised").replace("MWp_stabilised", "MW")],
        ["Area a year", f"{people(output.good_area)} m2"],
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
    columns = ["", "a year", "per plate started", "per module", "per m2", "per initial W", "per stabilised W"]

    def row(name: str, cost: Cost) -> list[str]:
        """A cost on every basis."""
        return [
            name,
            people(cost.cost),
            people(cost.cost_per_plate_started),
            people(cost.cost_per_module),
            people(cost.cost_per_m2),
            people(cost.cost_per_initial_watt),
            people(cost.cost_per_stabilised_watt),
        ]

    rows = [row(label(name).capitalize(), cost) for name, cost in results.ledger.by_category.items()]
    rows.append(row("Total", results.ledger.total))
    return Table(f"Cost by category on every basis, {case.currency}", columns, rows, total=True)


def share_of(part: float, whole: float) -> float:
    """A part over a whole, and 0 of nothing."""
    return part / whole if whole else 0.0


def group_table(case: Case, results: Results) -> Table:
    """What is bought, by group, a year and per square metre."""
    costs = sorted(results.ledger.by_group.items(), key=lambda item: -item[1].cost)
    rows = [
        [label(name).capitalize(), people(c.cost), people(c.cost_per_m2), percent(share_of(c.cost, results.ledger.total.cost))]
        for name, c in costs
    ]
    return Table(f"What the money is spent on, {case.currency}", ["", "a year", "per m2", "share"], rows)


def matrix_table(case: Case, results: Results, basis: str) -> Table:
    """Cost by step and kind on a basis (`m2` or `stabilised_watt`); rows and columns add to the same total."""
    matrix = results.ledger.matrix_per_m2 if basis == "m2" else results.ledger.matrix_per_stabilised_watt
    total = results.ledger.total.cost_per_m2 if basis == "m2" else results.ledger.total.cost_per_stabilised_watt
    costs = {name: c.cost_per_m2 if basis == "m2" else c.cost_per_stabilised_watt for name, c in results.ledger.by_step.items()}
    places = 2 if basis == "m2" else 4

    def show(value: float) -> str:
        """A cost with the places of its basis; a dash for next to nothing."""
        return f"{value:.{places}f}" if abs(value) >= 0.5 * 10**-places else "–"

    rows = [
        [step_title(case, step), *(show(kinds[kind]) for kind in KINDS_OF_COST), show(costs[step])]
        for step, kinds in matrix.items()
    ]
    sums = [show(sum(kinds[kind] for kinds in matrix.values())) for kind in KINDS_OF_COST]
    rows.append(["Total", *sums, show(total)])
    shown = "m2" if basis == "m2" else "stabilised watt"
    return Table(
        f"Cost by step and kind, {case.currency} per {shown}",
        ["", *(label(kind) for kind in KINDS_OF_COST), "total"],
        rows,
        total=True,
        note="Yield loss is what the step spends on plates that do not end as good modules, wherever these are lost; "
        "it is taken out of the other columns. It is an average share of the cost, not what a better yield "
        "would save: whole tools and people stay.",
    )


def route_table(case: Case, results: Results) -> Table:
    """Cost added along the route, and what is lost at each step."""
    module = results.ledger.module
    rows = [
        [
            case.steps[step].title,
            people(value.cost_added),
            people(value.cost_so_far),
            people(value.scrap_revenue),
            people(value.lost),
            percent(share_of(value.lost, results.ledger.yield_loss)),
        ]
        for step, value in results.ledger.route.items()
    ]
    return Table(
        f"Cost added along the route, and plates lost, {case.currency}",
        ["", "added to each plate", "so far", "scrap fetches a year", "lost here a year", "share of all losses"],
        rows,
        note="What is lost here is what the plates lost in this step had cost up to and with it, less what they fetch. A plate "
        f"through all steps has cost {money(module.through_all_steps, case.currency)} a module; a good module also carries "
        f"{money(module.lost_plates, case.currency)} for lost plates and {money(module.no_step, case.currency)} "
        "of costs of no step.",
    )


def film_table(case: Case, results: Results) -> Table:
    """Where silicon and target materials go."""
    rows = [
        [
            case.layers[name].title,
            people(f.silane_fed),
            people(f.silicon_fed),
            people(f.silicon_settling),
            people(f.silicon_in_film),
            people(f.silicon_lost),
            "",
        ]
        for name, f in results.ledger.films.items()
    ]
    rows += [
        [case.coatings[name].title, "", people(c.bought), "", people(c.on_plates), people(c.lost), people(c.recovered)]
        for name, c in results.ledger.coatings.items()
    ]
    return Table(
        "Films: where the material goes in a year, kg",
        ["", "silane fed", "silicon fed, or target bought", "of it while gases settle", "on plates", "lost", "recovered"],
        rows,
        note="Recovered metal is credited at its quote less refining.",
    )


def points_table(case: Case, points: list[Point]) -> Table:
    """What one point less of yield costs, step by step."""
    rows = [[step_title(case, p.step), people(p.plates), people(p.resized), people(p.as_bought)] for p in points]
    return Table(
        f"One point less of first-pass yield, {case.currency} a year",
        ["", "plates lost by it", "same output, plant resized", "plant as bought"],
        rows,
        note="Plates lost by it: what they had cost so far, with all costs in proportion. Resized: what the year costs more at the "
        "same output. As bought: the plant makes less; the rise of a module's cost times the modules made before.",
    )


def choices_table(outcomes: list[Outcome], group: str) -> Table:
    """The choices of a group side by side, the cheapest first on the basis of the target."""
    currency = outcomes[0].case.currency
    plants = {
        "sized": "tools are sized anew for each choice",
        "frozen": "the plant is left as installed, and its output follows",
        "as_bought": "each choice has the plant bought for it, which then stays",
    }
    plant = plants[outcomes[0].case.target.mode]
    columns = ["", "per stabilised W", "per m2", "per module", "stabilised W a module", "modules a year", "bottleneck"]
    rows = []
    for outcome in sorted(outcomes, key=lambda o: cost_on_basis(o.case, o.results.ledger.total)):
        total, output = outcome.results.ledger.total, outcome.results.line.output
        tightest = title_of(outcome.case, equipment(outcome.results)[0][0])
        row = [
            outcome.title,
            people(total.cost_per_stabilised_watt, 4),
            people(total.cost_per_m2, 4),
            people(total.cost_per_module, 4),
            people(output.stabilised_power),
            people(output.good_modules),
            tightest,
        ]
        rows.append(row)
    return Table(
        f"Choices of {label(group)} side by side, {currency}",
        columns,
        rows,
        texts=(0, 6),
        note=f"All else is equal; {plant}.",
    )


def ownership_table(case: Case, results: Results) -> Table:
    """Cost of ownership by tool, the dearest first."""
    order = sorted(results.ledger.ownership.items(), key=lambda item: -item[1].cost)
    rows = [
        [
            case.tools[name].title,
            people(o.fixed),
            people(o.recurring),
            people(o.yield_loss),
            people(o.cost),
            people(o.throughput * to_base("h")),
            percent(o.composite_yield),
            percent(o.utilisation),
            people(o.good_plates),
            people(o.cost_per_good_plate),
            people(o.cost_per_plate_leaving),
        ]
        for name, o in order
    ]
    return Table(
        f"Cost of ownership by tool (structure of SEMI E35), {case.currency} a year",
        [
            "",
            "fixed",
            "recurring",
            "yield loss",
            "all",
            "plates an hour",
            "yield",
            "utilisation",
            "good plates",
            "a good plate",
            "a plate leaving",
        ],
        rows,
        note="Fixed: depreciation, that of carriers in its steps too, and floor. Recurring: all else that its steps cost. "
        "Yield loss: "
        "what the plates lost in its steps had cost before they came. Plates an hour are of one tool at work; utilisation is of "
        "the year. Good plates are those processed; where a sample is processed, more plates leave the step than these.",
    )


def _growth_note(case: Case) -> str:
    """What grows with the plant besides tools and operators, and what is fixed."""
    grows = [row.grows.split(".")[0] for row in [*case.growth_steps.values(), *case.growth_exponents.values()]]
    there = {
        "facilities": ("facility systems", len(case.facilities)),
        "crew": ("roles at no tool", len(case.crew)),
        "overheads": ("overheads per year", sum(row.per == "year" for row in case.overheads.values())),
        "spares": ("spare parts per plant", sum(row.per == "plant" for row in case.spares.values())),
    }
    parts = [f"{grows.count(table)} of {many} {what}" for table, (what, many) in there.items() if many]
    return f"Tools and operators at tools grow with the plant. So do {', '.join(parts)}. The rest is fixed at every size."


def size_table(case: Case, found: list[Size]) -> Table:
    """The cheapest sizes of the plant, at each of which a tool, a carrier or a unit that grows is full."""
    basis = SHORT[case.target.basis]
    rows = [
        [
            people(s.stabilised_watts / to_base("MWp_stabilised")),
            f"{s.tools:.4g}",
            ", ".join(_grown_title(case, place) for place in s.full),
            people(s.cost, 4),
            people(s.cost_after, 4),
        ]
        for s in found
        if s.cheapest
    ]
    return Table(
        f"Sizes that are cheaper than the next smaller and the next larger one with full tools, {case.currency}",
        ["MW a year", "tools in all", "full", f"per {basis}", "a little larger"],
        rows,
        texts=(2,),
        note=_growth_note(case),
    )


def added_units_table(case: Case, found: list[Size]) -> Table:
    """The sizes above which one more unit of facilities or people is needed."""
    rows = [
        [
            people(s.stabilised_watts / to_base("MWp_stabilised")),
            _grown_title(case, place),
            f"{before:g} → {after:g}",
            people(s.cost, 4),
            people(s.cost_after, 4),
        ]
        for s in found
        for place, (before, after) in s.added.items()
    ]
    return Table(
        f"Sizes above which a unit is added, {case.currency} per {SHORT[case.target.basis]}",
        ["MW a year", "added", "units", "cost", "a little larger"],
        rows,
        texts=(1, 2),
        note="Rows of growth_steps.csv: facility systems and people in whole units.",
    )


def _grown_title(case: Case, place: str) -> str:
    """The title of a tool, a carrier or a row that grows, by its address."""
    table, _, name = place.partition(".")
    return getattr(getattr(case, table)[name], "title", name)


def evidence_table(case: Case, found: list[Elasticity], what: str = "the cost of a watt", most: int = 12) -> Table:
    """The inputs on which a figure depends most."""
    rows = [[each.address, f"{each.elasticity:+.2f} %", each.kind, case.evidence[each.address.rsplit(".", 1)[0]].source]
            for each in found[:most]]  # fmt: skip
    return Table(
        f"What {what} depends on most",
        ["input", "for 1 % more", "kind", "source"],
        rows,
        texts=(0, 2, 3),
        note="The plant is left as bought while each input is moved by itself.",
    )


def landed_table(case: Case, results: Results) -> Table:
    """What every item of the price book costs at the gate, how much of it is bought, and what is in stock."""
    bought = results.ledger.landed
    rows = [
        [
            row.title,
            label(row.group),
            exact(row.price, f"{row.currency}/{row.unit}"),
            people(bought[name].metal * to_base(row.unit), 4),
            row.price_year,
            percent(row.freight),
            percent(row.duty),
            people(bought[name].used / to_base(row.unit)),
            people(bought[name].paid_for / to_base(row.unit)),
            percent(bought[name].discount),
            people(bought[name].price * to_base(row.unit), 4),
            people(bought[name].stock),
        ]
        for name, row in case.prices.items()
    ]
    return Table(
        f"Landed prices, {case.currency}",
        ["", "group", "price", "metal", "year", "freight", "duty", "used a year", "paid for", "discount", "landed", "in stock"],
        rows,
        texts=(0, 1),
        note="Used and paid for in the unit of the price; they differ where a minimum order or a contract asks for more. Landed: "
        "price in money of the case at its exchange rate, with freight, with duty on the price without freight, less the discount "
        "that the quantity reaches. Metal is its quote, which comes on top of the price, with freight and duty, without discount.",
    )


def written_off_table(case: Case, years: list[Year]) -> Table:
    """Depreciation year by year, in the books and for tax."""
    rows = [[str(year.number), people(year.books), people(year.tax)] for year in years]
    rows.append(["Total", people(sum(year.books for year in years)), people(sum(year.tax for year in years))])
    return Table(
        f"Equipment written off, {case.currency}",
        ["year of use", "in the books", "for tax"],
        rows,
        total=True,
        note="Tools, carriers, facility systems and parts in store as first bought, nothing replaced. The ledger takes the average "
        "year of a life, whatever the path in between.",
    )


def emissions_table(case: Case, results: Results) -> Table:
    """Greenhouse gas by source."""
    ledger = results.ledger
    rows = [
        [
            case.emissions[name].title,
            people(e.mass / to_base("t")),
            people(e.mass_per_m2),
            people(e.mass_per_stabilised_watt / to_base("g")),
            people(sum(x.cost for address, x in ledger.lines.items() if address.startswith(f"emissions.{name}."))),
        ]
        for name, e in ledger.emissions.items()
    ]
    return Table(
        "Greenhouse gas of what is used, as CO2 equivalent",
        ["", "t a year", "kg per m2", "g per stabilised W", f"{case.currency} a year"],
        rows,
        note="By the factors of emissions.csv, abatement taken off; only the sources that the table names.",
    )
