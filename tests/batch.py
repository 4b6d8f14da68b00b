"""The tiny line with what batch tools have: phases, a carrier, loads lost whole; with floor, lots rated by soaking, markets."""
from __future__ import annotations

from functools import lru_cache

from costmodel.case.records import Case

from .cases import Inputs, table

# of each kind that a break-even efficiency can be: from it up, up to it, any, none; at the price asked and at cost
MARKETS = """
id,title,currency,reference_price [currency/Wp_stabilised],reference_duty [%],reference_efficiency [%],\
area_cost [currency/m2],power_cost [currency/Wp_stabilised],area_upkeep [currency/m2/year],\
power_upkeep [currency/Wp_stabilised/year],reference_yield [kWh/kWp_stabilised/year],yield_ratio [%],\
reference_temperature_coefficient [%/K],temperature_coefficient [%/K],temperature_excess [K],\
reference_degradation [%/year],degradation [%/year],lifetime [year],discount_rate [%/year],delivery [currency/m2],\
area_premium [currency/m2],power_premium [currency/Wp_stabilised],asked_price [currency/Wp_stabilised],\
per,volume [MWp_stabilised],most_share [%]
plain,plain,USD,5,20,16,100,0.8,1,0.02,1000,105,-0.4,-0.2,20,0.5,1,20,5,4,10,0.1,2,Wp_stabilised,3,50
skin,skin,EUR,1.5,0,15,-120,0.5,0.5,0.01,700,110,-0.35,-0.25,30,0.7,0.9,25,4,6,20,0,4,Wp_stabilised,0.5,50
any,any,EUR,3,0,15,-200,0.5,0.5,0.01,700,110,-0.35,-0.25,30,0.7,0.9,25,4,6,20,0,1,Wp_stabilised,0.5,50
none,none,EUR,0.2,0,20,80,0.4,0.5,0.01,900,102,-0.35,-0.25,25,0.5,0.8,25,6,6,0,0,4,Wp_stabilised,9,50
"""

TABLES = {
    "phases.csv": """
id,title,step,time [min],load_inside,every [load]
pump,pump down,coat,3,yes,1
clean,clean,coat,12,no,4
""",
    "phase_materials.csv": """
id,phase,item,amount [unit],unit,loss [%]
clean_gas,clean,nitrogen,8,Nm3,25
""",
    "carriers.csv": """
id,title,first_step,last_step,waiting_time [min],out_of_service [%],price [currency],currency,price_year,\
freight_and_duty [%],life [year],technical_life [year],maintenance [%/year],installed [tool]
frame,frame,coat,press,24,12.5,20000,USD,2026,4,4,4,5,4
""",
    "soaking.csv": """
id,step,lot [1],spread [%],precision [%],coverage [1],tolerance [%],claim [currency/Wp_stabilised],currency,holding_rate [%/year]
rating,soak,48,4,1,2,1,4,USD,8
""",
    "markets.csv": MARKETS,
}

STEPS = {
    "cut": {"own_time": "72"},
    "coat": {"own_time": "720", "rate_efficiency": "90", "first_pass_yield": "80", "rework_share": "0", "load_loss": "25"},
    "press": {"own_time": "390", "first_pass_yield": "90", "processed_share": "100"},
}
DOWNTIME = {"planned_downtime": "1", "unplanned_downtime": "9", "engineering_time": "10"}
TOOLS = {
    "saw": {"footprint": "20"},
    "coater": {"footprint": "50", "area": "clean"} | DOWNTIME,
    "stamp": {"footprint": "10", "load_size": "10", "operators": "0.2"} | DOWNTIME,
}


def batch_inputs() -> Inputs:
    """Four steps: cut, coat in batches, press, and a quarter of the plates under light; coat and press on one carrier."""
    inputs = Inputs().yaml("1.08 MWp_stabilised", "583.2 kWp_stabilised")
    for file, rows in (("steps.csv", STEPS), ("tools.csv", TOOLS)):
        for identity, cells in rows.items():
            for column, value in cells.items():
                inputs.cell(file, identity, column, value)
    inputs.row("steps.csv", "soak,Soak,back,rack,28800,100,60,0,0,0,25")
    inputs.row("tools.csv", "rack,rack,30000,EUR,2026,0,0,10,10,20,5,5,0,2,0,operator,3,30,hall")
    inputs.row("areas.csv", "clean,clean hall,300,USD").cell("materials.csv", "box", "step", "soak")
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    return inputs


@lru_cache(maxsize=1)
def batch() -> Case:
    """The tiny line with phases, a carrier, floor and soaking."""
    return batch_inputs().load()
