"""The door for an analyst's notebook: a case opened from its folder, and all that can be asked of it.

Everything here is reached as `costmodel.NAME`; `costmodel.open_case` is where to begin.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from .case.addresses import BadAddress, input_at, value_at
from .case.changes import supposing
from .case.deal_rounds import DRAFT
from .case.uncertain import uncertain
from .case.whole_case import Case
from .core.faults import Fault, InputFaults, nearest
from .core.fields import Figure, Number, declared, unit_of
from .core.units import to_base
from .model.as_bought import as_bought
from .model.checking import folder_faults
from .model.evaluate import Results, evaluate, known_figures
from .model.frames import figures_frame, ledger_frame
from .model.scenarios import open_case as read_case
from .studies.axes import parse_axis
from .studies.many import parse_figure, wanted_figures
from .studies.risk import run_risk
from .studies.sensitivities import elasticities, tornado
from .studies.solve import solve
from .studies.sweep import sweep
from .studies.variance import rank

if TYPE_CHECKING:
    from .documents.case_blocks import Block, Blocks
    from .present.explain.tree import Node
    from .workbench.panel import Panel

COST_OF_A_WATT = "ledger.total.cost_per_stabilised_watt"
VIEWS = ("cost", "plan", "deal", "figure")


@dataclass(frozen=True)
class Amount:
    """A figure or a numeric input with its unit: what an address stands for.

    `value` is in `unit`; NaN where a figure has no value, and `reason` says why. `float(amount)` is the value.

    >>> Amount(1.5, "EUR/kg", "price of silane")
    1.5 EUR/kg (price of silane)
    """

    value: float
    unit: str
    meaning: str
    reason: str = ""

    def __float__(self) -> float:
        return self.value

    def __repr__(self) -> str:
        return f"{'no value' if self.reason else format(self.value, '.6g')} {self.unit} ({self.reason or self.meaning})"


class OpenedCase:
    """A case as it was opened. It never changes: `changed` gives another one. What is computed of it is kept with it.

    Addresses of inputs are `TABLE.ROW.COLUMN`, those of figures begin with line, ledger, market, plan or deal; `find` looks for
    both. Studies take the plant as bought: tools stay while inputs vary, but for inputs known before purchase; with
    `resize=True` the plant is sized anew for every value.

    >>> import costmodel
    >>> case = costmodel.open_case("inputs_demo/facade")
    >>> dearer = case.changed({"prices.silane.price": "90 USD/kg"})
    >>> float(dearer[costmodel.COST_OF_A_WATT]) > float(case[costmodel.COST_OF_A_WATT])
    True
    """

    def __init__(
        self,
        inputs: Case,
        folder: Path,
        scenario: str | None,
        changes: Mapping[str, str],
        choices: Mapping[str, str],
        round_name: str | None = None,
    ):
        self.inputs, self.folder, self.scenario, self.round_name = inputs, folder, scenario, round_name
        self.changes, self.choices = dict(changes), dict(choices)
        self._shown: dict[tuple[str, int, int], tuple[Blocks, dict[str, Block]]] = {}

    def __repr__(self) -> str:
        changes = f", {len(self.changes)} changed inputs" if self.changes else ""
        return f"<case '{self.inputs.title}', reports in {self.inputs.currency}{changes}>"

    @property
    def results(self) -> Results:
        """All figures as records, in base units; computed once."""
        return evaluate(self.inputs)

    @property
    def currency(self) -> str:
        """The currency that the case reports in."""
        return self.inputs.currency

    @cached_property
    def plant(self) -> Case:
        """The inputs of the plant as bought: tools sized at the values of this case, then left as they are."""
        return as_bought(self.inputs)

    def changed(self, changes: Mapping[str, str | float]) -> OpenedCase:
        """The same case with other values of some inputs: texts with units, or numbers in the unit that the table states.

        What is changed is supposed to be so: studies do not draw it. Raises InputFaults with every fault at once.

        >>> case = open_case("inputs_demo/facade")
        >>> case.changed({"steps.deposition.first_pass_yield": 95})["steps.deposition.first_pass_yield"].value
        95.0
        """
        texts = {address: str(value) for address, value in changes.items()}
        inputs = supposing(self.inputs, texts, "changed", "changed")
        return OpenedCase(inputs, self.folder, self.scenario, self.changes | texts, self.choices, self.round_name)

    def __getitem__(self, address: str) -> Amount | str:
        """A figure or an input by its address; of an input that is a text, the text. Raises InputFaults for an unknown one.

        >>> open_case("inputs_demo/facade")["product.length"].unit
        'm'
        """
        known = known_figures(self.inputs)
        if address in known:
            found = wanted_figures(self.inputs, [address])[address]
            return Amount(float(found.shown(found.present)), found.unit, found.meaning, found.reason)
        try:
            declaration, _ = input_at(self.inputs, address)
        except BadAddress as problem:
            allowed = f"the address of a figure or an input{nearest(address, known) or f'; as an input, {problem.allowed}'}"
            raise InputFaults([Fault("case", None, address, "an unknown address", allowed)]) from None
        if not isinstance(declaration, Number):
            return value_at(self.inputs, address)
        unit = self.inputs.entry_units[address]
        return Amount(float(value_at(self.inputs, address)) / to_base(unit), unit, declaration.meaning)

    def find(self, text: str) -> pd.DataFrame:
        """Figures and inputs with a text in their address or meaning: value, unit, meaning by address.

        >>> open_case("inputs_demo/facade").find("plate_area").index.tolist()[0]
        'line.output.plate_area'
        """
        frame, low = pd.concat([self.figures(), self.numbers()]), text.lower()
        return frame[[low in f"{address} {meaning}".lower() for address, meaning in zip(frame.index, frame["meaning"])]]

    def figures(self) -> pd.DataFrame:
        """Every figure by its address: value, the unit it is in, meaning.

        >>> open_case("inputs_demo/facade").figures().loc["line.output.plate_area", "unit"]
        'm2/plate'
        """
        return figures_frame(self.results, self.currency)

    def numbers(self) -> pd.DataFrame:
        """Every numeric input that a table states, by its address: value, the unit of its table, meaning."""
        rows = []
        for address, unit in self.inputs.entry_units.items():
            declaration, _ = input_at(self.inputs, address)
            rows.append((address, value_at(self.inputs, address) / to_base(unit), unit, declaration.meaning))
        return pd.DataFrame(rows, columns=["address", "value", "unit", "meaning"]).set_index("address")

    def table(self, address: str) -> pd.DataFrame:
        """Figures that stand in rows, as a frame with one row per record; `attrs["units"]` holds the unit of each column.

        `address` is that of the rows: "line.steps", "plan.quarters", "plan.years", "deal.by_heading"; or "ledger.lines".
        Raises InputFaults.

        >>> open_case("inputs_demo/facade").table("plan.years").attrs["units"]["dscr"]
        '1'
        """
        if address == "ledger.lines":
            return self._framed(ledger_frame(self.results), {"cost": f"{self.currency}/year", "lost": f"{self.currency}/year"})
        rows = _rows_at(self.results, address)
        first = next(iter(rows.values()))
        plain = (n for n, d in declared(type(first)).items() if isinstance(d, Figure) and not isinstance(getattr(first, n), dict))
        shown = {name: declared(type(first))[name] for name in plain}
        units = {name: unit_of(first, d.unit, self.currency) for name, d in shown.items()}
        columns = {name: [float(getattr(row, name)) / to_base(units[name]) for row in rows.values()] for name in shown}
        return self._framed(pd.DataFrame(columns, index=list(rows)), units)

    def sweep(
        self, vary: Sequence[str], figures: Sequence[str] = (COST_OF_A_WATT,), points: int = 21, resize: bool = False
    ) -> pd.DataFrame:
        """Figures over one, two or more inputs: a tidy table, one row per combination; `attrs["units"]` holds the units.

        Each of `vary` is `ADDRESS=LOW..HIGH UNIT`, `ADDRESS=A, B, C UNIT` or `ADDRESS`, for its range. Raises InputFaults.

        >>> frame = open_case("inputs_demo/facade").sweep(["prices.silane.price=40, 120 USD/kg"])
        >>> len(frame), frame.attrs["units"]["prices.silane.price"]
        (2, 'USD/kg')
        """
        plant = self._plant(resize)
        frame = sweep({"case": plant}, [parse_axis(plant, written, points) for written in vary], figures)
        return self._framed(frame.drop(columns="case"), frame.attrs["units"])

    def solve(self, address: str, figure: str, value: str | float, resize: bool = False) -> pd.DataFrame:
        """The values of an input at which a figure has a value: one row per root, jump or interval; none leaves no row.

        `value` is a number in the unit of the figure, or a text with a unit. Raises InputFaults.

        >>> found = open_case("inputs_demo/facade").solve("sales.facade.price", "plan.project.npv", 0)
        >>> found["kind"].tolist()
        ['root']
        """
        plant = self._plant(resize)
        wanted = wanted_figures(plant, [figure])[figure]
        found = solve(plant, address, figure, parse_figure(wanted, str(value), "value"))
        unit = plant.entry_units[address]
        rows = [
            (a.kind, a.value / to_base(unit), a.beyond / to_base(unit), wanted.shown(a.figure), wanted.shown(a.residual))
            for a in found.answers
        ]
        frame = pd.DataFrame(rows, columns=["kind", address, "beyond", figure, "residual"])
        return self._framed(frame, {address: unit, "beyond": unit, figure: wanted.unit, "residual": wanted.unit})

    def tornado(self, figure: str = COST_OF_A_WATT, resize: bool = False) -> pd.DataFrame:
        """The figure with each uncertain input at the ends of its range, the widest first; in the unit of the figure."""
        plant = self._plant(resize)
        wanted = wanted_figures(plant, [figure])[figure]
        _, bars = tornado(plant, figure)
        rows = [(bar.address, wanted.shown(bar.at_low), wanted.shown(bar.at_high)) for bar in bars]
        frame = pd.DataFrame(rows, columns=["input", "at_low", "at_high"]).set_index("input")
        return self._framed(frame, {"at_low": wanted.unit, "at_high": wanted.unit})

    def risk(
        self, figures: Sequence[str] = (COST_OF_A_WATT,), draws: int = 10_000, seed: int = 0, resize: bool = False
    ) -> pd.DataFrame:
        """Figures over draws of what is uncertain: one row per draw, in the units of the figures, as `attrs["units"]` says.

        A figure without a value in a draw is NaN there. Raises InputFaults.

        >>> frame = open_case("inputs_demo/facade").risk(draws=64)
        >>> len(frame), frame.attrs["units"]
        (64, {'ledger.total.cost_per_stabilised_watt': 'EUR/Wp_stabilised'})
        """
        plant = self._plant(resize)
        wanted = wanted_figures(plant, figures)
        run = run_risk(plant, list(figures), draws, seed)
        frame = pd.DataFrame({address: wanted[address].shown(run.figures[address]) for address in figures})
        return self._framed(frame, {address: wanted[address].unit for address in figures})

    def rank(self, figure: str = COST_OF_A_WATT, points: int = 512, seed: int = 0, resize: bool = False) -> pd.DataFrame:
        """The share of a figure's variance that each group of uncertain inputs carries, alone and with others; with 95 % errors."""
        shares, held = rank(self._plant(resize), figure, points, seed)
        rows = [(s.name, s.first, s.first_error, s.total, s.total_error, ", ".join(held[s.name])) for s in shares.found]
        return pd.DataFrame(rows, columns=["group", "alone", "alone_error", "total", "total_error", "ranges"]).set_index("group")

    def elasticities(self, figure: str = COST_OF_A_WATT) -> pd.DataFrame:
        """How many percent a figure moves for one percent more of each input, the strongest first, and how well that is known."""
        rows = [(e.address, e.elasticity, e.kind) for e in elasticities(self.inputs, figure)]
        return pd.DataFrame(rows, columns=["input", "elasticity", "kind"]).set_index("input")

    def explain(self, figure: str = COST_OF_A_WATT, depth: int = 3) -> Node:
        """Why a figure is what it is: a tree down to its inputs, which a notebook shows and folds. Raises InputFaults."""
        from .present.explain.tree import explained

        try:
            return explained(self.inputs, solved="solved" in figure).tree(figure, depth)
        except ValueError as problem:
            raise InputFaults([Fault("explain", None, figure, "an unknown address", str(problem))]) from None

    def report(self, out: str | Path, kind: str = "full", pdf: bool = False) -> list[Path]:
        """Write a document of the case as it stands; returns its files. Kinds: those of `costmodel report --kind`."""
        from datetime import date

        from .documents.batch import Job, make

        today = date.today().isoformat()
        job = Job(self.folder, kind, Path(out), today, self.scenario, self.changes, self.choices, pdf, round_name=self.round_name)
        done = make(job)
        if not done.files:
            raise InputFaults([Fault("report", None, kind, done.wrong, "a document that can be made")])
        return list(done.files)

    def show(self, *blocks: str, figure: str = "", draws: int = 10_000, seed: int = 0) -> None:
        """Show parts of the full report by name, one below the other: sentences, tables, charts. In a notebook.

        `blocks` lists the names. With a figure, those on what is uncertain are of that figure. What is shown once is kept.
        Raises InputFaults for an unknown name.
        """
        from .documents.case_blocks import block_of
        from .workbench.shown import show_blocks

        known, made = self._blocks(figure, draws, seed)
        faults = [
            Fault("show", None, None, f"'{name}'", f"one of {', '.join(known)}{nearest(name, known)}")
            for name in blocks
            if name not in known
        ]
        if faults:
            raise InputFaults(faults)
        made |= {name: block_of(known[name]) for name in blocks if name not in made}
        show_blocks({name: made[name] for name in blocks})

    @property
    def blocks(self) -> list[str]:
        """The names of what `show` has of this case.

        >>> "cost_stack" in open_case("inputs_demo/facade").blocks
        True
        """
        return list(self._blocks("", 10_000, 0)[0])

    def _blocks(self, figure: str, draws: int, seed: int) -> tuple[Blocks, dict[str, Block]]:
        """What makes each block, and those that were made."""
        from .documents.case_blocks import FIGURES_AT_RISK, blocks_of

        asked = figure, draws, seed
        if asked not in self._shown:
            figures = [figure] if figure else FIGURES_AT_RISK
            self._shown[asked] = blocks_of(self.inputs, "", self.folder, figures, draws, seed), {}
        return self._shown[asked]

    def panel(
        self,
        view: str = "cost",
        addresses: Sequence[str] | None = None,
        figure: str = COST_OF_A_WATT,
        beside: OpenedCase | None = None,
    ) -> Panel:
        """Show sliders for inputs, and beside them the cost, the plan, the deal or what moves a figure. In a notebook.

        Each address is an input, as `ADDRESS` or `ADDRESS=LOW..HIGH UNIT`. Without addresses, the sliders are for the terms of a
        plan or a deal, else for those rows of ranges.csv that move what is shown. With `beside`, that other case stands next to
        this one. A state can be saved as a scenario. `results` of what is returned are those of the sliders as they stand.
        """
        from .workbench import views
        from .workbench.panel import Panel

        if view not in VIEWS:
            raise InputFaults([Fault("panel", None, None, f"'{view}'", f"one of {', '.join(VIEWS)}{nearest(view, VIEWS)}")])
        case, keep = (self.plant, None) if view == "figure" else (self.inputs, self.folder)
        if beside:
            shown = views.beside(beside.inputs.title, beside.inputs, self.inputs.title)
        elif view == "figure":
            shown = views.what_moves(case, figure)
        elif view == "deal":
            addresses = views.deal_inputs(case) if addresses is None else addresses
            shown = views.deal(case, addresses)
        elif view == "plan":
            addresses = views.plan_inputs(case) if addresses is None else addresses
            shown = views.plan_and_market(case)
        else:
            shown = views.cost
        made = Panel(case, shown, addresses, folder=keep, scenario=self.scenario)
        made.show()
        return made

    def uncertain(self) -> pd.DataFrame:
        """What is uncertain: the rows of ranges.csv that studies draw, each in its own unit."""
        rows = []
        for row in uncertain(self.inputs).values():
            ends = (end / to_base(row.unit) for end in (row.low, row.mode, row.high))
            rows.append((row.address, row.distribution, *ends, row.unit, row.known))
        return pd.DataFrame(rows, columns=["input", "distribution", "low", "mode", "high", "unit", "known"]).set_index("input")

    def _framed(self, frame: pd.DataFrame, units: Mapping[str, str]) -> pd.DataFrame:
        """The frame, which knows the units of its columns and the currency of the case."""
        frame.attrs |= {"units": dict(units), "currency": self.currency}
        return frame

    def _plant(self, resize: bool) -> Case:
        return self.inputs if resize else self.plant


