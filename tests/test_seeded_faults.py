"""The unit reading and the laws are tested themselves: slips are put into the model, one at a time."""
from __future__ import annotations

import pytest

from .seeded_faults import FAULTS, PACKAGE, findings, planted

MOST_MISSED = 2


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What is found in the unchanged package, under None, and for each fault."""
    return findings(tmp_path_factory.mktemp("seeded") / "found.json")


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.slip)
def test_a_slip_stands_once_in_the_code_that_it_changes(fault):
    source = (PACKAGE / fault.file).read_text(encoding="utf-8")
    assert planted(fault, source) != source


@pytest.mark.slow
def test_nothing_is_found_in_the_unchanged_package(found):
    assert found[None] == {"units": [], "laws": [], "by": []}


@pytest.mark.slow
def test_nearly_every_slip_is_found(found):
    missed = [fault.slip for fault in FAULTS if not found[fault]["by"]]
    print("missed:", *missed or ["none"], sep="\n  ")
    assert len(FAULTS) >= 45
    assert len(missed) <= MOST_MISSED, missed


@pytest.mark.slow
def test_the_units_find_some_slips_and_the_laws_those_that_units_let_pass(found):
    by_units = {fault.slip for fault in FAULTS if found[fault]["units"]}  # the laws are not asked then
    by_laws = {fault.slip for fault in FAULTS if found[fault]["laws"]}
    assert len(by_units) >= 5
    assert len(by_laws) >= 100
