"""The command that hands the model over as a spreadsheet, or reads an edited one back."""

from __future__ import annotations

from pathlib import Path

import click

from .opening import Asked, for_a_case, refuse


@click.command()
@for_a_case
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.xlsx", help="The file to write; else in reports/."
)
@click.option(
    "--read",
    "edited",
    type=click.Path(path_type=Path),
    metavar="FILE.xlsx",
    help="Read an edited workbook of this case, show what was changed and what it does.",
)
@click.option("--save-scenario", metavar="NAME", help="With --read: keep the changes as scenarios/NAME.yaml of CASE.")
@click.option("--title", help="With --save-scenario: what the scenario is called.")
@click.option("--story", help="With --save-scenario: what it supposes.")
def workbook(
    asked: Asked, out: Path | None, edited: Path | None, save_scenario: str | None, title: str | None, story: str | None
) -> None:
    """Write the model as a spreadsheet of live formulas, or read an edited one back."""
    from .workbook_files import read_back, write_out

    if edited is None:
        if save_scenario or title or story:
            refuse("--save-scenario, --title, --story: found no --read; allowed: with --read FILE.xlsx")
        write_out(asked, out)
        return
    if out:
        refuse("--out: found it with --read; allowed: one of them")
    if any((save_scenario, title, story)) and not all((save_scenario, title, story)):
        refuse("--save-scenario: allowed: together with --title and --story, all three")
    read_back(asked, edited, (save_scenario, title, story) if save_scenario and title and story else None)
