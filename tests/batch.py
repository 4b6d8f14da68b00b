"""The tiny line with what batch tools have: phases, a carrier, loads lost whole; with floor, lots rated by soaking, markets."""
from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs, table

# by energy and by area, each alternative binding once; a break-even efficiency of each kind: from it up, up to it, any, none
MARKETS = """
id,title,currency,limited_by,per,energy_value [currency/kWh],reference_price [currency/Wp_stabilised],reference_duty [%],\
reference_efficiency [%],power_cost [currency/Wp_stabilised],power_upkeep [currency/Wp_stabilised/year],\
reference_yield [kWh/kWp_stabilised/year],yield_ratio [%],reference_temperature_coefficient [%/K],\
temperature_coefficient [%/K],temperature_excess [K],reference_degradation [%/year],degradation [%/year],\
discount_rate [%/year],power_premium [currency/Wp_stabilised],asked_price [currency/per],volume [per],most_share [%]
plain,plain,USD,energy,Wp_stabilised,0.1,5,20,16,0.8,0.02,1000,105,-0.4,-0.2,20,0.5,1,5,0.1,2,3000000,50
none,none,EUR,energy,Wp_stabilised,0.05,0.2,0,20,0.4,0.01,900,102,-0.35,-0.25,25,0.5,0.8,6,0,4,9000000,50
skin,skin,EUR,area,m2,0.02,1.5,0,15,0.5,0.01,700,110,-0.35,-0.25,30,0.7,0.9,4,0,40,9000,50
any,any,EUR,area,m2,0.15,3,0,15,0.5,0.01,700,110,-0.35,-0.25,30,0.7,0.9,4,0,20,8000,50
facade,facade,USD,area,m2,0.3,2,10,14,0.5,0.01,800,104,-0.35,-0.25,25,0.6,0.9,4,0.1,90,20000,50
roof,roof,EUR,area,m2,0.12,1.6,0,20,0.5,0.01,950,103,-0.35,-0.25,25,0.6,0.9,5,0,150,40000,50
"""
COVERINGS = """
id,title,market,covers_with,currency,area_cost [currency/m2],area_upkeep [currency/m2/year],delivery [currency/m2],\
premium [currency/m2],life [year]
plain_ours,ours,plain,our_module,USD,100,1,4,10,20
plain_reference,reference,plain,reference,USD,100,1,0,0,20
none_ours,ours,none,our_module,EUR,80,0.5,6,0,25
none_reference,reference,none,reference,EUR,80,0.5,0,0,30
skin_ours,ours,skin,our_module,EUR,40,0.5,6,20,25
skin_reference,reference,skin,reference,EUR,50,0.5,2,0,20
skin_stone,stone,skin,plain,EUR,190,0.1,9,15,50
any_ours,ours,any,our_module,EUR,40,0.5,6,20,25
any_reference,reference,any,reference,EUR,40,0.5,2,0,25
any_stone,stone,any,plain,EUR,230,0.1,9,15,40
facade_ours,ours,facade,our_module,USD,70,0.5,6,10,20
facade_reference,reference,facade,reference,EUR,60,0.5,2,5,25
facade_stone,stone,facade,plain,USD,400,0.2,9,0,40
roof_ours,ours,roof,our_module,EUR,15,0.3,4,0,25
roof_reference,reference,roof,reference,EUR,20,0.3,0,0,25
roof_bare,bare,roof,nothing,EUR,0,0,0,0,25
"""

TABLES = {
    "phases.csv": """
id,title,step,time [min],load_inside,loads_between [load],state
pump,pump down,coat,3,yes,1,productive
clean,clean,coat,12,no,4,scheduled_downtime
""",
    "phase_materials.csv": """
id,phase,item,amount [unit],unit,loss [%]
clean_gas,clean,nitrogen,8,Nm3,25
""",
    "heatings.csv": """
id,step,utility,glass_thickness [mm],glass_density [kg/m3],glass_heat_capacity [J/kg/K],glass_rise [K],carrier_mass [kg],\
carrier_heat_capacity [J/kg/K],carrier_rise [K]
warming,coat,electricity,4,2500,800,150,60,500,100
""",
    "carriers.csv": """
id,title,first_step,last_step,waiting_time [min],out_of_service [%],price [currency],currency,price_year,\
freight_and_duty [%],life [year],technical_life [year],maintenance [%/year],installed [tool]
frame,frame,coat,press,24,12.5,20000,USD,2026,4,4,4,5,4
""",
    "soaking.csv": """
id,step,retest,lot [1],lots_averaged [1],spread [%],spread_known,lot_to_lot [%],measurement_random [%],measurement_common [%],\
precision [%],coverage_probability [%],tolerance [%],claim [currency/Wp_stabilised],currency,holding_rate [%/year],\
interval_dose [kWh/m2],stability_limit [%],dose_constant [kWh/m2]
rating,soak,soak,48,1,4,given,3,6,1.5,4,95.44997361036416,2.5,4,USD,8,1,2,1.4426950408889634
""",
    "soaking_light.csv": """
id,title,plan,part_of_year [%],irradiance [kW/m2],clock
lamps,new lamps,rating,50,1.5,scheduled
old_lamps,old lamps,rating,50,0.75,scheduled
""",
    "markets.csv": MARKETS,
    "coverings.csv": COVERINGS,
    "power_classes.csv": """
id,title,least_power [Wp_stabilised/module],label [Wp_stabilised/module],price_share [%]
second,second grade,28,27,60
first,29.5 W,29.5,29.5,100
best,31 W,31,31,104
""",
    "power_spread.csv": """
id,title,module_spread [%],repeatability [%]
pilot,modules of a pilot line,4,1
""",
}

STEPS = {
    "cut": {"process_time": "72"},
    "coat": {"process_time": "720", "rate_efficiency": "90", "first_pass_yield": "80", "rework_share": "0", "load_loss": "25"},
    "press": {"process_time": "330", "first_pass_yield": "90", "processed_share": "100"},
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
    inputs.row("steps.csv", "soak,Soak,back,rack,7200,100,60,0,0,0,25")
    inputs.row("tools.csv", "rack,rack,30000,EUR,2026,0,0,10,10,20,5,5,0,2,0,operator,3,30,hall,no")
    inputs.row("areas.csv", "clean,clean hall,300,USD").cell("materials.csv", "box", "step", "soak")
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    return inputs


@lru_cache(maxsize=1)
def batch() -> Case:
    """The tiny line with phases, a carrier, floor and soaking."""
    return batch_inputs().load()
