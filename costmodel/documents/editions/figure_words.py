"""Disclosed figures in words for readers outside: what each is, with its amount, currency and unit, in place of its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from ...present.numbers import MINUS, exact, many, people, stated, typeset
from .allowed import is_stated
from .record import Release

WORDS = {
    "guaranteed": "guaranteed power", "promised": "guaranteed rate", "promised_dates": "guaranteed date",
    "promised_cap": "cap over all guarantees", "npv": "net present value", "irr": "internal rate of return",
    "mirr": "modified internal rate of return", "minimum_dscr": "lowest DSCR of a year", "required_dscr": "required DSCR",
    "years_below_minimum_dscr": "years below the required DSCR", "below_dscr": "probability of a year below the required DSCR",
    "closes": "probability of an early closing", "above": "probability that it is above 0", "low_point": "lowest cash",
    "owners_above": "probability that it is above 0 for the owners", "npv_spread": "net present value over draws",
    "npv_moved_by": "change of net present value", "price_now": "selling price", "a_year": "amount a year",
    "per_m2": "per m²", "gases_per_m2": "gases per m²", "highest_price_per_m2": "highest price per m²", "p10": "P10", "p50": "P50",
    "p90": "P90", "peak_p10": "peak funding need, P10", "peak_p50": "peak funding need, P50", "peak_p90": "peak funding need, P90",
    "takt": "scheduled time per plate started", "given": "shares given to the licensor", "on_top": "part paid on top",
    "by_kind": "kind", "by_stage": "part of the route",
}  # fmt: skip
COUNTED = ("minimum_dscr", "required_dscr", "days", "tests", "coverage")  # numbers of unit 1 that are no shares
ROUNDED_MONTHS = 1e-6  # to which a time of months is kept, in years of nine digits
PER_PERCENT, PER_WEEK = ("guaranteed", "promised"), ("promised_dates",)  # what damages are for: the first are kept per whole level


def in_words(release: Release) -> dict[str, str]:
    """Each disclosed number, or list of them, by its name: what it is and how much.

    >>> from .record import Disclosed
    >>> rows = {"title": ("power", ""), "damages": (2500000.0, "in its currency"), "currency": ("VLD", "")}
    >>> figures = tuple(Disclosed(f"guaranteed.00.{name}", *row) for name, row in rows.items())
    >>> in_words(Release("t", "licensee", "SKM", "1", "2026-11-02", figures, ()))["guaranteed.00.damages"]
    'guaranteed power “power”, damages: VLD 25,000 per percent of shortfall'
    """
    values = {each.name: each.value for each in release.figures}
    return {
        each.name: f"{_called(each.name, values)}: {_amount(each.name, each.value, each.unit, values)}"
        for each in release.figures
        if isinstance(each.value, (int, float, list))
    }


def amounts(release: Release) -> dict[str, str]:
    """How much each disclosed number is, or list of them, by its name: in units that people read, with every digit that goes out.

    >>> from .record import Disclosed
    >>> rows = {"damages": (2500000.0, "in its currency"), "currency": ("VLD", "")}
    >>> rows |= {"time": (1.66666667, "year"), "sum": (8.1234e6, "SKM")}
    >>> figures = tuple(Disclosed(f"guaranteed.00.{name}", *row) for name, row in rows.items())
    >>> list(amounts(Release("t", "licensee", "SKM", "1", "2026-11-02", figures, ())).values())
    ['VLD 25,000 per percent of shortfall', '20 months', 'SKM 8,123,400']
    """
    values = {each.name: each.value for each in release.figures}
    return {
        each.name: _amount(each.name, each.value, each.unit, values, all_digits)
        for each in release.figures
        if isinstance(each.value, (int, float)) or (isinstance(each.value, list) and any(isinstance(x, float) for x in each.value))
    }


def all_digits(value: float) -> str:
    """A number with every digit that a release holds.

    >>> all_digits(11_180_000.0), all_digits(-0.0146), all_digits(12)
    ('11,180,000', '−0.0146', '12')
    """
    return f"{value:,.12g}".replace("-", MINUS)


def _called(name: str, values: Mapping[str, Any]) -> str:
    """What a figure is: the parts of its name in words, a place in a list by the title of its row.

    >>> _called("licence.fees.00.amount", {"licence.fees.00.title": "test"}), _called("plan.project.npv", {})
    ('licence, fees “test”, amount', 'plan, project, net present value')
    """
    said: list[str] = []
    parts = name.split(".")
    for k, part in enumerate(parts):
        if part.isdigit() and said:
            row = ".".join(parts[: k + 1])
            titles = (values.get(f"{row}.{each}") for each in ("title", "name", "input"))
            said[-1] += f" “{next((title for title in titles if title), int(part) + 1)}”"
        else:
            said.append(WORDS.get(part, part.replace("_", " ")))
    return ", ".join(said)


def _amount(
    name: str, value: Any, unit: str, values: Mapping[str, Any], digits: Callable[[float], str] | None = None
) -> str:
    """How much it is, in its currency and unit."""
    if isinstance(value, list):
        listed = [_amount(name, each, "", values, digits) for each in value if isinstance(each, (int, float))]
        return f"{'; '.join(listed)} {typeset(unit)}".strip()
    row, _, field = name.rpartition(".")
    shown = digits or (stated if is_stated(name) else people)
    if digits and unit == "year" and value % 1 and abs(12 * value - round(12 * value)) < ROUNDED_MONTHS:
        return many(round(12 * value), "month")
    if field == "damages":
        per = "per week" if row.startswith(PER_WEEK) else "per percent of shortfall"
        part = 1.0 if row.startswith(PER_WEEK) else 100.0
        return f"{values.get(f'{row}.currency', '')} {stated(value / part)} {per}".strip()
    if unit == "in its currency":
        return f"{values.get(f'{row}.currency', '')} {(digits or stated)(value)}".strip()
    if unit == "1" and field not in COUNTED:
        return exact(value, "%")
    if unit == "1/year":
        return f"{exact(value, '%')} a year"
    if unit.isalpha() and unit.isupper() and len(unit) == 3:
        return f"{unit} {shown(value)}"
    if unit == "currency of the licence":
        return f"{values.get('licence.currency', '')} {shown(value)}".strip()
    if unit == "in its unit":
        unit = values.get(f"{row}.unit", "")
    return f"{shown(value)} {'' if unit == '1' else typeset(unit)}".strip()
