"""Pictures in a notebook: redrawn in place, and saved as SVG or PNG by the browser."""

from __future__ import annotations

from typing import TYPE_CHECKING

import anywidget
import ipywidgets
import traitlets
from IPython.display import display
from plotly.offline import get_plotlyjs

from ..core import lean_imports  # noqa: F401  (first: see there)
from ..present.drawing import Chart, as_json
from ..present.media import PLOTLY

if TYPE_CHECKING:
    from collections.abc import Mapping

# two buttons that press the button which each plotly picture has for saving, after saying which format
_SAVE_BUTTONS = """
function saveButtons(name, plot) {
  return ["svg", "png"].map(format => {
    const button = document.createElement("button");
    button.textContent = `Save as ${format.toUpperCase()}`;
    button.className = "save-picture";
    button.onclick = () => {
      const { offsetWidth: width, offsetHeight: height } = plot();
      const scale = format === "png" ? 2 : 1;
      plot()._context.toImageButtonOptions = { format, filename: name, width, height, scale };
      plot().querySelector('.modebar-btn[data-attr="toImage"], .modebar-btn[data-title^="Download plot"]').click();
    };
    return button;
  });
}
"""
_LOOK_OF_BUTTONS = """
.save-picture { font-size: 11px; margin: 0 8px 0 0; padding: 0; border: 0; background: none; color: #555; cursor: pointer;
  text-decoration: underline; }
"""


class Pictures(anywidget.AnyWidget):
    """Pictures one below the other, which are redrawn in place: zoom and hidden parts stay as a person left them.

    All of them go to the browser in one message, and are drawn before it shows the next frame. They go as the value of a plain
    widget, `drawn`, which nothing shows: an anywidget that a busy browser has not begun within two seconds hears of no change.
    """

    _esm = (
        _SAVE_BUTTONS
        + """
    async function load(source) {
      const parts = ["const module = { exports: {} };", source, ";export default module.exports;"];  // plotly.js puts itself there
      const url = URL.createObjectURL(new Blob(parts, { type: "text/javascript" }));
      return (await import(url)).default;
    }
    // plotly keeps each end of a zoomed axis as long as the new layout has the end that it had before the zoom
    function keepZoom(plot, layout) {
      const before = plot._fullLayout?._preGUI ?? {};
      for (const axis of Object.keys(layout).filter(key => /^[xy]axis/.test(key) && layout[key].range)) {
        const ends = [0, 1].map(end => before[`${axis}.range[${end}]`]);
        const zoomed = ends.every(end => end !== undefined) && ends.some((end, k) => end !== plot.layout[axis].range[k]);
        if (zoomed) layout[axis].range = ends;
      }
    }
    // who hears the page gets the name of the input at the handle of its slider, which ipywidgets leaves without one
    function nameSliders(panel) {
      for (const handle of panel?.querySelectorAll(".noUi-handle:not([aria-label])") ?? []) {
        const name = handle.closest(".widget-vbox")?.querySelector("span[title]");
        if (name) handle.setAttribute("aria-label", name.textContent);
      }
    }
    async function render({ model, el }) {
      const drawn = await model.widget_manager.get_model(model.get("drawn").replace("IPY_MODEL_", ""));
      const plots = Object.fromEntries(Object.keys(JSON.parse(drawn.get("value"))).map(name => {
        const plot = document.createElement("div");
        el.append(plot, ...saveButtons(name, () => plot));
        return [name, plot];
      }));
      const Plotly = await load(model.get("plotly"));
      const draw = () => {
        nameSliders(el.closest(".cost-panel"));
        for (const [name, { data, layout }] of Object.entries(JSON.parse(drawn.get("value")))) {
          keepZoom(plots[name], layout);
          Plotly.react(plots[name], data, { ...layout, uirevision: "kept" }, { displaylogo: false });
        }
      };
      let width = 0;
      const watch = new ResizeObserver(() => {  // the first time when it has a place in the page
        if (!el.offsetWidth || el.offsetWidth === width) return;
        if (width) Object.values(plots).forEach(plot => Plotly.Plots.resize(plot));
        else draw();
        width = el.offsetWidth;
      });
      watch.observe(el);
      const follow = () => { if (width) draw(); };
      drawn.on("change:value", follow);
      return () => { watch.disconnect(); drawn.off("change:value", follow); };
    }
    export default { render };
    """
    )
    _css = _LOOK_OF_BUTTONS
    plotly = traitlets.Unicode().tag(sync=True)
    drawn = traitlets.Instance(ipywidgets.HTML).tag(sync=True, **ipywidgets.widget_serialization)

    def __init__(self, charts: Mapping[str, Chart]):
        super().__init__(plotly=get_plotlyjs(), drawn=ipywidgets.HTML(as_json(charts)))

    def redraw(self, charts: Mapping[str, Chart]) -> None:
        """Show other charts under the same names."""
        self.drawn.value = as_json(charts)


class SaveButtons(anywidget.AnyWidget):
    """Two buttons that have the browser save the picture above them, as SVG or PNG, under a name.

    As they are shown, they let the picture take the width of its cell, since it is drawn before its cell has one.
    """

    _esm = (
        _SAVE_BUTTONS
        + """
    function render({ model, el }) {
      el.append(...saveButtons(model.get("name"), () => el.closest(".jp-OutputArea").querySelector(".js-plotly-plot")));
      setTimeout(() => dispatchEvent(new Event("resize")), 300);
    }
    export default { render };
    """
    )
    _css = _LOOK_OF_BUTTONS
    name = traitlets.Unicode().tag(sync=True)


def show_picture(chart: Chart, name: str) -> None:
    """Show a picture that stays as it is, with buttons to save it."""
    config = {"displaylogo": False}  # a responsive one vanishes at times, when the window changes
    display({PLOTLY: {**chart.plain(), "config": config}}, raw=True)
    display(SaveButtons(name=name))
