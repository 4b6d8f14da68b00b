"""What tests of refused inputs share: the messages that reading meets, and lists that stand in many of them."""
from __future__ import annotations

from collections.abc import Callable

import pytest

from costmodel.core.faults import InputFaults

NUMBER = "a number, as 12.5"
IDENTITY = "a name of small letters, digits and _ that begins with a letter and is no word of Python"
STEP_COLUMNS = ("id, title, stage, tool, process_time, rate_efficiency, first_pass_yield, rework_share, rework_success, load_loss, "
                "processed_share, kind, source, date, by, public_source")
TOOL_FIELDS = ("title, price, currency, price_year, freight_and_duty, installation, life, technical_life, load_size, "
               "planned_downtime, unplanned_downtime, engineering_time, maintenance, operators, role, installed, footprint, area, "
               "in_all_tools")


def faults(read: Callable) -> list[str]:
    """The messages of the faults that reading a case meets."""
    with pytest.raises(InputFaults) as problem:
        read()
    many = len(problem.value.faults)
    assert str(problem.value).startswith(f"{many} fault{'' if many == 1 else 's'} in the inputs\n")
    return [str(fault) for fault in problem.value.faults]
