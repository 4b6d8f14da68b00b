"""Checks of what costs hang on: currencies, indices, units, discounts, scrap, depreciation, emissions, groups of prices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...core.faults import nearest
from ...core.fields import YEAR, declared, unit_of
from ...core.units import CURRENCY, same_kind
from ..cost_records import Price, Utility
from ..rows import IDENTIFIER
from ..whole_case import Case
from .frame_checks import Found, Unread, each_row, where_read


def currencies(case: Case, unread: Unread) -> Found:
    """Every currency has an exchange rate; that of the reporting currency is 1 and stays so."""
    codes, all_read = set(), "money" not in unread
    for identity, record in case.money.items():
        codes.add(getattr(record, "code", identity.upper()))
        with where_read():
            if not CURRENCY.fullmatch(record.code) or record.code.lower() != identity:
                yield "money", identity, "code", f"'{record.code}'", f"three capitals whose small letters are the id '{identity}'"
    with where_read():
        if case.currency and case.currency not in codes and all_read:
            allowed = f"a row with the code {case.currency}"
            yield "money", case.currency.lower(), "code", "no row for the reporting currency", allowed
        elif case.currency.lower() in case.money and np.any(case.money[case.currency.lower()].exchange_rate != 1.0):
            rate = case.money[case.currency.lower()].exchange_rate
            yield "money", case.currency.lower(), "exchange_rate", f"{rate}", "1 for the reporting currency"
    with where_read():
        if case.currency.lower() in case.money and np.any(case.money[case.currency.lower()].change != 0.0):
            change = float(np.max(np.abs(case.money[case.currency.lower()].change))) * YEAR
            yield "money", case.currency.lower(), "change", f"{change:.4g} a year", "0 for the reporting currency"
    for name, identity, record in each_row(case) if all_read else ():
        with where_read():
            if "currency" in declared(type(record)) and record.currency not in codes:
                yield name, identity, "currency", f"'{record.currency}'", f"a code of money.csv{nearest(record.currency, codes)}"


def indices_cover_every_price_year(case: Case, unread: Unread) -> Found:
    """A table that an index covers has each of its price years in indices.csv, once."""
    years: dict[str, list[str]] = {}
    all_read = "indices" not in unread
    for identity, row in case.indices.items():
        all_read = all_read and hasattr(row, "covers") and hasattr(row, "year")
        with where_read():
            known = years.setdefault(row.covers, [])
            if row.year in known:
                yield "indices", identity, "year", f"{row.year} twice for {row.covers}", "each year once for each table"
            known.append(row.year)
    for covers, known in years.items() if all_read else ():
        for identity, row in getattr(case, covers).items():
            with where_read():
                if row.price_year not in known:
                    allowed = f"a year that indices.csv has for {covers}: {', '.join(known)}"
                    yield covers, identity, "price_year", row.price_year, allowed


def units_fit(case: Case, unread: Unread) -> Found:
    """What is used of an item is counted in a unit that its price can be applied to."""

    def misfit(name: str, column: str, sold: Mapping[str, Any], unit: str = "{unit}") -> Found:
        """Rows of a table that use an item in a unit of another kind than it is sold by."""
        for identity, row in getattr(case, name).items():
            with where_read():
                item, used = getattr(row, column), unit_of(row, unit)
                if item in sold and not same_kind(used, sold[item].unit):
                    allowed = f"an item sold by a unit like {used}"
                    yield name, identity, column, f"'{item}', which is sold by {sold[item].unit}", allowed

    yield from misfit("materials", "item", case.prices)
    yield from misfit("phase_materials", "item", case.prices)
    yield from misfit("gases", "item", case.prices, "mol")
    yield from misfit("layers", "precursor", case.prices, "kg")
    yield from misfit("coatings", "item", case.prices, "kg")
    for name in ("metals", "price_breaks", "buying", "containers", "supplied_materials"):
        yield from misfit(name, "item", case.prices)
    for name in ("tool_utilities", "facility_utilities", "demand_charges"):
        yield from misfit(name, "utility", case.utilities, "{unit}*s")


def recovered_metal_has_a_quote(case: Case, unread: Unread) -> Found:
    """What is recovered of a sputtered film is credited at the quote of its metal, so that there is one.

    Not judged while a metal names no item.
    """
    with where_read():
        quoted = {row.item for row in case.metals.values()}
        for identity, row in case.coatings.items() if "metals" not in unread and quoted <= case.prices.keys() else ():
            with where_read():
                if row.item not in quoted and np.any(row.recovered_share > 0.0):
                    found = f"{float(np.max(row.recovered_share)) * 100:.4g} % of '{row.item}', which has no row in metals.csv"
                    yield "coatings", identity, "recovered_share", found, f"0 %, or a row of metals.csv with the item '{row.item}'"


def discounts_rise_with_quantity(case: Case, unread: Unread) -> Found:
    """A larger quantity of the year never gets a smaller discount, so that prices fall only."""
    for identity, row in case.price_breaks.items():
        for other, less in case.price_breaks.items():
            with where_read():
                smaller = less.item == row.item and other != identity and np.all(less.from_quantity <= row.from_quantity)
                if smaller and np.any(less.discount > row.discount):
                    found = f"less than '{other}' gives from no larger a quantity"
                    yield "price_breaks", identity, "discount", found, "discounts that rise with the quantity"


def no_plate_is_sold_twice(case: Case, unread: Unread) -> Found:
    """What becomes of the plates lost in a step adds up to all of them at most."""
    with where_read():
        for step in case.steps:
            rows = {identity: row for identity, row in case.scrap.items() if row.step == step}
            together = float(np.max(sum((row.lost_share for row in rows.values()), start=np.zeros(1))))
            if together > 1.0 + 1e-9:
                found = f"{together * 100:.4g} % in step '{step}'"
                yield "scrap", list(rows)[-1], "lost_share", found, "together at most 100 %"


def depreciation_can_be_reckoned(case: Case, unread: Unread) -> Found:
    """What follows production is loaded; a table of rates belongs to a schedule that takes it, and adds up to 100 %."""
    for identity, row in case.book_depreciation.items():
        with where_read():
            if row.method == "production" and row.covers not in ("tools", "carriers"):
                found = f"'production' for {row.covers}, whose loading is not known"
                yield "book_depreciation", identity, "method", found, "straight_line, declining_balance, sum_of_years"
    for identity, schedule in case.tax_depreciation.items() if "tax_rates" not in unread else ():
        with where_read():
            rates = {name: rate.rate for name, rate in case.tax_rates.items() if rate.schedule == identity}
            if schedule.method != "rates" and rates:
                found = f"'{identity}', whose method is {schedule.method}"
                yield "tax_rates", next(iter(rates)), "schedule", found, "a row with method rates"
            total = sum(rates.values())
            whole = all(rate.schedule in case.tax_depreciation for rate in case.tax_rates.values())
            if schedule.method == "rates" and whole and np.any(np.abs(total - 1.0) > 1e-9):
                found = f"rates that add up to {float(np.max(total)) * 100:.6g} %"
                yield "tax_depreciation", identity, "method", found, "rates of 100 %"


def emissions_have_a_source(case: Case, unread: Unread) -> Found:
    """Greenhouse gas comes from an item of the price book or from a utility, by a unit that its use is counted in."""
    sold: dict[str, Price | Utility] = {**case.prices, **case.utilities}
    for identity, row in case.emissions.items():
        with where_read():
            if row.emitter not in sold:
                if not unread & {"prices", "utilities"}:
                    allowed = f"an id of prices.csv or utilities.csv{nearest(row.emitter, sold)}"
                    yield "emissions", identity, "emitter", f"'{row.emitter}'", allowed
            elif not same_kind(row.unit, sold[row.emitter].unit):
                allowed = f"a unit like {sold[row.emitter].unit}, by which '{row.emitter}' is sold"
                yield "emissions", identity, "unit", f"'{row.unit}'", allowed


def groups_of_prices_are_names(case: Case, unread: Unread) -> Found:
    """Groups of the price book become parts of addresses, beside utilities, labour, equipment and building."""
    taken = {"labour", "equipment", "building", "facilities", "overheads", "emissions", "scrap", *case.utilities}
    for identity, row in case.prices.items():
        with where_read():
            if not IDENTIFIER.fullmatch(row.group) or row.group in taken:
                yield (
                    "prices",
                    identity,
                    "group",
                    f"'{row.group}'",
                    f"small letters, digits and _, and none of {', '.join(sorted(taken))}",
                )
