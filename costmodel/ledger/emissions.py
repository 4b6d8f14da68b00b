"""Greenhouse gas of what is used, and what it costs where a price is put on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..case.records import Case
from ..line.records import Line
from ..operations import Value, sum_of
from .entries import entry
from .prices import in_reporting_currency
from .records import PLANT, Emission, LedgerLine


def emission_entries(case: Case, line: Line, lines: Mapping[str, LedgerLine]) -> Iterator[tuple[str, LedgerLine]]:
    """A line for each step that uses a source of greenhouse gas: amount used x factor, at the price of the row."""
    for name, row in case.emissions.items():
        used: dict[tuple[str, bool], list[Value]] = {}
        for address, x in lines.items():
            if x.item == row.emitter and not (address.startswith("coatings.") and address.endswith(".credit")):
                used.setdefault((x.step, x.bears_loss), []).append(x.quantity)
        for (step, bears_loss), amounts in used.items():
            yield (
                f"emissions.{name}.{step}" if bears_loss or step == PLANT else f"emissions.{name}.{step}.modules",
                entry(case, line, step=step, category="emissions", item=name, group="emissions", unit="kg",
                      driver=f"use of {row.emitter}", quantity=sum_of(amounts) * row.factor,
                      price=in_reporting_currency(row.price, row.currency, case.money), bears_loss=bears_loss),
            )  # fmt: skip


def emission(name: str, lines: Mapping[str, LedgerLine], line: Line) -> Emission:
    """What one source emits in the year, and for each square metre and stabilised watt."""
    mass = sum_of([x.quantity for address, x in lines.items() if address.startswith(f"emissions.{name}.")])
    return Emission(
        mass=mass, mass_per_m2=mass / line.output.good_area, mass_per_stabilised_watt=mass / line.output.stabilised_watts
    )
