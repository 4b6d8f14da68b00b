"""Invented cases in which the second model is compared with the package: one with every table, and changes of it."""

from .batch import COVERINGS, MARKETS
from .cases import Inputs, table
from .plans import plan_inputs
from .warranties import warranted

RICH = {
    "ramp.csv": """
id,starts_share [%],yield_share [%]
first,30,60
second,55,80
third,85,95
""",
    "sales.csv": """
id,title,market,output_share [%],price [currency/per],currency,per,change [%/year]
near,near,plain,45,2.4,EUR,Wp_stabilised,-1
walls,walls,skin,35,150,USD,m2,2
rest,all else,unlimited,20,60,USD,module,1
""",
    "payments.csv": """
id,title,covers,part [%],time [month]
deposit,deposit,equipment,25,1
rest,rest,equipment,60,10
taken,taken over,equipment,15,20
order,order,systems,40,4
built,built,systems,60,14
other,first of all else,other,50,3
last,last of all else,other,50,17
""",
    "capital.csv": """
id,title,amount [currency],currency,treated,life [year],end_share [%]
hall,fit-out,100000,USD,asset,10,30
design,engineering,40000,EUR,asset,4.5,0
training,training,30000,EUR,expense,1,0
""",
    "land.csv": "id,title,amount [currency],currency,end_share [%]\nplot,plot,80000,USD,120",
    "facilities.csv": """
id,title,price [currency],currency,price_year,life [year],technical_life [year],maintenance [%/year],footprint [m2],area
cooling,cooling plant,90000,EUR,2024,9,11,3,20,hall
""",
    "spares.csv": """
id,title,tool,price [currency],per,currency,price_year,life [year],technical_life [year]
pump,pump,coater,15000,tool,USD,2026,4,3.5
""",
    "carriers.csv": """
id,title,first_step,last_step,waiting_time [min],out_of_service [%],price [currency],currency,price_year,freight_and_duty [%],\
life [year],technical_life [year],maintenance [%/year],installed [tool]
tray,tray,press,press,40,5,2500,USD,2026,4,3,2.5,6,8
""",
    "growth_exponents.csv": """
id,grows,driver,reference_size [unit],unit,exponent [1],installed [unit]
cooling,facilities.cooling,good_area,12000,m2,0.6,12000
""",
    "indices.csv": "id,covers,year,factor [1]\nsystems,facilities,2024,1.08",
    "book_depreciation.csv": """
id,covers,method,factor [1],salvage [%]
tools,tools,declining_balance,2,5
facilities,facilities,sum_of_years,1,0
""",
    "tax_depreciation.csv": """
id,covers,method,life [year],factor [1],first_year [%]
tools,tools,declining_balance,5,2,50
spares,spares,sum_of_years,3,1,50
facilities,facilities,rates,1,1,100
""",
    "tax_rates.csv": "id,schedule,rate [%]\none,facilities,40\ntwo,facilities,35\nthree,facilities,25",
    "refurbishments.csv": "id,title,covers,equipment,cost [%],added_life [year]\nsaw,overhaul,tools,saw,30,2.5",
    "escalations.csv": "id,covers,change [%/year]\nlabour,labour,3\nmaterials,materials,-0.5",
    "expansions.csv": """
id,title,time [year],size [%],capital_share [%],fixed_share [%],life [year]
more,half as large again,2.3,50,80,60,6
""",
    "other_lines.csv": """
id,title,capital [currency/Wp_stabilised],cash_cost [currency/Wp_stabilised],price [currency/Wp_stabilised],\
change [%/year],currency,build_time [month],ramp_time [month],life [year]
card,another line,0.5,0.6,1,-1,EUR,14,7,4
glass,a coater,0.9,0.5,0.7,2,USD,12,0,6
""",
    "payment_kinds.csv": """
id,title,withholding [%],gross_up [%],inventors_share [%],least_share [%],most_share [%]
licence,know-how,10,40,20,0,100
services,work,5,0,0,0,100
goods,margins,0,0,0,0,100
dividends,dividends,15,0,0,0,0
""",
    "fees.csv": """
id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as,counted_from
look,disclosure,9000,USD,0,100,80,licence,first_day
proof,acceptance,20000,EUR,21,90,0,licence,passed
""",
    "royalty_steps.csv": "id,time [year],factor [%]\nlater,1.6,75\nlast,3.1,50",
    "minimum_royalties.csv": """
id,title,amount [currency/year],currency,begin [year],end [year],after_closing
early,early years,60000,USD,2.5,5,due
late,late years,45000,EUR,5,7.5,stops
""",
    "deliveries.csv": """
id,title,days [person*day],day_cost [currency/person/day],overrun [%],travel [currency],pilot_time [day],\
pilot_cost [currency/day],price [currency],currency,begin [month],end [month],paid_as
design,design package,20,500,20,6000,2,1000,0,EUR,0,11,services
start_up,start-up,30,400,10,9000,0,0,14000,USD,18,31,services
""",
    "transfer_tasks.csv": """
id,title,delivery,after,optimistic [month],most_likely [month],pessimistic [month]
drawings,drawings,design,start,2,3,5
lists,lists,design,start,1,4,6
hall,hall,licensee,start,5,9,20
order,tools,licensee,drawings; lists,4,7,9
runs,first runs,start_up,order; hall,2,2,2
""",
    "transfer_work.csv": """
id,task,resource,place,days [day]
drawings,drawings,engineers,home,14
lists,lists,engineers,home,5
trials,lists,line,home,2
runs,runs,engineers,site,20
tests,runs,testers,site,11
""",
    "transfer_gates.csv": """
id,title,task,probability [%]
frozen,design frozen,lists,95
passed,test passed,runs,85
""",
    "transfer_resources.csv": """
id,title,resource_type,available [day/month],day_cost [currency/day],currency
engineers,engineers,staff,12,510,EUR
testers,testers,staff,5,430,USD
line,pilot line,pilot_line,4,1000,EUR
""",
    "commitments.csv": """
id,title,resource,begin [month],end [month],load [day/month],probability [%]
other,another licensee,engineers,1,9,6,50
""",
    "yearly_services.csv": """
id,title,price [currency/year],cost [currency/year],currency,begin [year],end [year],change [%/year],paid_as,after_closing
tests,testing,0,0,USD,2,6.4,2,services,due
study,study,5000,7000,EUR,3,5,1,services,stops
""",
    "laboratory_tests.csv": """
id,title,service,price [currency/sample],consumables [currency/sample],currency,samples [sample/month]
heat,damp heat,tests,250,20,EUR,2.5
pull,pull test,tests,40,3,USD,8
""",
    "laboratory_work.csv": """
id,test,equipment,equipment_hours [h/sample],staff,staff_hours [h/sample]
heat,heat,chamber,60,hands,1.5
heat_power,heat,flasher,0.4,hands,0.5
pull,pull,bench,0.5,hands,0.3
""",
    "laboratory_equipment.csv": """
id,title,hours [h/month],promised [%],hour_cost [currency/h],currency
chamber,climate chamber,700,60,1.5,EUR
flasher,flasher,120,70,25,USD
bench,bench,150,10,8,EUR
""",
    "laboratory_staff.csv": """
id,title,role,working_day [h/day],hours [h/month],promised [%]
hands,people at the bench,testers,7.5,90,85
""",
    "service_effects.csv": """
id,title,service,address,how,change [unit],unit,probability [%],begin [month],end [month],in_plan
quick,a shorter ramp,deliveries.start_up,schedule.ramp_stretch,multiplies,90,%,60,18,60,no
sound,a better yield,yearly_services.tests,steps.cut.first_pass_yield,adds,1.5,%,80,24,48,yes
""",
    "supplies.csv": """
id,title,covers,part [%],margin [%],paid_as
tools,coaters,tools,40,12,goods
parts,parts,spares,100,15,goods
trays,trays,carriers,80,20,goods
""",
    "supplied_materials.csv": """
id,title,item,price [currency/unit],own_cost [currency/unit],currency,unit,most [unit],change [%/year],begin [month],\
free_from [month],end [month],second_source,paid_as
vent,nitrogen,nitrogen,1.1,0.4,USD,Nm3,900,-9,19,50,100,anyone,goods
boxes,boxes,box,1.9,1.2,EUR,piece,6000,1,0,40,90,one maker,goods
glue,foil,foil,1.9,1.7,EUR,m2,90000,3,22,22,77.5,two makers,services
""",
    "guarantees.csv": """
id,title,power [Wp_stabilised/module],transfer_loss [%],transfer_spread [%],module_spread [%],sample [1],measurement [%],\
coverage [1],damages [currency/%],cap [currency],currency,time [month],measured_by,test_cost [currency],test_share [%],\
minimum [%],rejection [currency],retest_cost [currency],retest_passed [%],counted_from
power,mean power,29.5,1,2.5,3,40,1.2,0.5,2500,9000,USD,20,both,700,30,92,11000,900,35,passed
""",
    "performance_guarantees.csv": """
id,title,measure,of,unit,level [unit],transfer_loss [%],transfer_spread [%],day_spread [%],measurement [%],days [1],tests [1],\
measured_by,test_cost [currency],test_share [%],damages [currency/%],cap [currency],minimum [%],rejection [currency],\
retest_cost [currency],retest_passed [%],counted_under,currency,time [month],counted_from
rate,throughput,throughput,line,module/h,40,1,3,4,0.5,5,2,licensee,600,40,900,7000,85,12000,800,30,good,USD,20,passed
good,yield,line_yield,line,%,56,1,2,3,0.3,5,2,licensee,500,50,800,9000,90,15000,1100,40,alone,EUR,27,frozen
up,uptime,uptime,coater,%,80,0,3,6,0.5,30,1,licensee,400,0,500,4000,80,5000,0,0,alone,USD,33,first_day
gas,consumption,consumption,nitrogen,Nm3/module,14,1,3,2,1,5,2,both,200,100,300,2500,80,4000,250,20,good,EUR,20,passed
""",
    "acceptance_dates.csv": """
id,title,time [month],expected [month],spread [month],grace [week],damages [currency/week],cap [currency],latest [month],\
rejection [currency],currency,counted_from
acceptance,acceptance,33,19.5,1.5,2,700,6000,5,9000,USD,passed
""",
    "sublicences.csv": """
id,title,income [currency/year],currency,begin [year],end [year],probability [%]
roofs,maker of roofs,20000,USD,4,6.7,40
""",
    "prospects.csv": """
id,title,territory,value [currency],currency,probability [%],window [year],lost [%],entry_time [year],price_effect [%],\
volume_effect [%]
near,a neighbour,here,90000,EUR,30,3,80,1.3,3,4
far,one far away,outside,50000,USD,50,4,60,1,2,2
""",
    "other_ways.csv": """
id,title,delay [year],cost [currency],currency,probability [%],value_share [%],royalty [%]
alone,alone,2,150000,EUR,40,100,0
other,another licence,1,90000,USD,75,70,3
""",
}
YAML = {
    "plan.yaml": (
        ('horizon: "4"', 'horizon: "9"'), ("staff_before: 3 month", "staff_before: 4 month"), ("delay: 0 month", "delay: 2 month"),
        ("build_time: 24 month", "build_time: 20 month"), ("ramp_stretch: 1 1", "ramp_stretch: 1.4 1"),
        ("volume_share: 100 %", "volume_share: 90 %"), ("last_replacement: 0 year", "last_replacement: 1.1 year"),
        ("inflation: 0 %/year", "inflation: 2 %/year"), ("basis: nominal", "basis: real"),
        ("finished_time: 0 day", "finished_time: 20 day"),
        ("bought_before: 0 month", "bought_before: 2 month"), ("grant: 0 %", "grant: 15 %"),
        ("vat_return_time: 3 month", "vat_return_time: 5 month"),
        ("first_fill_time: 0 day", "first_fill_time: 9 day"), ("commissioning_scrap: 0 %", "commissioning_scrap: 4 %"),
        ("resale_decline: 0 %/year", "resale_decline: 12 %/year"), ("term: 1 year", "term: 3.6 year"),
        ("dismantling: 0 EUR", "dismantling: 70000 EUR"), ("grant_time: 0 year", "grant_time: 5 year"),
        ("not_before: 0 year", "not_before: 1.5 year"),
        ("learning:\n  rate: 0 %", "learning:\n  rate: 6 %"),
    ),
    "deal.yaml": (
        ("upfront_time: 0 month", "upfront_time: 1 month"), ("per_watt_change: 0 %/year", "per_watt_change: 1.5 %/year"),
        ("net_sales: 100 %", "net_sales: 96 %"), ("royalty_cap: 100 %", "royalty_cap: 4.8 %"), ("term: 1 year", "term: 5.2 year"),
        ("expansion_fee: 0 EUR", "expansion_fee: 0.05 EUR"), ("sublicence_share: 0 %", "sublicence_share: 30 %"),
        ("equity_share: 0 %", "equity_share: 4 %"),
        ("upkeep: 0 EUR/year", "upkeep: 4000 EUR/year"), ("damages: 0 EUR", "damages: 3000 EUR"),
        ("damages_time: 12 month", "damages_time: 31 month"),
        ("tax_rate: 0 %", "tax_rate: 20 %"), ("tax_relief: exempt", "tax_relief: credit"),
    ),
}  # fmt: skip
BUY_OUT = "id,title,amount [currency],currency,time [year]\nend,end of the royalty,60000,USD,3.4"


