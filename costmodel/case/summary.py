"""What a reader should know of a case that has no faults: how old figures are, which have no range, what looks odd."""

from __future__ import annotations

import statistics
from collections.abc import Iterator
from datetime import date, timedelta

from ..core.units import to_base
from .addresses import numeric_inputs, value_at
from .geometry import share_of_cells
from .usual_ranges import far_from_usual
from .values import first_day
from .whole_case import Case, tables

OLD = timedelta(days=365)
NEWCOMER = 1 / 3  # of a market: more is odd for a plant that is new to it; common practice
FAR_OFF = 3.0  # years between a price year and the middle one of the case
HALF_A_POINT = 0.005  # of the active area


def old_rows(case: Case, today: date) -> list[str]:
    """Rows whose figures are older than a year, or whose date was set to none such as 2026-11-01.

    >>> from costmodel.case.load import load_case
    >>> old_rows(load_case("inputs_demo/facade"), date(2026, 11, 25))
    []
    """
    days = {place: first_day(shown.date) for place, shown in case.evidence.items()}
    return [place for place, day in days.items() if day is None or today - day > OLD]


def without_range(case: Case) -> list[str]:
    """Numbers that the model reads and no row of ranges.csv speaks of; constants apart."""
    ranged = {row.address for row in case.ranges.values()}
    return [address for address, *_ in numeric_inputs(case) if address not in ranged and not address.startswith("constants.")]


def invented_rows(case: Case) -> dict[str, tuple[int, int]]:
    """For each file of a case, how many of its rows are invented, and how many it has; files without rows are left out.

    >>> from costmodel.case.load import load_case
    >>> invented_rows(load_case("inputs_demo/facade"))["case.yaml"]
    (3, 3)
    """
    counts: dict[str, tuple[int, int]] = {}
    for place, shown in case.evidence.items():
        file = tables()[place.partition(".")[0]].file
        invented, rows = counts.get(file, (0, 0))
        counts[file] = (invented + (shown.kind == "invented"), rows + 1)
    return counts


def oddities(case: Case) -> Iterator[str]:
    """What is allowed but seldom meant.

    A yield of exactly 100 %, a price of nothing, a price year far from the others, an area that is left as it is and costs
    something or is covered for nothing, an active area that contradicts cells.csv, a value outside its own range, a large share of
    a market, a price list of which no cost is known, an amount far outside what the trade knows.
    """
    yield from far_from_usual(case)
    yield from _odd_areas(case)
    yield from _outside_their_ranges(case)
    if case.has_plan and case.plan.closing.rule == "by_loss":
        ramp = len(case.ramp) * case.plan.schedule.ramp_stretch * case.constants.year / 4
        if case.plan.closing.not_before < ramp:
            yield "closing.not_before lies within the ramp, so that a plant may close while it ramps up"
    for name, market in case.markets.items():
        if market.most_share > NEWCOMER:
            yield f"markets.{name}.most_share is {100 * market.most_share:.3g} %, much for a newcomer"
    for name, step in case.steps.items():
        if step.first_pass_yield == 1.0:
            yield f"steps.{name}.first_pass_yield is exactly 100 %"
    if case.laboratory_tests and not case.laboratory_work:
        yield "laboratory_tests.csv is there without laboratory_work.csv: tests cost the licensor their consumables only"
    for name, row in case.growth_exponents.items():
        if row.exponent > 1.0:
            yield f"growth_exponents.{name}.exponent is over 1: a larger plant costs more per size"
    priced = {
        f"{table}.{name}": row for table in tables() if not tables()[table].section for name, row in getattr(case, table).items()
        if hasattr(row, "price_year")
    }  # fmt: skip
    middle = statistics.median(int(row.price_year) for row in priced.values()) if priced else 0.0
    for place, row in priced.items():
        if row.price == 0.0:
            yield f"{place}.price is 0"
        if abs(int(row.price_year) - middle) > FAR_OFF:
            yield f"{place}.price_year is {row.price_year}, most are near {middle:.0f}"
    yield from _odd_coverings(case)


def _odd_coverings(case: Case) -> Iterator[str]:
    for name, row in case.coverings.items():
        if row.covers_with == "plain" and row.area_cost == 0.0:
            yield f"coverings.{name}.area_cost is 0, though it covers the area"
        if row.covers_with == "nothing":
            for column in ("area_cost", "area_upkeep", "delivery", "premium"):
                if getattr(row, column) != 0.0:
                    yield f"coverings.{name}.{column} is not 0, though nothing covers the area"


def _outside_their_ranges(case: Case) -> Iterator[str]:
    for name, row in case.ranges.items():
        value, size = float(value_at(case, row.address)), to_base(row.unit)
        slack = 1e-9 * max(abs(value), abs(row.high - row.low))
        if row.address not in case.held and not row.low - slack <= value <= row.high + slack:
            held = f"{row.low / size:.6g} to {row.high / size:.6g}"
            yield f"{row.address} is {value / size:.6g} {row.unit}, outside of its range in ranges.csv, row {name}: {held}"


def _odd_areas(case: Case) -> Iterator[str]:
    stated = case.product.active_area_share
    for name, row in case.cells.items():
        share = share_of_cells(case.product.length, case.product.width, row)
        if stated is not None and abs(stated - share) > HALF_A_POINT:
            yield f"product.active_area_share is {stated * 100:.4g} %, cells.{name} leave {share * 100:.4g} %, which counts"
