"""Published values of depreciation, through the functions by which a case writes off its tools."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from ...model.ledger.depreciation import declining_balance_shares, straight_line, straight_line_shares, sum_of_years_shares
from .agreement import Published

SUBJECT = "depreciation"
TAX_OFFICE = "IRS Publication 946, Table"
MISPRINT = "the copy read prints 5.83 for the last year, and its row adds up to 100.30"

HALF_YEAR = {  # Table A-1, half-year convention, % of the basis: the factor of the declining balance, and the row
    3: (2.0, "33.33 44.45 14.81 7.41"),
    5: (2.0, "20.00 32.00 19.20 11.52 11.52 5.76"),
    7: (2.0, "14.29 24.49 17.49 12.49 8.93 8.92 8.93 4.46"),
    10: (2.0, "10.00 18.00 14.40 11.52 9.22 7.37 6.55 6.55 6.56 6.55 3.28"),
    15: (1.5, "5.00 9.50 8.55 7.70 6.93 6.23 5.90 5.90 5.91 5.90 5.91 5.90 5.91 5.90 5.91 2.95"),
}
FIRST_QUARTER = {  # Table A-2, mid-quarter convention, first quarter
    3: "58.33 27.78 12.35 1.54",
    5: "35.00 26.00 15.60 11.01 11.01 1.38",
    7: "25.00 21.43 15.31 10.93 8.75 8.74 8.75 1.09",
    10: "17.50 16.50 13.20 10.56 8.45 6.76 6.55 6.55 6.56 6.55 0.82",
}
THIRD_QUARTER = {  # Table A-4, third quarter
    3: "25.00 50.00 16.67 8.33",
    5: "15.00 34.00 20.40 12.24 11.30 7.06",
    7: "10.71 25.51 18.22 13.02 9.30 8.85 8.86 5.53",
    10: "7.50 18.50 14.80 11.84 9.47 7.58 6.55 6.55 6.56 6.55 4.10",
}
STRAIGHT = {  # the first, a middle and the last year of a life with half a year first
    3: "16.67 33.33 16.67",
    5: "10.00 20.00 10.00",
    7: "7.14 14.29 7.14",
    10: "5.00 10.00 5.00",
    15: "3.33 6.67 3.33",
    20: "2.50 5.00 2.50",
}
ROW = 0.65  # units of the last digit: the tables round so that their rows add up to 100.00


def _percent(shares: Sequence[float]) -> list[float]:
    return [100 * share for share in shares]


def _declining(life: int, factor: float, part: float) -> list[float]:
    return _percent(declining_balance_shares(float(life), life + 1, factor, part))


def _tables() -> list[Published]:
    """The tables of the tax office, a row each."""
    rows = [
        Published(
            SUBJECT,
            f"declining balance, {life} years, half a year first",
            f"{TAX_OFFICE} A-1",
            row,
            partial(_declining, life, factor, 0.5),
            digit=ROW,
        )
        for life, (factor, row) in HALF_YEAR.items()
    ]
    for quarter, table, rest, name in (("first", FIRST_QUARTER, 0.875, "A-2"), ("third", THIRD_QUARTER, 0.375, "A-4")):
        rows += [
            Published(
                SUBJECT,
                f"declining balance, {life} years, from the middle of the {quarter} quarter",
                f"{TAX_OFFICE} {name}",
                row,
                partial(_declining, life, 2.0, rest),
                MISPRINT if (quarter, life) == ("third", 7) else "",
                digit=ROW,
            )
            for life, row in table.items()
        ]
    return rows


def _first_middle_last(life: int) -> list[float]:
    shares = _percent(straight_line_shares(float(life), life + 1, 0.5))
    return [shares[0], shares[1], shares[-1]]


VALUES: tuple[Published, ...] = (
    *_tables(),
    *(
        Published(
            SUBJECT,
            f"straight line, {life} years, half a year first",
            "Cengage federal-tax text, Table 7.3",
            row,
            partial(_first_middle_last, life),
            digit=ROW,
        )
        for life, row in STRAIGHT.items()
    ),
    Published(
        SUBJECT,
        "150 with a salvage value of 10 over 7 years, second year by three methods, first by declining balance",
        "Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., Example 9.21",
        "20 30 30.6 42.86",
        lambda: [
            150 * straight_line_shares(7.0, 7, salvage=10 / 150)[1],
            150 * sum_of_years_shares(7.0, 7, salvage=10 / 150)[1],
            *(150 * declining_balance_shares(7.0, 7, 2.0, salvage=10 / 150)[year] for year in (1, 0)),
        ],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "declining balance of 10,000 down to 1,000 in 5 years",
        "MathWorks documentation, depgendb",
        "4000 2400 1440 864 296",
        lambda: [10_000 * x for x in declining_balance_shares(5.0, 5, 2.0, salvage=0.1)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "straight line of 13,000 down to 1,000 in 10 years",
        "MathWorks documentation, depstln",
        "1200",
        lambda: [13_000 * straight_line_shares(10.0, 1, salvage=1 / 13)[0]],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "declining balance of 2,400 down to 300: by days, by years",
        "Microsoft support, function DDB",
        "1.315068 480",
        lambda: [2400 * declining_balance_shares(life, 1, 2.0, salvage=0.125)[0] for life in (3650.0, 10.0)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "the same: a first month, months 7 to 18, part of a year at a factor of 1.5",
        "Microsoft support, function VDB",
        "40 396.3060533 315",
        lambda: [
            2400 * declining_balance_shares(120.0, 1, 2.0, salvage=0.125)[0],
            2400 * sum(declining_balance_shares(120.0, 18, 2.0, salvage=0.125)[6:]),
            2400 * declining_balance_shares(10.0, 1, 1.5, 0.875, salvage=0.125)[0],
        ],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "straight line of 30,000 down to 7,500 in 10 years",
        "Microsoft support, function SLN",
        "2250",
        lambda: [straight_line(30_000.0, 7_500.0, 10.0, 1.0)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "sum of years: 30,000 in 10 years, 10,000 in 24, 10,000 in 3",
        "Microsoft support, function SYD",
        "4090.909 409.091 411.667 500",
        lambda: [
            *(30_000 * sum_of_years_shares(10.0, 10, salvage=0.25)[year] for year in (0, 9)),
            10_000 * sum_of_years_shares(24.0, 12, salvage=0.05)[11],
            10_000 * sum_of_years_shares(3.0, 1, salvage=0.9)[0],
        ],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "sum of years: a truck of 90,000 down to 10,000 in 5 years",
        "an accounting textbook problem",
        "26667 21333 16000 10667 5333",
        lambda: [90_000 * x for x in sum_of_years_shares(5.0, 5, salvage=1 / 9)],
        digit=0.5,
    ),
)
