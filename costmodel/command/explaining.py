"""The command that says why a figure is what it is."""

from __future__ import annotations

from pathlib import Path

import click

from ..core.whole_files import write_whole
from .opening import Asked, for_a_case, refuse


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
@click.option("--html", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Write the whole tree as a page.")
def explain(
    asked: Asked,
    figure: str | None,
    depth: int | None,
    find: str | None,
    uses: str | None,
    inputs: bool,
    as_json: bool,
    html: Path | None,
) -> None:
    """Why a figure is what it is: its formula down to the inputs and their sources.

    FIGURE is an address, as `line --json` and `cost --json` show them; without it, the cost of a stabilised watt. Roots that are
    found outside of the model are figures, too: solved.least_price.price, and what is left there, solved.least_price.project.npv.
    """
    import json

    from ..present.explain import explanation_page
    from ..present.explain.tree import COST_OF_A_WATT, explained
    from .printing import show_lines, show_tree

    if inputs and (find or uses or html):
        refuse("--inputs: found it with --find, --uses or --html; allowed: with --json only")
    if find and uses:
        refuse("--find and --uses: found both; allowed: one of them")
    explanation = explained(asked.open(), solved=any("solved" in word for word in (figure, find, uses) if word))
    try:
        listed = explanation.inputs_of(figure or COST_OF_A_WATT) if inputs else []
        targets = [explanation.check(uses)] if uses else explanation.find(find) if find else None
        if not inputs and figure is None and uses:
            listed = explanation.users_of(uses)
        elif not inputs and figure is None and find:
            listed = targets
        if targets == []:
            refuse(f"--find: found '{find}'; allowed: a text that stands in the address or meaning of a figure or an input")
        if inputs or (figure is None and targets and html is None):
            nodes = [explanation.tree(name, 0) for name in listed]
            if as_json:
                click.echo(json.dumps([explanation_page.tree_data(node) for node in nodes], indent=1))
            else:
                show_lines([f"{explanation.case.title}: {len(nodes)} found", *map(explanation_page.line_of, nodes)])
            return
        depth = 3 if depth is None and targets is None and html is None and not as_json else depth
        node = explanation.tree(figure or COST_OF_A_WATT, depth, targets)
    except ValueError as problem:
        refuse(f"explain: found {problem}")
    if as_json:
        click.echo(json.dumps(explanation_page.tree_data(node), indent=1))
    elif html is None:
        show_tree(node)
    if html is not None:
        try:
            write_whole(html, explanation_page.page_html(explanation, node).encode())
        except OSError as problem:
            refuse(f"--html: found '{html}', where nothing can be written ({problem.strerror}); allowed: a file to write")
        click.echo(f"Page: {html}", err=as_json)
