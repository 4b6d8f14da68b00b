"""How modules age, year by year after their sale: how many fail, how many fall below the promised power, what they yield.

Modules are counted over those sold. Losses of power are normal from module to module. A module that is replaced counts as one of
the same age. One that is claimed for its power counts as before, so the energy that its replacement adds is left out.
"""

from __future__ import annotations

from ...case.line_records import Constants
from ...case.warranty_records import LONGEST, Warranty
from ...case.whole_case import Case
from ...core.operations import Value, larger, normal_cdf, safe_divide, smaller
from .line_figures import YearOfAge


def part_in_term(constants: Constants, term: Value, year: int) -> Value:
    """The part of a year of age that lies within a term from the sale; the first year is 1.

        part = smaller(1.0, larger(term / constants.year - (year - 1), 0.0))    [1]

    Takes: term [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> [part_in_term(Some(year=1.0), 2.25, year) for year in (2, 3, 4)]
    [1.0, 0.25, 0.0]
    """
    return smaller(1.0, larger(term / constants.year - (year - 1), 0.0))


def promised_power(constants: Constants, row: Warranty, year: int) -> Value:
    """The power promised at the end of a year of age, over that on the label: it falls evenly over its term, then stays.

        elapsed = smaller(1.0, safe_divide(year * constants.year, row.power_term))    [1]
        power = row.start_power - (row.start_power - row.end_power) * elapsed    [1]

    Source: common practice, linear warranty of power.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(power_term=20.0, start_power=0.98, end_power=0.8)
    >>> [round(promised_power(Some(year=1.0), row, year), 9) for year in (10, 20, 30)]
    [0.89, 0.8, 0.8]
    """
    elapsed = smaller(1.0, safe_divide(year * constants.year, row.power_term))
    return row.start_power - (row.start_power - row.end_power) * elapsed


def below_promise(constants: Constants, row: Warranty, year: int, promised: Value) -> Value:
    """The share of modules whose power at the end of a year of age is below a promise.

        later = (year - 1) * constants.year    [s]
        mean = 1 - row.first_year_loss - row.degradation * later    [1]
        spread = (row.first_year_spread**2 + (row.degradation_spread * later) ** 2) ** 0.5    [1]
        share = normal_cdf((promised - mean) / spread)    [1]

    Takes: promised [1].
    Source: common practice, normal distribution; loss of the first year and later loss are independent.

    A promise one standard deviation below the mean of 85 %, the spread being 5 %:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(first_year_loss=0.03, first_year_spread=0.03, degradation=0.006, degradation_spread=0.002)
    >>> round(below_promise(Some(year=1.0), row, 21, 0.8), 6)
    0.158655
    """
    later = (year - 1) * constants.year
    mean = 1 - row.first_year_loss - row.degradation * later
    spread = (row.first_year_spread**2 + (row.degradation_spread * later) ** 2) ** 0.5
    return normal_cdf((promised - mean) / spread)


def mean_in_year(constants: Constants, row: Warranty, year: int) -> Value:
    """The mean power over a year of age, over that at sale: that of its middle; never below nothing.

        lost = 0.5 * row.first_year_loss if year == 1 else row.first_year_loss + row.degradation * constants.year * (year -
            1.5)    [1]
        power = larger(1 - lost, 0.0)    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(first_year_loss=0.02, degradation=0.01)
    >>> [round(mean_in_year(Some(year=1.0), row, year), 9) for year in (1, 2, 11)]
    [0.99, 0.975, 0.885]
    """
    if year == 1:
        return larger(1 - 0.5 * row.first_year_loss, 0.0)
    return larger(1 - (row.first_year_loss + row.degradation * constants.year * (year - 1.5)), 0.0)


def year_of_age(constants: Constants, row: Warranty, year: int, working: Value, below_before: Value) -> YearOfAge:
    """One year of age of the modules sold: claims, and the energy of those in service.

        product_covered = part_in_term(constants, row.product_term, year)
        power_covered = part_in_term(constants, row.power_term, year)
        promised_power = promised_power(constants, row, year)
        below_share = below_promise(constants, row, year, promised_power)
        below_so_far = larger(below_before, below_share)
        in_service = working
        failures = working * (row.early_failures if year == 1 else row.later_failures * constants.year)
        product_claims = failures * product_covered * row.claimed_share
        power_claims = (below_so_far - below_before) * working * power_covered * row.claimed_share
        claims = product_claims + power_claims
        energy = (working - 0.5 * (failures - product_claims)) * mean_in_year(constants, row, year)

    Takes: working [1], below_before [1].
    Source: common practice; a module is claimed for its power when it first falls below the promise.

    A tenth of 80 modules in 100 fails and half of the failures are claimed; no power is promised:

    >>> from types import SimpleNamespace as Some
    >>> loss = dict(first_year_loss=0.0, first_year_spread=0.01, degradation=0.0, degradation_spread=0.0)
    >>> term = dict(product_term=5.0, power_term=0.0, start_power=0.0, end_power=0.0)
    >>> row = Some(early_failures=0.0, later_failures=0.1, claimed_share=0.5, **loss, **term)
    >>> found = year_of_age(Some(year=1.0), row, 2, 0.8, 0.0)
    >>> [round(each, 9) for each in (found.failures, found.product_claims, found.claims, found.energy)]
    [0.08, 0.04, 0.04, 0.78]
    """
    covered, of_power = (part_in_term(constants, term, year) for term in (row.product_term, row.power_term))
    promised = promised_power(constants, row, year)
    below = below_promise(constants, row, year, promised)
    so_far = larger(below_before, below)
    failures = working * (row.early_failures if year == 1 else row.later_failures * constants.year)
    replaced = failures * covered * row.claimed_share
    weak = (so_far - below_before) * working * of_power * row.claimed_share
    return YearOfAge(
        product_covered=covered,
        power_covered=of_power,
        promised_power=promised,
        below_share=below,
        below_so_far=so_far,
        in_service=working,
        failures=failures,
        product_claims=replaced,
        power_claims=weak,
        claims=replaced + weak,
        energy=(working - 0.5 * (failures - replaced)) * mean_in_year(constants, row, year),
    )


def ageing(case: Case) -> dict[str, YearOfAge]:
    """The years of age of the modules sold, each after the one before; none without a warranty."""
    found: dict[str, YearOfAge] = {}
    in_service: Value = 1.0
    below: Value = 0.0
    for row in case.warranty.values():
        for year in range(1, LONGEST + 1):
            now = year_of_age(case.constants, row, year, in_service, below)
            found[f"y{year:02d}"] = now
            in_service, below = still_in_service(now), now.below_so_far
    return found


def still_in_service(year: YearOfAge) -> Value:
    """Modules in service at the end of a year of age: those that failed and were not replaced are gone.

        left = year.in_service - (year.failures - year.product_claims)    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> still_in_service(Some(in_service=0.75, failures=0.5, product_claims=0.25))
    0.5
    """
    return year.in_service - (year.failures - year.product_claims)