def open_case(
    folder: str | Path,
    scenario: str | None = None,
    changes: Mapping[str, str | float] | None = None,
    choices: Mapping[str, str] | None = None,
    round_name: str | None = None,
) -> OpenedCase:
    """Open a case: the folder of its tables, with a scenario, single changes and structural choices on top.

    With `round_name`, the terms of the deal are those of a round of the negotiation, else those of deal.yaml. Raises InputFaults,
    which says every fault of every table with its file, row and column.

    >>> open_case("inputs_demo/facade", choices={"back_contact": "aluminium"}).choices
    {'back_contact': 'aluminium'}
    """
    texts = {address: str(value) for address, value in (changes or {}).items()}
    inputs = read_case(folder, scenario, texts, choices, terms=round_name or DRAFT)
    return OpenedCase(inputs, Path(folder), scenario, texts, choices or {}, round_name)


def begin_case(folder: str | Path, bare: bool = False) -> None:
    """Make the folder of a first case: a copy of the demo, or with `bare` a line of one step; one that is there stays."""
    from .case.begin import begin_case as begin

    if not Path(folder).exists():
        begin(Path(folder), bare=bare)


def faults(folder: str | Path, changes: Mapping[str, str | float] | None = None) -> pd.DataFrame:
    """All faults of a case folder, its scenarios, choices and rounds, and of changes to it; no row where there is none.

    >>> faults("inputs_demo/facade", {"site.crews": "four"})["found"].tolist()
    ["'four'"]
    """
    found = list(folder_faults(folder))
    try:
        if not found:
            open_case(folder, changes=changes)
    except InputFaults as problem:
        found += problem.faults
    rows = [(fault.file, fault.row, fault.column, fault.found, fault.allowed) for fault in found]
    return pd.DataFrame(rows, columns=["file", "row", "column", "found", "allowed"])


def _rows_at(results: Results, address: str) -> dict[str, Any]:
    """The records that stand in rows at an address. Raises InputFaults naming the addresses that have rows."""
    known = {where: rows for stage, found in results.stages().items() for where, rows in _tables_below(found, stage)}
    if address not in known:
        allowed = f"one of {', '.join(known)}{nearest(address, known)}"
        raise InputFaults([Fault("table", None, address, "no rows of figures", allowed)])
    return known[address]


def _tables_below(record: Any, path: str) -> list[tuple[str, dict[str, Any]]]:
    """Every dictionary of records below a record, with its address."""
    found: list[tuple[str, dict[str, Any]]] = []
    for field in dataclasses.fields(record):
        held, where = getattr(record, field.name), f"{path}.{field.name}"
        if isinstance(held, dict) and held and all(dataclasses.is_dataclass(row) for row in held.values()):
            found.append((where, held))
        elif dataclasses.is_dataclass(held):
            found += _tables_below(held, where)
    return found
