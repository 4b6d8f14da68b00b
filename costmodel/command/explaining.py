"""The command that says why a figure is what it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..core.whole_files import write_whole
from .answering import style_of
from .offers import note_terms
from .opening import Asked, OutFile, as_record, for_a_case, refuse, writing
from .screen import show_line, show_lines

if TYPE_CHECKING:
    from ..present.explain.tree import Explanation


@dataclass(frozen=True)
class Wanted:
    """How deep a tree goes, what its branches must lead to, and the form in which it is shown."""

    depth: int | None
    find: str | None
    uses: str | None
    inputs: bool
    as_json: bool
    as_csv: bool
    html: Path | None


@click.command()
@for_a_case
@click.argument("figure", required=False)
@click.option(
    "--depth", type=click.IntRange(0), help="Levels below the figure; without it 3, or all that lead to what is asked for."
)
@click.option("--find", metavar="TEXT", help="Only what leads to a name or meaning with this text; without FIGURE, list all such.")
@click.option("--uses", metavar="INPUT", help="Only what leads to this input; without FIGURE, list all figures that depend on it.")
@click.option("--inputs", is_flag=True, help="List every input that the figure depends on, with where it comes from.")
@click.option("--json", "as_json", is_flag=True, help="Print the tree, or the list, as JSON.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the tree, or the list, as CSV: a row per branch, with its level.")
@click.option("--html", type=OutFile(), metavar="FILE", help="Write the whole tree as a page.")
@as_record(Wanted)
def explain(asked: Asked, figure: str | None, options: Wanted) -> None:
    """Why a figure is what it is: its formula down to the inputs and their sources.

    FIGURE is an address; `explain CASE --find TEXT` lists those whose name or meaning has a text in it. Without FIGURE it is the
    cost of a stabilised watt. The formula of the figure is shown whole; longer ones below it are cut. Roots that are
    found outside of the model are figures, too: solved.least_price.price, and what is left there, solved.least_price.project.npv.
    """
    from ..present.explain.tree import COST_OF_A_WATT, explained, explained_for

    if options.inputs and (options.find or options.uses or options.html):
        refuse("--inputs: found it with --find, --uses or --html; allowed: with --json or --csv only")
    style_of(options.as_json, options.as_csv, False)
    if options.find and options.uses:
        refuse("--find and --uses: found both; allowed: one of them")
    note_terms(asked, figure or "")
    words = [word for word in (figure, options.find, options.uses) if word]
    if options.find or options.uses:  # what leads there may stand in any figure
        explanation = explained(asked.case, solved=any("solved" in word for word in words))
    else:
        explanation = explained_for(asked.case, figure or COST_OF_A_WATT)
    try:
        targets = _targets(explanation, options)
        listed = _listed(explanation, figure, targets, options)
        if listed is None:
            _show_tree(explanation, figure, targets, options)
        else:
            _show_list(explanation, listed, options)
    except ValueError as problem:
        refuse(f"explain: found {problem}; --find TEXT without FIGURE lists addresses by a text in their name or meaning")


def _targets(explanation: Explanation, options: Wanted) -> list[str] | None:
    """The inputs or figures that a branch must lead to; nothing where every branch is shown."""
    if options.uses:
        return [explanation.check(options.uses)]
    if not options.find:
        return None
    found = explanation.find(options.find)
    if not found:
        refuse(f"--find: found '{options.find}'; allowed: a text that stands in the address or meaning of a figure or an input")
    return found


def _listed(explanation: Explanation, figure: str | None, targets: list[str] | None, options: Wanted) -> list[str] | None:
    """What is listed in place of a tree, if anything."""
    from ..present.explain.tree import COST_OF_A_WATT

    if options.inputs:
        return explanation.inputs_of(figure or COST_OF_A_WATT)
    if figure is None and targets and options.html is None:
        return explanation.users_of(options.uses) if options.uses else targets
    return None


def _show_list(explanation: Explanation, listed: list[str], options: Wanted) -> None:
    """Print inputs or figures, one a line."""
    from ..present.explain import explanation_page
    from .printing import show_json, show_records

    nodes = [explanation.tree(name, 0) for name in listed]
    if options.as_json:
        show_json([explanation_page.tree_data(node) for node in nodes])
    elif options.as_csv:
        show_records([row for node in nodes for row in explanation_page.tree_rows(node)], "csv")
    else:
        show_lines([f"{explanation.case.title}: {len(nodes)} found", *map(explanation_page.line_of, nodes)])


def _show_tree(explanation: Explanation, figure: str | None, targets: list[str] | None, options: Wanted) -> None:
    """Print the tree of a figure, and write its page where a file is named."""
    from ..present.explain import explanation_page
    from ..present.explain.tree import COST_OF_A_WATT
    from .printing import show_json, show_records, show_tree

    for_programs = options.as_json or options.as_csv
    short = options.depth is None and targets is None and options.html is None and not for_programs
    node = explanation.tree(figure or COST_OF_A_WATT, 3 if short else options.depth, targets)
    if options.as_json:
        show_json(explanation_page.tree_data(node))
    elif options.as_csv:
        show_records(explanation_page.tree_rows(node), "csv")
    elif options.html is None:
        show_tree(node)
    if options.html is not None:
        with writing("--html"):
            write_whole(options.html, explanation_page.page_html(explanation, node).encode())
        show_line(f"Page: {options.html}", err=for_programs)
