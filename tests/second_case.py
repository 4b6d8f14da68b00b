"""A second reading of a case folder, for a second model: tables and sections as plain numbers.

Nothing of the package is used. Times are years, shares are parts of 1, money stays in the currency of its row. A year has
365 days of 24 hours and 12 months, as the handbook's list of conventions has it.
"""

import csv
from pathlib import Path
from types import SimpleNamespace

import yaml

SIZES = {
    "%": 0.01,
    "month": 1 / 12,
    "day": 1 / 365,
    "week": 7 / 365,
    "h": 1 / 8760,
    "MWp_stabilised": 1e6,
    "kWp_stabilised": 1e3,
}
TABLES_OF_PLAN = (
    *("ramp", "sales", "payments", "capital", "land", "refurbishments", "escalations", "expansions", "other_lines"),
    *("payment_kinds", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies"),
    "supplied_materials",
    *("performance_guarantees", "acceptance_dates", "power_spread"),
    *("service_effects", "laboratory_tests", "laboratory_work", "laboratory_equipment", "laboratory_staff"),
    *("transfer_tasks", "transfer_work", "transfer_gates", "transfer_resources"),
    *("guarantees", "sublicences", "prospects", "other_ways", "money", "indices", "markets", "warranty"),
    *("tools", "carriers", "spares", "facilities", "book_depreciation", "tax_depreciation", "tax_rates"),
)


def size_of(unit):
    """How many of the units used here a unit is: `%/year` is 0.01, `currency/%` is 100; what has no size counts as 1."""
    size, sign = 1.0, 1
    for part in unit.replace("*", " * ").replace("/", " / ").split():
        if part in "*/":
            sign = 1 if part == "*" else -1
        else:
            size *= SIZES.get(part, 1.0) ** sign
    return size


def number(text):
    """A number in a cell, or the text itself."""
    try:
        return float(text)
    except ValueError:
        return text


def cell(name, unit, text):
    """The value of a cell: a number where the header states a unit."""
    return float(text) * size_of(unit) if unit else text


def read_table(path):
    """The rows of a CSV file, by id."""
    if not path.exists():
        return {}
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = list(csv.reader(file))
    heads = [(name.split(" [")[0], name.split(" [")[1].rstrip("]") if " [" in name else "") for name in header]
    found = [{name: cell(name, unit, text) for (name, unit), text in zip(heads, row)} for row in rows]
    return {row["id"]: SimpleNamespace(**row) for row in found}


def entry(text):
    """A value of a YAML section: `21 month`, `carried_forward`, `10`."""
    first, _, unit = str(text).partition(" ")
    value = number(first)
    return value * size_of(unit) if isinstance(value, float) else str(text)


def read_sections(path):
    """The sections of a YAML file."""
    if not path.exists():
        return {}
    content = yaml.safe_load(path.read_text(encoding="utf-8"))
    return {name: SimpleNamespace(**{key: entry(value) for key, value in values.items()}) for name, values in content.items()}


def with_choices(folder, document, tables):
    """The tables with the rows of the choices that `use:` of case.yaml names: they replace, add or drop."""
    for group, choice in (document.get("use") or {}).items():
        place = folder / "alternatives" / group / choice
        for name, rows in tables.items():
            rows |= read_table(place / f"{name}.csv")
        for address in (yaml.safe_load((place / "choice.yaml").read_text(encoding="utf-8")) or {}).get("drop") or []:
            name, row = address.split(".")[:2]
            tables.get(name, {}).pop(row, None)
    return tables


def read_case(folder):
    """All of a case that the plan and the deal read."""
    folder = Path(folder)
    document = yaml.safe_load((folder / "case.yaml").read_text(encoding="utf-8"))
    tables = with_choices(folder, document, {name: read_table(folder / f"{name}.csv") for name in TABLES_OF_PLAN})
    case = SimpleNamespace(currency=document["currency"], **tables)
    for section, row in {**read_sections(folder / "plan.yaml"), **read_sections(folder / "deal.yaml")}.items():
        setattr(case, section, row)
    case.rates = {row.code: row.exchange_rate for row in case.money.values()}
    case.changes = {row.code: row.change for row in case.money.values()}
    case.columns = int(case.schedule.horizon) * 4 + 1
    return case


def in_money(case, amount, currency):
    """An amount in the reporting currency, at the exchange rate of the first day."""
    return amount * case.rates[currency]
