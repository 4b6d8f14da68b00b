"""The tiny plan with a transfer of six tasks, in round numbers; the tests say what follows from them."""

from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs, table
from .plans import plan_inputs

TABLES = {
    "transfer_tasks.csv": """
id,title,delivery,after,optimistic [month],most_likely [month],pessimistic [month]
test,acceptance test,work,runs,1,2,3
drawings,drawings,work,start,1,2,3
papers,papers,work,drawings,0.5,1,1.5
hall,hall made ready,licensee,start,4,5,12
tools,tools made,licensee,drawings,3,4,5
runs,first runs,work,hall; tools,0.5,1,4.5
""",
    "transfer_work.csv": """
id,task,resource,place,days [day]
drawings,drawings,engineers,home,8
proofs,drawings,line,home,2
runs,runs,engineers,site,6
rates,runs,testers,site,2
test,test,testers,site,4
""",
    "transfer_gates.csv": """
id,title,task,probability [%]
frozen,design frozen,drawings,95
passed,test passed,test,80
""",
    "transfer_resources.csv": """
id,title,resource_type,available [day/month],day_cost [currency/day],currency
engineers,engineers,staff,10,500,EUR
testers,testers,staff,4,500,USD
line,pilot line,pilot_line,2,1000,EUR
""",
    "commitments.csv": """
id,title,resource,begin [month],end [month],load [day/month],probability [%]
first,first licensee,engineers,0,1.5,4,100
offer,offer to a second,engineers,1,3,8,25
coupons,coupons,line,0,6,1,50
""",
}
FEES = """
id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as,counted_from
first,first module,40000,EUR,1,90,0,services,passed
"""
DATES = """
id,title,time [month],expected [month],spread [month],grace [week],damages [currency/week],cap [currency],latest [month],\
rejection [currency],currency,counted_from
passed,test passed,11,0.5,1,0,1000,1000000,100,0,EUR,passed
"""


def transfer_inputs() -> Inputs:
    """The tiny plan with these tables, as texts; it begins in March 2027."""
    inputs = plan_inputs()
    inputs.tables |= {file: table(text) for file, text in (TABLES | {"fees.csv": FEES, "acceptance_dates.csv": DATES}).items()}
    return inputs.other_yaml("plan.yaml", "last_replacement: 0 year", 'last_replacement: 0 year\n  first_month: "2027-03"')


@lru_cache(maxsize=1)
def transferred() -> Case:
    """The tiny plan with these tables."""
    return transfer_inputs().load()
