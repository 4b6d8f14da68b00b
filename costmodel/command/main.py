"""The command `costmodel`: check a case, show its line and its cost, write its report, begin a new case."""
from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from .. import __version__

if TYPE_CHECKING:
    from ..case.records import Case
    from ..model import Results

CASE = click.argument("case", type=click.Path(path_type=Path))
SCENARIO = click.option("--scenario", metavar="NAME", help="Apply scenarios/NAME.yaml of the case.")
SET = click.option("--set", "changes", metavar="ADDRESS=VALUE", multiple=True,
                   help="Change one input, as in --set 'prices.silane.price=80 USD/kg'. May be given again. "
                        "A number without a unit is in the unit of the table.")
JSON = click.option("--json", "as_json", is_flag=True, help="Print every figure as JSON: address, value in base units, unit.")
CSV = click.option("--csv", "as_csv", is_flag=True, help="Print every figure as CSV: address, value in base units, unit, meaning.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="costmodel")
def main() -> None:
    """What a thin-film module costs to make, and why, from a folder of tables.

    CASE is a folder with case.yaml and the tables beside it, such as inputs_demo/facade. Begin with a copy of the
    demo: costmodel new my_case
    """


def _open(case: Path, scenario: str | None, changes: tuple[str, ...]) -> Case:
    """The case with its changes; faults are printed and end the command with exit code 2."""
    from ..case.scenarios import open_case
    from ..faults import Fault, InputFaults

    try:
        pairs = [change.partition("=") for change in changes]
        wrong = [Fault("--set", None, None, f"'{address}'", "ADDRESS=VALUE") for address, sign, _ in pairs if not sign]
        twice = {address for address, *_ in pairs if [a for a, *_ in pairs].count(address) > 1}
        wrong += [Fault("--set", None, address, "the address twice", "each address once") for address in sorted(twice)]
        if wrong:
            raise InputFaults(wrong)
        return open_case(case, scenario, {address.strip(): value.strip() for address, _, value in pairs})
    except InputFaults as faults:
        raise _Refused(str(faults)) from None


class _Refused(click.ClickException):
    """Inputs that are refused."""

    exit_code = 2

    def show(self, file=None) -> None:
        click.echo(self.message, err=True)


def _evaluated(case: Case) -> Results:
    from ..model import evaluate

    return evaluate(case)


@main.command()
@CASE
@SCENARIO
@SET
def check(case: Path, scenario: str | None, changes: tuple[str, ...]) -> None:
    """Read a case, say what is wrong with it, or what it holds."""
    from ..case.fingerprint import fingerprint
    from ..case.records import tables
    from ..case.scenarios import scenario_names
    from ..report.sentences import evidence
    from .printing import show_lines

    opened = _open(case, scenario, changes)
    counts = [f"{len(getattr(opened, name))} {name.replace('_', ' ')}" for name, table in tables().items() if not table.section]
    show_lines([f"{opened.title}: no faults found.", ", ".join(counts) + ".", evidence(opened),
                f"Scenarios: {', '.join(scenario_names(case)) or 'none'}.", f"Fingerprint: {fingerprint(opened)}"])


@main.command()
@CASE
@SCENARIO
@SET
@JSON
@CSV
def line(case: Path, scenario: str | None, changes: tuple[str, ...], as_json: bool, as_csv: bool) -> None:
    """How many plates pass each step, how many tools that takes, and which is the bottleneck."""
    from ..report import sentences, tables
    from .printing import show_figures, show_lines, show_table

    opened = _open(case, scenario, changes)
    results = _evaluated(opened)
    if as_json or as_csv:
        show_figures(results, opened.currency, "line", as_json)
        return
    show_lines([opened.title, sentences.volume(opened, results), sentences.bottleneck(opened, results)])
    show_table(tables.flow_table(opened, results.line))
    show_table(tables.tool_table(opened, results))


@main.command()
@CASE
@SCENARIO
@SET
@JSON
@CSV
def cost(case: Path, scenario: str | None, changes: tuple[str, ...], as_json: bool, as_csv: bool) -> None:
    """What a module costs, by step and by kind."""
    from ..report import sentences, tables
    from .printing import show_figures, show_lines, show_table

    opened = _open(case, scenario, changes)
    results = _evaluated(opened)
    if as_json or as_csv:
        show_figures(results, opened.currency, "ledger", as_json)
        return
    show_lines([opened.title, sentences.headline(opened, results), sentences.dearest(opened, results),
                sentences.losses(opened, results)])
    show_table(tables.basis_table(opened, results))
    show_table(tables.matrix_table(opened, results, "stabilised_watt"))
    show_table(tables.group_table(opened, results))


@main.command()
@CASE
@SCENARIO
@SET
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("reports"), show_default=True,
              help="Folder for the report.")
def report(case: Path, scenario: str | None, changes: tuple[str, ...], out: Path) -> None:
    """Write the report of a case: one HTML file that opens offline."""
    from datetime import date

    from ..report.page import write_report
    from ..report.sentences import headline

    opened = _open(case, scenario, changes)
    results = _evaluated(opened)
    click.echo(headline(opened, results))
    click.echo("Writing the report, a few seconds ...")
    name = "_".join(part for part in (opened.name, scenario, "changed" if changes else "") if part)
    path = write_report(opened, results, out / f"{name}_cost.html", date.today().isoformat())
    click.echo(f"Report: {path}")


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Begin a case: copy the demo into FOLDER, to be changed table by table."""
    import shutil

    from ..case.demo import demo_folder

    if folder.exists():
        raise _Refused(f"{folder} is there already; name a folder that is not, nothing was written")
    folder.parent.mkdir(parents=True, exist_ok=True)
    shutil.copytree(demo_folder(), folder)
    click.echo(f"{folder} now holds a copy of the demo. Put your own figures into its tables, then: costmodel check {folder}")
