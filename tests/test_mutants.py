"""Hundreds of slips and harmless rewritings of the demos' tables: slips are refused at their place, the rest changes nothing."""
from __future__ import annotations

import dataclasses
import shutil
from collections import Counter
from functools import lru_cache
from pathlib import Path

import pytest

from costmodel.case.load import load_case
from costmodel.case.whole_case import Case, rows_of, tables
from costmodel.core.faults import InputFaults
from costmodel.model.evaluate import evaluate, figures

from .cases import DEMO, FIELD
from .mutants import BENIGN, HARMFUL, Mutant, mutants
from .test_readings import scale_of

EACH_HARMFUL, EACH_BENIGN = 14, 14
ALL = list(mutants(EACH_HARMFUL, EACH_BENIGN))


def inputs(case: Case) -> dict[str, object]:
    """Every input and text of a case by its address."""
    found: dict[str, object] = {"title": case.title, "currency": case.currency, **case.use}
    for name in tables():
        for identity, record in rows_of(case, name).items():
            found |= {f"{name}.{identity}.{column}": value for column, value in dataclasses.asdict(record).items()}
    return found | {f"{place}.{column}": value for place, shown in case.evidence.items()
                    for column, value in dataclasses.asdict(shown).items()}


@lru_cache(maxsize=2)
def usual(folder: Path) -> tuple[dict[str, object], dict[str, float]]:
    """The inputs and the figures of a demo."""
    case = load_case(folder)
    return inputs(case), figures_of(case)


def figures_of(case: Case) -> dict[str, float]:
    """Every figure by its address."""
    return {address: value for address, value, *_ in figures(evaluate(case), case.currency)}


def differences(found: dict, wanted: dict) -> list[str]:
    """The addresses at which two dictionaries differ, numbers by more than 1e-12 of themselves."""
    assert found.keys() == wanted.keys()
    figures_wanted = "ledger.total.cost" in wanted
    scale = {a: max(scale_of(a, wanted) if figures_wanted else 0.0, abs(v)) for a, v in wanted.items() if isinstance(v, float)}
    return [a for a, v in wanted.items()
            if (abs(found[a] - v) > 1e-12 * scale[a] if isinstance(v, float) else found[a] != v)]


@pytest.fixture(scope="module")
def copies(tmp_path_factory):
    """A copy of each demo, of which one table at a time is a mutant."""
    below = tmp_path_factory.mktemp("demos")
    for folder in (DEMO, FIELD):
        shutil.copytree(folder, below / folder.name)
    return below


def read(copies: Path, mutant: Mutant) -> Case:
    """The case with the mutant in place of its table, which is then put back."""
    path = copies / mutant.folder.name / mutant.file
    path.write_bytes(mutant.content)
    try:
        return load_case(path.parent)
    finally:
        shutil.copy(mutant.folder / mutant.file, path)


@pytest.mark.slow
@pytest.mark.parametrize("family", sorted({mutant.family for mutant in ALL if mutant.harmful}))
def test_harmful_mutants_are_refused_at_their_place_and_nowhere_else(family, copies):
    wrong = []
    for mutant in ALL:
        if mutant.family == family:
            try:
                read(copies, mutant)
                wrong.append((mutant.folder.name, mutant.file, mutant.places, "accepted"))
            except InputFaults as problem:
                told = {(fault.file, fault.row, fault.column) for fault in problem.faults}
                if told != mutant.places:
                    wrong.append((mutant.folder.name, mutant.file, mutant.places, [str(fault) for fault in problem.faults]))
    assert wrong == []


@pytest.mark.slow
@pytest.mark.parametrize("family", sorted({mutant.family for mutant in ALL if not mutant.harmful}))
def test_benign_mutants_change_no_figure(family, copies):
    wrong = []
    for mutant in ALL:
        if mutant.family == family:
            wanted, wanted_figures = usual(mutant.folder)
            case = read(copies, mutant)
            apart = differences(inputs(case), wanted)
            if mutant.numbers_restated:
                apart += differences(figures_of(case), wanted_figures)
            if apart:
                wrong.append((mutant.folder.name, mutant.file, apart))
    assert wrong == []


def test_there_are_hundreds_of_mutants_of_both_kinds_and_no_two_alike(capsys):
    counts = Counter(mutant.harmful for mutant in ALL)
    families = Counter(mutant.family for mutant in ALL)
    assert (counts[True], counts[False]) == (EACH_HARMFUL * len(HARMFUL), EACH_BENIGN * len(BENIGN))
    assert len(ALL) >= 400
    assert len({(mutant.folder, mutant.file, mutant.content) for mutant in ALL}) > 0.9 * len(ALL)
    with capsys.disabled():
        print(f"\n{counts[True]} harmful and {counts[False]} benign mutants in {len(families)} families")
