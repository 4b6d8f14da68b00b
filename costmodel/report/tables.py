"""Tables of results and inputs, as texts; the command line and the pages show the same ones."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

from ..case.records import Case, tables
from ..fields import Number, Text, declared
from ..ledger.records import KINDS_OF_COST, PLANT, Cost
from ..line.records import Line
from ..model import Results
from .numbers import duration, exact, in_unit, label, money, people, percent


@dataclass(frozen=True)
class Table:
    """A table of texts; the first column holds names, the others figures set to the right unless `texts` says otherwise."""

    title: str
    columns: list[str]
    rows: list[list[str]]
    note: str = ""
    total: bool = False
    texts: tuple[int, ...] = field(default=(0,))

    def as_block(self) -> dict[str, Any]:
        """The table as plain data for a page."""
        return {"kind": "table"} | asdict(self)


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
        ["Cost a year", money(ledger.total.cost, case.currency)],
    ]
    return Table("Key figures", ["", ""], rows)


def basis_table(case: Case, results: Results) -> Table:
    """Each category of cost on every basis."""
    columns = ["", "a year", "per plate started", "per module", "per m2", "per initial W", "per stabilised W"]

    def row(name: str, cost: Cost) -> list[str]:
        return [name, people(cost.cost), people(cost.cost_per_plate_started), people(cost.cost_per_module),
                people(cost.cost_per_m2), people(cost.cost_per_initial_watt), people(cost.cost_per_stabilised_watt)]

    rows = [row(label(name).capitalize(), cost) for name, cost in results.ledger.by_category.items()]
    rows.append(row("Total", results.ledger.total))
    return Table(f"Cost by category on every basis, {case.currency}", columns, rows, total=True)


def group_table(case: Case, results: Results) -> Table:
    """What is bought, by group, a year and per square metre."""
    costs = sorted(results.ledger.by_group.items(), key=lambda item: -item[1].cost)
    rows = [[label(name).capitalize(), people(c.cost), people(c.cost_per_m2), percent(c.cost / results.ledger.total.cost)]
            for name, c in costs]
    return Table(f"What the money is spent on, {case.currency}", ["", "a year", "per m2", "share"], rows)


def matrix_table(case: Case, results: Results, basis: str) -> Table:
    """Cost by step and kind on a basis (`m2` or `stabilised_watt`); rows and columns add to the same total."""
    matrix = results.ledger.matrix_per_m2 if basis == "m2" else results.ledger.matrix_per_stabilised_watt
    total = results.ledger.total.cost_per_m2 if basis == "m2" else results.ledger.total.cost_per_stabilised_watt
    costs = {name: c.cost_per_m2 if basis == "m2" else c.cost_per_stabilised_watt for name, c in results.ledger.by_step.items()}
    places = 2 if basis == "m2" else 4

    def show(value: float) -> str:
        return f"{value:.{places}f}" if abs(value) >= 0.5 * 10**-places else "–"

    rows = [[step_title(case, step), *(show(kinds[kind]) for kind in KINDS_OF_COST), show(costs[step])]
            for step, kinds in matrix.items()]
    sums = [show(sum(kinds[kind] for kinds in matrix.values())) for kind in KINDS_OF_COST]
    rows.append(["Total", *sums, show(total)])
    shown = "m2" if basis == "m2" else "stabilised watt"
    return Table(f"Cost by step and kind, {case.currency} per {shown}",
                 ["", *(label(kind) for kind in KINDS_OF_COST), "total"], rows, total=True,
                 note="Yield loss is what the step spends on plates that do not end as good modules; it is taken out of "
                      "the other columns.")


def tool_table(case: Case, results: Results) -> Table:
    """Tools, the fullest first."""
    order = sorted(results.line.tools.items(), key=lambda item: -item[1].loading)
    rows = [[case.tools[name].title, people(use.tools_needed), f"{use.tools:.4g}", percent(use.loading),
             in_unit(use.available_time, "h"), people(use.capacity)] for name, use in order]
    return Table("Tools and their loading", ["", "needed", "in the plant", "loading", "available, each", "modules a year possible"],
                 rows)


def flow_table(case: Case, line: Line) -> Table:
    """What passes through each step."""
    rows = [[case.steps[name].title, people(flow.starts), people(flow.passes), people(flow.lost),
             percent(flow.good / flow.starts), duration(flow.cycle_time),
             f"{case.tools[case.steps[name].tool].load_size:.4g}", percent(flow.good_end_share)]
            for name, flow in line.steps.items()]
    return Table("Plates through the route in a year",
                 ["", "entering", "processed", "lost", "good", "cycle", "plates a load", "ending as good modules"], rows)


def route_table(case: Case, results: Results) -> Table:
    """Cost added along the route, and what is lost at each step."""
    rows = [[case.steps[step].title, people(value.cost_added), people(value.cost_so_far), people(value.lost),
             percent(value.lost / results.ledger.yield_loss) if results.ledger.yield_loss else "0 %"]
            for step, value in results.ledger.route.items()]
    return Table(f"Cost added along the route, and plates lost, {case.currency}",
                 ["", "added to each plate", "so far", "lost here a year", "share of all losses"], rows,
                 note="What is lost here is what the plates lost in this step had cost up to and with it.")


def film_table(case: Case, results: Results) -> Table:
    """Where silicon and target materials go."""
    rows = [[case.layers[name].title, people(f.silane_fed), people(f.silicon_fed), people(f.silicon_in_film), people(f.silicon_lost), ""]
            for name, f in results.ledger.films.items()]
    rows += [[case.coatings[name].title, "", people(c.bought), people(c.on_plates), people(c.lost), people(c.recovered)]
             for name, c in results.ledger.coatings.items()]
    return Table("Films: where the material goes in a year, kg",
                 ["", "silane fed", "silicon fed, or target bought", "on plates", "lost", "recovered"], rows)


def input_tables(case: Case) -> Iterator[Table]:
    """Every input with its unit, kind, source, date and person, one table for each file or section."""
    for name, table in tables().items():
        fields = declared(table.record)
        held = {"": getattr(case, name)} if table.section else getattr(case, name)
        columns = ["", *(label(field_name) for field_name in fields), "kind", "source", "date", "by"]
        rows = []
        for identity, record in held.items():
            place = f"{name}.{identity}" if identity else name
            shown = case.evidence[place]
            values = [exact(getattr(record, f), case.entry_units[f"{place}.{f}"]) if isinstance(d, Number)
                      else getattr(record, f) for f, d in fields.items()]
            rows.append([identity or name, *values, shown.kind, shown.source, shown.date, shown.by])
        texts = tuple(i for i, d in enumerate(fields.values(), start=1) if isinstance(d, Text))
        yield Table(f"{table.file}{', ' + name if table.section else ''}: {table.meaning}", columns, rows,
                    texts=(0, *texts, *range(len(fields) + 1, len(fields) + 5)))


def evidence_counts(case: Case) -> dict[str, int]:
    """How many rows of inputs are of each kind."""
    counts: dict[str, int] = {}
    for shown in case.evidence.values():
        counts[shown.kind] = counts.get(shown.kind, 0) + 1
    return counts