def rich(*edits: tuple[str, str, str]) -> Inputs:
    """The case with every table, some texts of its YAML files replaced."""
    inputs = plan_inputs()
    inputs.tables |= {file: table(text) for file, text in (RICH | {"markets.csv": MARKETS, "coverings.csv": COVERINGS}).items()}
    for name, volume, most in (("plain", "1500000", "30"), ("skin", "16000", "40")):
        inputs.cell("markets.csv", name, "volume", volume).cell("markets.csv", name, "most_share", most)
    inputs.cell("money.csv", "usd", "change", "1.5").cell("steps.csv", "press", "processed_share", "100")
    for file, changes in YAML.items():
        for old, new in changes:
            inputs.other_yaml(file, old, new)
    for file, old, new in edits:
        inputs.other_yaml(file, old, new)
    return inputs


def without_debt() -> Inputs:
    """No loan, nominal rates, a licensor with tax and no credit, who counts in dollars."""
    inputs = rich(
        ("plan.yaml", "part: 40 %", "part: 0 %"),
        ("plan.yaml", "basis: real", "basis: nominal"),
        ("deal.yaml", "tax_relief: credit", "tax_relief: none"),
    )
    inputs.documents["deal.yaml"] = inputs.documents["deal.yaml"].replace(
        "licensor:\n  currency: EUR", "licensor:\n  currency: USD"
    ).replace("4000 EUR/year", "4000 USD/year").replace("3000 EUR", "3000 USD")  # fmt: skip
    for amount in ("5000", "100000"):
        inputs.documents["deal.yaml"] = inputs.documents["deal.yaml"].replace(f": {amount} EUR", f": {amount} USD")
    return inputs


