"""Controls for single inputs: a slider with a field to type in, or a list of options, built from the schema and ranges.csv."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import cast

import ipywidgets
import traitlets

from ..case.addresses import BadAddress, allowed_units, input_at, value_at
from ..case.values import BadValue, parse_value
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.fields import Number, Text
from ..core.operations import Value
from ..core.units import to_base
from ..present.inputs_report import input_name
from ..studies.axes import parse_axis, range_of

ORIGIN = "a control"


@dataclass(frozen=True, slots=True)
class Span:
    """The ends between which a slider moves, in base units, and the unit that it shows."""

    address: str
    low: float
    high: float
    unit: str


def span_of(case: Case, written: str) -> Span:
    """The ends of a slider, from `ADDRESS=LOW..HIGH UNIT` or from an address alone.

    An address alone has the ends of its row of ranges.csv; without one, half to double what it is, within what the schema allows.
    The value of the case always lies within the ends. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> silane = span_of(case, "prices.silane.price")
    >>> [round(end / to_base(silane.unit)) for end in (silane.low, silane.high)]
    [42, 120]
    >>> span_of(case, "loan.part").high, span_of(case, "schedule.delay=0..12 month").unit
    (1.0, 'month')
    """
    address, stated, _ = (part.strip() for part in written.partition("="))
    if stated or range_of(case, address):
        axis = parse_axis(case, written, points=2, origin=ORIGIN)
        low, high, unit = float(axis.values[0]), float(axis.values[-1]), axis.unit
    else:
        declaration = cast(Number, input_at(case, address)[0])  # a text has no ends; make_control keeps it out
        value, unit = value_at(case, address), case.entry_units[address]
        low, high = sorted((value / 2, value * 2))
        if value == 0:
            high = declaration.high or 0.0
        low = low if declaration.low is None else max(low, declaration.low)
        high = high if declaration.high is None else min(high, declaration.high)
    value = value_at(case, address)
    if not min(low, value) < max(high, value):
        allowed = f"'{address}=LOW..HIGH {unit}'"
        raise InputFaults([Fault(ORIGIN, None, address, "no ends for a slider, as the value is 0", allowed)])
    return Span(address, min(low, value), max(high, value), unit)


class Control:
    """What all controls share: the address, the value, the complaint beside it, and who follows a change.

    `value` is in base units or a text, `written` is the same as changes of a scenario state it. `complaint` is why what
    stands in the control is refused, or nothing. `box` is what a panel shows.
    """

    box: ipywidgets.VBox

    def __init__(self, case: Case, address: str, label: str, changed: Callable[[Control], None]):
        self.address, self.label, self._changed = address, label, changed
        self.base: Value = value_at(case, address)
        self.value: Value = self.base
        self.written, self.complaint = "", ""
        self._following = True
        self._said = ipywidgets.HTML(layout={"display": "none", "margin": "0"})

    def refuse(self, complaint: str) -> None:
        """Say beside the control why its value is refused; nothing takes the message away."""
        self.complaint = complaint
        self._said.value = f"<span class='refused' role='alert'>{escape(complaint)}</span>" if complaint else ""
        self._said.layout.display = "" if complaint else "none"

    def _stand(self, value: Value, written: str) -> None:
        """Take a value that the input allows, and report it."""
        self.value, self.written = value, written
        self.refuse("")
        self._changed(self)

    def _put_back(self) -> None:
        """Show the value of the tables; reports nothing."""
        raise NotImplementedError

    def back(self) -> None:
        """Stand at the value of the tables again; reports nothing."""
        self._following = False
        self._put_back()
        self._following = True
        self.value, self.written = self.base, ""
        self.refuse("")

    def _box(self, *parts: ipywidgets.Widget) -> ipywidgets.VBox:
        name = ipywidgets.HTML(f"<span title='{escape(self.address)}'>{escape(self.label)}</span>", layout={"margin": "0"})
        row = ipywidgets.HBox(parts, layout={"width": "100%", "align_items": "center"})
        return ipywidgets.VBox([name, row, self._said], layout={"width": "100%", "margin": "0 0 4px 0"})


class _Slider(ipywidgets.FloatSlider):
    """A slider of which the kernel does not say back what the browser has just said: that would delay the picture."""

    value = traitlets.CFloat(0.0).tag(sync=True, echo_update=False)


class NumberControl(Control):
    """A slider and a field to type in, which accepts any value that the input allows, in any unit that fits.

    For a value beyond the ends of the slider it stands at the nearer one.
    """

    def __init__(self, case: Case, span: Span, changed: Callable[[Control], None]):
        unit = "" if span.unit == "1" else f" [{span.unit}]"
        super().__init__(case, span.address, f"{input_name(case, span.address)}{unit}", changed)
        declaration, record = input_at(case, span.address)
        self._declaration = cast(Number, declaration)  # as for span_of
        self._units = allowed_units(self._declaration, record, case.currency)
        self._unit, self._ratio = span.unit, to_base(span.unit)
        low, high = span.low / self._ratio, span.high / self._ratio
        self._digits = -math.floor(math.log10((high - low) / 50))  # 50 to 500 steps
        self._step = 10.0**-self._digits
        self._ends = self._on_grid(low, math.ceil), self._on_grid(high, math.floor)
        self._put_at = self.base / self._ratio
        self._given = True  # whether the slider was put where it stands, and no browser has answered
        wide = {"flex": "1 1 auto", "width": "auto", "min_width": "8em"}
        least, most = self._ends
        self.slider = _Slider(self._put_at, min=least, max=most, step=self._step, readout=False, tooltip=self.label, layout=wide)
        self.typed = ipywidgets.Text(self._base_text(), continuous_update=False, tooltip=self.label, layout={"width": "8em"})
        self.slider.observe(self._slid, "value")
        self.typed.observe(self._type, "value")
        self.box = self._box(self.slider, self.typed)

    def _on_grid(self, end: float, whole: Callable[[float], int]) -> float:
        """The last whole number of steps within an end, or the value of the case where that lies beyond it."""
        value, at = self.base / self._ratio, round(whole(round(end / self._step, 6)) * self._step, max(0, self._digits))
        return min(at, value) if whole is math.ceil else max(at, value)

    def _base_text(self) -> str:
        return f"{self.base / self._ratio:.9g}"

    def _slid(self, _event: object) -> None:
        """Follow the slider; the browser first puts a value that it is given on the next step and says so, which is no move."""
        if not self._following:
            return
        given, self._given = self._given, False
        if given and abs(self.slider.value - self._put_at) <= 0.5001 * self._step:
            return
        shown = round(self.slider.value, self._digits)
        self._stand(shown * self._ratio, f"{shown!r} {self._unit}")  # first, so that the picture goes out first
        self._put(text=f"{shown:.{max(0, self._digits)}f}")

    def _type(self, _event: object) -> None:
        if not self._following:
            return
        text = self.typed.value.strip()
        try:
            value = parse_value(self._declaration, text, self._unit, self._units)
        except BadValue as problem:
            self.refuse(str(problem))
            return
        self._put(number=value / self._ratio)
        stated = text if " " in text or text.endswith("%") else f"{text} {self._unit}"
        self._stand(value, stated)

    def _put(self, number: float | None = None, text: str | None = None) -> None:
        """Move slider or field; reports nothing."""
        self._following = False
        if number is not None:
            self._given = True
            self.slider.value = min(max(number, self._ends[0]), self._ends[1])  # beyond its ends it stands at the nearer one
            self._put_at = self.slider.value
        if text is not None:
            self.typed.value = text
        self._following = True

    def _put_back(self) -> None:
        self._put(self.base / self._ratio, self._base_text())


class ChoiceControl(Control):
    """A list of the options of a text input."""

    def __init__(self, case: Case, address: str, changed: Callable[[Control], None]):
        super().__init__(case, address, input_name(case, address), changed)
        options = cast(Text, input_at(case, address)[0]).options  # make_control keeps numbers out
        self.options = ipywidgets.Dropdown(options=options, value=self.base, tooltip=self.label, layout={"width": "14em"})
        self.options.observe(self._choose, "value")
        self.box = self._box(self.options)

    def _choose(self, _event: object) -> None:
        if self._following:
            self._stand(self.options.value, self.options.value)

    def _put_back(self) -> None:
        self.options.value = self.base


def make_control(case: Case, written: str, changed: Callable[[Control], None]) -> Control:
    """The control for an input, from its address or `ADDRESS=LOW..HIGH UNIT`. Raises InputFaults."""
    address = written.partition("=")[0].strip()
    try:
        declaration, _ = input_at(case, address)
    except BadAddress as problem:
        raise InputFaults([Fault(ORIGIN, None, address, "an unknown address", problem.allowed)]) from None
    if isinstance(declaration, Number):
        return NumberControl(case, span_of(case, written), changed)
    if isinstance(declaration, Text) and declaration.options:
        return ChoiceControl(case, address, changed)
    raise InputFaults([Fault(ORIGIN, None, address, "a free text", "a number, or a text with options")])
