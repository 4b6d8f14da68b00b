"""Data flows one way: each part imports only from the parts before it."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "costmodel"
ORDER = [
    "faults",
    "lean_imports",
    "whole_files",
    "rates_of_return",
    "roots",
    "operations",
    "units",
    "fields",
    "case",
    "line",
    "bought",
    "scenarios",
    "checking",
    "ledger",
    "market",
    "plan",
    "deal",
    "model",
    "readings",
    "frames",
    "answers",
    "study",
    "negotiation",
    "report",
    "explain",
    "workbook",
    "workbench",
    "command",
    "__main__",
]
NUMPY = {
    "operations.py",
    "answers/least_price.py",
    "roots.py",
    "rates_of_return.py",
    "case/values.py",
    "case/changes.py",
    "case/checks/cost.py",
    "case/checks/deal.py",
    "case/checks/films.py",
    "case/checks/line.py",
    "case/checks/plan.py",
    "case/checks/soaking.py",
    "readings/cells.py",
    "workbook/rates.py",
    "answers/plant_size.py",
    "answers/efficiencies.py",
    "answers/evidence.py",
    "case/uncertain.py",
    "report/deal_charts.py",
    "negotiation/zone.py",
    "negotiation/outline.py",
    "negotiation/split.py",
    "negotiation/concessions.py",
    "negotiation/guarantees.py",
    "negotiation/price_paths.py",
    "negotiation/exclusivity.py",
    "negotiation/openings.py",
    "negotiation/payment_split.py",
    "report/facts.py",
    "report/release/back.py",
    "study/axes.py",
    "negotiation/chances.py",
    "study/distributions.py",
    "study/draws.py",
    "study/many.py",
    "study/risk.py",
    "study/shapley.py",
    "study/solve.py",
    "study/sweep.py",
    "study/tornado.py",
    "study/variance.py",
    "study/waterfall.py",
}
LIBRARIES = {"collections.abc", "dataclasses", "math.pi"}  # what the model takes from outside the package


def imported(path):
    """The parts of the package that a module imports."""
    place = path.relative_to(PACKAGE).parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = list(place[: len(place) - node.level])
            names = [*base, *(node.module.split(".") if node.module else [])]
            yield from [names[0]] if names else [alias.name for alias in node.names if alias.name != "__version__"]
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("costmodel"):
            raise AssertionError(f"{path}: the package imports itself by its full name")


def test_every_module_has_its_place_and_imports_only_from_the_left():
    seen = set()
    for path in PACKAGE.rglob("*.py"):
        part = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if part == "__init__":
            continue
        seen.add(part)
        for other in imported(path):
            assert ORDER.index(other) <= ORDER.index(part), f"{path.name} in {part} imports {other}"
    assert seen == set(ORDER)


def from_outside(path):
    """What a module imports from outside the package: a module, or a name of `math`."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module != "__future__":
            yield from [f"math.{alias.name}" for alias in node.names] if node.module == "math" else [node.module]


def test_nothing_of_the_model_touches_values_but_the_closed_list():
    for part in ("line", "ledger", "market", "plan", "deal"):
        for path in (PACKAGE / part).glob("*.py"):
            assert set(from_outside(path)) <= LIBRARIES, path
    for path in PACKAGE.rglob("*.py"):
        if "import numpy" in path.read_text():
            assert str(path.relative_to(PACKAGE)) in NUMPY