def annuity_and_buy_out() -> Inputs:
    """An annuity, a buy-out, learning by the average, a technical life between years."""
    inputs = rich(
        ("plan.yaml", "form: linear", "form: annuity"),
        ("plan.yaml", "convention: unit", "convention: cumulative_average"),
        ("plan.yaml", "grace: 24 month", "grace: 31 month"),
    )
    inputs.tables["buy_outs.csv"] = table(BUY_OUT)
    del inputs.tables["supplied_materials.csv"]  # a margin on all materials, in place of materials one by one
    inputs.row("supplies.csv", "gases,gases,materials,10,8,goods")
    return inputs.cell("tools.csv", "coater", "technical_life", "2.6").cell("tools.csv", "stamp", "technical_life", "1.7")


def closed_by_loss(shortfall: str = "creditors", relief: str = "carried_back_two_years", change: str = "-18") -> Inputs:
    """Prices that fall until the plant loses cash and closes; dear at first, so that it closes late."""
    inputs = rich(
        ("plan.yaml", "rule: never", "rule: by_loss"),
        ("plan.yaml", "shortfall: owners", f"shortfall: {shortfall}"),
        ("plan.yaml", "loss_relief: carried_forward", f"loss_relief: {relief}"),
        ("plan.yaml", "grace: 24 month", "grace: 40 month"),
    )
    for name in ("near", "walls", "rest"):
        inputs.cell("sales.csv", name, "change", change)
    return inputs


