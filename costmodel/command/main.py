"""The command `costmodel`: all its commands, in the groups in which `--help` shows them."""

from __future__ import annotations

import sys
from typing import Any

import click

from .. import __version__
from ..core.collecting import seldom_collecting
from ..core.faults import DividesByNought
from .compare_commands import compare, waterfall
from .cost_commands import cost
from .deals import deal
from .explaining import explain
from .folder_commands import check, guide, new, save
from .line_commands import line
from .old_names import RENAMED
from .opening import of_file, refuse
from .plan_commands import market, plan
from .rank_commands import rank
from .releases import release
from .reports import report
from .risk_commands import risk
from .sweep_commands import solve, sweep
from .transfers import transfer
from .verify_command import verify
from .workbooks import workbook
from .working import working

GROUPS = {
    "The case": (new, guide, check, verify, save, compare),
    "The factory": (line,),
    "Money": (cost, market, plan),
    "The deal": (deal, transfer),
    "Studies": (sweep, solve, rank, risk, waterfall),
    "Documents": (explain, workbook, report, release),
}


class Commands(click.Group):
    """The commands, in groups; one that is not there is refused with the nearest that is."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by name; one of version 0.1 is refused with what it is called now."""
        from ..core.faults import nearest

        if cmd_name in RENAMED:
            refuse(f"costmodel: found '{cmd_name}', a command of version 0.1; allowed: costmodel {RENAMED[cmd_name]}")
        if cmd_name not in self.commands:
            refuse(f"costmodel: found '{cmd_name}'; allowed: {', '.join(self.commands)}{nearest(cmd_name, self.commands)}")
        return self.commands[cmd_name]

    def invoke(self, ctx: click.Context) -> Any:
        """The command; a file that cannot be read, and an output that takes nothing, end it with a message."""
        if sys.stdout is None:
            refuse("found a closed output; allowed: one that can be written to")
        try:
            with seldom_collecting(), working(shown=not {"--json", "--csv", "--plain"} & set(ctx.args)):
                found = super().invoke(ctx)
            sys.stdout.flush()
            return found
        except DividesByNought as problem:
            from ..model.readings.noughts import refusal

            refuse(str(refusal(problem)))
        except ArithmeticError as problem:
            refuse(f"found inputs for which the model has no value ({problem}); allowed: figures that are not next to nought")
        except BrokenPipeError:
            raise  # the reader of a pipe has gone, which click ends in silence
        except OSError as problem:
            refuse(of_file(problem) if problem.filename else f"found an output or a file that takes nothing more ({problem})")

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the groups."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands, by who asks what; a command with subjects names them."""
        longest = max(map(len, self.commands))
        for title, commands in GROUPS.items():
            with formatter.section(title):
                formatter.write_dl([(str(each.name).ljust(longest), _help(each)) for each in commands])


def _help(command: click.Command) -> str:
    """What a command answers, with its subjects."""
    first = (command.help or "").splitlines()[0]
    names = getattr(command, "names", [])
    return f"{first.split('; by subject')[0].rstrip('.')}. Subjects: {', '.join(names)}." if names else first


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="costmodel")
def main() -> None:
    """What a thin-film module costs to make, and why, from a folder of tables.

    CASE is a folder with case.yaml and the tables beside it, such as inputs_demo/facade. Begin with a copy of the
    demo: costmodel new my_case

    Each command prints the answer first. More of it: --all, or a subject, as in: costmodel line CASE bottlenecks
    """


for commands in GROUPS.values():
    for command in commands:
        main.add_command(command)


if __name__ == "__main__":
    main(prog_name="costmodel")
