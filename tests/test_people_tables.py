"""People by role and metals at their quote, in tables, worked by hand on the tiny line (test_hand_worked.py)."""

from __future__ import annotations

import pytest

from costmodel.model.evaluate import evaluate
from costmodel.present.buying_report import metals_table
from costmodel.present.cost_report import people_table

from .cases import Inputs, tiny


def test_people_are_pooled_by_role_and_whole_in_each_crew():
    # 3 saws, 4 coaters and 1 stamp at 0.4, 0.2 and 0.4 operators: 2.4, so 3 in each of 2 crews; and 1 at no tool in each crew
    assert [use.tools for use in evaluate(tiny()).line.tools.values()] == [3.0, 4.0, 1.0]
    row, total = people_table(tiny(), evaluate(tiny())).rows
    assert row[:5] == ["operator", "2.40", "3.00", "2.00", "8.00"]
    assert row[5] == "288,000" == total[5]  # 8 x 30,000 x 1.2


@pytest.mark.parametrize("fee", ["200", "300"])
def test_metal_fee_and_credit_stand_apart(fee):
    case = Inputs().cell("prices.csv", "metal", "price", fee).load()
    results = evaluate(case)
    bought = results.ledger.coatings["mirror"]
    (row,) = metals_table(case, results).rows
    numbers = [float(cell.replace(",", "").replace("−", "-")) for cell in row[1:]]
    # quote 800, fee as stated, credit at 800 less 37.5 %: 500 for each kg recovered; no freight or duty
    wanted = [bought.bought, 800 * bought.bought, float(fee) * bought.bought, -500 * bought.recovered]
    assert numbers == pytest.approx([*wanted, sum(wanted[1:])], rel=5e-3)
