"""Sliders for a notebook: move an input of ranges.csv, and the cost and its picture follow at once."""

from __future__ import annotations

import math
from html import escape
from pathlib import Path

import ipywidgets
import plotly.graph_objects as go

from . import lean_imports  # noqa: F401  (first: see there)
from .case.addresses import input_at, value_at
from .case.changes import with_values
from .case.records import Case, Range
from .case.scenarios import save_scenario
from .faults import InputFaults
from .model import Results, evaluate
from .report import charts, sentences
from .report.cost_tables import key_figures
from .report.numbers import label
from .report.show import table_html
from .units import to_base


def slider_label(case: Case, address: str, unit: str) -> str:
    """What a slider says: the title of the row, the field and the unit."""
    _, record = input_at(case, address)
    title = getattr(record, "title", label(address.split(".")[-2]))
    return f"{title}: {label(address.split('.')[-1])} [{unit}]"


def make_slider(case: Case, row: Range) -> ipywidgets.FloatSlider:
    """A slider over the range of one input, in the unit of the range, at the value of the case.

    The value of the case always lies within the ends of the slider.
    """
    ratio = to_base(row.unit)
    value = value_at(case, row.address) / ratio
    low, high = min(row.low / ratio, value), max(row.high / ratio, value)
    digits = -math.floor(math.log10((high - low) / 100)) if high > low else 0
    return ipywidgets.FloatSlider(
        value=value,
        min=low,
        max=high,
        step=10.0**-digits,
        description=slider_label(case, row.address, row.unit),
        readout_format=f".{max(0, digits)}f",
        continuous_update=True,
        tooltip=row.address,
        style={"description_width": "26em"},
        layout={"width": "100%"},
    )


class CostSliders:
    """Sliders, the key figures and the cost stack of a case, kept in step.

    `case` is the case as read; `current` the case with the sliders' values, `results` its figures. With `folder`, the folder
    that the case was read from, the sliders can be saved there as a scenario; `scenario` is the one that it was opened with.
    """

    def __init__(self, case: Case, folder: str | Path | None = None, scenario: str | None = None):
        self.case = self.current = case
        self.folder, self.scenario = folder, scenario
        self.results: Results = evaluate(case)
        self.base_headline = sentences.headline(case, self.results)
        self.sliders = {row.address: make_slider(case, row) for row in case.ranges.values()}
        self.units = {row.address: row.unit for row in case.ranges.values()}
        self.figure = go.FigureWidget(charts.cost_stack(case, self.results))
        self.figure._config = {**self.figure._config, "responsive": True, "displaylogo": False}  # else 700 px wide
        self.words, self.table = ipywidgets.HTML(), ipywidgets.HTML()
        self.reset = ipywidgets.Button(
            description="Back to the tables", icon="undo", layout={"width": "auto", "align_self": "flex-start"}
        )
        self.reset.on_click(self._back)
        self.name, self.title, self.story = (
            ipywidgets.Text(placeholder=hint, continuous_update=False, layout={"width": width})
            for hint, width in (("name, as dear_gases", "13em"), ("title", "16em"), ("what it supposes", "26em"))
        )
        self.save = ipywidgets.Button(description="Save as scenario", icon="save", layout={"width": "auto"})
        self.save.on_click(self._save)
        self.saved = ipywidgets.HTML()
        self._following = True
        for slider in self.sliders.values():
            slider.observe(self._follow, "value")
        self._write()

    def _follow(self, _change: object = None) -> None:
        """Compute with the sliders' values and redraw."""
        if not self._following:
            return
        self.saved.value = ""
        self.current = with_values(self.case, {a: self.sliders[a].value * to_base(self.units[a]) for a in self._moved()})
        self.results = evaluate(self.current)
        with self.figure.batch_update():
            for trace, values in zip(self.figure.data, charts.stack_values(self.results).values()):
                trace.x = values
        self._write()

    def _moved(self) -> list[str]:
        """The addresses whose sliders stand elsewhere than the tables say."""
        return [
            a
            for a, s in self.sliders.items()
            if abs(s.value * to_base(self.units[a]) - value_at(self.case, a)) > 1e-9 * abs(value_at(self.case, a))
        ]

    def _save(self, _button: object = None) -> None:
        """Save the sliders that were moved as a scenario of the folder, and say where, or why not."""
        changes = {a: f"{self.sliders[a].value!r} {self.units[a]}" for a in self._moved()}
        words = (self.name.value.strip(), self.title.value.strip(), self.story.value.strip())
        try:
            path = save_scenario(self.folder, *words, changes, base=self.scenario, shown=self.current)
            said, colour = f"Saved: {path}", "#060"
        except InputFaults as faults:
            said, colour = f"Not saved: {faults}", "#a00"
        self.saved.value = f"<span style='color:{colour};white-space:pre-wrap;line-height:1.3'>{escape(said)}</span>"

    def _back(self, _button: object = None) -> None:
        """Put every slider back to the value of the tables."""
        self._following = False
        for address, slider in self.sliders.items():
            slider.value = value_at(self.case, address) / to_base(self.units[address])
        self._following = True
        self._follow()

    def _write(self) -> None:
        base, now = self.base_headline, sentences.headline(self.current, self.results)
        was = f"<p style='color:#666'>The tables say: {escape(base)}</p>" if base != now else ""
        self.words.value = (
            f"<p style='font-size:1.3em;font-weight:600'>{escape(now)}</p>{was}"
            f"<p>{escape(sentences.bottleneck(self.current, self.results))}</p>"
        )
        self.table.value = table_html(key_figures(self.current, self.results).as_block(), caption=False)

    def show(self) -> None:
        """Show sliders, figures and chart."""
        from IPython.display import Javascript, display

        words = ipywidgets.HBox([self.name, self.title, self.story, self.save], layout={"flex_flow": "row wrap"})
        keep = [words, self.saved] if self.folder is not None else []
        rows = ipywidgets.VBox([*self.sliders.values(), self.reset, *keep], layout={"width": "70%"})
        beside = ipywidgets.VBox([self.table], layout={"width": "30%", "padding": "0 0 0 1em"})
        display(ipywidgets.VBox([self.words, ipywidgets.HBox([rows, beside]), self.figure]))
        display(Javascript("setTimeout(() => dispatchEvent(new Event('resize')), 300)"))  # lets the chart take the cell's width
