"""An invented warranty whose claims are many enough to be seen in every figure, and a case with it."""

from __future__ import annotations

from .cases import Inputs, table

WARRANTY = """
id,title,currency,product_term [year],power_term [year],start_power [%],end_power [%],early_failures [%],later_failures [%/year],\
first_year_loss [%],first_year_spread [%],degradation [%/year],degradation_spread [%/year],claimed_share [%],\
module_cost [currency/module],freight [currency/module],labour [currency/module],discount_rate [%/year],deducted
modules,modules of the plant,USD,3.25,6.5,97,90,2,1.5,2.5,1.2,1.1,0.4,70,40,6,30,3,when_used
"""


def warranted(inputs: Inputs) -> Inputs:
    """The case with this warranty, in place of the degradation of our module in its markets."""
    inputs.tables["warranty.csv"] = table(WARRANTY)
    for row in inputs.tables.get("markets.csv", [])[1:]:
        inputs.cell("markets.csv", row[0], "degradation", "0")
    return inputs
