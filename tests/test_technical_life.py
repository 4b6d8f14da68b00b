"""Technical life apart from accounting life: worked by hand on ten years of the tiny plan, of which the last eight are in use.

Its coaters cost 4 x 250,000 and a tenth more in reserve: 1,100,000. Saws cost 396,000, the stamp 55,000, the hall 55,000; these are
written off over ten years at 50,600 a year. Prices do not rise."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import evaluate

from .cases import demo, table
from .plan_laws import violated_by_plan
from .plans import OVERHAUL, lasting_inputs, limited, limited_inputs, planned, worn
from .refusals import faults

YEAR = 31_536_000.0
COATERS, OTHERS = 1_100_000, 50_600
BARE = 800_000  # price of the coaters without freight, installation and reserve


def near(value: float, scale: float = 0.0):
    return pytest.approx(value, rel=1e-10, abs=1e-11 * scale)


def coaters(technical: str, accounting: str, extra: dict[str, str] | None = None) -> Case:
    inputs = lasting_inputs().cell("tools.csv", "coater", "technical_life", technical)
    inputs.cell("tools.csv", "coater", "life", accounting)
    inputs.tables |= {file: table(text) for file, text in (extra or {}).items()}
    return inputs.load()


def use_years(case: Case, name: str) -> list[float]:
    return [getattr(year, name) for year in evaluate(case).plan.use_years.values()][:8]


def test_a_tool_is_overhauled_at_four_years_and_replaced_at_six():
    case = coaters("4", "3", {"refurbishments.csv": OVERHAUL})
    # overhaul in the fifth year of use for a quarter of the price, replacement in the seventh
    assert use_years(case, "replaced") == [0, 0, 0, 0, near(275_000), 0, near(COATERS), 0]
    a_year = COATERS / 3
    over = 275_000 / 2  # the overhaul is written off over the two years that it adds
    each = [a_year, a_year, a_year, 0, over, over, a_year, a_year]
    assert use_years(case, "books") == [near(OTHERS + amount) for amount in each]
    assert use_years(case, "lost") == [near(0.0, COATERS)] * 8
    plan = evaluate(case).plan
    # coaters are two years old at the end, the rest eight; a tenth of the bare price new, a fifth less each year
    assert plan.quarters["q040"].end_value == near(0.1 * (BARE * 0.8**2 + 350_000 * 0.8**8))
    assert plan.quarters["q040"].disposal == near(COATERS / 3 + 506_000 - 8 * OTHERS - plan.quarters["q040"].end_value)


def test_what_is_left_in_the_books_at_a_replacement_is_lost_in_that_year():
    case = coaters("3", "5")
    assert use_years(case, "replaced") == [0, 0, 0, near(COATERS), 0, 0, near(COATERS), 0]
    assert use_years(case, "books") == [near(OTHERS + 220_000)] * 8
    assert use_years(case, "lost") == [near(amount, COATERS) for amount in (0, 0, 0, 440_000, 0, 0, 440_000, 0)]
    assert use_years(case, "tax")[3] == near(OTHERS + 220_000 + 440_000)  # tax follows the books here
    quarters = list(evaluate(case).plan.quarters.values())[1:]
    assert [q.disposal for q in quarters[19:25]] == [near(0.0, COATERS), *[near(110_000)] * 4, near(0.0, COATERS)]
    assert quarters[20].tax_depreciation == near((OTHERS + 660_000) / 4)


def test_tax_loses_what_its_own_schedule_has_left():
    tax = "id,covers,method,life [year],factor [1],first_year [%]\ntools,tools,straight_line,4,1,100"
    case = coaters("3", "5", {"tax_depreciation.csv": tax})
    # tools 1,551,000 over four years, the hall 5,500; a quarter of the coaters is left at three years and lost
    each = 1_551_000 / 4 + 5_500
    assert use_years(case, "tax")[2:5] == [near(each), near(each + 275_000), near(275_000 + 5_500)]


def test_a_tool_that_outlives_its_accounting_life_stays_at_its_salvage_value():
    books = "id,covers,method,factor [1],salvage [%]\ntools,tools,straight_line,1,10"
    case = coaters("4", "3", {"book_depreciation.csv": books})
    rest = 0.9 * 45_100 + 5_500
    each = [330_000, 330_000, 330_000, 0, 330_000, 330_000, 330_000, 0]
    assert use_years(case, "books") == [near(rest + amount) for amount in each]
    assert use_years(case, "lost") == [near(amount, COATERS) for amount in (0, 0, 0, 0, 110_000, 0, 0, 0)]


def test_a_life_of_no_whole_years_acts_in_shares_of_two_years():
    case = coaters("3.25", "5")
    # worn out at 3.25 and 6.5 years: three quarters in the fourth year of use, a quarter in the fifth; half and half later
    parts = [0, 0, 0, 0.75, 0.25, 0, 0.5, 0.5]
    assert use_years(case, "replaced") == [near(part * COATERS) for part in parts]
    # of the first coaters 40 % is left after three years, 20 % after four
    assert use_years(case, "lost")[3:5] == [near(0.75 * 440_000), near(0.25 * 220_000)]
    assert use_years(case, "books")[3] == near(OTHERS + 220_000)  # three quarters new, a quarter old


@pytest.mark.parametrize("life", [2.0, 3.0, 3.25, 4.0, 6.5, 7.0, 8.0])
def test_what_a_plan_is_worth_is_continuous_in_the_technical_life(life):
    near_by = np.array([life - 1e-6, life, life + 1e-6])
    for case, tool in ((coaters("4", "3", {"refurbishments.csv": OVERHAUL}), "coater"), (demo(), "green_laser")):
        found = evaluate(with_values(case, {f"tools.{tool}.technical_life": near_by * YEAR})).plan.project.npv
        assert np.ptp(found) < 1e-5 * evaluate(case).plan.capital


def test_a_longer_technical_life_is_never_worse():
    lives = np.arange(1.0, 9.01, 0.05)
    untaxed = with_values(coaters("4", "3"), {"tax.rate": 0.0})  # with tax, a loss of the last year may stay unused
    found = evaluate(with_values(untaxed, {"tools.coater.technical_life": lives * YEAR})).plan.project.npv
    assert all(after >= before - 1e-6 for before, after in pairwise(found))
    assert found[-1] > found[0] + COATERS


def test_nothing_is_replaced_after_the_last_time_for_it():
    # coaters wear out four years before the end
    before_end = [0.0, 3.0, 3.75, 3.875, 4.0, 5.0]
    cases = [with_values(coaters("4", "3"), {"schedule.last_replacement": t * YEAR}) for t in before_end]
    spent = [sum(use_years(case, "replaced")) for case in cases]
    assert spent == [near(part * COATERS, COATERS) for part in (1, 1, 1, 0.5, 0, 0)]


def test_ten_years_in_use_of_the_demo_are_replaced_until_three_and_a_quarter_years_before_its_end():
    worn_out = {f"tools.{name}.technical_life": 10 * YEAR for name in demo().tools}
    for before_end, spent in ((3.0, True), (3.25, False)):
        plan = evaluate(with_values(demo(), worn_out | {"schedule.last_replacement": before_end * YEAR})).plan
        again = list(plan.assets["tools_coater"].bought.values())[1:]
        assert [amount > 0 for amount in again] == [spent and year == 9 for year in range(14)]


def test_a_piece_is_sold_for_its_age_whatever_its_accounting_life():
    new = evaluate(coaters("7", "3")).plan.assets["tools_coater"]
    assert new.resale["y08"] == near(BARE * 0.1 * 0.8)  # replaced after seven years, one before the end
    halfway = evaluate(coaters("7.5", "3")).plan.assets["tools_coater"]  # half is bought by the end, half a year old
    assert halfway.resale["y08"] == near(BARE * 0.1 * (0.5 * 0.8**8 + 0.5 * 0.8**0.5))
    dearer = evaluate(with_values(coaters("7", "3"), {"returns.inflation": 0.03 / YEAR})).plan.assets["tools_coater"]
    assert dearer.resale["y08"] == near(BARE * 1.03**10 * 0.1 * 0.8)


def test_the_ledger_writes_off_over_the_accounting_life():
    short, long = (evaluate(coaters(technical, "5")) for technical in ("2", "20"))
    assert short.ledger.total.cost == long.ledger.total.cost
    assert short.plan.project.npv < long.plan.project.npv


@pytest.mark.parametrize("case", [worn, limited, planned], ids=lambda case: case.__name__)
def test_plans_worked_again_piece_by_piece_agree(case):
    assert list(violated_by_plan(case())) == []


def test_draws_of_lives_give_what_each_life_gives():
    lives = np.array([1.0, 1.3, 2.5, 4.0, 9.0])
    added = np.array([1.0, 2.2, 3.0, 1.7, 5.0])
    drawn = {"tools.coater.technical_life": lives * YEAR, "refurbishments.coaters.added_life": added * YEAR}
    plans = evaluate(with_values(worn(), drawn)).plan
    for draw in range(len(lives)):
        one = evaluate(with_values(worn(), {address: float(values[draw]) for address, values in drawn.items()})).plan
        assert plans.project.npv[draw] == near(one.project.npv, 1e7)
        assert max(abs(q.balance) for q in one.quarters.values()) < 1e-9 * one.capital


REFUSED = {
    "a technical life of less than a year": (
        lambda: limited_inputs().cell("tools.csv", "saw", "technical_life", "0.5"),
        ["tools.csv, row 2, column 'technical_life': found 0.5 year; allowed: a number from 1 [year]"],
    ),
    "an overhaul of a tool that is not there": (
        lambda: _with_overhauls("coaters,overhaul,tools,coter,25,2"),
        ["refurbishments.csv, row 2, column 'equipment': found 'coter'; allowed: an id of tools.csv; did you mean 'coater'?"],
    ),
    "two overhauls of one tool": (
        lambda: _with_overhauls("coaters,overhaul,tools,coater,25,2\nagain,again,tools,coater,25,2"),
        ["refurbishments.csv, row 3, column 'equipment': found 'coater', which 'coaters' has too; allowed: each once"],
    ),
}


def _with_overhauls(rows: str):
    inputs = lasting_inputs()
    inputs.tables["refurbishments.csv"] = table(f"{OVERHAUL.splitlines()[0]}\n{rows}")
    return inputs


@pytest.mark.parametrize("name", REFUSED)
def test_bad_lives_are_refused(name):
    change, messages = REFUSED[name]
    assert faults(change().load) == messages
