"""Wild numbers, texts and documents: refused with their place, or computed with a word for each figure that has no value."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.line_records import Step
from costmodel.case.values import BadValue, check_number
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.fields import LEAST_SENSE, declared, most_of_sense

from .cases import Inputs, tiny
from .plans import planned
from .refusals import faults
from .wild import FINE, wild, wild_numbers

FOUND = (2039,)  # seeds that once gave a figure without a value and without a word: a capital of nothing that is divided by


@pytest.mark.parametrize("seed", FOUND)
def test_what_a_wild_case_once_found_stays_mended(seed):
    assert wild_numbers(seed)[0] in ("refused", "computed")


def test_a_plant_that_needs_next_to_no_tool_is_refused_by_each_command(tmp_path):
    Inputs().cell("steps.csv", "coat", "processed_share", "1e-10").write(tmp_path)
    for name in ("check", "cost", "line"):
        result = CliRunner().invoke(main, [name, str(tmp_path)])
        assert result.exit_code == 2
        assert "steps.csv, column 'coat.processed_share': found 1e-10 %; allowed: figures that leave nothing" in result.output


def test_a_hundred_wild_cases_are_refused_or_computed():
    found = list(wild(100, seed=50_000))
    assert [each for each in found if each[1] not in FINE] == []
    assert {"refused", "computed"} <= {what for _, what, _ in found}


@pytest.mark.slow
def test_as_many_wild_cases_as_are_asked_for_are_refused_or_computed(request):
    """`--full --fuzz 5000`; what a seed finds goes into FOUND, so that it is tried ever after."""
    count = request.config.getoption("--fuzz")
    found = list(wild(count, seed=100_000))
    assert len(found) == count
    assert [each for each in found if each[1] not in FINE] == []


def test_a_number_beyond_sense_is_refused_with_its_row_and_what_is_allowed():
    # 1e11 s is some 3,000 years, and no step takes as long
    assert faults(Inputs().cell("steps.csv", "cut", "process_time", "1e104").load) == [
        "steps.csv, row 2, column 'process_time': found 1e+104 s; allowed: nought, or an amount from 1e-25 to 1e+11 [s]; "
        "any other is a slip"
    ]
    with pytest.raises(InputFaults, match="any other is a slip"):
        with_values(tiny(), {"tools.saw.price": 2e15})
    with pytest.raises(InputFaults, match="any other is a slip"):
        with_values(planned(), {"prices.silane.price": 1e-300})


def test_the_bounds_of_sense_themselves_are_allowed():
    time = declared(Step)["process_time"]
    check_number(time, most_of_sense(time.unit), "s")
    check_number(time, LEAST_SENSE, "s")
    with pytest.raises(BadValue):
        check_number(time, 1.01 * most_of_sense(time.unit), "s")
    with pytest.raises(BadValue):
        check_number(time, 0.99 * LEAST_SENSE, "s")
