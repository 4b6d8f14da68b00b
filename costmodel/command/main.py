"""The command `costmodel`: all its commands, each group of which stands in a file of its own."""

from __future__ import annotations

import click

from .. import __version__
from .cost_commands import add_cost_commands
from .deals import deal
from .explaining import explain
from .folder_commands import add_folder_commands
from .line_commands import add_line_commands
from .plan_commands import add_plan_commands
from .releases import release
from .reports import report
from .studies import add_studies
from .workbooks import workbook


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="costmodel")
def main() -> None:
    """What a thin-film module costs to make, and why, from a folder of tables.

    CASE is a folder with case.yaml and the tables beside it, such as inputs_demo/facade. Begin with a copy of the
    demo: costmodel new my_case
    """


for add_commands in (add_folder_commands, add_line_commands, add_cost_commands, add_plan_commands, add_studies):
    add_commands(main)
for command in (explain, workbook, release, report, deal):
    main.add_command(command)


if __name__ == "__main__":
    main(prog_name="costmodel")
