"""Whole published cases: each a folder beside this file, read, checked and run as any case is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

from ...case.changes import with_values
from ...case.load import load_case
from ...case.whole_case import Case
from ...model.evaluate import Results, evaluate, evaluate_costs
from ...model.plan.plan_figures import Quarter
from ..conventions import at_year_ends, time_to_recover, value_of
from ..solve import solve
from .agreement import Published
from .published_finance import rate_of

FOLDER = Path(__file__).parent / "published_cases"
SUBJECT = "whole cases"
MILLION = 1e6
YEAR_ENDS = "the source counts flows at year ends, the plan at quarter ends: here the cash of each year, at its end"
ROUNDED = "the source rounds costs and licence payments of each year before it subtracts them"
LENT = "each quarter of the plan stands for a month of the source"


@cache
def ran(name: str) -> tuple[Case, Results]:
    """A published case by the name of its folder, and its figures.

    >>> ran("machine")[0].title
    'A machine written off by a table of rates'
    """
    case = load_case(FOLDER / name)
    return case, evaluate(case)


def quarters(name: str) -> list[Quarter]:
    """The columns of the plan of a published case."""
    return list(ran(name)[1].plan.quarters.values())


def cash(name: str, unit: float = 1.0) -> list[float]:
    """Cash of the project on the first day and in each year."""
    return [flow / unit for flow in at_year_ends([float(each.free_cash) for each in quarters(name)])]


def worth(name: str, rate: float, unit: float = 1.0) -> list[float]:
    """Net present value with the cash of each year at its end."""
    return [value_of(cash(name, unit), rate)]


def owners_cash(name: str) -> list[float]:
    """Cash of the owners on the first day and in each year."""
    return at_year_ends([float(each.owners_cash) for each in quarters(name)])


def written_off_by_activity(miles: float) -> float:
    """Depreciation of the truck in the ledger of a year with so many miles."""
    case = with_values(ran("truck")[0], {"target.output": miles})
    return float(evaluate_costs(case).ledger.by_category["depreciation"].cost)


def tax_write_offs(name: str) -> list[float]:
    """Depreciation for tax of each year before the last, in which what is left is written off too."""
    return at_year_ends([float(each.tax_depreciation) for each in quarters(name)])[1:-1]


def _rate(name: str) -> list[float]:
    """The rate in % at which the cash of the years, each at its end, is worth nothing."""
    return [100 * rate for rate in rate_of(*cash(name))]


def _in_and_out(flows: Sequence[float]) -> float:
    """What comes in over what goes out."""
    return math.fsum(flow for flow in flows if flow > 0) / -math.fsum(flow for flow in flows if flow < 0)


def _plant() -> list[float]:
    """Cash of the years of production of the chemical plant, without land and stock that come back, in millions."""
    *earlier, last = cash("chemical_plant", MILLION)[3:]
    return [*earlier, last - 10 - 30]


def _discounted_payback() -> list[float]:
    """Time from the start of production until its discounted cash repays the discounted fixed capital."""
    capital = value_of([0.0, 90.0, 60.0], 0.1)
    return [time_to_recover(capital, [flow / 1.1 ** (3 + number) for number, flow in enumerate(_plant())])]


def _mean_return() -> list[float]:
    """Mean profit of a year of production over the fixed capital, in %."""
    profit = math.fsum(float(each.profit) for each in quarters("chemical_plant"))
    return [100 * profit / 10 / (150 * MILLION)]


def _discounted() -> list[float]:
    """Cash of the chemical plant at 10 %, each year at its end."""
    return [flow / 1.1**number for number, flow in enumerate(cash("chemical_plant", MILLION))]


def _royalty_for_the_lump_sum() -> list[float]:
    """The royalty in % at which payments are worth the lump sum to the licensor."""
    found = solve(ran("lump_sum")[0], "licence.royalty", "deal.licensor.received", 500_000.0)
    return [100 * answer.value for answer in found.answers]


def _royalties(name: str) -> list[float]:
    """Royalties of the years."""
    return at_year_ends([float(each.royalty) for each in quarters(name)])[1:]


def _per_m2(*categories: str) -> Callable[[], list[float]]:
    """Cost of a square metre of the thin-film module in these categories."""
    return lambda: [ran("thin_film")[1].ledger.by_category[name].cost_per_m2 for name in categories]


FIRST = "Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., example 10.1"
SECOND = FIRST.replace("10.1", "10.2")
PARK = "Park, Contemporary Engineering Economics, 5th ed., solution of problem 10.1"
FORUM = "capital budgeting problem with its solution, analystforum.com, thread 24980"
HOMEWORK = "worked solution, wizedu.com, question 287892, part a"
ACTIVITY = "units of activity in an accounting textbook, coursehero.com, file 6545388"
REGULATION = "26 CFR 1.482-4(f)(6)(iii), United States tax regulations"
SHARING = "26 CFR 1.482-7(g)(4)(viii), example 1, United States tax regulations"
BOND = "Energy Project Financing: Resources and Strategies for Success, table 2-6, copy at issuhub.com, 4299, page index 35"
NO_BOND = BOND.replace("2-6", "2-3").replace("35", "29")
ZWEIBEL = "Zweibel, Issues in thin film PV manufacturing cost reduction, 1999, table 3"
PLANT, THIRD, LOAN, BONDED = "chemical plant: ", "three years: ", "loan: ", "equipment paid by a bond: "
SOLD = "the source prints the sale of equipment in a row of its own; here it is in the cash of the last year"


def _value(
    what: str, source: str, printed: str, compute: Callable[[], Sequence[float]], note: str = "", digit: float = 0.5
) -> Published:
    return Published(SUBJECT, what, source, printed, compute, note, digit)


VALUES: tuple[Published, ...] = (
    _value(PLANT + "cumulative cash, millions", FIRST, "170.5", lambda: [math.fsum(cash("chemical_plant", MILLION))]),
    _value(PLANT + "cumulative cash ratio", FIRST, "1.897", lambda: [_in_and_out(cash("chemical_plant"))]),
    _value(
        PLANT + "payback of fixed capital from the start of production, years",
        FIRST,
        "3.85",
        lambda: [time_to_recover(150.0, _plant())],
        "the source counts fixed capital alone and begins at the start of production; our payback has all cash from day one",
    ),
    _value(PLANT + "mean return on fixed capital, %", FIRST, "11.4", _mean_return),
    _value(
        PLANT + "net present value at 10 %, millions",
        SECOND,
        "17.12",
        lambda: worth("chemical_plant", 0.1, MILLION),
        YEAR_ENDS,
    ),
    _value(PLANT + "present value ratio at 10 %", SECOND, "1.10", lambda: [_in_and_out(_discounted())], YEAR_ENDS),
    _value(PLANT + "discounted payback from the start of production, years", SECOND, "5.94", _discounted_payback, YEAR_ENDS),
    _value(
        "machine: cash of the first day and of six years",
        PARK,
        "-65000 19000 22120 18792 16795 16795 15298",
        lambda: cash("machine"),
    ),
    _value("machine: net present value at 15 %", PARK, "5170.15", lambda: worth("machine", 0.15), YEAR_ENDS),
    _value(THIRD + "cash of the first day and of three years", FORUM, "-75000 32000 32000 53000", lambda: cash("three_years")),
    _value(THIRD + "net present value at 15 %", FORUM, "11871.04", lambda: worth("three_years", 0.15), YEAR_ENDS),
    _value(THIRD + "internal rate of return, %", FORUM, "23.5", lambda: _rate("three_years"), YEAR_ENDS),
    _value(
        "placement machine: cash of the first day and of ten years",
        HOMEWORK,
        "-400000" + " 65730" * 9 + " 165730",
        lambda: cash("placement_machine"),
    ),
    _value(
        "placement machine: net present value at 12 %",
        HOMEWORK,
        "3586",
        lambda: worth("placement_machine", 0.12),
        YEAR_ENDS,
    ),
    _value(
        "truck: depreciation of five years by the miles driven",
        ACTIVITY,
        "22000 14000 18000 16000 10000",
        lambda: [written_off_by_activity(miles) for miles in (110_000, 70_000, 90_000, 80_000, 50_000)],
        "the source has a life of 400,000 miles, here 3.2 years of 125,000 each",
    ),
    _value(
        LOAN + "repayments of twelve months",
        "numpy-financial, docstring of ipmt",
        "200.58 201.96 203.35 204.74 206.15 207.56 208.99 210.42 211.87 213.32 214.79 216.26",
        lambda: [float(each.repaid) for each in quarters("loan")[1:13]],
        LENT,
    ),
    _value(
        LOAN + "interest of twelve months",
        "numpy-financial, docstring of ipmt",
        "17.17 15.79 14.40 13.01 11.60 10.18 8.76 7.32 5.88 4.42 2.96 1.49",
        lambda: [float(each.interest) for each in quarters("loan")[1:13]],
        LENT,
    ),
    _value(
        BONDED + "write-off for tax of four years",
        BOND,
        "357250 612250 437250 312250",
        lambda: tax_write_offs("equipment_bond"),
    ),
    _value(
        BONDED + "cash of the owners of five years",
        BOND,
        "500965 587665 528165 485665 -1062960",
        lambda: owners_cash("equipment_bond")[1:],
        SOLD,
    ),
    _value(
        BONDED + "net present value for the owners at 18 %",
        BOND,
        "953927",
        lambda: [value_of(owners_cash("equipment_bond"), 0.18)],
        YEAR_ENDS,
    ),
    _value(
        BONDED + "cash without it, of the first day and of five years",
        NO_BOND,
        "-2500000 748465 835165 775665 733165 1684541",
        lambda: cash("equipment_bond"),
        SOLD,
        digit=1.0,
    ),
    _value(
        BONDED + "net present value without it at 18 %",
        NO_BOND,
        "320675",
        lambda: worth("equipment_bond", 0.18),
        YEAR_ENDS,
    ),
    _value(
        "lump sum: royalties of five years at 5 %", REGULATION, "125000 130000 135000 135000 137500", lambda: _royalties("lump_sum")
    ),
    _value("lump sum: royalty that is worth it, %", REGULATION, "5", _royalty_for_the_lump_sum),
    _value(
        "fifteen years under licence: operating income",
        SHARING,
        "0 0 30 60 90 97 105 112 112 101 91 83 61 46 35",
        lambda: cash("fifteen_years")[1:],
        ROUNDED,
        digit=1.0,
    ),
    _value(
        "fifteen years under licence: present value at 13 %, flows at the start of each year",
        SHARING,
        "425",
        lambda: [1.13 * each for each in worth("fifteen_years", 0.13)],
        "the printed value is from memory; " + ROUNDED,
        digit=1.0,
    ),
    _value("thin-film module: materials, $/m2", ZWEIBEL, "20", _per_m2("materials")),
    _value(
        "thin-film module: equipment, energy, floor, labour, $/m2",
        ZWEIBEL,
        "10 2 1 10",
        _per_m2("depreciation", "utilities", "building", "labour"),
        "the source prints no inputs of these; the case has invented ones that give them",
    ),
    _value("thin-film module: total, $/m2", ZWEIBEL, "43", lambda: [ran("thin_film")[1].ledger.total.cost_per_m2]),
)
