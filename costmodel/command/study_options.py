"""What commands of studies share: their options, the plant that they start from, the cases of scenarios and choices."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import TYPE_CHECKING, Any

import click

from ..core.at_work import at
from .opening import Asked, OutFile, refuse

if TYPE_CHECKING:
    from ..case.whole_case import Case

Command = Callable[..., Any]
COST = "ledger.total.cost_per_stabilised_watt"
INTERRUPTED = 130  # as shells have it for Ctrl-C

figure_option = click.option(
    "--figure", default=COST, show_default=True, metavar="ADDRESS", help="The figure to ask about, by its address."
)
chart_option = click.option("--chart", type=OutFile(), help="Write the chart to this HTML file, which opens offline.")
resize_option = click.option(
    "--resize", is_flag=True, help="Size tools anew for every value; without it the plant stays as bought."
)
seed_option = click.option("--seed", default=0, show_default=True, help="The seed of the draws, a whole number from 0.")


def figures_option(*defaults: str) -> Callable[[Command], Command]:
    """An option for one figure or several."""
    return click.option(
        "--figure",
        "figures",
        multiple=True,
        default=defaults,
        metavar="ADDRESS",
        help="A figure to ask about, by its address; may be given again.",
    )


def plant(case: Case, resize: bool) -> Case:
    """The case as it was opened, with the plant that it buys; with `resize`, as a design for which tools are sized."""
    from ..model.as_bought import as_bought

    if resize and case.design is not None:
        allowed = "a case, or a scenario with plant: designed"
        refuse(f"--resize: found “{case.title}”, an event that hits the plant as bought; allowed: {allowed}")
    return case if resize else as_bought(case)


def scenario_cases(asked: Asked, over_scenarios: bool, over_choices: str | None, stays: bool = False) -> dict[str, Case]:
    """The cases of a sweep by name, scenarios and choices stacked; with `stays`, all on the plant as bought. Raises InputFaults."""
    from ..case.read_once import files_read_once
    from ..model.scenarios import AS_BOUGHT, open_case, scenario_names
    from ..studies.factory.choices import choice_names

    scenarios = [asked.scenario, *(name for name in scenario_names(asked.folder) if name != asked.scenario)]
    choices = choice_names(asked.folder, over_choices) if over_choices else [""]
    found: dict[str, Case] = {}
    with files_read_once():
        for scenario, choice in product(scenarios if over_scenarios else [asked.scenario], choices):
            use = {**asked.use, over_choices: choice} if over_choices else asked.use
            name = ", ".join(part for part in (scenario or "as it is" if over_scenarios or not choice else "", choice) if part)
            at("cases opened", len(found) + 1, len(scenarios if over_scenarios else [1]) * len(choices))
            found[name] = open_case(asked.folder, scenario, asked.changes, use, AS_BOUGHT if stays else None, asked.terms)
    return found


def whole(seed: int) -> int:
    """A seed that is none is refused."""
    if seed < 0:
        refuse(f"--seed: found {seed}; allowed: a whole number from 0")
    return seed
