"""Random changes of the invented case with every table, in which the second model is compared with the package."""

import random
import re

from .cases import Inputs, column_name, table
from .second_cases import BUY_OUT, rich
from .warranties import warranted

CHOICES = {
    "basis": ("real", "nominal"),
    "form": ("linear", "annuity"),
    "rule": ("never", "by_loss", "by_loss"),
    "shortfall": ("owners", "creditors"),
    "convention": ("unit", "cumulative_average"),
    "holiday_losses": ("used", "kept"),
    "tax_relief": ("exempt", "credit", "none"),
    "loss_relief": (
        *("carried_forward", "carried_back_one_year", "carried_back_two_years", "carried_back_three_years", "other_income"),
    ),
    "loss_years": ('"1"', '"2"', '"3"', '"60"'),
}
BETWEEN = {
    "loss_use": (30, 100, "%"),
    "loss_quarters": (1, 4, "1"),
    "upfront_time": (0.3, 3, "month"),
    "reference_volume": (0.2, 3, "MWp_stabilised"),
    "grace": (20.5, 40, "month"),
    "ramp_stretch": (0.6, 2.5, "1"),
    "volume_share": (50, 100, "%"),
    "delay": (0, 14, "month"),
    "holiday": (0, 4, "year"),
}
KEPT = ("kind", "source", "date", "by", "currency", "territories")  # lines of sections that stay
SCALED = {
    "sales": ("price",),
    "capital": ("amount", "life", "end_share"),
    "land": ("amount", "end_share"),
    "fees": ("amount", "time"),
    "royalty_steps": ("factor",),
    "minimum_royalties": ("amount",),
    "deliveries": ("days", "day_cost", "overrun", "travel", "pilot_time", "price"),
    "yearly_services": ("price", "cost", "change"),
    "service_effects": ("change", "probability"),
    "laboratory_tests": ("price", "consumables", "samples"),
    "laboratory_work": ("equipment_hours", "staff_hours"),
    "laboratory_equipment": ("hours", "promised", "hour_cost"),
    "laboratory_staff": ("hours", "promised"),
    "supplies": ("part", "margin"),
    "supplied_materials": ("price", "own_cost", "most", "change"),
    "guarantees": (
        *("transfer_loss", "module_spread", "measurement", "coverage", "cap", "time"),
        *("test_cost", "test_share", "rejection", "retest_cost", "retest_passed"),
    ),
    "performance_guarantees": (
        *("transfer_loss", "day_spread", "days", "test_cost", "test_share", "cap", "rejection", "time"),
        *("retest_cost", "retest_passed"),
    ),
    "acceptance_dates": ("expected", "spread", "grace", "cap", "latest", "rejection"),
    "sublicences": ("income",),
    "prospects": ("value", "probability", "lost", "entry_time", "price_effect", "volume_effect"),
    "other_ways": ("delay", "cost", "probability", "royalty"),
    "expansions": ("time", "capital_share", "fixed_share", "life"),
    "other_lines": ("capital", "price", "ramp_time", "life"),
    "escalations": ("change",),
    "facilities": ("price", "life", "technical_life"),
    "spares": ("price", "life", "technical_life"),
    "carriers": ("price", "life", "technical_life"),
    "book_depreciation": ("salvage",),
    "transfer_work": ("days",),
    "transfer_resources": ("available", "day_cost"),
    "warranty": ("product_term", "power_term", "degradation", "degradation_spread", "later_failures", "labour", "discount_rate"),
}
LABORATORY = ("laboratory_tests.csv", "laboratory_work.csv", "laboratory_equipment.csv", "laboratory_staff.csv")
TRANSFER = ("transfer_tasks.csv", "transfer_work.csv", "transfer_gates.csv", "transfer_resources.csv", "commitments.csv")
MAY_BE_ABSENT = (
    *("land", "fees", "royalty_steps", "minimum_royalties", "deliveries", "yearly_services", "supplies", "guarantees"),
    "supplied_materials",
    *("performance_guarantees", "acceptance_dates"),
    *("sublicences", "prospects", "other_ways", "expansions", "other_lines", "escalations", "book_depreciation", "refurbishments"),
    "warranty",
)


