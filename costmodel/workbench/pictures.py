"""Pictures in a notebook: redrawn in place, and saved as SVG or PNG by the browser."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets
import plotly.graph_objects as go
import traitlets
from IPython.display import display

from .. import lean_imports  # noqa: F401  (first: see there)

if TYPE_CHECKING:
    from collections.abc import Mapping

MIME = "application/vnd.plotly.v1+json"


class SaveButtons(anywidget.AnyWidget):
    """Two buttons that have the browser save the picture above them, as SVG or PNG, under a name.

    They press the button that each plotly picture has for it, after saying which format. As they are shown, they let the picture
    take the width of its cell, since it is drawn before its cell has one.
    """

    _esm = """
    function render({ model, el }) {
      const plot = () => (el.closest(".picture") ?? el.closest(".jp-OutputArea")).querySelector(".js-plotly-plot");
      for (const format of ["svg", "png"]) {
        const button = document.createElement("button");
        button.textContent = `Save as ${format.toUpperCase()}`;
        button.className = "save-picture";
        button.onclick = () => {
          const { offsetWidth: width, offsetHeight: height } = plot();
          const scale = format === "png" ? 2 : 1, filename = model.get("name");
          plot()._context.toImageButtonOptions = { format, filename, width, height, scale };
          plot().querySelector('.modebar-btn[data-attr="toImage"], .modebar-btn[data-title^="Download plot"]').click();
        };
        el.append(button);
      }
      setTimeout(() => dispatchEvent(new Event("resize")), 300);
    }
    export default { render };
    """
    _css = """
    .save-picture { font-size: 11px; margin: 0 8px 0 0; padding: 0; border: 0; background: none; color: #555; cursor: pointer;
      text-decoration: underline; }
    """
    name = traitlets.Unicode().tag(sync=True)


class Picture:
    """A picture that is redrawn in place, so that zoom and hidden parts stay as a person left them."""

    def __init__(self, figure: go.Figure, name: str):
        figure.layout.uirevision = "kept"
        self._drawn = figure.to_plotly_json()
        self.widget = go.FigureWidget(figure)
        self.widget._config = {**self.widget._config, "responsive": True, "displaylogo": False}  # else 700 px wide
        self.box = ipywidgets.VBox([self.widget, SaveButtons(name=name)], layout={"width": "100%"})
        self.box.add_class("picture")

    def redraw(self, figure: go.Figure) -> None:
        """Show another figure: only what differs is sent, where both have the same kinds of traces."""
        figure.layout.uirevision = "kept"
        made = figure.to_plotly_json()
        kinds, before = ([trace["type"] for trace in drawn["data"]] for drawn in (made, self._drawn))
        if kinds != before:
            self.widget.data = ()
            self.widget.add_traces(figure.data)
        with self.widget.batch_update():
            if kinds == before:
                for trace, old, new in zip(self.widget.data, self._drawn["data"], made["data"]):
                    trace.update(differing(old, new), overwrite=True)
            _update_layout(self.widget.layout, self._drawn["layout"], made["layout"])
        self._drawn = made


def differing(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """What a mapping has otherwise than another; what it lacks is None.

    >>> differing({"a": 1, "b": 2}, {"a": 1, "c": 3})
    {'c': 3, 'b': None}
    """
    changed = {key: value for key, value in new.items() if key not in old or old[key] != value}
    return changed | {key: None for key in old if key not in new}


def _update_layout(layout: go.Layout, old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
    """Change what differs; of an axis only the parts that do, and no range that a person has zoomed."""
    for key, value in differing(old, new).items():
        if key.startswith(("xaxis", "yaxis")) and isinstance(value, dict):
            before = old.get(key, {})
            changed = differing(before, value)
            if "range" in changed and list(layout[key].range or ()) != list(before.get("range", ())):
                del changed["range"]
            layout[key].update(changed, overwrite=True)
        else:
            layout[key] = value


def show_picture(figure: go.Figure, name: str) -> None:
    """Show a picture that stays as it is, with buttons to save it."""
    config = {"displaylogo": False}  # a responsive one vanishes at times, when the window changes
    display({MIME: {**figure.to_plotly_json(), "config": config}}, raw=True)
    display(SaveButtons(name=name))
