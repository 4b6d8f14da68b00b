"""The handbook of the model's rules: each with its equation, units and source, read from the docstrings of the model.

A rule is a public function of the model that computes values: its body does arithmetic or calls one of the closed operations.
`tests/test_handbook.py` evaluates every equation that is printed here against the function, on random inputs.

The docstring of a rule is its entry. One sentence; then the equations in an indented block, `name = expression    [unit]`, two
spaces before the unit, deeper lines continuing one; `Takes: price [money], life [s].` for plain values; `Source: ...`, or common
practice, or from memory; notes; an example. Equations use arguments, fields, names of earlier equations (with _ for a space),
operations, other public rules, `for`, and `if` on texts. Of a rule that returns a value or a row, the last equation gives it, and
may use its own result at other places of the row. Of one that returns a record, each field has an equation by its name, whose
unit is that of the field; of rows of records, the list over the rows. `result = ...` gives a whole record.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

from .. import model
from ..core import operations

# rooms of the model whose rules are entries
ROOMS = {"line": "The line", "ledger": "The ledger", "market": "Markets", "plan": "The plan", "deal": "The deal"}
OPERATIONS = frozenset(n for n, f in vars(operations).items() if inspect.isfunction(f) and not n.startswith("_"))
WIDTH = 110  # of equations on the page
ARITHMETIC = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow)
_EQUATION = re.compile(r"([a-z][\w ]*(?:, [a-z][\w ]*)*) = ")
_UNIT = re.compile(r"\s{2,}\[([\w*/%]+(?:, [\w*/%]+)*)\]$")  # two spaces or a new line before it: else it is a list
_TAKEN = re.compile(r"(\w+) \[([^\]]*)\]")

# Functions that do arithmetic and are no rules: they put a whole together, and each has the reason beside it.
ASSEMBLY = {
    "line.line.compute_line": "puts the line together from its rules, and fills the records of steps, tools and output",
    "line.power_classes.power_sold": "puts the classes together from their rules",
    "line.ageing.ageing": "follows the years of age, each by `year_of_age` from what the one before left",
    "line.loads.steps_of_round": "picks names of steps by their place in the route; computes no value",
    "ledger.ledger.compute_ledger": "puts the ledger together from its rules, and adds up its lines",
    "ledger.cost_views.checks": "differences of figures that are computed elsewhere; each must be zero",
    "plan.plan.compute_plan": "puts the plan together from its rules, and adds up its totals",
    "plan.quarters.filled": "fills the columns of the quarters from the rules, twice where a rule of closing may cut them off",
    "plan.capital.assets": "lists the assets of the case, with price and cost by their rules",
    "plan.timing.column_count": "counts columns; computes no value",
    "plan.timing.year_names": "names years by their place; computes no value",
    "plan.timing.by_year": "parts columns by year; computes no value",
    "plan.tax.year_begin": "finds a column by its place; computes no value",
    "plan.tax.year_end": "finds a column by its place; computes no value",
    "plan.tax.taxes": "walks along the columns: each is settled by `tax_of_year` from those before it, less what was paid",
    "plan.warranty_provision.promised": "puts the columns of the warranty together from their rules",
    "plan.licence.due_at_closing": "gathers the payments that fall due, each by its rule",
    "deal.deal.own_money": "the licensor's figures, each over one exchange rate",
    "plan.transfer.windows": "walks the tasks forth and back, each by its rule",
    "plan.transfer.compute_transfer": "puts the transfer together from its rules",
    "deal.laboratory.compute_laboratory": "puts the laboratory together from its rules",
    "deal.deal.compute_deal": "puts the deal together from its rules, and adds up both gains",
    "deal.on_time.on_time": "the plan once more by its rules, for a case without our delay; two present values of it",
    "deal.performance_guarantees.owed_under_guarantees": "lists what is owed under each guarantee, one side's part of tests too",
    "market.market.compute_market": "adds up the markets whose buyers could pay the cost",
}


@dataclass(frozen=True, slots=True)
class Equation:
    """One line of the equations of a rule: what is found, how, in which unit ('' where the field of the record has it)."""

    name: str
    expression: str
    unit: str

    @property
    def symbol(self) -> str:
        """The name as later equations of the rule use it."""
        return self.name.replace(" ", "_")


@dataclass(frozen=True, slots=True)
class Rule:
    """The handbook entry of one rule: its parts as the docstring states them, '' or nothing where it lacks one."""

    address: str
    sentence: str
    equations: tuple[Equation, ...]
    takes: dict[str, str]
    source: str
    notes: tuple[str, ...]
    example: str


def model_functions() -> Iterator[tuple[str, Callable]]:
    """Every public function of the model's rooms by its address, in the order of the files."""
    for room in ROOMS:
        package = importlib.import_module(f"{model.__name__}.{room}")
        for found in sorted(each.name for each in pkgutil.iter_modules(package.__path__)):
            module = importlib.import_module(f"{package.__name__}.{found}")
            for name, function in vars(module).items():
                if inspect.isfunction(function) and function.__module__ == module.__name__ and not name.startswith("_"):
                    yield f"{room}.{found}.{name}", function


