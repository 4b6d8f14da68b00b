"""A chart as a page of its own: what it shows, of which case and day, what follows from it, and the chart."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.whole_case import Case
from ..core import lean_imports  # noqa: F401  (first: see there)
from ..present.drawing import Chart


def chart_page(case: Case, chart: Chart, title: str, said: Sequence[str], made_on: str) -> bytes:
    """A chart with its title and sentences as one HTML file that opens offline; on a narrow screen the chart scrolls."""
    import nbformat

    from .page import to_html
    from .show import block_html

    ((kind_of_data, drawn),) = chart._repr_mimebundle_().items()
    drawn["layout"]["meta"] = {"says": f"{title}. {' '.join(said)}"}
    title = title[:1].upper() + title[1:]
    about = f"{case.title} · case “{case.name}” · {made_on}"
    words = [("title", title, ""), ("words", about, "about"), *(("words", line, "") for line in said)]
    shown = [{"text/html": block_html({"kind": kind, "text": text, "style": style})} for kind, text, style in words]
    outputs = [nbformat.v4.new_output("display_data", data) for data in (*shown, {kind_of_data: drawn})]
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(outputs=outputs)])
    return to_html(notebook, f"{title}: {case.title}", "", charts=True).encode()
