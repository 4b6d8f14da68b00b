"""Plan and deal of the package against a second implementation, figure by figure.

The second model (`second_*.py`) is plain Python, written from the guide (dictionary, tables, handbook, glossary). It reads the
tables itself. It begins where line and ledger end: with the lines of the ledger, the output and the tools of the plant.
"""

from math import isnan

import pytest

import costmodel

from .cases import DEMO, FIELD
from .second_case import SIZES, read_case
from .second_cases import CASES
from .second_figures import figures
from .second_random import random_inputs

SAME = 1e-9  # relative
NOTHING = 1e-6  # money, watts or shares: what is left where large sums cancel


def of_package(folder):
    """Every figure of a case in base units, and the lines of the ledger."""
    case = costmodel.open_case(folder)
    table = case.figures()
    found = {
        address: value * (SIZES["%"] if unit == "%" else 1.0)
        for address, value, unit in zip(table.index, table["value"], table["unit"])
    }
    lines = case.table("ledger.lines")
    return found, [*lines.assign(loss=lines["loss"].fillna("none")).to_dict("records")]


def differences(second, package):
    """Figures of plan and deal that are not the same, and those that only one of both has."""
    wanted = {address: value for address, value in package.items() if address.startswith(("plan.", "deal."))}
    found = [f"{address}: only in one of both" for address in sorted(wanted.keys() ^ second.keys())]
    for address in wanted.keys() & second.keys():
        ours, theirs = second[address], wanted[address]
        if ours is None or isnan(theirs):
            if ours is not None or not isnan(theirs):
                found.append(f"{address}: {ours} by the second model, {theirs} by the package")
        elif abs(ours - theirs) > max(SAME * max(abs(ours), abs(theirs)), NOTHING):
            found.append(f"{address}: {ours} by the second model, {theirs} by the package")
    return sorted(found)


def compared(folder):
    """Both models on a folder: what differs, and the figures of the package."""
    package, ledger = of_package(folder)
    second = figures(read_case(folder), package, ledger)
    return differences(second, package), package


@pytest.mark.parametrize("name", CASES)
def test_plan_and_deal_are_those_of_the_second_model(name, tmp_path):
    found, package = compared(CASES[name]().write(tmp_path))
    assert not found, found[:10]
    assert bool(package["plan.ending.early"]) == name.startswith("closed")


@pytest.mark.parametrize("seed", range(6))
def test_plan_and_deal_of_random_terms_are_those_of_the_second_model(seed, tmp_path):
    found, _ = compared(random_inputs(seed).write(tmp_path))
    assert not found, found[:10]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6, 100))
def test_plan_and_deal_of_more_random_terms_are_those_of_the_second_model(seed, tmp_path):
    found, _ = compared(random_inputs(seed).write(tmp_path))
    assert not found, found[:10]


@pytest.mark.slow
@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=["facade", "field"])
def test_plan_and_deal_of_the_demos_are_those_of_the_second_model(folder):
    found, _ = compared(folder)
    assert not found, found[:10]


def test_a_figure_that_differs_by_more_than_a_billionth_is_seen():
    package = {"plan.project.npv": 1000.0, "deal.gain": float("nan"), "ledger.stock": 5.0}
    assert differences({"plan.project.npv": 1000.0, "deal.gain": None}, package) == []
    assert len(differences({"plan.project.npv": 1000.0 + 2e-6, "deal.gain": None}, package)) == 1
    assert len(differences({"plan.project.npv": 1000.0, "deal.gain": 0.0}, package)) == 1
    assert len(differences({"plan.project.npv": 1000.0}, package)) == 1
