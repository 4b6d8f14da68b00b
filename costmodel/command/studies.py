"""Commands for studies: sweep, solve, tornado, scenarios, waterfall, rank, risk."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .opening import Asked, as_program, for_a_case, refuse, refusing

if TYPE_CHECKING:
    from ..case.whole_case import Case

COST = "ledger.total.cost_per_stabilised_watt"
KEY_FIGURES = (
    COST,
    "ledger.total.cost_per_m2",
    "ledger.total.cost_per_module",
    "ledger.total.cost",
    "line.output.stabilised_watts",
    "line.output.good_modules",
)
PLAN_FIGURES = (
    "plan.project.npv",
    "plan.project.irr",
    "plan.owners.irr",
    "plan.project.low_point",
    "plan.project.payback",
    "plan.minimum_dscr",
    "plan.years_below_minimum_dscr",
)
INTERRUPTED = 130  # as shells have it for Ctrl-C


def add_studies(main: click.Group) -> None:
    """Give the program the commands of this file."""
    for command in (sweep, solve, tornado, scenarios, waterfall, rank, risk):
        main.add_command(command)


def _one_figure(command: Callable[..., None]) -> Callable[..., None]:
    return click.option(
        "--figure", default=COST, show_default=True, metavar="ADDRESS", help="The figure to ask about, by its address."
    )(command)


def _figures(*defaults: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    return click.option(
        "--figure",
        "figures",
        multiple=True,
        default=defaults,
        metavar="ADDRESS",
        help="A figure to ask about, by its address; may be given again.",
    )


_chart = click.option(
    "--chart", type=click.Path(path_type=Path, dir_okay=False), help="Write the chart to this HTML file, which opens offline."
)
_resize = click.option("--resize", is_flag=True, help="Size tools anew for every value; without it the plant stays as bought.")
_seed = click.option("--seed", default=0, show_default=True, help="The seed of the draws, a whole number from 0.")


def _plant(case: Case, resize: bool) -> Case:
    """The case as it was opened, with the plant that it buys; with `resize`, as a design for which tools are sized."""
    from ..model.bought import as_bought

    if resize and case.design is not None:
        allowed = "a case, or a scenario with plant: designed"
        refuse(f"--resize: found “{case.title}”, an event that hits the plant as bought; allowed: {allowed}")
    return case if resize else as_bought(case)


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
@_figures(COST)
@click.option("--threshold", multiple=True, metavar="VALUE", help="A value of the first figure to mark in the chart.")
@_resize
@_chart
@as_program
def sweep(
    asked: Asked,
    vary: tuple[str, ...],
    points: int,
    over_scenarios: bool,
    over_choices: str | None,
    figures: tuple[str, ...],
    threshold: tuple[str, ...],
    resize: bool,
    chart: Path | None,
    style: str,
) -> None:
    """Figures over one, two or more inputs, scenarios and choices."""
    from ..present import study_charts, study_report
    from ..studies.axes import parse_axis
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.sweep import sweep as sweep_of
    from .printing import save_chart, show_lines, show_records, show_table

    if not vary and not over_scenarios and not over_choices:
        refuse("sweep: found nothing to vary; allowed: --vary, --over-scenarios or --over-choices")
    with refusing():
        cases = {name: _plant(case, resize) for name, case in _cases(asked, over_scenarios, over_choices).items()}
        first = next(iter(cases.values()))
        axes = [parse_axis(first, written, points) for written in vary]
        known = wanted_figures(first, figures)
        thresholds = [parse_figure(known[figures[0]], written, "--threshold") for written in threshold]
        frame = sweep_of(cases, axes, figures)
    if chart and len(axes) not in (1, 2):
        refuse(f"--chart: found {len(axes)} inputs; allowed: one (a line) or two (a map)")
    if style:
        show_records(frame.to_dict("records"), style, {"units": frame.attrs["units"]})
    else:
        show_lines([study_report.titled(first), study_report.plant(first, [axis.address for axis in axes])])
        show_table(study_report.sweep_table(frame))
    with refusing():
        if len(axes) == 1:
            save_chart(chart, lambda: study_charts.sweep_line(first, frame, axes[0].address, known[figures[0]], thresholds))
        elif len(axes) == 2:
            across, up = axes[0].address, axes[1].address
            save_chart(chart, lambda: study_charts.sweep_map(first, frame, across, up, known[figures[0]], thresholds))


def _cases(asked: Asked, over_scenarios: bool, over_choices: str | None, stays: bool = False) -> dict[str, Case]:
    """The cases of a sweep by name, scenarios and choices stacked; with `stays`, all on the plant as bought. Raises InputFaults."""
    from ..model.scenarios import AS_BOUGHT, open_case, scenario_names
    from ..studies.factory.choices import choice_names

    scenarios = [asked.scenario, *(name for name in scenario_names(asked.folder) if name != asked.scenario)]
    choices = choice_names(asked.folder, over_choices) if over_choices else [""]
    found = {}
    for scenario in scenarios if over_scenarios else [asked.scenario]:
        for choice in choices:
            use = {**asked.use, over_choices: choice} if over_choices else asked.use
            name = ", ".join(part for part in (scenario or "as it is" if over_scenarios or not choice else "", choice) if part)
            found[name] = open_case(asked.folder, scenario, asked.changes, use, AS_BOUGHT if stays else None)
    return found


@click.command()
@for_a_case
@click.option("--input", "address", required=True, metavar="ADDRESS", help="The input to find.")
@_one_figure
@click.option(
    "--value", required=True, metavar="VALUE", help="The target value, as '0.9 EUR/Wp_stabilised', or a number in its unit."
)
@click.option(
    "--from", "low", metavar="VALUE", help="Where to begin; without it the range of ranges.csv, or what the input allows."
)
@click.option("--to", "high", metavar="VALUE", help="Where to end.")
@_resize
@click.option("--json", "as_json", is_flag=True, help="Print every answer as JSON.")
def solve(
    asked: Asked, address: str, figure: str, value: str, low: str | None, high: str | None, resize: bool, as_json: bool
) -> None:
    """The value of an input at which a figure has a target value."""
    from ..present import study_records, study_report
    from ..studies.axes import number_at, parse_input, range_of
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.solve import solve as solve_for
    from .printing import show_lines, show_records, show_table

    case = asked.open()
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        target = parse_figure(wanted, value, "--value")
        ends = [
            None if text is None else parse_input(case, address, text, option) for text, option in ((low, "--from"), (high, "--to"))
        ]
        _, _, unit = number_at(case, address, "--input")
        row = range_of(case, address)
        unit = row.unit if row else unit
        plant = _plant(case, resize)
        found = solve_for(plant, address, figure, target, *ends)
    if as_json:
        rows, about = study_records.of_solution(found, wanted, unit)
        show_records(rows, "json", about)
        return
    show_lines([study_report.titled(plant), study_report.solved(case, found, wanted, unit), study_report.plant(plant, [address])])
    if found.answers:
        show_table(study_report.solution_table(case, found, wanted, unit))


@click.command()
@for_a_case
@_one_figure
@_resize
@_chart
@as_program
def tornado(asked: Asked, figure: str, resize: bool, chart: Path | None, style: str) -> None:
    """What each uncertain input does to a figure by itself."""
    from ..present import study_charts, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.sensitivities import elasticities
    from ..studies.sensitivities import tornado as bars_of
    from .printing import save_chart, show_lines, show_records, show_table

    case = _plant(asked.open(), resize)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        present, bars = bars_of(case, figure)
    try:
        elastic = elasticities(case, figure)
    except ValueError:  # a figure that is 0, of which nothing is a share
        elastic = []
    if style:
        about = {"figure": figure, "figure_unit": wanted.unit, "present": wanted.shown(present), "reason": wanted.reason or None}
        show_records(study_records.of_tornado(case, wanted, bars, elastic), style, about)
    else:
        show_lines([study_report.titled(case), study_report.widest(case, wanted, bars, present), study_report.plant(case)])
        show_table(study_report.tornado_table(case, wanted, bars, elastic))
    with refusing():
        save_chart(chart, lambda: study_charts.tornado_bars(case, wanted, bars))


@click.command()
@for_a_case
@_figures()
@click.option("--frozen", is_flag=True, help="Take every scenario for an event that hits the plant as bought, designs too.")
@as_program
def scenarios(asked: Asked, figures: tuple[str, ...], frozen: bool, style: str) -> None:
    """Figures of the case and of each of its scenarios side by side.

    Each scenario states its plant: designed, with tools sized for it, or as bought, where it hits the plant of the case.
    """
    from ..present import study_records, study_report
    from ..studies.many import wanted_figures, with_statuses
    from .printing import show_lines, show_records, show_table

    with refusing():
        cases = _cases(asked, True, None, frozen)
        planned = next(iter(cases.values())).has_plan
        figures = figures or (KEY_FIGURES + PLAN_FIGURES if planned else KEY_FIGURES)
        found = {name: wanted_figures(case, with_statuses(case, figures)) for name, case in cases.items()}
    first = next(iter(found.values()))
    if style:
        show_records(study_records.of_scenarios(found), style)
        return
    show_lines([next(iter(cases.values())).title, *study_report.plants(cases)])
    values = {name: {a: float(w.present) for a, w in known.items()} for name, known in found.items()}
    show_table(study_report.scenarios_table(values, list(first.values())))


@click.command()
@for_a_case
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--from-scenario", metavar="NAME", help="Apply a scenario of CASE to the case before.")
@_one_figure
@click.option("--by", type=click.Choice(["input", "row", "table"]), default="row", show_default=True, help="What is one change.")
@click.option("--orders", default=512, show_default=True, type=click.IntRange(2), help="Orders to sample beyond ten changes.")
@_seed
@_resize
@_chart
@as_program
def waterfall(
    asked: Asked,
    other: Path | None,
    from_scenario: str | None,
    figure: str,
    by: str,
    orders: int,
    seed: int,
    resize: bool,
    chart: Path | None,
    style: str,
) -> None:
    """What moved a figure between two cases, in parts that add up.

    CASE is the case before; after is OTHER, or CASE itself. --scenario, --set and --use change the case after. Each part is
    an average over the orders in which the changes could have come (Shapley values).

    Changes by --set meet the plant as bought for the case before. A scenario that is designed, --use and OTHER have a plant of
    their own, sized for each order of changes.
    """
    from ..present import study_charts, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.waterfall import waterfall as parts_of
    from .printing import save_chart, show_lines, show_records, show_table

    if other is None and not (asked.scenario or asked.changes or asked.use or from_scenario):
        refuse("waterfall: found one case only; allowed: another case folder, or a change by --scenario, --set or --use")
    before, after = _both(asked, other, from_scenario, resize)
    with refusing():
        found = parts_of(before, after, figure, by, orders, _whole(seed))
        wanted = wanted_figures(before, [figure])[figure]
    if style:
        rows, about = study_records.of_waterfall(found)
        show_records(rows, style, about | {"seed": seed, "exact": found.exact})
    else:
        sampled = [] if found.exact else [f"{2 * orders:,} orders, seed {seed}."]
        titles = f"{before.title} → {study_report.titled(after)}"
        show_lines([titles, study_report.moved(found, wanted), *sampled, study_report.plant(after, [])])
        if found.parts:
            show_table(study_report.waterfall_table(found))
    with refusing():
        save_chart(chart, lambda: study_charts.waterfall_bars(found))


def _both(asked: Asked, other: Path | None, from_scenario: str | None, resize: bool) -> tuple[Case, Case]:
    """The case before and the case after of a waterfall, on one plant as bought where only numbers move."""
    from ..model.bought import as_bought, on_one_plant
    from ..model.scenarios import AS_BOUGHT, open_case, text_changes

    before = Asked(asked.folder, from_scenario, {}, {}).open()
    after = Asked(other or asked.folder, asked.scenario, asked.changes, asked.use).open()
    if resize:
        return _plant(before, True), _plant(after, True)
    if other or asked.use or asked.scenario or from_scenario or text_changes(before, asked.changes, "--set"):
        return on_one_plant(before, after)
    with refusing():
        return as_bought(before), open_case(asked.folder, None, asked.changes, plant=AS_BOUGHT)


def _whole(seed: int) -> int:
    """A seed that is none is refused."""
    if seed < 0:
        refuse(f"--seed: found {seed}; allowed: a whole number from 0")
    return seed


@click.command()
@for_a_case
@_one_figure
@click.option(
    "--points", default=1024, show_default=True, help="Sobol points, a power of two; each takes a run for every group and two."
)
@_seed
@_resize
@_chart
@as_program
def rank(asked: Asked, figure: str, points: int, seed: int, resize: bool, chart: Path | None, style: str) -> None:
    """Which inputs carry the uncertainty of a figure; what to measure."""
    from ..present import risk_report, study_charts, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.variance import rank as rank_of
    from .printing import save_chart, show_lines, show_records, show_table

    case = _plant(asked.open(), resize)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        found, held = rank_of(case, figure, points, _whole(seed))
    if style:
        about = {"figure": figure, "seed": seed, "points": points, "without_value": 100 * found.without, "share_unit": "%"}
        show_records(study_records.of_shares(case, found, held), style, about)
    else:
        show_lines(
            [
                study_report.titled(case),
                *risk_report.carried(case, found, wanted, held, seed),
                study_report.plant(case),
            ]
        )
        show_table(risk_report.rank_table(case, found, held))
    with refusing():
        save_chart(chart, lambda: study_charts.rank_bars(found))


@click.command()
@for_a_case
@_figures(COST)
@click.option("--draws", default=10_000, show_default=True, help="How many draws; of Sobol points a power of two.")
@click.option("--method", type=click.Choice(["random", "sobol"]), default="random", show_default=True, help="How draws are made.")
@_seed
@click.option(
    "--target", multiple=True, metavar="TARGET", help="A target, as 'ledger.total.cost_per_m2<=150 EUR/m2'; may be given again."
)
@_resize
@click.option(
    "--keep",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Keep finished draws in this file, and go on from it where it is there. Without it, Ctrl-C keeps draws too.",
)
@_chart
@as_program
def risk(
    asked: Asked,
    figures: tuple[str, ...],
    draws: int,
    method: str,
    seed: int,
    target: tuple[str, ...],
    resize: bool,
    keep: Path | None,
    chart: Path | None,
    style: str,
) -> None:
    """How figures spread over draws of what is uncertain."""
    from ..present import risk_report, study_charts, study_records, study_report
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.risk import Watch, keep_run, run_risk
    from ..studies.spread import parse_target, probability, reasons_of, spread
    from .printing import save_chart, show_lines, show_records, show_table

    case = _plant(asked.open(), resize)
    with refusing():
        targets = [parse_target(written) for written in target]
        all_figures = list(dict.fromkeys([*figures, *(each.figure for each in targets)]))
        known = wanted_figures(case, all_figures)
        drawn = list(dict.fromkeys(each for a in all_figures for each in ([a, known[a].status] if known[a].reasons else [a])))
        limits = [parse_figure(known[each.figure], each.value, "--target") for each in targets]
        with click.progressbar(length=draws, label="Draws", file=sys.stderr, show_pos=True, hidden=not sys.stderr.isatty()) as bar:
            watch = Watch(keep, lambda done, _: bar.update(done - bar.pos), stoppable=True)
            run = run_risk(case, drawn, draws, seed, method, watch=watch)
    if not run.finished:
        if not run.done:
            click.echo("Stopped before any draw was finished; nothing is kept.", err=True)
            sys.exit(INTERRUPTED)
        if keep is None:
            keep = _unused(f"{case.name}_{run.about['fingerprint']}_seed_{seed}")
            with refusing():
                keep_run(keep, run)
        click.echo(
            f"Stopped after {run.done:,} of {draws:,} draws, kept in {keep}. To go on: the same command with --keep {keep}",
            err=True,
        )
    spreads = {address: spread(run.figures[address]) for address in all_figures}
    probabilities = {
        written: probability(run.figures[each.figure], each.sign, limit) for written, each, limit in zip(target, targets, limits)
    }
    if style:
        rows = [
            row
            for address in all_figures
            for row in study_records.of_spread(known[address], spreads[address], reasons_of(run, known[address]))
        ]
        about: dict[str, Any] = {"draws": run.done, "asked": draws, **run.about}
        show_records(rows, style, about | {"targets": study_records.of_probabilities(probabilities)})
    else:
        show_lines(
            [
                study_report.titled(case),
                *(risk_report.risky(run, known[address], spreads[address]) for address in all_figures),
                risk_report.drawn(run),
                study_report.plant(case),
            ]
        )
        show_table(risk_report.risk_table(known, spreads))
        if probabilities:
            show_table(risk_report.target_table(probabilities))
    with refusing():
        first = all_figures[0]
        marked = [limit for each, limit in zip(targets, limits) if each.figure == first]
        save_chart(chart, lambda: study_charts.exceedance_curve(known[first], run.figures[first], spreads[first], marked))
    if not run.finished:
        sys.exit(INTERRUPTED)


def _unused(name: str) -> Path:
    """A file of draws of this name that is not there yet."""
    path, number = Path(f"{name}.draws"), 1
    while path.exists():
        number += 1
        path = Path(f"{name}_{number}.draws")
    return path
