"""Documents, workbook, notebook and explanations of an external edition, made from its release and nothing else."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterator
from datetime import datetime
from html import escape
from pathlib import Path
from typing import Any

from ... import __version__
from ...core.whole_files import write_whole
from ...present.numbers import people, typeset
from ..kinds import ANNEX, documents_of
from ..kinds.blocks import Block, heading, table
from ..page import page_of
from .allowed import KIND_OF, matches, place_of
from .figure_words import in_words
from .record import Disclosed, Release, as_text, nested

CREATED = datetime(2000, 1, 1)  # the same for every file, so that the same release gives the same bytes
POLICY = "default-src 'none'; style-src 'unsafe-inline'"
SUMS = {
    "licence.paid": "licence.by_year.*",
    "plan.capital": "plan.capital_by_kind.*",
    "cost.per_watt": "cost.by_kind.*.per_watt",
    "cost.a_year": "cost.by_kind.*.a_year",
}  # totals with the disclosed figures that they are the sum of


def facts_of(release: Release) -> dict[str, Any]:
    """What kinds of documents read, from a release, in the order of the allow-list."""
    figures = sorted(release.figures, key=lambda each: place_of(release.edition, each.name))
    facts = nested({each.name: each.value for each in figures})
    facts["identity"] |= {"title": release.title, "currency": release.currency, "made_on": release.made_on,
                          "version": release.version, "contents": release.fingerprint}  # fmt: skip
    return facts


def blocks_of(release: Release, name: str = "") -> dict[str, tuple[str, list[Block]]]:
    """The documents of an edition, or of one of its kinds, by the end of their file names: title and blocks.

    What the release has besides stands in the annex before the inputs.
    """
    facts = facts_of(release)
    try:
        made = documents_of(name or KIND_OF[release.edition], facts)
    except KeyError as missing:
        raise LookupError(f"the release lacks {missing}, which the document needs; it was held back by a mark") from None
    if ANNEX in made:
        title, blocks = made[ANNEX]
        more = [*_process_blocks(facts.get("process"), release.currency), *_widened_blocks(release)]
        starts = [k for k, block in enumerate(blocks) if block["kind"] == "heading" and block["text"].startswith("Inputs,")]
        at = starts[0] if starts else len(blocks)
        made[ANNEX] = title, [*blocks[:at], *more, *blocks[at:]]
    return made


def _process_blocks(process: dict[str, Any] | None, currency: str) -> list[Block]:
    """Costs by group of steps, times and consumption, without what a mark holds back."""
    if not process:
        return []
    groups = [[each["name"], _people(each, "per_watt"), _people(each, "per_m2")] for each in process.get("groups", ())]
    rows = [
        ["Scheduled time per plate started", _people(process, "takt", "{} s")],
        ["Cycle of a load in which films grow", _people(process, "film_cycle", "{} min")],
        ["Gases, all together", _people(process, "gases_per_m2", f"{currency} {{}}/m²")],
        *([each["name"], _people(each, "per_m2", f"{{}} {typeset(each['unit'])}")] for each in process.get("consumption", ())),
    ]
    rows = [row for row in rows if row[1]]
    note = "By group of steps. How each step is set up is handed over under the licence, and is not disclosed here."
    areas = "Where a figure is per area: of good modules."
    by_group = table(f"Cost by group of steps, {currency}", ["", "per stabilised watt", "per m²"], groups, note)
    times = table("Times and consumption", ["", ""], rows, areas, texts=(0, 1))
    return [heading("Consumption of the plant"), *([by_group] if groups else []), *([times] if rows else [])]


def _people(figures: dict[str, Any], name: str, form: str = "{}") -> str:
    """A figure as people read it; nothing where it has no value or is held back."""
    value = figures.get(name)
    return "" if value is None else form.format(people(value))


def _widened_blocks(release: Release) -> list[Block]:
    rows = [[each.figure, _shown(each.value), each.unit, each.date, each.why] for each in release.widened]
    return [table("Further figures", ["", "value", "unit", "disclosed since", "why"], rows, texts=(0, 2, 3, 4))] if rows else []


def _shown(value: Any) -> str:
    return people(value) if isinstance(value, float) else "none" if value is None else str(value)


def mark(release: Release, name: str = "") -> str:
    """What a document is made of, in short: release, version and kind."""
    content = [release.fingerprint, __version__, name or KIND_OF[release.edition]]
    return hashlib.sha256("\n".join(content).encode()).hexdigest()[:16]


def documents(release: Release, name: str = "") -> dict[str, bytes]:
    """The documents of an edition, or of one of its kinds, as HTML files by the end of their names; the main one last."""
    return {end: page_of(blocks, title, mark(release, name)) for end, (title, blocks) in blocks_of(release, name).items()}


def sums(release: Release) -> Iterator[tuple[str, list[str]]]:
    """Totals that are disclosed together with their parts: the name of each, and those of the parts."""
    names = [each.name for each in release.figures]
    for total, pattern in SUMS.items():
        parts = [name for name in names if matches(pattern, name)]
        if total in names and parts:
            yield total, parts


def workbook(release: Release) -> bytes:
    """The disclosed figures as a spreadsheet; its formulas use them alone."""
    import xlsxwriter

    content = io.BytesIO()
    book = xlsxwriter.Workbook(content, {"in_memory": True})
    book.set_properties({"title": release.title, "comments": f"release {release.fingerprint}", "created": CREATED})
    sheet, bold = book.add_worksheet("Figures"), book.add_format({"bold": True})
    sheet.set_column(0, 0, 48)
    sheet.set_column(1, 1, 20)
    for column, word in enumerate(("figure", "value", "unit", "years or places")):
        sheet.write(0, column, word, bold)
    shown = [each for each in release.figures if not each.name.endswith(".rows")]  # inputs in words stand in the document
    numbers = {each.name: _write_figure(sheet, row, each) for row, each in enumerate(shown, start=1)}
    places = {each.name: f"B{row + 1}" for row, each in enumerate(shown, start=1)}
    for row, widened in enumerate(release.widened, start=len(shown) + 1):
        for column, value in enumerate((widened.figure, "none" if widened.value is None else widened.value, widened.unit)):
            sheet.write(row, column, value)
    end = len(shown) + len(release.widened) + 2
    sheet.write(end, 0, "Totals from their parts, each rounded", bold)
    for row, (total, parts) in enumerate(sums(release), start=end + 1):
        sheet.write_string(row, 0, f"{total}, added up")
        sheet.write_formula(row, 1, "=" + "+".join(places[part] for part in parts), None, sum(numbers[part] for part in parts))
    book.close()
    return content.getvalue()


def _write_figure(sheet: Any, row: int, figure: Disclosed) -> float:
    """Write a figure, of a list each number and the sum; returns the number, 0 for a text."""
    from xlsxwriter.utility import xl_range

    value = figure.value
    sheet.write_string(row, 0, figure.name)
    sheet.write_string(row, 2, figure.unit)
    if isinstance(value, list) and value and all(isinstance(each, (int, float)) for each in value):
        for column, each in enumerate(value, start=3):
            sheet.write_number(row, column, each)
        cells = xl_range(row, 3, row, 2 + len(value))
        sheet.write_formula(row, 1, f"=SUM({cells})", None, sum(value))
        return float(sum(value))
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        sheet.write_number(row, 1, value)
        return float(value)
    sheet.write_string(row, 1, "none" if value is None else "; ".join(value) if isinstance(value, list) else str(value))
    return 0.0


def notebook(release: Release) -> bytes:
    """A small notebook that holds the release and shows its figures; it needs Python alone."""
    import nbformat

    held = json.dumps({each.name: [each.value, each.unit] for each in release.figures}, ensure_ascii=True, sort_keys=True)
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


def explanations(release: Release) -> bytes:
    """Each disclosed figure in words with its unit and its name, and of a sum of others that are disclosed, these; it folds."""
    parts = dict(sums(release))
    said = {name: f"{escape(words)} <small>({escape(name)})</small>" for name, words in in_words(release).items()}
    shown = [
        f"<details><summary>{said[each.name]}</summary><ul>"
        + "".join(f"<li>{said[part]}</li>" for part in parts[each.name])
        + "</ul></details>"
        if each.name in parts
        else f"<p>{said[each.name]}</p>"
        for each in release.figures
        if isinstance(each.value, (int, float))
    ]
    head = f'<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    head += f"<title>{escape(release.title)}</title>"
    words = "Each figure, its amount, and behind it its name in the release, workbook and notebook. "
    words += "The derivation of these figures is not disclosed in this edition, beyond the figures shown here."
    return f'<!doctype html><html lang="en"><head>{head}</head><body><p>{words}</p>{"".join(shown)}</body></html>'.encode()


def write_all(release: Release, stem: Path) -> list[Path]:
    """Write everything that an edition has beside its document, under names that begin with that of the stem."""
    made = {".yaml": as_text(release).encode(), ".xlsx": workbook(release), ".ipynb": notebook(release),
            "_explained.html": explanations(release)}  # fmt: skip
    paths = [stem.with_name(stem.name + end) for end in made]
    for path, content in zip(paths, made.values()):
        write_whole(path, content)
    return paths