def computes(function: Callable) -> bool:
    """Whether a function does arithmetic or calls a closed operation in its own body.

    >>> from costmodel.model.line import plant_growth, yields
    >>> computes(yields.good_share), computes(plant_growth.driver_unit)
    (True, False)
    """
    for node in ast.walk(ast.parse(textwrap.dedent(inspect.getsource(function)))):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ARITHMETIC):
            return True
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            return True
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in OPERATIONS:
            return True
    return False


@cache  # the code of each function is read, and each entry asks for all
def rule_functions() -> dict[str, Callable]:
    """The functions that are rules, by address: those that compute, and those that only call rules but state an equation."""
    rules = {address: f for address, f in model_functions() if computes(f) or "    Source: " in (f.__doc__ or "")}
    return {address: f for address, f in rules.items() if address not in ASSEMBLY}


def operations_as_markdown() -> list[str]:
    """The closed operations that equations use: each with its arguments and what it gives."""
    found = [(name, getattr(operations, name)) for name in vars(operations) if name in OPERATIONS]
    return [f"- `{name}({', '.join(inspect.signature(f).parameters)})`: {first_line(f)}" for name, f in found]


def first_line(documented: object) -> str:
    """The first sentences of a docstring, up to its first empty line, on one line."""
    return " ".join((inspect.getdoc(documented) or "").split("\n\n")[0].split())


def rule(address: str, function: Callable) -> Rule:
    """The handbook entry that the docstring of a function states.

    >>> from costmodel.model.line.cycle import time_per_load
    >>> found = rule("line.cycle.time_per_load", time_per_load)
    >>> found.equations[-1].expression, found.equations[-1].unit, found.source
    ('phase.time / phase.loads_between', 's*tool/load', 'common practice')
    """
    text, _, shown = inspect.cleandoc(function.__doc__ or "").partition(">>>")
    paragraphs = [each.strip("\n") for each in re.split(r"\n\s*\n|\n(?=Takes: |Source: )", text) if each.strip()]
    sentence = " ".join(paragraphs[0].split()) if paragraphs else ""
    equations: list[Equation] = []
    takes, source, notes = {}, "", []
    for each in paragraphs[1:]:
        words = " ".join(each.split())
        if each.startswith("    "):
            equations += _equations(textwrap.dedent(each))
        elif words.startswith("Takes: "):
            takes = dict(_TAKEN.findall(words))
        elif words.startswith("Source: "):
            source = words.removeprefix("Source: ").rstrip(".")
        else:
            notes.append(words)
    example = f">>>{shown}".strip() if shown else ""
    return Rule(address, sentence, tuple(equations), takes, source, tuple(notes), example)


def _equations(block: str) -> Iterator[Equation]:
    """The equations of an indented block; lines that are indented further continue the one before."""
    joined: list[str] = []
    for line in block.splitlines():
        if line.startswith(" ") and joined:
            joined[-1] += "  " + line.strip()
        else:
            joined.append(line.strip())
    for line in joined:
        unit = _UNIT.search(line)
        stated = " ".join(_UNIT.sub("", line).split())
        head = _EQUATION.match(stated)
        if head is None:
            raise ValueError(f"{line!r} is no equation; allowed: name = expression [unit]")
        yield Equation(head.group(1), stated[head.end() :], unit.group(1) if unit else "")


