"""The tiny plan with a laboratory of two instruments and one group of people, in round numbers; the tests say what follows."""

from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs, table
from .transfers import transfer_inputs

TABLES = {
    "yearly_services.csv": """
id,title,price [currency/year],cost [currency/year],currency,begin [year],end [year],change [%/year],paid_as,after_closing
analysis,analysis and testing,0,0,EUR,2,3,0,services,due
""",
    "laboratory_tests.csv": """
id,title,service,price [currency/sample],consumables [currency/sample],currency,samples [sample/month]
heat,damp heat,analysis,200,20,EUR,4
pull,pull test,analysis,100,2,USD,10
""",
    "laboratory_work.csv": """
id,test,equipment,equipment_hours [h/sample],staff,staff_hours [h/sample]
heat,heat,chamber,20,hands,1
heat_pull,heat,bench,0.5,hands,0.6
pull,pull,bench,0.5,hands,0.4
""",
    "laboratory_equipment.csv": """
id,title,hours [h/month],promised [%],hour_cost [currency/h],currency
chamber,climate chamber,400,70,4,EUR
bench,bench for pull tests,100,90,8,USD
""",
    "laboratory_staff.csv": """
id,title,role,working_day [h/day],hours [h/month],promised [%]
hands,people at the bench,engineers,8,40,25
""",
}


def laboratory_inputs() -> Inputs:
    """The tiny plan with these tables, as texts."""
    inputs = transfer_inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    return inputs


@lru_cache(maxsize=1)
def with_laboratory() -> Case:
    """The tiny plan with these tables."""
    return laboratory_inputs().load()
