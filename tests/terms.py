"""The tiny line with terms of purchase, peaks, service, spare parts, scrap, and equipment written off in other ways."""
from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs, table

TABLES = {
    "price_breaks.csv": """
id,item,from_quantity [unit],unit,discount [%]
glass_some,glass,20000,m2,4
glass_more,glass,30000,m2,10
glass_most,glass,90000,m2,15
wipe_many,wipe,1000000,piece,50
""",
    "buying.csv": """
id,item,minimum_order [unit],shelf_life [month],take_or_pay [unit],unit,stock_time [day]
glass,glass,0,12,0,m2,36.5
nitrogen,nitrogen,0,12,20000,Nm3,0
foil,foil,12000,6,0,m2,73
""",
    "containers.csv": """
id,title,item,content [unit],unit,stay [day],rent [currency/day],currency
bundle,bundle of hydrogen,hydrogen,20,Nm3,73,0.8,USD
folder,box of boxes,box,50,piece,10,0.2,EUR
""",
    "scrap.csv": """
id,title,step,lost_share [%],value [currency],currency
cullet,broken glass,cut,50,-0.4,USD
second,second grade,press,60,8,EUR
""",
    "demand_charges.csv": """
id,title,utility,charge [currency/unit/year],currency,unit,coincidence_factor [%]
peak,peak of the year,electricity,60,USD,kW,80
""",
    "services.csv": """
id,title,tool,interval [month],clock,price [currency],currency,price_year
pumps,pump rebuild,coater,6,calendar,900,EUR,2026
blades,spindle change,saw,1,work,1500,USD,2026
""",
    "spares.csv": """
id,title,tool,price [currency],per,currency,price_year,life [year],technical_life [year]
source,source and pump,coater,12000,tool,USD,2026,6,6
spindle,spindle,saw,5000,plant,EUR,2026,5,5
""",
    "facilities.csv": """
id,title,price [currency],currency,price_year,life [year],technical_life [year],maintenance [%/year],footprint [m2],area
air,air plant,30000,EUR,2026,10,10,3,0,hall
""",
    "facility_utilities.csv": """
id,facility,utility,draw [unit],unit
air_power,air,electricity,5,kW
""",
    "book_depreciation.csv": """
id,covers,method,factor [1],salvage [%]
tools,tools,production,1,10
systems,facilities,declining_balance,2,0
""",
    "tax_depreciation.csv": """
id,covers,method,life [year],factor [1],first_year [%]
tools,tools,declining_balance,5,2,50
spares,spares,sum_of_years,4,1,100
systems,facilities,rates,3,1,100
""",
    "tax_rates.csv": """
id,schedule,rate [%]
first,systems,50
second,systems,30
third,systems,20
""",
    "power_classes.csv": """
id,title,least_power [Wp_stabilised/module],label [Wp_stabilised/module],price_share [%]
low,low,28.2,28,90
high,high,30.3,30.3,100
""",
    "measured_powers.csv": """
id,title,power [Wp_stabilised/module]
one,module 1,26.9
two,module 2,28.3
three,module 3,29.2
four,module 4,30.1
""",
}


def terms_inputs() -> Inputs:
    """The tiny line as texts, with these tables."""
    inputs = Inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    return inputs


@lru_cache(maxsize=1)
def terms() -> Case:
    """The tiny line with these tables."""
    return terms_inputs().load()
