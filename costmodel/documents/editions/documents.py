"""Documents, workbook, notebook and explanations of an outside edition, made from its release and nothing else."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterator
from datetime import datetime
from html import escape
from pathlib import Path
from typing import Any

import nbformat
import xlsxwriter

from ... import __version__
from ...core.whole_files import write_whole
from ...present.numbers import people
from ..kinds import kind
from ..kinds.blocks import Block, heading, table
from ..page import to_html
from ..show import block_html
from .allowed import KIND_OF, place_of
from .record import Release, Told, as_text, nested

CREATED = datetime(2000, 1, 1)  # the same for every file, so that the same release gives the same bytes
POLICY = "default-src 'none'; style-src 'unsafe-inline'"
SUMS = (
    ("licence.paid", ("licence.by_year.",)),
    ("plan.capital", ("plan.capital_by_kind.",)),
    ("cost.per_watt", ("cost.by_kind.*.per_watt",)),
    ("cost.a_year", ("cost.by_kind.*.a_year",)),
)  # totals with the told figures that they are the sum of


def facts_of(release: Release) -> dict[str, Any]:
    """What kinds of documents read, from a release, in the order of the allow-list."""
    told = sorted(release.figures, key=lambda each: place_of(release.edition, each.name))
    facts = nested({each.name: each.value for each in told})
    facts["identity"] |= {"title": release.title, "currency": release.currency, "made_on": release.made_on,
                          "version": release.version, "contents": release.fingerprint}  # fmt: skip
    return facts


def blocks_of(release: Release) -> list[Block]:
    """The blocks of the document of an edition: those of its kind, and before the inputs what the release tells besides."""
    facts = facts_of(release)
    try:
        blocks = kind(KIND_OF[release.edition]).page(facts)
    except KeyError as missing:
        raise LookupError(f"the release lacks {missing}, which the document tells; it was held back by a mark") from None
    more = [*_process_blocks(facts.get("process"), release.currency), *_widened_blocks(release)]
    at = next(
        (k for k, block in enumerate(blocks) if block["kind"] == "heading" and block["text"].startswith("Inputs,")), len(blocks)
    )
    return [*blocks[:at], *more, *blocks[at:]]


def _process_blocks(process: dict[str, Any] | None, currency: str) -> list[Block]:
    if not process:
        return []
    groups = [[each["name"], people(each["per_watt"]), people(each["per_m2"])] for each in process["groups"]]
    rows = [
        ["Scheduled time for each plate started", f"{people(process['takt'])} s"],
        *(
            []
            if process["film_cycle"] is None
            else [["Cycle of a load in which films grow", f"{people(process['film_cycle'])} min"]]
        ),
        *([] if process["gases_per_m2"] is None else [["Gases, all together", f"{currency} {people(process['gases_per_m2'])}/m2"]]),
        *([each["name"], f"{people(each['per_m2'])} {each['unit']}"] for each in process.get("consumption", ())),
    ]
    note = "By group of steps. How each step is set up is handed over under the licence, and is not told here."
    return [
        heading("What the plant takes"),
        table(f"Cost by group of steps, {currency}", ["", "per stabilised watt", "per m2"], groups, note),
        table("Times and consumption", ["", ""], rows, "Where an area stands behind: of good modules.", texts=(0, 1)),
    ]  # fmt: skip


def _widened_blocks(release: Release) -> list[Block]:
    if not release.widened:
        return []
    rows = [[each.figure, _shown(each.value), each.unit, each.date, each.why] for each in release.widened]
    return [table("Further figures", ["", "value", "unit", "told since", "why"], rows, texts=(0, 2, 3, 4))]


def _shown(value: Any) -> str:
    return people(value) if isinstance(value, float) else "none" if value is None else str(value)


def mark(release: Release) -> str:
    """What a document is made of, in short: release, version and kind."""
    return hashlib.sha256("\n".join([release.fingerprint, __version__, KIND_OF[release.edition]]).encode()).hexdigest()[:16]


def document(release: Release) -> bytes:
    """The document of an edition as one HTML file."""
    cells = [
        nbformat.v4.new_code_cell(outputs=[nbformat.v4.new_output("display_data", {"text/html": block_html(block)})])
        for block in blocks_of(release)
    ]
    title = f"{kind(KIND_OF[release.edition]).TITLE}: {release.title}"
    return to_html(nbformat.v4.new_notebook(cells=cells), title, mark(release), charts=False).encode()


def sums(release: Release) -> Iterator[tuple[str, list[str]]]:
    """Totals that are told together with all their parts: the name of each, and those of the parts."""
    names = [told.name for told in release.figures]
    for total, patterns in SUMS:
        ends = [pattern.partition("*") for pattern in patterns]
        parts = [
            name
            for name in names
            for start, star, end in ends
            if name == start or ((star or start.endswith(".")) and name.startswith(start) and name.endswith(end))
        ]
        if total in names and parts:
            yield total, parts


def workbook(release: Release) -> bytes:
    """The told figures as a spreadsheet; its formulas reckon with them alone."""
    content = io.BytesIO()
    book = xlsxwriter.Workbook(content, {"in_memory": True})
    book.set_properties({"title": release.title, "comments": f"release {release.fingerprint}", "created": CREATED})
    sheet, bold = book.add_worksheet("Figures"), book.add_format({"bold": True})
    sheet.set_column(0, 0, 48)
    sheet.set_column(1, 1, 20)
    for column, word in enumerate(("figure", "value", "unit", "years or places")):
        sheet.write(0, column, word, bold)
    places: dict[str, str] = {}
    numbers: dict[str, float] = {}
    row = 1
    for told in release.figures:
        if told.name.endswith(".rows"):
            continue  # inputs in words stand in the document
        sheet.write_string(row, 0, told.name)
        sheet.write_string(row, 2, told.unit)
        values = told.value
        if isinstance(values, list) and values and all(isinstance(value, (int, float)) for value in values):
            for k, value in enumerate(values):
                sheet.write_number(row, 3 + k, value)
            last = xlsxwriter.utility.xl_rowcol_to_cell(row, 2 + len(values))
            numbers[told.name] = sum(values)
            sheet.write_formula(row, 1, f"=SUM(D{row + 1}:{last})", None, numbers[told.name])
        elif isinstance(values, (int, float)) and not isinstance(values, bool):
            sheet.write_number(row, 1, values)
            numbers[told.name] = float(values)
        else:
            sheet.write_string(row, 1, "none" if values is None else "; ".join(values) if isinstance(values, list) else str(values))
        places[told.name] = f"B{row + 1}"
        row += 1
    for each in release.widened:
        sheet.write_string(row, 0, each.figure)
        sheet.write(row, 1, "none" if each.value is None else each.value)
        sheet.write_string(row, 2, each.unit)
        row += 1
    row += 1
    sheet.write(row, 0, "Totals from their parts, each told rounded", bold)
    for total, parts in sums(release):
        row += 1
        sheet.write_string(row, 0, f"{total}, added up")
        sheet.write_formula(row, 1, "=" + "+".join(places[part] for part in parts), None, sum(numbers[part] for part in parts))
    book.close()
    return content.getvalue()


def notebook(release: Release) -> bytes:
    """A small notebook that holds the release and shows what it says; it needs Python alone."""
    held = json.dumps({told.name: [told.value, told.unit] for told in release.figures}, ensure_ascii=True, sort_keys=True)
    sources = [
        ("markdown", f"# {release.title}\n\nThe {release.edition} edition, release {release.fingerprint}."),
        ("code", f"import json\n\nfigures = json.loads({held!r})"),
        ("code", "for name, (value, unit) in figures.items():\n    if isinstance(value, (int, float)):\n        "
                 "print(f'{name:48} {value:>16,.6g} {unit}')"),
        ("code", "payments = [value for name, (value, _) in figures.items() if name.startswith('licence.by_year.')]\n"
                 "[round(sum(year), 2) for year in zip(*payments)]"),
    ]  # fmt: skip
    make = {"markdown": nbformat.v4.new_markdown_cell, "code": nbformat.v4.new_code_cell}
    cells = [make[what](text, id=f"cell-{number}") for number, (what, text) in enumerate(sources)]
    book = nbformat.v4.new_notebook(cells=cells, metadata={"language_info": {"name": "python"}})
    return nbformat.writes(book).encode()


def _said(told: Told) -> str:
    return f"{escape(told.name)} = {escape(_shown(told.value))} {escape(told.unit)}"


def explanations(release: Release) -> bytes:
    """Each told figure with its unit, and where it is the sum of others that are told, these; a page that folds."""
    numbers = {told.name: told for told in release.figures}
    parts = dict(sums(release))
    said = [
        f"<details><summary>{_said(told)}</summary><ul>"
        + "".join(f"<li>{_said(numbers[part])}</li>" for part in parts[told.name])
        + "</ul></details>"
        if told.name in parts
        else f"<p>{_said(told)}</p>"
        for told in release.figures
        if isinstance(told.value, (int, float))
    ]  # fmt: skip
    head = f'<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    head += f"<title>{escape(release.title)}</title>"
    words = "What these come from beyond the figures shown here is not told in this edition."
    return f'<!doctype html><html lang="en"><head>{head}</head><body><p>{words}</p>{"".join(said)}</body></html>'.encode()


def write_all(release: Release, stem: Path) -> list[Path]:
    """Write everything that an edition has beside its document, under names that begin with that of the stem."""
    made = {".yaml": as_text(release).encode(), ".xlsx": workbook(release), ".ipynb": notebook(release),
            "_explained.html": explanations(release)}  # fmt: skip
    return [
        write_whole(stem.with_name(stem.name + end), content) or stem.with_name(stem.name + end) for end, content in made.items()
    ]
