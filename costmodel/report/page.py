"""Makes the report: blocks into a notebook, the notebook into one HTML file that opens offline."""

from __future__ import annotations

import os
import tempfile
from importlib import resources
from pathlib import Path
from typing import Any

from .. import lean_imports  # noqa: F401  (first: see there)
from ..case.records import Case
from ..model import Results
from .bundle import build_bundle, write_bundle

HIDDEN_CELLS = {"parameters", "injected-parameters", "setup"}


def write_report(case: Case, results: Results, path: Path, made_on: str) -> Path:
    """Write the report of a case as one HTML file, whole or not at all, and return its path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        bundle_file = Path(folder) / "bundle.json"
        write_bundle(build_bundle(case, results, made_on), bundle_file)
        html = to_html(run_notebook(bundle_file, Path(folder)), case.title)
    write_whole(path, html)
    return path


def run_notebook(bundle_file: Path, folder: Path) -> Any:
    """Run the report's notebook on a bundle in a fresh kernel and return it."""
    import papermill
    from traitlets.config import Config

    with resources.as_file(resources.files(__package__) / "briefing.ipynb") as template:
        notebook = papermill.execute_notebook(
            str(template),
            str(folder / "run.ipynb"),
            parameters={"bundle_file": str(bundle_file)},
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


def to_html(notebook: Any, title: str) -> str:
    """The outputs of a notebook as one HTML page with plotly.js inside and no outside request.

    The content policy of the page forbids it to ask anything of the network.
    """
    from nbconvert import HTMLExporter
    from plotly.offline import get_plotlyjs
    from traitlets.config import Config

    settings = Config()
    settings.TagRemovePreprocessor.enabled = True
    settings.TagRemovePreprocessor.remove_cell_tags = HIDDEN_CELLS
    with resources.as_file(resources.files(__package__)) as package:
        exporter = HTMLExporter(
            config=settings,
            extra_template_basedirs=[str(package)],
            template_name="template",
            exclude_input=True,
            exclude_anchor_links=True,
        )
        html, _ = exporter.from_notebook_node(notebook, {"metadata": {"name": title}, "plotly_js": get_plotlyjs()})
    return html


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as part:
            part.write(text)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        os.unlink(name)
        raise