def as_markdown() -> str:
    """The handbook as a page: a section for each room of the model, a part for each rule."""
    lines = [
        "# Handbook of rules",
        "",
        "Every rule of the model: what it computes, its equation, the units, where it comes from, an example. The equation is in "
        "the symbols of the closed operations; a name with a dot is a field of a record, as the data dictionary lists it. A test "
        "evaluates each equation against the code. A unit in brackets follows each result; `money` stands for the reporting "
        "currency, `any` for a unit that the row states. A row holds a value for each quarter, day one first: "
        "`gains()` is what each has above the one before, `running_sum()` what all up to it add up to, `earlier(x)` and "
        "`later(x)` are the row moved by one. `by_year(row)` splits a row by years of the plan, the first day being in the first; "
        "`year_begin(column)` and `year_end(column)` are the columns with which the year of a column begins and ends. `use` says "
        "how long the plant is in use: `while_open(row)` is nothing afterwards, `early(row)` has the column of an early end alone. "
        "A year has 8,760 hours, 365 days and 12 months.",
        "",
        "## Operations",
        "",
        *operations_as_markdown(),
    ]  # fmt: skip
    room = ""
    for address, function in rule_functions().items():
        if address.split(".")[0] != room:
            room = address.split(".")[0]
            lines += ["", f"## {ROOMS[room]}", "", *introduction(room)]
        entry = rule(address, function)
        lines += _part(entry, constants(entry, function), helpers(entry, function))
    return "\n".join(lines) + "\n"


def introduction(room: str) -> list[str]:
    """What holds for all rules of a room: its docstring, a paragraph a line."""
    text = inspect.getdoc(importlib.import_module(f"{model.__name__}.{room}")) or ""
    paragraphs = [" ".join(part.split()) for part in text.split("\n\n")]
    return "\n\n".join(paragraphs).splitlines()


def constants(entry: Rule, function: Callable) -> list[str]:
    """What the names in capitals of the equations of a rule stand for.

    >>> from costmodel.model.plan.timing import in_quarters
    >>> constants(rule("plan.timing.in_quarters", in_quarters), in_quarters)
    ['QUARTERS = 4']
    """
    used = " ".join(equation.expression for equation in entry.equations)
    names = dict.fromkeys(re.findall(r"\b[A-Z][A-Z_]+\b", used))
    known = inspect.getmodule(function).__dict__
    return [f"{name} = {known[name]!r}" for name in names if name in known]


def helpers(entry: Rule, function: Callable) -> list[str]:
    """What functions do that the equations of a rule call and that have no entry: they pick and gather, and compute nothing.

    >>> from costmodel.model.ledger.equipment import carrier_entries
    >>> helpers(rule("ledger.equipment.carrier_entries", carrier_entries), carrier_entries)[0].split(":")[0]
    '`carrier_shares`'
    """
    used = " ".join(equation.expression for equation in entry.equations)
    known, rules = inspect.getmodule(function).__dict__, rule_functions().values()
    called = [known[name] for name in dict.fromkeys(re.findall(r"\b([a-z]\w+)\(", used)) if inspect.isfunction(known.get(name))]
    return [f"`{f.__name__}`: {first_line(f)}" for f in called if f.__name__ not in OPERATIONS and f not in rules]


def _part(entry: Rule, where: list[str], calls: list[str]) -> list[str]:
    lines = ["", f"### {entry.address}", "", entry.sentence, "", "```"]
    for e in entry.equations:
        shown = f"{e.name} = {e.expression}" + (f" [{e.unit}]" if e.unit else "")
        lines += textwrap.wrap(shown, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)
    lines += ["```", ""]
    if where:
        lines += [f"Where {'; '.join(f'`{each}`' for each in where)}.", ""]
    for call in calls:
        lines += [call, ""]
    if entry.takes:
        lines += [f"Takes {', '.join(f'{name} [{unit}]' for name, unit in entry.takes.items())}.", ""]
    for note in entry.notes:
        lines += [note, ""]
    return [*lines, f"Source: {entry.source}.", "", "```", entry.example, "```"]
