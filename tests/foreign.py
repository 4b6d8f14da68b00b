"""A short route of another trade: mirrors for glasshouses, in another currency, counted in area; nothing grows in batches.

Everything is invented. The tables that a case may leave out are left out: no films, coatings, phases, carriers, soaking or
ranges. The module of the model is a pane here, and its power stands for nothing.
"""
from __future__ import annotations

from functools import lru_cache

from costmodel.case.whole_case import Case

from .cases import Inputs

EVIDENCE = """\
  kind: invented
  source: invented for this test
  date: 2026-11-02
  by: test author
"""
DOCUMENT = f"""\
title: Mirrors for glasshouses
story: Seven steps from raw pane to crate, in a trade that has nothing to do with silicon.
currency: QRS

product:
  length: 800 mm
  width: 500 mm
  active_area_share: 100 %
  initial_efficiency: 1 %
  stabilisation_ratio: 100 %
{EVIDENCE}
site:
  scheduled_time: 40 week
  crews: 3
{EVIDENCE}
target:
  mode: sized
  basis: m2
  output: 300000 m2
{EVIDENCE}"""

TABLES = {
    "steps.csv": """
id,title,stage,tool,process_time [min],rate_efficiency [%],first_pass_yield [%],rework_share [%],rework_success [%],\
load_loss [%],processed_share [%]
uncrate,Uncrate,pane,lifter,0.5,90,99.4,0,0,0,100
rinse_in,Rinse,pane,rinser,0.7,95,99.8,50,90,0,100
prime,Prime,coat,primer,9,92,98.5,0,0,1.5,100
mirror,Mirror,coat,mirror_bath,21,88,96,25,70,0.5,100
lacquer,Lacquer,coat,lacquer_line,0.6,97,98.2,40,80,0,100
rinse_out,Rinse again,pane,rinser,0.6,95,99.7,0,0,0,85
crate,Crate,pane,crater,3,80,99.9,0,0,0,100
""",
    "tools.csv": """
id,title,price [currency],currency,price_year,freight_and_duty [%],installation [%],life [month],technical_life [month],\
load_size [plate],planned_downtime [%],unplanned_downtime [%],\
engineering_time [%],maintenance [%/year],operators [person],role,installed [tool],footprint [m2],area,in_all_tools
lifter,pane lifter,190000,QRS,2025,3,4,96,96,1,1,2,0,3,0.5,hand,1,24,shed,yes
rinser,rinser,61000,VNT,2026,9,6,120,120,1,3,2,0,4,0.3,hand,1,30,shed,yes
primer,primer bath,270000,QRS,2026,2,8,84,84,12,4,3,1,5,0.4,bath_keeper,2,45,shed,yes
mirror_bath,mirror bath,98000,VNT,2026,9,12,84,84,12,6,5,2,6,0.7,bath_keeper,3,60,shed,yes
lacquer_line,lacquer line,530000,QRS,2024,2,10,120,120,1,4,6,0,4,1,hand,1,80,yard,yes
crater,crating bench,42000,QRS,2026,1,2,120,120,8,1,1,0,2,2,hand,2,50,yard,yes
""",
    "areas.csv": """
id,title,charge [currency/m2/month],currency
shed,heated shed,31,QRS
yard,roofed yard,2.2,VNT
""",
    "materials.csv": """
id,step,item,amount [unit/per],unit,per,loss [%]
pane,uncrate,pane,1,piece,plate_entering,0.5
rinse_water,rinse_in,water,9,litre,m2,10
primer_salt,prime,salt,0.4,kg,load,2
mirror_salt,mirror,salt,11,g,m2,6
lacquer,lacquer,lacquer,90,ml,m2,12
pads,rinse_out,pad,1.5,piece,tool_hour,0
slips,crate,paper,1,piece,plate,4
crates,crate,crate,0.04,piece,module,0
""",
    "prices.csv": """
id,title,group,price [currency/unit],currency,unit,price_year,freight [%],duty [%]
pane,raw pane,glass,13.5,QRS,piece,2026,6,0
water,soft water,baths,6,QRS,m3,2026,0,0
salt,bath salt,baths,38,VNT,kg,2026,5,12
lacquer,lacquer,baths,4.6,VNT,litre,2026,5,12
pad,felt pad,wear,7,QRS,piece,2026,0,0
paper,slip paper,packing,0.12,QRS,piece,2026,0,0
crate,crate,packing,210,QRS,piece,2026,2,0
""",
    "utilities.csv": """
id,title,price [currency/unit],currency,unit,price_year
power,electric power,0.9,QRS,kWh,2026
steam,heat from steam,0.04,VNT,kWh,2026
""",
    "tool_utilities.csv": """
id,tool,utility,when_processing [unit],when_idle [unit],unit
rinser_power,rinser,power,7,1,kW
primer_steam,primer,steam,30,22,kW
mirror_steam,mirror_bath,steam,44,40,kW
lacquer_power,lacquer_line,power,38,9,kW
""",
    "crew.csv": """
id,title,heads [person],per,wage [currency/month],currency,burden [%]
hand,hand,2,crew,9100,QRS,31
bath_keeper,keeper of the baths,0,crew,11800,QRS,31
office,office,2.5,plant,3900,VNT,20
""",
    "money.csv": """
id,title,code,exchange_rate [1],change [%/year]
qrs,crown of the test,QRS,1,0
vnt,thaler of the test,VNT,4.2,0
""",
}


def foreign_inputs() -> Inputs:
    """The mirrors as texts."""
    return Inputs(DOCUMENT, TABLES)


@lru_cache(maxsize=1)
def foreign() -> Case:
    """The mirrors."""
    return foreign_inputs().load()
