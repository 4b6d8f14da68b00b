"""Times of documents as ratios; run with `python -m tests.benchmark_documents`. No test asserts a time.

The floor is an empty notebook through the same pipeline: run, turned into a page, written. Processor time is that of this process
and of the kernels that it starts; where the machine is busy it says more than the clock.
"""

import json
import os
import tempfile
import time
from datetime import date
from pathlib import Path

from costmodel.core.whole_files import write_whole
from costmodel.documents import facts, page, pdf
from costmodel.documents.batch import Job, cores, make_all
from costmodel.documents.editions import documents
from costmodel.documents.editions.allowed import KIND_OF
from costmodel.documents.editions.build import build
from costmodel.documents.kinds import kind
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case

from .cases import DEMO

REPEATS = 3
EDITIONS = {kind: edition for edition, kind in KIND_OF.items()}


def least(action):
    """The least clock and processor time of several runs, in s."""
    found = []
    for _ in range(REPEATS):
        clock, before = time.perf_counter(), os.times()
        action()
        after = os.times()
        found.append((time.perf_counter() - clock, sum(after[:4]) - sum(before[:4])))
    return min(each[0] for each in found), min(each[1] for each in found)


def empty(path):
    """An empty notebook through the pipeline of documents."""
    cell = json.loads((Path(page.__file__).parent / "briefing.ipynb").read_text(encoding="utf-8"))
    cell["cells"] = cell["cells"][:1]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "empty.ipynb").write_text(json.dumps(cell), encoding="utf-8")
        notebook = page.run_notebook(str(Path(folder) / "empty.ipynb"), {"bundle_file": ""}, Path(folder))
        write_whole(path, page.to_html(notebook, "empty", "", charts=False).encode())


def document(name, path):
    """A document from the tables on: case, figures, facts, page."""
    case = open_case(DEMO)
    results = evaluate(case)
    if name == "full":
        return page.write_report(case, results, path, date.today().isoformat())
    if name in EDITIONS:
        return write_whole(path, documents.documents(build(case, EDITIONS[name], date.today().isoformat()).release)[""])
    return page.write_document(name, facts.collect(case, results, kind(name).PARTS, date.today().isoformat()), path)


def main():
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        empty(out / "empty.html")  # imports
        floor = least(lambda: empty(out / "empty.html"))
        print(f"an empty notebook through the pipeline: {floor[0]:.2f} s, processor {floor[1]:.2f} s")
        paper = least(lambda: pdf.write_pdf(out / "empty.html", out / "empty.pdf"))
        print(f"  as PDF: {paper[0]:.2f} s, processor {paper[1]:.2f} s")
        for name in ("proposal", "memo", "investor", "full"):
            path = out / f"{name}.html"
            took = least(lambda n=name, p=path: document(n, p))
            printed = least(lambda p=path: pdf.write_pdf(p, p.with_suffix(".pdf")))
            pdf_size = path.with_suffix(".pdf").stat().st_size
            sizes = f"{path.stat().st_size / 1e6:.2f} MB, PDF {pdf_size / 1e6:.2f} MB"
            clock = f"{took[0]:.2f} s, {took[0] / floor[0]:.1f} times the empty one"
            processor = f"processor {took[1]:.2f} s, {took[1] / floor[1]:.1f} times"
            print(f"{name}: {clock}; {processor}; as PDF {printed[0]:.2f} s, {printed[0] / paper[0]:.1f} times; {sizes}")
        for name in ("proposal", "investor"):
            for printed in (False, True):
                terms = [{"licence.royalty": f"{2 + k / 100} %"} for k in range(20)]
                jobs = [Job(DEMO, name, out, "2026-11-02", changes=each, pdf=printed, again=True) for each in terms]
                begun = time.perf_counter()
                done = make_all(jobs, cores(), lambda _: None)
                assert not any(one.wrong for one in done), done
                minutes = (time.perf_counter() - begun) / 60
                what = f"{name} with PDF" if printed else name
                print(f"{len(jobs)} of kind {what} on {cores()} cores: {len(jobs) / minutes:.0f} a minute")


if __name__ == "__main__":
    main()
