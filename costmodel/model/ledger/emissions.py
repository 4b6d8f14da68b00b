"""Greenhouse gas of what is used, and what it costs where a price is put on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...case.whole_case import Case
from ...core.operations import safe_divide, sum_of
from ..line.line_figures import Line
from .entries import Account, entry
from .landed_prices import in_reporting_currency
from .ledger_figures import NO_LOSS, PLANT, Emission, LedgerLine


def emission_entries(case: Case, line: Line, used_up: Mapping[str, LedgerLine]) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for each step that uses a source of greenhouse gas: amount used times factor, at the price of the row.

        users = {name: dict([((x.step, x.loss), 0) for x in used_up.values() if x.item == row.emitter]) for name, row in
            case.emissions.items()}    [any]
        quantity = [sum_of([x.quantity for x in used_up.values() if x.item == row.emitter and (x.step, x.loss) == place]) *
            row.factor for name, row in case.emissions.items() for place in users[name]]
        price = [in_reporting_currency(row.price, row.currency, case.money) for name, row in case.emissions.items() for place in
            users[name]]

    Source: common practice, activity times emission factor.

    `used_up` holds the lines of what is used or drawn, without credits or what is only paid for.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, found = demo_case(), evaluate(demo_case())
    >>> used = next(each for each in found.ledger.lines.values() if each.item == "electricity")
    >>> line, *_ = [each for _, each in emission_entries(case, found.line, {"a": used})]
    >>> line.quantity == used.quantity * case.emissions["electricity"].factor
    True
    """
    for name, row in case.emissions.items():
        used: dict[tuple[str, str], list[LedgerLine]] = {}
        for x in used_up.values():
            if x.item == row.emitter:
                used.setdefault((x.step, x.loss), []).append(x)
        for (step, loss), found in used.items():
            amount = sum_of([x.quantity for x in found])
            yield (
                f"emissions.{name}.{step}.modules" if loss == NO_LOSS and step != PLANT else f"emissions.{name}.{step}",
                entry(
                    line,
                    Account(
                        step=step, category="emissions", item=name, group="emissions", unit="kg", driver=f"use of {row.emitter}"
                    ),
                    quantity=amount * row.factor,
                    price=in_reporting_currency(row.price, row.currency, case.money),
                    loss=loss,
                    variable_share=safe_divide(sum_of([x.quantity * x.variable_share for x in found]), amount),
                ),
            )


def emission(name: str, lines: Mapping[str, LedgerLine], line: Line) -> Emission:
    """Greenhouse gas of one source in the year, and per square metre and stabilised watt.

        mass = sum_of([x.quantity for address, x in lines.items() if address.startswith(f"emissions.{name}.")])
        mass_per_m2 = mass / line.output.good_area
        mass_per_stabilised_watt = mass / line.output.stabilised_watts

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> lines = {"emissions.gas.a": Some(quantity=3.0), "emissions.gas.b": Some(quantity=1.0), "crew.a": Some(quantity=9.0)}
    >>> emission("gas", lines, Some(output=Some(good_area=2.0, stabilised_watts=8.0)))
    Emission(mass=4.0, mass_per_m2=2.0, mass_per_stabilised_watt=0.5)
    """
    mass = sum_of([x.quantity for address, x in lines.items() if address.startswith(f"emissions.{name}.")])
    return Emission(
        mass=mass, mass_per_m2=mass / line.output.good_area, mass_per_stabilised_watt=mass / line.output.stabilised_watts
    )
