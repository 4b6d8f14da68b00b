"""The tiny line with facility systems, people, overheads and parts in store that grow with the plant."""
from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs, table

TABLES = {
    "facilities.csv": """
id,title,price [currency],currency,price_year,life [year],technical_life [year],maintenance [%/year],footprint [m2],area
abatement,abatement unit,120000,EUR,2026,10,10,5,25,hall
cooler,cooling plant,80000,USD,2026,10,10,3,10,hall
gate,gate,7000,EUR,2026,10,10,0,5,hall
""",
    "facility_utilities.csv": """
id,facility,utility,draw [unit],unit
abatement_power,abatement,electricity,3,kW
cooler_power,cooler,electricity,6,kW
""",
    "demand_charges.csv": """
id,title,utility,charge [currency/unit/year],currency,unit,coincidence_factor [%]
peak,peak of the year,electricity,60,USD,kW,80
""",
    "overheads.csv": """
id,title,amount [currency/per],currency,per
audit,audit,9000,USD,year
waste,waste,4000,EUR,year
permit,permit,1000,EUR,year
mark,mark,0.5,EUR,module
""",
    "spares.csv": """
id,title,tool,price [currency],per,currency,price_year,life [year],technical_life [year]
spindle,spindle,saw,5000,plant,EUR,2026,5,5
source,source,coater,12000,tool,USD,2026,6,6
""",
    "growth_steps.csv": """
id,grows,driver,size_per_unit [unit],unit,installed [1]
abatement,facilities.abatement,coater,2,tool,2
operator,crew.operator,all_tools,3,tool,3
spindle,spares.spindle,saw,2,tool,2
permit,overheads.permit,good_modules,12000,module,3
""",
    "growth_exponents.csv": """
id,grows,driver,reference_size [unit],unit,exponent [1],installed [unit]
cooler,facilities.cooler,good_modules,36000,module,0.6,36000
audit,overheads.audit,good_area,18000,m2,0.5,18000
waste,overheads.waste,hall,40,m2,0.9,60
""",
}


def growing_inputs() -> Inputs:
    """The texts of the case."""
    inputs = Inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    inputs.row("steps.csv", "shelve,Shelve,back,rack,720,100,100,0,0,0,100")
    inputs.tables["steps.csv"].insert(3, inputs.tables["steps.csv"].pop())  # before the press
    inputs.row("tools.csv", "rack,rack,900,EUR,2026,0,0,10,10,1,0,0,0,0,0,operator,9,0,hall,no")  # counts in no driver
    return inputs.cell("tools.csv", "coater", "footprint", "20").cell("crew.csv", "operator", "heads", "0.9")


@lru_cache(maxsize=1)
def growing() -> Case:
    """The case."""
    return growing_inputs().load()
