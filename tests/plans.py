"""The tiny line as an investment, in round numbers: two years of building, then two of production."""

from __future__ import annotations

import dataclasses
from functools import lru_cache

from costmodel.case.checks.deal_checks import DEAL_TABLES
from costmodel.case.whole_case import Case

from .batch import COVERINGS, MARKETS
from .cases import Inputs, table

_ORIGIN = "  kind: invented\n  source: invented for this test\n  date: 2026-11-02\n  by: test author\n"
SECTIONS = {
    "plan.yaml": {
        "schedule": {
            "horizon": '"4"',
            "build_time": "24 month",
            "staff_before": "3 month",
            "delay": "0 month",
            "ramp_stretch": "1 1",
            "volume_share": "100 %",
            "last_replacement": "0 year",
        },
        "returns": {"required_return": "8 %/year", "equity_return": "10 %/year", "basis": "nominal", "inflation": "0 %/year"},
        "working_capital": {
            "receivable_time": "73 day",
            "finished_time": "0 day",
            "payable_time": "36.5 day",
            "bought_before": "0 month",
        },
        "outlay": {
            "contingency": "10 %",
            "grant": "0 %",
            "import_vat": "20 %",
            "vat_return_time": "3 month",
            "first_fill_time": "0 day",
            "commissioning_scrap": "0 %",
            "resale_share": "10 %",
            "resale_decline": "0 %/year",
        },
        "tax": {
            "rate": "25 %",
            "holiday": "0 year",
            "loss_use": "100 %",
            "loss_relief": "carried_forward",
            "loss_years": '"60"',
            "holiday_losses": "used",
        },
        "loan": {
            "part": "40 %",
            "interest": "8 %/year",
            "grace": "24 month",
            "term": "1 year",
            "form": "linear",
            "minimum_dscr": "1.2 1",
        },
        "closing": {
            "rule": "never",
            "loss_quarters": "2 1",
            "not_before": "0 year",
            "severance_time": "3 month",
            "dismantling": "0 EUR",
            "currency": "EUR",
            "stock_recovered": "50 %",
            "grant_time": "0 year",
            "shortfall": "owners",
        },
        "learning": {"rate": "0 %", "reference_volume": "1 MWp_stabilised", "convention": "unit"},
    },
    "deal.yaml": {
        "licence": {
            "currency": "EUR",
            "upfront": "50000 EUR",
            "upfront_time": "0 month",
            "royalty": "4 %",
            "royalty_per_watt": "0.01 EUR/Wp_stabilised",
            "per_watt_change": "0 %/year",
            "net_sales": "100 %",
            "royalty_cap": "100 %",
            "term": "1 year",
            "exclusive_time": "2 year",
            "territories": "here; next door",
            "expansion_fee": "0 EUR/Wp_stabilised",
            "sublicence_share": "0 %",
            "equity_share": "0 %",
        },
        "licensor": {
            "currency": "EUR",
            "discount_rate": "5 %/year",
            "upkeep": "0 EUR/year",
            "upkeep_time": "4 year",
            "damages": "0 EUR",
            "damages_time": "12 month",
            "contribution": "5000 EUR",
            "tax_rate": "0 %",
            "tax_relief": "exempt",
            "sunk_research": "100000 EUR",
            "recovered_share": "10 %",
        },
        "negotiation": {"licensor_weight": "50 %"},
    },
}
TABLES = {
    "ramp.csv": """
id,starts_share [%],yield_share [%]
first,50,80
""",
    "sales.csv": """
id,title,market,output_share [%],price [currency/per],currency,per,change [%/year]
all,all of it,unlimited,100,2,EUR,Wp_stabilised,0
""",
    "payments.csv": """
id,title,covers,part [%],time [month]
deposit,deposit,equipment,25,0
rest,rest,equipment,75,12
other,all else,other,100,3
""",
    "capital.csv": """
id,title,amount [currency],currency,treated,life [year],end_share [%]
hall,fit-out,100000,USD,asset,10,0
training,training,30000,EUR,expense,1,0
""",
    "payment_kinds.csv": """
id,title,withholding [%],gross_up [%],inventors_share [%],least_share [%],most_share [%]
licence,know-how,10,0,20,0,100
services,work,5,0,0,0,100
dividends,dividends,15,0,0,0,0
""",
    "deliveries.csv": """
id,title,days [person*day],day_cost [currency/person/day],overrun [%],travel [currency],pilot_time [day],\
pilot_cost [currency/day],price [currency],currency,begin [month],end [month],paid_as
work,all the work,20,500,20,6000,2,1000,0,EUR,0,12,services
""",
    "other_lines.csv": """
id,title,capital [currency/Wp_stabilised],cash_cost [currency/Wp_stabilised],price [currency/Wp_stabilised],\
change [%/year],currency,build_time [month],ramp_time [month],life [year]
card,another line,0.5,0.6,1,0,EUR,12,0,2
""",
}


