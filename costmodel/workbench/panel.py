"""A control panel: inputs of a case on the left, what follows from them on the right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

import ipywidgets
from IPython.display import display

from ..case.addresses import value_at
from ..case.changes import with_values
from ..case.whole_case import Case
from ..core import lean_imports  # noqa: F401  (first: see there)
from ..core.faults import InputFaults
from ..core.operations import Value
from ..documents.show import table_html
from ..model.evaluate import Results, evaluate
from ..model.readings import loading
from ..model.scenario_saving import Words, save_scenario
from ..present.drawing import Chart
from ..present.table import Table
from .controls import Control, make_control
from .pictures import Pictures


@dataclass(frozen=True)
class Shown:
    """What a view shows of a case: figures, sentences of which the first stands in large letters, tables, pictures by name.

    Figures may be left out, as computing all of them would take a view too long. A table may be a function that makes it, which is
    asked when the pictures have gone out.
    """

    results: Results | None
    words: tuple[str, ...]
    tables: tuple[Table | Callable[[], Table], ...]
    pictures: dict[str, Chart]


View = Callable[[Case], Shown]

_STYLE = """<style>
.cost-panel .refused { color: #a3000e; white-space: pre-wrap; line-height: 1.3; font-size: 12px; display: block; }
.cost-panel .widget-html-content { line-height: 1.35; }
.cost-panel .headline { font-size: 1.25em; font-weight: 600; margin: 0 0 4px 0; }
.cost-panel .before { color: #666; margin: 0 0 4px 0; }
.cost-panel p { margin: 0 0 4px 0; }
.cost-panel table { border-collapse: collapse; font-size: 12px; margin: 4px 0 8px 0; }
.cost-panel td, .cost-panel th { padding: 2px 8px 2px 0; text-align: right; border-bottom: 1px solid #ddd; font-weight: normal; }
.cost-panel caption { text-align: left; font-weight: 600; }
.cost-panel .note { color: #666; font-size: 12px; }
</style>"""


_WORDS = ("a name in small letters, as dear_gases", "a title", "its assumptions")


class Panel:
    """Controls for some inputs of a case, and a view that follows them.

    `addresses` are inputs, each as `ADDRESS` or `ADDRESS=LOW..HIGH UNIT`; without them, those of ranges.csv that move anything
    that is shown. `view` makes what is shown of a case. With `folder`, the folder that the case was read from, what the controls
    say can be saved there as a scenario; `scenario` is the one that the case was opened with.

    `case` is the case as read, `current` the case as the controls stand, `shown` what is shown of it. A value that an input or
    the case refuses is shown beside its control, and all else stays as it was. Raises InputFaults for an unknown address.
    """

    def __init__(
        self,
        case: Case,
        view: View,
        addresses: Sequence[str] | None = None,
        folder: str | Path | None = None,
        scenario: str | None = None,
    ):
        self.case = self.current = case
        self.view, self.folder, self.scenario = view, folder, scenario
        self.values: dict[str, Value] = {}
        self.base = self.shown = view(case)
        wanted = _that_move(case, view, self.shown) if addresses is None else addresses
        made = [make_control(case, written, self._follow) for written in wanted]
        self.controls: dict[str, Control] = {control.address: control for control in made}
        self.pictures = Pictures(self.shown.pictures)
        self.words, self.tables = ipywidgets.HTML(), ipywidgets.HTML()
        self.reset = ipywidgets.Button(description="Back to the tables", icon="undo", layout={"width": "auto"})
        self.reset.on_click(self._back)
        self.name, self.title, self.story = (
            ipywidgets.Text(placeholder=hint, continuous_update=False, layout={"width": "100%"})
            for hint in ("name of the scenario, as dear_gases", "title", "its assumptions")
        )
        self.save = ipywidgets.Button(description="Save as scenario", icon="save", layout={"width": "auto"})
        self.save.on_click(self._save)
        self.needed, self.saved = ipywidgets.HTML(), ipywidgets.HTML()
        for field in (self.name, self.title, self.story):
            field.observe(self._say_needed, "value")
        self._write()

    @property
    def results(self) -> Results:
        """The figures of the case as the controls stand."""
        return self.shown.results or evaluate(self.current)

    @property
    def changes(self) -> dict[str, str]:
        """What was moved, as texts with units."""
        return {address: self.controls[address].written for address in self.values}

    def _follow(self, control: Control) -> None:
        """Compute with the value of a control and redraw, or say beside it why not."""
        loading.load()  # from the first move on, one point again and again
        self.saved.value = ""
        values = {**self.values, control.address: control.value}
        values = {address: value for address, value in values.items() if not _same(value, self.controls[address].base)}
        try:
            case = with_values(self.case, values) if values else self.case
            shown = self.view(case)
        except InputFaults as problem:
            control.refuse("\n".join(f"found {fault.found}; allowed: {fault.allowed}" for fault in problem.faults))
            return
        self.values, self.current = values, case
        self._draw(shown)

    def _draw(self, shown: Shown) -> None:
        self.shown = shown
        self.pictures.redraw(shown.pictures)
        self._write()

    def _back(self, _button: object = None) -> None:
        """Put every control back to the value of the tables."""
        for control in self.controls.values():
            control.back()
        self.saved.value = ""
        self.values, self.current = {}, self.case
        self._draw(self.view(self.case))

    def _save(self, _button: object = None) -> None:
        """Save what was changed as a scenario of the folder, and say where, or why not."""
        words = (self.name.value.strip(), self.title.value.strip(), self.story.value.strip())
        refused = [control.label for control in self.controls.values() if control.complaint]
        if refused or self.folder is None:
            why = f"the value in “{refused[0]}” is refused." if refused else "no folder to save in."
            self._say(f"Not saved: {why}", saved=False)
            return
        try:
            path = save_scenario(self.folder, Words(*words), self.changes, base=self.scenario, shown=self.current)
        except InputFaults as faults:
            self._say(f"Not saved: {faults}", saved=False)
        else:
            self._say(f"Saved: {path}", saved=True)

    def _say_needed(self, _event: object = None) -> None:
        """Say before anything is saved what that still needs; nothing once it is all there."""
        lacking = [] if self.values else ["a control that is moved"]
        lacking += [what for what, field in zip(_WORDS, (self.name, self.title, self.story)) if not field.value.strip()]
        self.needed.value = f"<span class='needed'>To save, still needed: {', '.join(lacking)}.</span>" if lacking else ""

    def _say(self, words: str, saved: bool) -> None:
        style = "color:#060;white-space:pre-wrap" if saved else ""
        self.saved.value = f"<span class='{'saved' if saved else 'refused'}' style='{style}'>{escape(words)}</span>"

    def _write(self) -> None:
        self._say_needed()
        first, *rest = self.shown.words
        was = f"<p class='before'>By the tables: {escape(self.base.words[0])}</p>" if self.base.words[0] != first else ""
        self.words.value = f"<p class='headline'>{escape(first)}</p>{was}" + "".join(f"<p>{escape(each)}</p>" for each in rest)
        tables = [table() if callable(table) else table for table in self.shown.tables]
        self.tables.value = "".join(table_html(table.as_block()) for table in tables)

    def show(self) -> None:
        """Show the panel."""
        keep = [self.name, self.title, self.story, self.needed, self.save, self.saved] if self.folder is not None else []
        inputs = [control.box for control in self.controls.values()]
        left = ipywidgets.VBox([*inputs, self.reset, *keep], layout={"flex": "1 1 280px", "padding": "0 16px 0 0"})
        right = ipywidgets.VBox([self.pictures, self.tables], layout={"flex": "2 1 560px", "min_width": "0"})
        below = ipywidgets.HBox([left, right], layout={"flex_flow": "row wrap", "width": "100%"})
        panel = ipywidgets.VBox([ipywidgets.HTML(_STYLE, layout={"display": "none"}), self.words, below])
        panel.add_class("cost-panel")
        display(panel)


def _that_move(case: Case, view: View, shown: Shown) -> list[str]:
    """The inputs of ranges.csv of which one end of the range changes words or pictures, or is refused by the case."""
    found = []
    for row in case.ranges.values():
        end = max(row.low, row.high, key=lambda end: abs(end - value_at(case, row.address)))
        try:
            moved = view(with_values(case, {row.address: end}))
        except InputFaults:
            found.append(row.address)
            continue
        if moved.words != shown.words or moved.pictures != shown.pictures:
            found.append(row.address)
    return found


def _same(value: Value, base: Value) -> bool:
    return value == base if isinstance(base, str) else abs(value - base) <= 1e-12 * abs(base)