def moved(dice: random.Random, value: float, most: float) -> float:
    """A number moved at random, not above a limit."""
    return round(min(value * dice.uniform(0.4, 1.7), most), 4)


def section_line(dice: random.Random, line: str) -> str:
    """A line of a section with another value."""
    found = re.match(r"  (\w+): (\S+) ?(.*)$", line)
    if not found or found[1] in KEPT:
        return line
    name, value, unit = found.groups()
    if name in CHOICES:
        return f"  {name}: {dice.choice(CHOICES[name])}"
    if name == "horizon":
        return f'  horizon: "{dice.randint(6, 13)}"'
    if name in BETWEEN:
        low, high, unit = BETWEEN[name]
        number = dice.randint(low, high) if name == "loss_quarters" else round(dice.uniform(low, high), 3)
        return f"  {name}: {dice.choice((0, number)) if low == 0 else number} {unit}"
    if name == "term" and float(value) == 3.6:  # of the loan, which ends within the plan
        return f"  term: {round(dice.uniform(0.5, 2.4), 3)} year"
    return f"  {name}: {moved(dice, float(value), 99 if '%' in unit else 1e9)} {unit}"


def without_transfer(inputs: Inputs) -> None:
    """No project, no laboratory with its roles, and terms that count from the first day."""
    for file in (*TRANSFER, *LABORATORY):
        del inputs.tables[file]
    for file in ("fees.csv", "guarantees.csv", "performance_guarantees.csv", "acceptance_dates.csv"):
        for name in [row[0] for row in inputs.tables.get(file, ())[1:]]:
            inputs.cell(file, name, "counted_from", "first_day")


def random_inputs(seed: int) -> Inputs:
    """The case with every table, other numbers and choices in it, some tables left out."""
    dice, inputs = random.Random(seed), warranted(rich())
    for file in ("plan.yaml", "deal.yaml"):
        inputs.documents[file] = "\n".join(section_line(dice, line) for line in inputs.documents[file].splitlines()) + "\n"
    for name, columns in SCALED.items():
        head, *rows = inputs.tables[f"{name}.csv"]
        for column, header in enumerate(head):
            if column_name(header) in columns:
                for row in rows:
                    low = 1.0 if column_name(header) == "technical_life" else 0.0
                    row[column] = str(max(moved(dice, float(row[column]), 100 if "[%]" in header else 1e9), low))
        if name in MAY_BE_ABSENT and dice.random() < 0.12:
            del inputs.tables[f"{name}.csv"]
    if "supplied_materials.csv" not in inputs.tables and "supplies.csv" in inputs.tables:
        inputs.row("supplies.csv", "gases,gases,materials,10,8,goods")
    for row in inputs.tables["transfer_tasks.csv"][1:]:
        row[4:7] = [str(each) for each in sorted(moved(dice, float(value), 99) for value in row[4:7])]
    gates = {name: round(dice.uniform(50, 100), 2) for name in ("frozen", "passed")}
    for name, chance in gates.items():
        inputs.cell("transfer_gates.csv", name, "probability", str(min(chance, gates["frozen"])))
    if dice.random() < 0.1 or "deliveries.csv" not in inputs.tables:  # which tasks refer to
        without_transfer(inputs)
    for name in ("coater", "saw"):
        inputs.cell("tools.csv", name, "technical_life", str(round(dice.uniform(1, 7), 2)))
    for name in ("near", "walls", "rest"):
        inputs.cell("sales.csv", name, "change", str(round(dice.uniform(-20, 6), 2)))
    inputs.cell("money.csv", "usd", "change", str(round(dice.uniform(-5, 5), 2)))
    if "fees.csv" in inputs.tables:
        inputs.cell("fees.csv", "look", "time", "0")
    if "yearly_services.csv" not in inputs.tables:
        for file in LABORATORY:
            inputs.tables.pop(file, None)
    if not {"deliveries.csv", "yearly_services.csv"} <= inputs.tables.keys():
        inputs.tables.pop("service_effects.csv", None)
    if dice.random() < 0.4:
        inputs.tables["buy_outs.csv"] = table(BUY_OUT.replace("3.4", str(round(dice.uniform(0.5, 6), 2))))
    return inputs
