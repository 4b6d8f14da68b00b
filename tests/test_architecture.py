"""The house: rooms on floors. A module imports from its own floor and those below; the parts of the model keep an order too."""

import ast
from collections import Counter
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "costmodel"
ROOMS = ["core", "case", "model", "studies", "present", "documents", "workbench", "api", "__init__", "command", "__main__"]
MODEL = [
    *("__init__", "line", "ledger", "market", "plan", "deal", "evaluate"),
    *("readings", "frames", "as_bought", "scenarios", "scenario_saving", "checking"),
]
NUMPY = {
    "case/changes.py",
    "case/checks/cost_checks.py",
    "case/checks/deal_checks.py",
    "case/checks/films_checks.py",
    "case/checks/line_checks.py",
    "case/checks/plan_checks.py",
    "case/checks/power_class_checks.py",
    "case/checks/laboratory_checks.py",
    "case/checks/service_checks.py",
    "case/checks/supplied_checks.py",
    "case/checks/soaking_checks.py",
    "case/checks/transfer_checks.py",
    "case/checks/warranty_checks.py",
    "case/uncertain.py",
    "case/values.py",
    "core/operations.py",
    "core/rates_of_return.py",
    "core/roots.py",
    "documents/editions/disclosed_slopes.py",
    "documents/editions/narrowing.py",
    "documents/editions/readers_knowledge.py",
    "documents/editions/leak_check.py",
    "documents/editions/intervals.py",
    "documents/editions/span.py",
    "documents/plan_facts.py",
    "documents/workbook/rates.py",
    "model/readings/array_runs.py",
    "model/readings/cells.py",
    "model/readings/compiled_operations.py",
    "model/readings/compiled_runs.py",
    "model/readings/programs.py",
    "model/readings/recording.py",
    "model/readings/runs.py",
    "model/readings/slopes.py",
    "model/readings/step_tables.py",
    "model/readings/taped.py",
    "present/deal_charts.py",
    "studies/axes.py",
    "studies/budget.py",
    "studies/kept_draws.py",
    "studies/ordered_draws.py",
    "studies/distributions.py",
    "studies/draws.py",
    "studies/drawn_blocks.py",
    "studies/factory/choices.py",
    "studies/factory/full_use.py",
    "studies/factory/least_price.py",
    "studies/factory/minutes.py",
    "studies/factory/class_limits.py",
    "studies/factory/market_prices.py",
    "studies/factory/plant_size.py",
    "studies/many.py",
    "studies/negotiation/probabilities.py",
    "studies/negotiation/concessions.py",
    "studies/negotiation/power_guarantees.py",
    "studies/negotiation/guarantee_set.py",
    "studies/negotiation/likely_terms.py",
    "studies/negotiation/limits.py",
    "studies/negotiation/openings.py",
    "studies/negotiation/outline.py",
    "studies/negotiation/payment_split.py",
    "studies/negotiation/price_paths.py",
    "studies/negotiation/rounds_compared.py",
    "studies/negotiation/services.py",
    "studies/negotiation/sides.py",
    "studies/negotiation/split.py",
    "studies/negotiation/zone.py",
    "studies/negotiation/organisation_load.py",
    "studies/negotiation/transfer_delay.py",
    "studies/negotiation/transfer_spread.py",
    "studies/risk.py",
    "studies/sensitivities.py",
    "studies/solve.py",
    "studies/spread.py",
    "studies/sweep.py",
    "studies/variance.py",
    "studies/verification/of_a_case.py",  # numpy_financial
    "studies/verification/published_finance.py",
    "studies/waterfall.py",
}
LIBRARIES = {"collections.abc", "dataclasses", "math.pi", "typing"}  # what the model takes from outside the package


def place(path):
    """Where a module stands, as the names of its path below the package."""
    return path.relative_to(PACKAGE).with_suffix("").parts


def imported(path):
    """The places of the modules that a module imports from the package."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = place(path)[: -node.level]
            if node.module:
                yield (*base, *node.module.split("."))
            else:
                yield from ((*base, alias.name) for alias in node.names if alias.name != "__version__")
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("costmodel"):
            raise AssertionError(f"{path}: the package imports itself by its full name")


def test_every_module_stands_in_a_room_and_imports_only_from_its_floor_and_below():
    seen = set()
    for path in PACKAGE.rglob("*.py"):
        room = place(path)[0]
        seen.add(room)
        for other in imported(path):
            assert ROOMS.index(other[0]) <= ROOMS.index(room), f"{path} imports {'.'.join(other)}"
    assert seen == set(ROOMS)


def test_parts_of_the_model_import_only_from_those_before_them():
    seen = set()
    for path in (PACKAGE / "model").rglob("*.py"):
        part = place(path)[1]
        seen.add(part)
        for other in imported(path):
            if other[0] == "model":
                assert MODEL.index(other[1]) <= MODEL.index(part), f"{path} imports {'.'.join(other)}"
    assert seen == set(MODEL)


def test_a_file_name_stands_once_so_that_it_says_where_a_rule_is():
    names = Counter(path.name for path in PACKAGE.rglob("*.py") if path.name != "__init__.py")
    assert {name for name, count in names.items() if count > 1} == set()


def from_outside(path):
    """What a module imports from outside the package: a module, or a name of `math`."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module != "__future__":
            yield from [f"math.{alias.name}" for alias in node.names] if node.module == "math" else [node.module]


def test_nothing_of_the_model_touches_values_but_the_closed_list():
    checked = 0
    for part in ("line", "ledger", "market", "plan", "deal"):
        for path in (PACKAGE / "model" / part).glob("*.py"):
            assert set(from_outside(path)) <= LIBRARIES, path
            checked += 1
    assert checked > 50
    assert {str(path.relative_to(PACKAGE)) for path in PACKAGE.rglob("*.py") if "import numpy" in path.read_text()} <= NUMPY
