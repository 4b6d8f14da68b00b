"""Makes documents: blocks into one HTML file that opens offline; the full report by way of a notebook that is run."""

from __future__ import annotations

import base64
import gzip
import tempfile
from collections.abc import Iterable
from importlib import resources
from pathlib import Path
from typing import Any

from ..case.whole_case import Case
from ..core import lean_imports  # noqa: F401  (first: see there)
from ..core.whole_files import write_whole

HIDDEN_CELLS = {"parameters", "injected-parameters", "setup"}


def write_report(case: Case, path: Path, made_on: str, made_of: str = "", case_folder: Path | None = None) -> Path:
    """Write the full report of a case as one HTML file, whole or not at all, and return its path.

    Rounds of its deal are read from the folder of the case, if that is given.
    """
    from .bundle import build_bundle, write_bundle

    with tempfile.TemporaryDirectory() as folder:
        bundle_file = Path(folder) / "bundle.json"
        write_bundle(build_bundle(case, made_on, case_folder), bundle_file)
        notebook = run_notebook("briefing.ipynb", {"bundle_file": str(bundle_file)}, Path(folder))
    write_whole(path, to_html(notebook, case.title, made_of, charts=True).encode())
    return path


def write_document(kind: str, facts: dict[str, Any], path: Path, made_of: str = "") -> Path:
    """Write a document of a kind from facts alone, and its annex beside it, each whole or not at all; returns its path."""
    from .kinds import documents_of

    for end, (title, blocks) in documents_of(kind, facts).items():
        write_whole(path.with_stem(path.stem + end), page_of(blocks, title, made_of))
    return path


def page_of(blocks: Iterable[dict[str, Any]], title: str, made_of: str) -> bytes:
    """Blocks as one HTML file without scripts."""
    import nbformat

    from .show import block_html, with_places

    outputs = [nbformat.v4.new_output("display_data", {"text/html": block_html(block)}) for block in with_places(blocks)]
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(outputs=outputs)])
    return to_html(notebook, title, made_of, charts=False).encode()


def run_notebook(name: str, parameters: dict[str, str], folder: Path) -> Any:
    """Run a notebook of the package with parameters in a fresh kernel and return it."""
    import papermill
    from traitlets.config import Config

    with resources.as_file(resources.files(__package__) / name) as template:
        notebook = papermill.execute_notebook(
            str(template),
            None,  # papermill would save the notebook at the start and end of each cell, and nobody reads it
            parameters=parameters,
            request_save_on_cell_execute=False,
            autosave_cell_every=0,
            kernel_name="python3",
            progress_bar=False,
            cwd=str(folder),
            extra_arguments=["--log-level=CRITICAL"],
            config=Config(KernelManager={"transport": "ipc"}),
        )
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            if output.output_type != "display_data":
                raise RuntimeError(f"the report's notebook gave a {output.output_type}: {output}; allowed: display_data")
    return notebook


def to_html(notebook: Any, title: str, made_of: str, charts: bool) -> str:
    """The outputs of a notebook as one HTML page with no outside request, which its content policy forbids.

    With `charts` it holds plotly.js, packed, and may run it; without, it may run no script at all.
    """
    from nbconvert.exporters.templateexporter import TemplateExporter  # HTMLExporter would parse the page once more
    from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath
    from traitlets.config import Config

    settings = Config()
    settings.TagRemovePreprocessor.enabled = True
    settings.TagRemovePreprocessor.remove_cell_tags = HIDDEN_CELLS
    markdown = MarkdownWithMath(renderer=IPythonRenderer(escape=False, exclude_anchor_links=True))
    about = {"metadata": {"name": title}, "made_of": made_of, "plotly_js": packed_plotly() if charts else ""}
    with resources.as_file(resources.files(__package__)) as package:
        exporter = TemplateExporter(
            config=settings,
            extra_template_basedirs=[str(package)],
            template_name="template",
            template_file="index.html.j2",
            exclude_input=True,
            filters={"markdown2html": markdown.render},
        )
        html, _ = exporter.from_notebook_node(notebook, about)
    return html


def packed_plotly() -> str:
    """plotly.js, compressed and in letters; the page unpacks it, which makes it less than half as large."""
    from plotly.offline import get_plotlyjs

    return base64.b64encode(gzip.compress(get_plotlyjs().encode(), mtime=0)).decode()
