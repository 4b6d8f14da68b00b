"""What commands print of a demo, made once: every view of every subject, with few draws."""

from functools import cache

from costmodel.command.compare_commands import KEY_FIGURES, Scenarios, _scenarios
from costmodel.command.cost_commands import cost
from costmodel.command.deals import deal
from costmodel.command.line_commands import line
from costmodel.command.opening import Asked
from costmodel.command.plan_commands import market, plan
from costmodel.command.rank_commands import rank
from costmodel.command.transfers import transfer

WITH_SUBJECTS = (line, cost, plan, market, deal, transfer, rank)
WIDTHS = (60, 80, 100, 120, 160)
FEW = {"draws": 16, "points": 4}
NOT_OF_A_CASE = ("subject", "everything", "as_json", "as_csv", "as_plain")


@cache
def asked(folder):
    """A demo as commands open it, so that all views share what is computed of it."""
    return Asked(folder, None, {}, {})


def views_of(folder, command, subject):
    """The views of one subject."""
    given = command.make_context(command.name, [str(folder)]).params
    given = {name: value for name, value in given.items() if name not in NOT_OF_A_CASE}
    given |= {name: value for name, value in FEW.items() if name in given}
    return command.subjects[subject].views(asked(folder), given)


@cache
def views(folder):
    """Every view of a demo by command and subject, and scenarios compared."""
    made = {(command.name, name): views_of(folder, command, name) for command in WITH_SUBJECTS for name in command.subjects}
    return made | {("compare", ""): [_scenarios(asked(folder), Scenarios(True, KEY_FIGURES, False))]}


def tables(folder):
    """Every table that commands print of a demo."""
    return [table for made in views(folder).values() for view in made for table in view.tables if table.rows]
