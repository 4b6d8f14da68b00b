"""Times from a key on a slider to the frame with the new picture, in JupyterLab; run with `python -m tests.benchmark_redraws`.

The floor, in the same notebook and moved by turns with the panel: a slider that gives plotly's own widget five other bars, with
nothing computed between. No test asserts a time: it doubles where a machine does something else besides.
"""

import json
import statistics
import tempfile
from pathlib import Path

from costmodel.core import lean_imports  # noqa: F401  (first: see there)

from .conftest import tool_path
from .lab import Notebook, running_lab

PANELS = {
    "cost": ("1_from_tables_to_cost", 3, "prices.silane.price"),
    "what moves a figure": ("2_sensitivity_and_risk", 4, "prices.silane.price"),
    "plan and market": ("3_plan_and_market", 4, "sales.facade.price"),
    "deal": ("4_deal", 3, "licence.royalty"),
}
FLOOR = """
import ipywidgets, plotly.graph_objects as go
from IPython.display import display
slider, bars = ipywidgets.FloatSlider(min=0, max=100, value=50, step=1), go.FigureWidget(go.Bar(y=[50.0, 1, 2, 3, 4]))
def follow(event):
    with bars.batch_update():
        bars.data[0].y = [event["new"], 1, 2, 3, 4]
slider.observe(follow, "value")
box = ipywidgets.VBox([slider, bars])
box.add_class("floor")
display(box)
"""
TURNS, MOVES, COLD = 6, 10, 2  # turns of panel and floor, moves in each, and the first of them, before all is warm


def with_floor(path):
    """Add the floor to a notebook as its last cell."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    cell = {"cell_type": "code", "id": "floor", "metadata": {}, "outputs": [], "execution_count": None, "source": FLOOR}
    path.write_text(json.dumps(notebook | {"cells": [*notebook["cells"], cell]}), encoding="utf-8")


def redraws(browser, address, folder, panel):
    """Milliseconds of the moves of a panel, and of those of the floor."""
    name, pictures, moved = PANELS[panel]
    with_floor(folder / "work" / "notebooks" / f"{name}.ipynb")
    notebook = Notebook(browser, address, name)
    notebook.run_all(pictures + 1)
    handles = {
        ".cost-panel": notebook.control(moved).get_by_role("slider"),
        ".floor": notebook.tab.locator(".floor").get_by_role("slider"),
    }
    times = {place: [] for place in handles}
    for turn in range(TURNS):
        for place, handle in handles.items():
            key = "ArrowLeft" if turn % 2 else "ArrowRight"
            times[place] += [notebook.redraw_time(handle, key, place) for _ in range(MOVES)][COLD:]
    troubles = notebook.troubles()
    notebook.close()
    assert not troubles, troubles
    return times.values()


def main():
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as made, running_lab(Path(made)) as address, sync_playwright() as started:
        browser = started.chromium.launch(executable_path=tool_path("chromium"), args=["--no-sandbox", "--disable-gpu"])
        for panel in PANELS:
            times, least = redraws(browser, address, Path(made), panel)
            middle, floor = statistics.median(times), statistics.median(least)
            low, _, high = statistics.quantiles(times)
            below = sum(time < 100 for time in times) / len(times)
            print(f"{panel}: median {middle:.0f} ms ({low:.0f} to {high:.0f}), {100 * below:.0f} % below 100 ms; "
                  f"the floor {floor:.0f} ms, {middle / floor:.1f} times that")  # fmt: skip
        browser.close()


if __name__ == "__main__":
    main()
