"""Blocks as HTML, and the report's notebook, which shows them from a file and holds no case."""

from __future__ import annotations

import json
import re
from html import escape
from pathlib import Path
from typing import Any

from IPython.display import HTML, display

from ..core import lean_imports  # noqa: F401  (first: see there)
from ..present.media import PLOTLY

MANY_COLUMNS = 10  # tables with more are set smaller, so that the years of a plan fit a page
SHORT = 30  # rows; tables with no more are kept on one page


def show_report(blocks_file: str) -> None:
    """Show the blocks of the full report, which a file holds in their order."""
    for block in json.loads(Path(blocks_file).read_text(encoding="utf-8")):
        if block["kind"] == "chart":
            display({PLOTLY: block["figure"]}, raw=True)
        else:
            display(HTML(block_html(block)))


def block_html(block: dict[str, Any]) -> str:
    """A block of a document as HTML; blank lines divide words into paragraphs.

    >>> block_html({"kind": "words", "text": "1 < 2", "style": "note"})
    '<p class="note">1 &lt; 2</p>'
    """
    if block["kind"] == "table":
        return table_html(block)
    if block["kind"] == "tables":
        return "".join(
            f"<details><summary>{escape(each['title'])} ({len(each['rows'])})</summary>{table_html(each, caption=False)}</details>"
            for each in block["tables"]
        )
    if block["kind"] == "picture":
        return f'<figure class="picture" data-name="{block["name"]}">{block["svg"]}</figure>'
    if block["kind"] == "items":
        return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in block["items"]) + "</ul>"
    tag = {"title": "h1", "heading": "h2", "words": "p"}[block["kind"]]
    style = f' class="{block["style"]}"' if block.get("style") else ""
    paragraphs = [part.strip() for part in block["text"].split("\n\n") if part.strip()]
    return "".join(f"<{tag}{style}>{escape(glued(part))}</{tag}>" for part in paragraphs)


def glued(text: str) -> str:
    """Words in which a number and its unit stay on one line.

    >>> glued("6 % of EUR 3").split(" ")
    ['6\xa0%', 'of', 'EUR\xa03']
    """
    return re.sub(r"(?<=\b[A-Z]{3}) (?=[-−\d])|(?<=\d) (?=%|million\b|years?\b)", "\xa0", text)


def table_html(block: dict[str, Any], caption: bool = True) -> str:
    """A table block as HTML; wide tables scroll inside their frame.

    >>> block = {"title": "t", "columns": ["", ""], "rows": [["x", "1 < 2"]], "note": "", "total": False, "texts": [0], "style": ""}
    >>> "<td>1 &lt; 2</td>" in table_html(block)
    True
    """

    def cell(index: int, text: str) -> str:
        """A cell of a table; the first names the row."""
        if index == 0:
            return f'<th class="text" style="text-align:left">{escape(text)}</th>'
        return f'<td class="text">{escape(text)}</td>' if index in block["texts"] else f"<td>{escape(text)}</td>"

    head = "".join(
        f'<th class="text">{escape(c)}</th>' if i in block["texts"] and i else f"<th>{escape(c)}</th>"
        for i, c in enumerate(block["columns"])
    )
    last = len(block["rows"]) - 1
    rows = "".join(
        f"<tr{' class=total' if block['total'] and number == last else ''}>"
        f"{''.join(cell(i, text) for i, text in enumerate(row))}</tr>"
        for number, row in enumerate(block["rows"])
    )
    title = f"<caption>{escape(block['title'])}</caption>" if caption else ""
    note = f'<p class="note">{escape(block["note"])}</p>' if block["note"] else ""
    header = f"<thead><tr>{head}</tr></thead>" if any(block["columns"]) else ""
    many = ' class="many"' if len(block["columns"]) > MANY_COLUMNS else f' class="{block["style"]}"' if block["style"] else ""
    frame = "wide short" if len(block["rows"]) <= SHORT and not block["style"] else "wide"
    return f'<div class="{frame}"><table{many}>{title}{header}<tbody>{rows}</tbody></table></div>{note}'