def plan_inputs() -> Inputs:
    """The tiny line with plan.yaml, deal.yaml and their tables, as texts."""
    inputs = Inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    for file, sections in SECTIONS.items():
        inputs.documents[file] = "".join(
            f"{name}:\n" + "".join(f"  {key}: {value}\n" for key, value in values.items()) + _ORIGIN
            for name, values in sections.items()
        )
    return inputs


@lru_cache(maxsize=1)
def planned() -> Case:
    """The tiny line with its plan."""
    return plan_inputs().load()


EXPANSION = """
id,title,time [year],size [%],capital_share [%],fixed_share [%],life [year]
more,half as large again,1,50,80,60,10
"""


@lru_cache(maxsize=1)
def enlarged() -> Case:
    """The tiny line with its plan, enlarged a year after it starts, its royalty bought out a quarter before."""
    inputs = plan_inputs()
    inputs.tables["expansions.csv"] = table(EXPANSION)
    inputs.tables["buy_outs.csv"] = table("id,title,amount [currency],currency,time [year]\nend,end of the royalty,20000,EUR,0.75")
    return inputs.load()


LONG_RAMP = "id,starts_share [%],yield_share [%]\n" + "\n".join(f"quarter_{k},50,80" for k in range(1, 5))
SALES = """
id,title,market,output_share [%],price [currency/per],currency,per,change [%/year]
near,near,plain,40,2,EUR,Wp_stabilised,0
far,far,plain,20,1.5,EUR,Wp_stabilised,0
walls,walls,skin,40,120,EUR,m2,0
"""


def limited_inputs() -> Inputs:
    """The tiny plan with a year of ramp: 60 % sold in a market counted in watts, 40 % in one counted in area."""
    inputs = plan_inputs()
    inputs.tables |= {"ramp.csv": table(LONG_RAMP), "sales.csv": table(SALES), "markets.csv": table(MARKETS)}
    inputs.tables["coverings.csv"] = table(COVERINGS)
    for name, volume, most in (("plain", "2000000", "30"), ("skin", "10000", "60")):
        inputs.cell("markets.csv", name, "volume", volume).cell("markets.csv", name, "most_share", most)
    return inputs


@lru_cache(maxsize=1)
def limited() -> Case:
    """The tiny plan in two markets that take less than it makes in full swing."""
    return limited_inputs().load()


def lasting_inputs() -> Inputs:
    """The tiny plan over ten years, eight of them in use; prices stay, and nothing is lost in resale but 20 % a year."""
    inputs = plan_inputs().other_yaml("plan.yaml", 'horizon: "4"', 'horizon: "10"')
    return inputs.other_yaml("plan.yaml", "resale_decline: 0 %/year", "resale_decline: 20 %/year")


@lru_cache(maxsize=1)
def worn() -> Case:
    """Ten years in which equipment wears out before and after it is written off; coaters are overhauled."""
    inputs = lasting_inputs().other_yaml("plan.yaml", "inflation: 0 %/year", "inflation: 2 %/year")
    inputs.other_yaml("plan.yaml", "last_replacement: 0 year", "last_replacement: 1.5 year")
    inputs.other_yaml("plan.yaml", "grant: 0 %", "grant: 20 %")
    for name, life, technical in (("coater", "3", "4"), ("saw", "10", "3"), ("stamp", "2", "2")):
        inputs.cell("tools.csv", name, "life", life).cell("tools.csv", name, "technical_life", technical)
    inputs.tables["refurbishments.csv"] = table(OVERHAUL)
    inputs.tables["book_depreciation.csv"] = table("id,covers,method,factor [1],salvage [%]\ntools,tools,straight_line,1,10")
    inputs.tables["tax_depreciation.csv"] = table(
        "id,covers,method,life [year],factor [1],first_year [%]\ntools,tools,straight_line,5,1,50"
    )
    return inputs.load()


OVERHAUL = "id,title,covers,equipment,cost [%],added_life [year]\ncoaters,overhaul,tools,coater,25,2"


def without_licence(case: Case) -> Case:
    """The case with nothing paid for the know-how."""
    return dataclasses.replace(case, deal_sections=None, **{name: {} for name in DEAL_TABLES})
