"""A division by nought is refused with the inputs behind the divisor."""

import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.command.main import main
from costmodel.core.faults import DividesByNought
from costmodel.model.evaluate import evaluate
from costmodel.model.readings.noughts import nought_faults

from .cases import tiny
from .wild import NOUGHT, wild_numbers


def test_the_inputs_behind_the_divisor_are_named_nearest_first():
    case = with_values(tiny(), {"steps.cut.processed_share": 1e-25})
    with pytest.raises(DividesByNought) as refused:
        evaluate(case)
    assert refused.value.case is case
    named = [(fault.file, fault.column) for fault in nought_faults(case)]
    assert ("steps.csv", "cut.processed_share") in named
    assert 0 < len(named) <= 5
    assert all(fault.found for fault in nought_faults(case))


def test_a_case_that_divides_by_nothing_else_has_none():
    assert nought_faults(tiny()) == []


def test_the_command_says_file_row_and_column_and_exits_with_2(folder):
    ran = CliRunner().invoke(main, ["cost", str(folder), "--set", "steps.cut.processed_share=1e-23"])
    assert ran.exit_code == 2, ran.output
    assert "steps.csv, column 'cut.processed_share': found 1e-23 %; allowed: figures that leave nothing" in " ".join(
        ran.stderr.split()
    )


def test_a_document_that_cannot_be_made_for_it_says_the_same(folder, tmp_path):
    command = ["report", str(folder), "--kind", "memo", "--set", "steps.cut.processed_share=1e-23", "--out", str(tmp_path / "out")]
    ran = CliRunner().invoke(main, command)
    assert ran.exit_code == 2, ran.output
    assert "steps.csv, column 'cut.processed_share'" in " ".join(ran.output.split())
    assert list(tmp_path.glob("out/*")) == []


@pytest.mark.parametrize("seed", [677, 736, 1245, 1390, 2333])  # wild cases that divide by nought, of 2,400 seeds looked at
def test_wild_cases_that_divide_by_nought_name_their_inputs(seed):
    assert wild_numbers(seed)[0] == NOUGHT