def losses_limited() -> Inputs:
    """Losses that make up for a part of a profit only, expire after two years; a holiday that keeps them."""
    inputs = rich(
        ("plan.yaml", "loss_use: 100 %", "loss_use: 60 %"),
        ("plan.yaml", 'loss_years: "60"', 'loss_years: "2"'),
        ("plan.yaml", "holiday: 0 year", "holiday: 1.3 year"),
        ("plan.yaml", "holiday_losses: used", "holiday_losses: kept"),
    )
    return inputs.cell("sales.csv", "near", "price", "3")


def two_limits() -> Inputs:
    """Markets that take little, no royalty by watts, minimums that bind, a licensor exempt from tax."""
    inputs = rich(
        ("deal.yaml", "royalty_per_watt: 0.01 EUR", "royalty_per_watt: 0 EUR"),
        ("deal.yaml", "royalty: 4 %", "royalty: 0.5 %"),
        ("deal.yaml", "tax_relief: credit", "tax_relief: exempt"),
    )
    return inputs.cell("markets.csv", "plain", "most_share", "9").cell("minimum_royalties.csv", "late", "after_closing", "due")


def by_production() -> Inputs:
    """Tools that the books write off by production, all equipment without rows for tax."""
    inputs = rich().cell("book_depreciation.csv", "tools", "method", "production")
    del inputs.tables["tax_depreciation.csv"], inputs.tables["tax_rates.csv"]
    return inputs


