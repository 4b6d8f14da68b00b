"""Trees as text in words, as data for programs, and as a page that opens offline and folds without any script."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from html import escape
from typing import Any

from ...core.units import to_base
from ..numbers import exact, people, percent, typeset
from .tree import CONVENTION, FIGURE, Explanation, Node, Term, alike

STYLE = """
body { font: 15px/1.45 system-ui, sans-serif; color: #1d2733; max-width: 75em; margin: 2em auto; padding: 0 1em }
h1 { font-size: 1.35em; overflow-wrap: anywhere }
.tree details, .tree .leaf { margin: .15em 0 .15em 1.1em; border-left: 1px solid #ccd3da; padding-left: .6em }
.tree summary { cursor: pointer } .tree .leaf { list-style: none; padding-left: 1.75em }
.tree b { font-weight: 600 } .tree code { font-size: .86em; color: #3b4a5a; overflow-wrap: anywhere; display: block }
.tree .meaning, .tree .source { color: #5a6773; font-size: .9em } .tree .share { color: #8a4b08 }
.tree .input b { color: #0b4f9e } .tree .terms { margin: .2em 0 .2em 1.5em; font-size: .86em; color: #3b4a5a }
"""
LONG = 400  # a formula of more letters is folded
MOST_TERMS = 8  # of a sum; more are folded
LONGEST = 3000  # and one of more than these is cut
PART_WITHOUT = "a figure in it has no value"
POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def shown_value(node: Node) -> str:
    """The value of a node with its unit: an input as it was stated, a figure in four digits."""
    if node.kind != FIGURE:
        return exact(node.value, node.unit)
    if not math.isfinite(node.value):
        return f"no value ({node.reason})" if node.reason else "no value"
    shown = people(node.value / to_base(node.unit), 4)
    return shown if node.unit == "1" else f"{shown} {typeset(node.unit)}"


def origin(node: Node) -> str:
    """Where an input comes from, in words; nothing for a figure."""
    if node.kind == CONVENTION:
        return "convention of the model"
    if node.evidence is None:
        return ""
    return f"{node.evidence.kind}: {node.evidence.source} ({node.evidence.date}, {node.evidence.by})"


def line_of(node: Node) -> str:
    """A node in one line: address, value, what it is, and of an input where it comes from."""
    line = f"{node.address} = {shown_value(node)}; {node.title + ', ' if node.title else ''}{node.meaning}"
    return f"{line}; {origin(node)}" if node.kind != FIGURE else line


def more_like_it(nodes: Sequence[Node]) -> str:
    """What is left of a figure in several quarters or years, of which one is shown."""
    first, *_, last = sorted(node.address for node in nodes)
    return f"{len(nodes)} more like it, {first} to {last}"


def tree_data(node: Node) -> dict[str, Any]:
    """A tree as plain data; values are in the unit beside them, None where there is none.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.present.explain.tree import explained
    >>> tree_data(explained(load_case("inputs_demo/facade")).tree("product.length"))["value"]
    1.2
    """
    value = node.value / to_base(node.unit)
    always = {"address": node.address, "kind": node.kind, "meaning": node.meaning,
              "value": value if math.isfinite(value) else None, "unit": node.unit}  # fmt: skip
    where_there = {
        "reason": "" if math.isfinite(value) else node.reason or PART_WITHOUT,
        "title": node.title,
        "formula": node.formula,
        "share": node.share,
        "evidence": node.evidence and dataclasses.asdict(node.evidence),
        "shown": node.shown,
        "terms": [_term_data(term, node) for term in node.terms],
        "children": [tree_data(child) for child in node.children],
    }
    return always | {name: each for name, each in where_there.items() if each not in ("", None, [])}


def tree_rows(node: Node, level: int = 0) -> list[dict[str, Any]]:
    """A tree as rows, each branch behind what it is a part of and one level below it; inputs with where they come from.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.present.explain.tree import explained
    >>> rows = tree_rows(explained(load_case("inputs_demo/facade")).tree("line.output.plate_area"))
    >>> [(row["level"], row["address"], row["value"], row["unit"]) for row in rows]
    [(0, 'line.output.plate_area', 0.72, 'm2/plate'), (1, 'product.length', 1.2, 'm'), (1, 'product.width', 0.6, 'm')]
    """
    found = tree_data(node)
    evidence = found.get("evidence", {})
    columns = ("address", "kind", "value", "unit", "reason", "share", "title", "meaning", "formula")
    named = {name: found.get(name) for name in columns}
    sources = {f"evidence_{name}" if name == "kind" else name: evidence.get(name) for name in ("kind", "source", "date", "by")}
    return [{"level": level, **named, **sources}, *(row for child in node.children for row in tree_rows(child, level + 1))]


def _term_data(term: Term, node: Node) -> dict[str, Any]:
    """A term of a sum as plain data; one without a value with the reason why."""
    if math.isfinite(term.value):
        return {"text": term.text, "value": term.value / to_base(node.unit)}
    return {"text": term.text, "value": None, "reason": node.reason or PART_WITHOUT}


def tree_html(node: Node, open_levels: int = 2) -> str:
    """A tree as HTML that folds by itself; the style stands beside it."""
    return f"<style>{STYLE}</style><div class='tree'>{_node_html(node, open_levels)}</div>"


def _node_html(node: Node, levels: int) -> str:
    head = f"<b>{escape(node.address)}</b> = {escape(shown_value(node))}"
    if node.share is not None:
        head += f" <span class='share'>{escape(percent(node.share))}</span>"
    if node.shown == "above":
        head += f" <a href='#{escape(node.address)}'>shown above</a>"
    if node.shown == "deeper":
        head += " …"
    title = f"{node.title}: " if node.title else ""
    head += f" <span class='meaning'>{escape(title + node.meaning)}</span>"
    if node.kind != FIGURE:
        return f"<div class='leaf input'>{head}<br><span class='source'>{escape(origin(node))}</span></div>"
    whole = len(node.formula) <= LONGEST
    text = node.formula if whole else f"{node.formula[:LONGEST]} ... {len(node.formula):,} letters; --json has all"
    formula = f"<code>= {escape(text)}</code>"
    if len(node.formula) > LONG:
        formula = f"<details><summary class='meaning'>formula, {len(node.children)} names</summary>{formula}</details>"
    if not node.children:
        return f"<div class='leaf'>{head}{'' if node.shown == 'above' else formula}</div>"
    terms = ""
    if node.terms:
        parts = "".join(
            f"<div>{escape(people(term.value / to_base(node.unit), 4))} = {escape(term.text)}</div>" for term in node.terms
        )
        terms = f"<div class='terms'>{parts}</div>"
        if len(node.terms) > MOST_TERMS:
            terms = f"<details><summary class='meaning'>{len(node.terms)} parts that add up</summary>{terms}</details>"
    below = ""
    for child, *more in alike(node.children):
        below += _node_html(child, levels - 1)
        if more:
            inside = "".join(_node_html(each, 0) for each in more)
            below += f"<details><summary class='meaning'>{escape(more_like_it(more))}</summary>{inside}</details>"
    opened = " open" if levels > 0 else ""
    return f"<details id='{escape(node.address)}'{opened}><summary>{head}</summary>{formula}{terms}{below}</details>"


def page_html(explanation: Explanation, node: Node) -> str:
    """A page of its own for a tree: no script, nothing fetched."""
    title = f"Why {node.address} is {shown_value(node)}"
    return (
        f"<!doctype html>\n<html lang='en'><head><meta charset='utf-8'><title>{escape(title)}</title>"
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<meta name='viewport' content='width=device-width'></head><body><h1>{escape(title)}</h1>"
        f"<p>{escape(explanation.case.title)}. Open a branch to see its parts. Inputs are blue, with their source. A part of "
        f"several figures is opened once. An estimate from these inputs, no offer and no advice.</p>"
        f"{tree_html(node)}</body></html>\n"
    )
