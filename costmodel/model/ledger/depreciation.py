"""Depreciation: the charge of an average year for the ledger, and schedules year by year for books and tax."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...case.cost_records import BookDepreciation, TaxDepreciation
from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, safe_divide, smaller

BY_THE_LINE = BookDepreciation(covers="", method="straight_line", factor=1.0, salvage=0.0)


def book_method(case: Case, covers: str) -> BookDepreciation:
    """How the books write off the equipment of a table; straight line to nothing unless book_depreciation.csv says else."""
    return next((row for row in case.book_depreciation.values() if row.covers == covers), BY_THE_LINE)


def average_charge(case: Case, covers: str, price: Value, life: Value, loading: Value = 1.0) -> Value:
    """Depreciation in an average year of the life of one piece: price less salvage over life, whatever the path in between.

        row = book_method(case, covers)    [any]
        charge = straight_line(price, price * row.salvage, life, case.constants.year)    [any]
        average charge = charge * loading if row.method == "production" else charge    [any]

    Takes: price [any], life [s], loading [1].
    Source: accounting practice.

    By production it is that for equipment that is always at work, times its loading.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> average_charge(case, "spares", 800.0, 8 * case.constants.year)
    100.0
    """
    row = book_method(case, covers)
    charge = straight_line(price, price * row.salvage, life, case.constants.year)
    return charge * loading if row.method == "production" else charge


def idle_part(case: Case, covers: str, loading: Value) -> Value:
    """Share of the average charge that is for capacity not used; none where depreciation follows production.

        idle part = 0.0 if book_method(case, covers).method == "production" else 1 - loading    [1]

    Takes: loading [1].
    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> idle_part(demo_case(), "spares", 0.75)
    0.25
    """
    return 0.0 if book_method(case, covers).method == "production" else 1 - loading


def straight_line(price: Value, salvage: Value, life: Value, period: Value) -> Value:
    """Depreciation of a period in straight line.

        charge = (price - salvage) * period / life    [any]

    Takes: price [any], salvage [any], life [s], period [s].
    Source: accounting practice (check value D14).

    13,000 with a salvage value of 1,000 over 10 years gives 1,200 a year:

    >>> straight_line(13000.0, 1000.0, 10.0, 1.0)
    1200.0
    """
    return (price - salvage) * period / life


def straight_line_shares(life: Value, years: int, first_year: Value = 1.0, salvage: Value = 0.0) -> list[Value]:
    """Shares of the price written off in each year, in straight line.

        shares = [(1 - salvage) * part_of_life(life, k, first_year) / life for k in range(years)]    [1]

    Takes: life [1], first_year [1], salvage [1].
    Source: accounting practice.

    `life` is in years, `first_year` the part of it that the first one counts.

    >>> straight_line_shares(2.5, 4)
    [0.4, 0.4, 0.2, 0.0]
    """
    return [(1 - salvage) * part_of_life(life, number, first_year) / life for number in range(years)]


def sum_of_years_shares(life: Value, years: int, first_year: Value = 1.0, salvage: Value = 0.0) -> list[Value]:
    """Shares of the price written off in each year, by the sum of years' digits.

        left = [larger(life - k, 0.0) for k in range(years + 1)]    [1]
        off = [1 - each * (each + 1) / (life * (life + 1)) for each in left]    [1]
        whole = [after - before for before, after in zip(off, off[1:])]    [1]
        shares = [(1 - salvage) * (first_year * now + (1 - first_year) * last) for now, last in zip(whole, [0.0, *whole])]    [1]

    Takes: life [1], first_year [1], salvage [1].
    Source: accounting practice.

    Of 5 years, 5/15 in the first to 1/15 in the last; a part of each of two digits if the first year is short.

    >>> [round(15 * share, 9) for share in sum_of_years_shares(5.0, 6)]
    [5.0, 4.0, 3.0, 2.0, 1.0, 0.0]
    """

    def written_off(age: Value) -> Value:
        """The share written off by an age."""
        left = larger(life - age, 0.0)
        return 1 - left * (left + 1) / (life * (life + 1))

    whole = [written_off(float(number + 1)) - written_off(float(number)) for number in range(years)]
    before = [0.0, *whole[:-1]]
    return [(1 - salvage) * (first_year * now + (1 - first_year) * last) for now, last in zip(whole, before)]


def declining_balance_shares(life: Value, years: int, factor: Value, first_year: Value = 1.0, salvage: Value = 0.0) -> list[Value]:
    """Shares of the price written off in each year, by declining balance and then straight line once that is more.

        part = [part_of_life(life, k, first_year) for k in range(years)]    [1]
        remaining = [larger(life - age_in_year(k, first_year), 0.0) for k in range(years)]    [1]
        balance = [1 - sum_of(shares[:k]) for k in range(years)]    [1]
        straight = [(balance[k] - salvage) * safe_divide(part[k], remaining[k]) for k in range(years)]    [1]
        declining = [balance[k] * factor / life * part[k] for k in range(years)]    [1]
        most = [smaller(balance[k] - salvage, larger(straight[k], declining[k])) for k in range(years)]    [1]
        shares = [choose(remaining[k] > 0.0, most[k], 0.0) for k in range(years)]    [1]

    Takes: life [1], factor [1], first_year [1], salvage [1].
    Source: accounting practice (check value D02).

    The balance declines at `factor` times the straight rate, never below the salvage value, which caps the last year too. Five
    years at twice the rate, half a year first:

    >>> [round(100 * share, 2) for share in declining_balance_shares(5.0, 6, 2.0, 0.5)]
    [20.0, 32.0, 19.2, 11.52, 11.52, 5.76]
    """
    balance: Value = 1.0
    shares = []
    for number in range(years):
        part = part_of_life(life, number, first_year)
        remaining = larger(life - age_in_year(number, first_year), 0.0)
        straight = (balance - salvage) * safe_divide(part, remaining)
        declining = balance * factor / life * part
        share = choose(remaining > 0.0, smaller(balance - salvage, larger(straight, declining)), 0.0)
        balance = balance - share
        shares.append(share)
    return shares


def age_in_year(number: int, first_year: Value) -> Value:
    """Years of life gone before a year, of which the first counts in part.

        age = number - 1 + first_year if number else 0.0    [1]

    Takes: first_year [1].
    Source: accounting practice.

    >>> [age_in_year(number, 0.5) for number in range(3)]
    [0.0, 0.5, 1.5]
    """
    return number - 1 + first_year if number else 0.0


def part_of_life(life: Value, number: int, first_year: Value) -> Value:
    """Part of a year of life that falls into a year: less in the first and in the last.

        part = smaller(1.0 if number else first_year, larger(life - age_in_year(number, first_year), 0.0))    [1]

    Takes: life [1], first_year [1].
    Source: accounting practice.

    >>> [part_of_life(1.75, number, 0.5) for number in range(4)]
    [0.5, 1.0, 0.25, 0.0]
    """
    length = 1.0 if number else first_year
    return smaller(length, larger(life - age_in_year(number, first_year), 0.0))


def book_shares(row: BookDepreciation, life: Value, years: int) -> list[Value]:
    """Shares of the price that the books write off in each year of use; `life` in years.

    By production they are those of straight line; how much a year produces is not known here.
    """
    methods: dict[str, Callable[[], list[Value]]] = {
        "straight_line": lambda: straight_line_shares(life, years, salvage=row.salvage),
        "production": lambda: straight_line_shares(life, years, salvage=row.salvage),
        "sum_of_years": lambda: sum_of_years_shares(life, years, salvage=row.salvage),
        "declining_balance": lambda: declining_balance_shares(life, years, row.factor, salvage=row.salvage),
    }
    return methods[row.method]()


def tax_shares(case: Case, covers: str, life: Value, years: int) -> list[Value]:
    """Shares of the price that the tax office lets be written off in each year; as in the books without a row of its own.

    `life` is that of the books, in years; the tax office may ask for another.
    """
    found = next(((name, row) for name, row in case.tax_depreciation.items() if row.covers == covers), None)
    if found is None:
        return book_shares(book_method(case, covers), life, years)
    name, row = found
    if row.method == "rates":
        rates = [rate.rate for rate in case.tax_rates.values() if rate.schedule == name]
        return _to_length(rates, years)
    return _tax_formula(case, row, years)


def _tax_formula(case: Case, row: TaxDepreciation, years: int) -> list[Value]:
    life = row.life / case.constants.year
    if row.method == "straight_line":
        return straight_line_shares(life, years, row.first_year)
    if row.method == "sum_of_years":
        return sum_of_years_shares(life, years, row.first_year)
    return declining_balance_shares(life, years, row.factor, row.first_year)


def _to_length(rates: Sequence[Value], years: int) -> list[Value]:
    return [*rates, *[0.0] * years][:years]
