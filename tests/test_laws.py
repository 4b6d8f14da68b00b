"""The laws and the unit reading, which look for seeded slips, find nothing in the model as it is: a part of the model at a time."""

from __future__ import annotations

import pytest

from .seeded_faults import looks

LOOKS = list(looks(""))


@pytest.mark.slow
@pytest.mark.laws
@pytest.mark.parametrize("number", range(len(LOOKS)), ids=[f"{way} {number + 1}" for number, (way, _law) in enumerate(LOOKS)])
def test_nothing_is_broken(number):
    assert list(LOOKS[number][1]()) == []
