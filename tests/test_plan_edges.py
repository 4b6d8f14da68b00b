"""Rules of the plan at the edges of years, terms and use, by hand; each was found where two implementations differed."""

import pytest

from costmodel.case.changes import with_values
from costmodel.model.evaluate import evaluate
from costmodel.model.plan.tax import holiday_to_date, in_holiday, taxes
from costmodel.model.plan.timing import running

from .cases import table
from .plans import plan_inputs, planned

YEAR = 31_536_000.0


def near(value, scale=0.0):
    return pytest.approx(value, rel=1e-10, abs=1e-10 * scale)


def closed_by_loss(**changes):
    """The plan of plans.py with a rule of closing, at a price that is too low from the start of production in quarter 9."""
    inputs = plan_inputs().other_yaml("plan.yaml", "rule: never", "rule: by_loss").cell("sales.csv", "all", "price", "0.2")
    for name, (old, new) in changes.items():
        inputs.other_yaml("plan.yaml", f"{name}: {old}", f"{name}: {new}")
    return evaluate(inputs.load()).plan


def test_quarters_before_production_do_not_shorten_a_tax_holiday():
    """Production starts after quarter 7, the holiday ends half a year later, after quarter 9."""
    case = with_values(planned(), {"tax.holiday": YEAR / 2})
    run = running(13, 7.0)
    parts = holiday_to_date(in_holiday(case, run, 7.0), run)
    assert list(parts) == [*[0.0] * 8, 1.0, 1.0, near(1 / 2), near(1 / 3), near(1 / 4)]
    # the second year makes 100 - 60 = 40, all of its production in the holiday; the third 400, a quarter of it in the holiday
    paid = taxes(case, [*[0.0] * 5, -20.0, -20.0, -20.0, *[100.0] * 5], parts).paid
    assert paid[:9] == [0.0] * 9
    assert sum(paid[9:]) == near(0.25 * 400 * 3 / 4)


def test_another_line_has_its_holiday_by_years_as_the_plant_has():
    """Built in a year, it earns 0.4 / 0.5 of its cost a year, half of which it writes off; the holiday ends in mid year."""
    plan = evaluate(with_values(planned(), {"tax.holiday": 1.5 * YEAR})).plan
    found = [quarter.free_cash / plan.capital for quarter in plan.others["card"].quarters.values()]
    assert sum(found[1:5]) == near(-1.0)
    assert sum(found[5:9]) == near(0.8)  # all of the second year is in the holiday
    assert sum(found[9:13]) == near(0.8 - 0.25 * 0.3 / 2)  # half of the third


def test_quarters_that_lose_cash_are_counted_to_the_end_as_if_the_plant_never_closed():
    plan = closed_by_loss()
    wanted = [0.0] * 9 + [float(number) for number in range(1, 9)]  # the first whole quarter of production is 9
    assert [quarter.lost_quarters for quarter in plan.never_closed.values()] == wanted
    assert [quarter.lost_quarters for quarter in plan.quarters.values()] == wanted
    inputs = plan_inputs().cell("sales.csv", "all", "price", "0.2")
    assert [quarter.lost_quarters for quarter in evaluate(inputs.load()).plan.quarters.values()] == wanted


def test_a_fee_paid_after_the_term_is_not_in_the_books_after_the_end_of_use():
    """A term of a year ends with quarter 12; 9,000 are paid with quarter 14 and are lost with the end of the plan."""
    for rule in ("never", "by_loss"):
        inputs = plan_inputs().other_yaml("plan.yaml", "rule: never", f"rule: {rule}")
        inputs.tables["fees.csv"] = table(
            "id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as\n"
            "late,late,9000,EUR,42,100,0,licence"
        )
        plan = evaluate(inputs.load()).plan
        assert plan.ending.early == 0.0
        values = [quarter.licence_value for quarter in plan.quarters.values()]
        assert values[12:] == [near(0.0, 1e5), near(0.0, 1e5), near(9_000), near(9_000), 0.0]


def test_the_least_cover_counts_the_year_in_which_the_bank_loses_all():
    """Repayment would begin after quarter 11, the plant closes after 10, and clearing the site takes more than there is."""
    changes = {"shortfall": ("owners", "creditors"), "dismantling": ("0 EUR", "900000 EUR"), "grace": ("24 month", "33 month")}
    plan = closed_by_loss(**changes)
    year, last = plan.years["y03"], plan.quarters["q010"]
    assert (last.repaid, last.forgiven) == (0.0, near(642_400))  # 40 % of 1,606,000
    assert year.debt_service == near(642_400 + 2 * 0.02 * 642_400)  # and interest of two quarters at 8 % a year
    assert (plan.minimum_dscr_status, plan.minimum_dscr) == (1.0, near(year.cash_for_debt / year.debt_service))
    assert plan.years_below_minimum_dscr == 1.0