def closed_unpaid() -> Inputs:
    """A plant that closes before all of its equipment is paid."""
    inputs = closed_by_loss("creditors", "carried_forward", "-25").other_yaml("plan.yaml", "grace: 40 month", "grace: 50 month")
    return inputs.cell("payments.csv", "taken", "time", "49")


def warranted_and_closed():
    """A plant that closes early and settles the provision, whose tax has deducted it before."""
    return warranted(closed_by_loss()).cell("warranty.csv", "modules", "deducted", "when_provided")


CASES = {
    "plain": plan_inputs,
    "rich": rich,
    "warranted": lambda: warranted(rich()),
    "closed_warranted": warranted_and_closed,
    "without_debt": without_debt,
    "annuity_and_buy_out": annuity_and_buy_out,
    "closed_creditors_bear": closed_by_loss,
    "closed_owners_bear": lambda: closed_by_loss("owners", "carried_forward", "-30"),
    "closed_late_other_income": lambda: closed_by_loss("creditors", "other_income", "-12"),
    "closed_unpaid": closed_unpaid,
    "losses_limited": losses_limited,
    "two_limits": two_limits,
    "late_start": lambda: rich(
        ("plan.yaml", "delay: 2 month", "delay: 11.5 month"), ("plan.yaml", "holiday: 0 year", "holiday: 2 year")
    ),
    "by_production": by_production,
    "closed_carried_back": lambda: closed_by_loss("owners", "carried_back_one_year", "-9"),
    "no_tax_no_inflation": lambda: rich(
        ("plan.yaml", "  rate: 25 %", "  rate: 0 %"), ("plan.yaml", "inflation: 2 %", "inflation: 0 %")
    ),
}
