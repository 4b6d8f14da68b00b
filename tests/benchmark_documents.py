"""Times of documents and workbook as ratios; run with `python -m tests.benchmark_documents [documents] [workbook] [batches]`.

Without a word it takes documents and workbook; no test asserts a time. The floor of documents is an empty notebook through the same
pipeline: run, turned into a page, written. That of the workbook is XlsxWriter writing the same cells and names: once as it comes,
and once as we use it, without its search for newer functions in each formula. Times are processor time of this process and of the
kernels that it starts, the floor before each document; the least of each counts.
"""

import io
import json
import math
import os
import resource
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import xlsxwriter

from costmodel.core.collecting import seldom_collecting
from costmodel.core.whole_files import write_whole
from costmodel.documents import facts, page
from costmodel.documents.batch import Job, cores, make_all
from costmodel.documents.editions import documents
from costmodel.documents.editions.allowed import KIND_OF
from costmodel.documents.editions.build import build
from costmodel.documents.kinds import kind
from costmodel.documents.workbook import write
from costmodel.documents.workbook.book import Book
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case

from .cases import DEMO

LONG, SHORT = 40, 10  # years of the plan
EDITIONS = {kind: edition for edition, kind in KIND_OF.items()}
TODAY = date.today().isoformat()


def processor(action):
    """What an action gives, and its processor time in s, with that of the processes that it starts and ends."""
    before = os.times()
    made = action()
    return made, sum(os.times()[:4]) - sum(before[:4])


def in_turns(*rounds):
    """The least processor time of each action, in s; a round is actions by name, done one after another."""
    took = [(name, processor(action)[1]) for actions in rounds for name, action in actions.items()]
    return {name: min(time for each, time in took if each == name) for name, _ in took}


def peak():
    """The most memory that this process has held so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def empty(path):
    """An empty notebook through the pipeline of documents."""
    cell = json.loads((Path(page.__file__).parent / "briefing.ipynb").read_text(encoding="utf-8"))
    cell["cells"] = cell["cells"][:1]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "empty.ipynb").write_text(json.dumps(cell), encoding="utf-8")
        notebook = page.run_notebook(str(Path(folder) / "empty.ipynb"), {"bundle_file": ""}, Path(folder))
        write_whole(path, page.to_html(notebook, "empty", "", charts=False).encode())


@seldom_collecting()
def document(name, path):
    """A document from the tables on: case, figures, facts, page; Python looks for circles as seldom as in the command."""
    case = open_case(DEMO)
    if name == "full":
        return page.write_report(case, path, TODAY)
    if name in EDITIONS:
        return write_whole(path, documents.documents(build(case, EDITIONS[name], TODAY).release)[""])
    return page.write_document(name, facts.collect(case, evaluate(case), kind(name).PARTS, TODAY), path)


def time_documents(out):
    """Every kind against an empty notebook."""
    empty(out / "empty.html")  # imports
    names = ("investor", "proposal", "memo", "full")
    floor = {"empty": lambda: empty(out / "empty.html")}
    took = in_turns(*({**floor, name: lambda n=name: document(n, out / f"{n}.html")} for name in names))
    print(f"an empty notebook through the pipeline: {took['empty']:.2f} s of processor")
    for name in names:
        size = (out / f"{name}.html").stat().st_size / 1e6
        print(f"{name}: {took[name]:.2f} s, {took[name] / took['empty']:.1f} times the empty one; {size:.2f} MB")
    print(f"most memory: {peak():.0f} MB")


def cells_of(case):
    """The cells of a workbook by sheet, as XlsxWriter's methods take them, each with its format, and its names."""
    file = xlsxwriter.Workbook(io.BytesIO(), {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    write._write_sheets(Book(case, file))
    texts = {number: text for text, number in file.str_table.string_table.items()}
    calls = {
        "String": lambda cell: ("write_string", texts[cell.string]),
        "Number": lambda cell: ("write_number", cell.number),
        "Blank": lambda cell: ("write_blank", None),
        "Formula": lambda cell: ("write_formula", f"={cell.formula}", cell.value),
    }
    sheets = {}
    for sheet in file.worksheets():
        found = ((row, column, cell) for row, cells in sheet.table.items() for column, cell in cells.items())
        sheets[sheet.name] = [(row, column, *calls[type(cell).__name__](cell), cell.format) for row, column, cell in found]
    return sheets, [(name, f"={place}") for name, _, place, _ in file.defined_names]


def same_cells(sheets, names, page_class):
    """XlsxWriter writing cells and names that are ready."""
    file = xlsxwriter.Workbook(io.BytesIO(), {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    formats = {}
    for title, cells in sheets.items():
        sheet = file.add_worksheet(title, page_class)
        for row, column, method, content, *value, look in cells:
            if id(look) not in formats:
                formats[id(look)] = look and file.add_format({"num_format": look.num_format, "bold": look.bold})
            getattr(sheet, method)(row, column, content, formats[id(look)], *value)
    for name, place in names:
        file.define_name(name, place)
    file.close()


def at_horizon(years):
    """The demo with a plan of so many years."""
    return open_case(DEMO, changes={"schedule.horizon": str(years)})


def time_workbook(_):
    """The workbook, from the tables on, against its own cells, and how it grows with the horizon."""
    actions = {"workbook": lambda: write.workbook_bytes(open_case(DEMO))}
    processor(actions["workbook"])  # imports
    print(f"most memory with one workbook: {peak():.0f} MB")
    sheets, names = cells_of(open_case(DEMO))
    actions["as it comes"] = lambda: same_cells(sheets, names, None)
    actions["as we use it"] = lambda: same_cells(sheets, names, write._Page)
    horizons = {str(years): lambda y=years: write.workbook_bytes(at_horizon(y)) for years in (SHORT, LONG)}
    took = in_turns(actions, actions, horizons)
    print(f"workbook: {took['workbook']:.2f} s of processor for {sum(map(len, sheets.values())):,} cells")
    for way in ("as it comes", "as we use it"):
        print(f"  XlsxWriter {way}, same cells: {took[way]:.2f} s; the workbook takes {took['workbook'] / took[way]:.1f} times")
    growth = math.log(took[str(LONG)] / took[str(SHORT)]) / math.log(LONG / SHORT)
    print(f"  {SHORT} years {took[str(SHORT)]:.2f} s, {LONG} years {took[str(LONG)]:.2f} s: exponent {growth:.2f} over the horizon")


def time_batches(out):
    """Many documents on all cores, by the clock."""
    for name in ("proposal", "investor"):
        terms = [{"licence.royalty": f"{2 + k / 100} %"} for k in range(20)]
        jobs = [Job(DEMO, name, out, TODAY, changes=each, again=True) for each in terms]
        begun = time.perf_counter()
        done = make_all(jobs, cores(), lambda _: None)
        assert not any(one.wrong for one in done), done
        minutes = (time.perf_counter() - begun) / 60
        print(f"{len(jobs)} of kind {name} on {cores()} cores: {len(jobs) / minutes:.0f} a minute")


PARTS = {"documents": time_documents, "workbook": time_workbook, "batches": time_batches}


def main():
    with tempfile.TemporaryDirectory() as folder:
        for part in sys.argv[1:] or ("documents", "workbook"):
            PARTS[part](Path(folder))


if __name__ == "__main__":
    main()
