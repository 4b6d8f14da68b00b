"""The unit reading and the laws are tested themselves: slips are put into copies of the model, one at a time."""
from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from .seeded_faults import FAULTS, findings

MOST_MISSED = 2


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What is found in the unchanged package, under None, and for each fault."""
    seeded = (None, *FAULTS)
    folders = [tmp_path_factory.mktemp("seeded") for _ in seeded]
    with ThreadPoolExecutor(max_workers=2) as pool:
        return dict(zip(seeded, pool.map(findings, seeded, folders)))


@pytest.mark.slow
def test_nothing_is_found_in_the_unchanged_package(found):
    assert found[None] == {"units": [], "laws": []}


@pytest.mark.slow
def test_nearly_every_slip_is_found(found):
    missed = [fault.slip for fault in FAULTS if not any(found[fault].values())]
    print("missed:", *missed or ["none"], sep="\n  ")
    assert len(FAULTS) >= 45
    assert len(missed) <= MOST_MISSED, missed


@pytest.mark.slow
def test_units_and_laws_each_find_slips_that_the_other_does_not(found):
    by_units = {fault.slip for fault in FAULTS if found[fault]["units"]}
    by_laws = {fault.slip for fault in FAULTS if found[fault]["laws"]}
    assert by_laws - by_units
    assert by_units - by_laws
