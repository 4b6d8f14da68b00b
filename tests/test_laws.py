"""The laws and the unit reading, which look for seeded slips, find nothing in the model as it is: a part of the model at a time."""

from __future__ import annotations

import pytest

from .seeded_faults import looks

LOOKS = looks("")


@pytest.mark.slow
@pytest.mark.laws
@pytest.mark.parametrize("number", range(len(LOOKS)), ids=[each.name for each in LOOKS])
def test_nothing_is_broken(number):
    assert list(LOOKS[number].law()) == []
