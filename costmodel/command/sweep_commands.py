"""Figures over values of inputs, and the value of an input that gives a figure its target value."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .answering import View, answers, records
from .offers import note_terms
from .opening import Asked, as_record, for_a_case, refuse, refusing
from .study_options import COST, chart_option, figure_option, figures_option, plant, resize_option, scenario_cases

if TYPE_CHECKING:
    from collections.abc import Callable

    from ..present.drawing import Chart


@dataclass(frozen=True)
class Swept:
    """What is varied, which figures are looked at, and on which plant."""

    vary: tuple[str, ...]
    points: int
    over_scenarios: bool
    over_choices: str | None
    figures: tuple[str, ...]
    threshold: tuple[str, ...]
    resize: bool
    chart: Path | None


@click.command()
@for_a_case
@click.option(
    "--vary",
    multiple=True,
    metavar="ADDRESS[=VALUES]",
    help="An input to vary: 'prices.silane.price=40..120 USD/kg', '... =40, 60, 120 USD/kg', or its address alone for the range "
    "of ranges.csv. May be given again: all combinations.",
)
@click.option("--points", default=21, show_default=True, type=click.IntRange(2, 100_000), help="Values between LOW and HIGH.")
@click.option("--over-scenarios", is_flag=True, help="The case, and each of its scenarios.")
@click.option("--over-choices", metavar="GROUP", help="Each choice of a group of alternatives.")
@figures_option(COST)
@click.option("--threshold", multiple=True, metavar="VALUE", help="A value of the first figure to mark in the chart.")
@resize_option
@chart_option
@as_record(Swept)
@answers
def sweep(asked: Asked, options: Swept) -> View:
    """Figures over one, two or more inputs, scenarios and choices."""
    from ..present import study_charts, study_report
    from ..present.inputs_report import input_name
    from ..studies.axes import parse_axis
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.sweep import sweep as sweep_of
    from .printing import save_chart

    if not options.vary and not options.over_scenarios and not options.over_choices:
        refuse("sweep: found nothing to vary; allowed: --vary, --over-scenarios or --over-choices")
    note_terms(asked, *options.figures)
    with refusing():
        found = scenario_cases(asked, options.over_scenarios, options.over_choices)
        cases = {name: plant(case, options.resize) for name, case in found.items()}
        first = next(iter(cases.values()))
        axes = [parse_axis(first, written, options.points) for written in options.vary]
        figure = wanted_figures(first, options.figures)[options.figures[0]]
        thresholds = [parse_figure(figure, written, "--threshold") for written in options.threshold]
        frame = sweep_of(cases, axes, options.figures)
        addresses = [axis.address for axis in axes]
        if options.chart and len(axes) not in (1, 2):
            refuse(f"--chart: found {len(axes)} inputs; allowed: one (a line) or two (a map)")
        draw: Callable[..., Chart] = study_charts.sweep_line if len(axes) == 1 else study_charts.sweep_map
        over = " and ".join(input_name(first, address) for address in addresses)
        title = f"{study_report.figure_label(figure)} over {over}"
        said = [study_report.swept(first, frame, figure, addresses), study_report.plant(first, addresses)]
        save_chart(options.chart, first, title, lambda: (draw(first, frame, *addresses, figure, thresholds), said))
    return View(
        study_report.titled(first),
        [study_report.swept(first, frame, figure, addresses), study_report.plant(first, addresses)],
        [study_report.sweep_table(first, frame)],
        records([{str(k): v for k, v in row.items()} for row in frame.to_dict("records")], {"units": frame.attrs["units"]}),
    )


@dataclass(frozen=True)
class Sought:
    """Which input is looked for, between which ends, and which value of which figure."""

    address: str
    figure: str
    value: str
    low: str | None
    high: str | None
    resize: bool


@click.command()
@for_a_case
@click.option("--input", "address", required=True, metavar="ADDRESS", help="The input to find.")
@figure_option
@click.option(
    "--value", required=True, metavar="VALUE", help="The target value, as '0.9 EUR/Wp_stabilised', or a number in its unit."
)
@click.option(
    "--from", "low", metavar="VALUE", help="Where to begin; without it the range of ranges.csv, or what the input allows."
)
@click.option("--to", "high", metavar="VALUE", help="Where to end.")
@resize_option
@as_record(Sought)
@answers
def solve(asked: Asked, options: Sought) -> View:
    """The value of an input at which a figure has a target value."""
    from ..present import study_records, study_report
    from ..studies.axes import number_at, parse_input, range_of
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.solve import solve as solve_for

    case, address = asked.case, options.address
    note_terms(asked, options.figure)
    with refusing():
        wanted = wanted_figures(case, [options.figure])[options.figure]
        target = parse_figure(wanted, options.value, "--value")
        written = ((options.low, "--from"), (options.high, "--to"))
        low, high = (None if text is None else parse_input(case, address, text, name) for text, name in written)
        _, _, unit = number_at(case, address, "--input")
        row = range_of(case, address)
        unit = row.unit if row else unit
        bought = plant(case, options.resize)
        found = solve_for(bought, address, options.figure, target, low, high)
    return View(
        study_report.titled(bought),
        [study_report.solved(case, found, wanted, unit), study_report.plant(bought, [address])],
        [study_report.solution_table(case, found, wanted, unit)] if found.answers else [],
        records(*study_records.of_solution(found, wanted, unit), study_records.no_solution()),
    )
