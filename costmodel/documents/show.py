"""Blocks as HTML, and the report's notebook, which shows them from a file and holds no case."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from html import escape
from pathlib import Path
from typing import Any

from IPython.display import HTML, display

from ..core import lean_imports  # noqa: F401  (first: see there)
from ..present.media import PLOTLY

MANY_COLUMNS = 10  # tables with more are set smaller, so that the years of a plan fit a page
FEWER_COLUMNS, LONG_NAME = 7, 14  # so are tables with more columns than this whose rows have long names
TEXT_COLUMNS = 5  # and tables with more columns of words
NARROW, LETTER, GAP = 366, 8, 20  # px: what a page has on a small phone, a letter of a table, the gap between its columns
SHORT = 14  # rows; tables with no more are kept on one page


def show_report(blocks_file: str) -> None:
    """Show the blocks of the full report, which a file holds in their order."""
    for block in with_places(json.loads(Path(blocks_file).read_text(encoding="utf-8"))):
        if block["kind"] == "chart":
            block["figure"]["layout"]["meta"]["caption"] = block["caption"]
            display({PLOTLY: block["figure"]}, raw=True)
        else:
            display(HTML(block_html(block)))


def with_places(blocks: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Blocks of which each heading has a place of its own, and contents list the headings behind them.

    >>> [b.get("entries", b.get("place")) for b in with_places([{"kind": "contents"}, {"kind": "heading", "text": "Why"}])]
    [[('part-1', 'Why')], 'part-1']
    """
    placed, count = [], 0
    for block in blocks:
        count += block["kind"] == "heading"
        placed.append(block | {"place": f"part-{count}"} if block["kind"] == "heading" else block)
    return [
        block | {"entries": [(b["place"], b["text"]) for b in placed[k:] if "place" in b]} if block["kind"] == "contents" else block
        for k, block in enumerate(placed)
    ]


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
        return _picture_html(block)
    if block["kind"] == "contents":
        entries = "".join(f'<li><a href="#{place}">{escape(text)}</a></li>' for place, text in block["entries"])
        return f'<nav class="contents" aria-label="Contents"><ul>{entries}</ul></nav>'
    if block["kind"] == "items":
        return "<ul>" + "".join(f"<li>{escape(glued(item))}</li>" for item in block["items"]) + "</ul>"
    tag = {"title": "h1", "heading": "h2", "words": "p"}[block["kind"]]
    style = f' class="{block["style"]}"' if block.get("style") else f' id="{block["place"]}"' if block.get("place") else ""
    paragraphs = [part.strip() for part in block["text"].split("\n\n") if part.strip()]
    return "".join(f"<{tag}{style}>{escape(glued(part))}</{tag}>" for part in paragraphs)


def _picture_html(block: dict[str, Any]) -> str:
    """A picture and its caption; on a narrow screen it scrolls inside its frame."""
    frame = f'<div class="frame" {_scrolls(block["caption"])}>{block["svg"]}</div>'
    caption = f"<figcaption>{escape(block['caption'])}</figcaption>"
    return f'<figure class="picture" data-name="{block["name"]}">{frame}{caption}</figure>'


def _scrolls(name: str) -> str:
    """What a frame needs that scrolls, for those who have a keyboard or hear the page: it can be reached, and has a name."""
    return f'tabindex="0" role="region" aria-label="{escape(name)}"'


def glued(text: str) -> str:
    """Words in which a number and its unit stay on one line.

    >>> glued("6 % of EUR 3").split(" ")
    ['6\xa0%', 'of', 'EUR\xa03']
    """
    return re.sub(r"(?<=\b[A-Z]{3}) (?=[-−\d])|(?<=\d) (?=%|million\b|years?\b|[kM]?W\b)", "\xa0", text)


def _kinds(block: dict[str, Any]) -> Iterator[str]:
    """What the look of a table follows: many columns or columns of words are set smaller, long names of rows keep a width."""
    if block["style"]:
        yield block["style"]
        return
    long = any(len(row[0]) > LONG_NAME for row in block["rows"])
    if len(block["columns"]) > (FEWER_COLUMNS if long else MANY_COLUMNS) or len(block["texts"]) > TEXT_COLUMNS:
        yield "many"
    if long and len(block["columns"]) > FEWER_COLUMNS:
        yield "named"


def _least_width(block: dict[str, Any]) -> float:
    """About how many pixels a table needs at least: numbers stay on one line, words break between words.

    >>> two, eight = (["a"] + many * ["1,000,000"] for many in (1, 7))
    >>> [_least_width({"columns": row, "rows": [row], "texts": [0]}) > NARROW for row in (two, eight)]
    [False, True]
    """
    wide = 0
    for k, column in enumerate(zip(*block["rows"])):
        whole = k and k not in block["texts"]
        head = max((len(word) for word in block["columns"][k].split()), default=0)
        wide += max(head, *(len(cell) if whole else max(map(len, cell.split(" "))) for cell in column)) * LETTER + GAP
    return wide


def table_html(block: dict[str, Any], caption: bool = True) -> str:
    """A table block as HTML, with its note; wide tables scroll inside their frame.

    >>> block = {"title": "t", "columns": ["", ""], "rows": [["x", "1 < 2"]], "note": "", "total": False, "texts": [0], "style": ""}
    >>> "<td>1 &lt; 2</td>" in table_html(block)
    True
    """

    def cell(index: int, text: str) -> str:
        """A cell of a table; the first names the row."""
        if index == 0:
            return f'<th class="text" scope="row">{escape(text)}</th>'
        return f'<td class="text">{escape(text)}</td>' if index in block["texts"] else f"<td>{escape(text)}</td>"

    head = "".join(
        f'<th scope="col"{" class=text" if i in block["texts"] and i else ""}>{escape(c)}</th>' if c else "<td></td>"
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
    many = f' class="{kinds}"' if (kinds := " ".join(_kinds(block))) else ""
    frame = "tabled short" if len(block["rows"]) <= SHORT and not block["style"] else "tabled"
    wide = "wide broad" if _least_width(block) > NARROW else "wide"
    inner = f'<div class="{wide}" {_scrolls(block["title"])}><table{many}>{title}{header}<tbody>{rows}</tbody></table></div>'
    return f'<div class="{frame}">{inner}{note}</div>'
