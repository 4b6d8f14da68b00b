"""Numbers as people read them: a few digits, one minus sign, one sign for what does not apply, units as SI writes them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

from ..core.rates_of_return import COST_OF_FINANCE, HALF_LOST, ONE, SEVERAL
from ..core.units import to_base

MINUS, NOT_APPLICABLE = "−", "–"
MILLION = 1e6
ROUNDING = 1e-9  # of a whole: a share below it is what rounding leaves of none
_A_NUMBER = re.compile(r"-?(\d+|\d{1,3}(,\d{3})+)(\.\d+)?")
_QUARTERS = ("", "¼", "½", "¾")


def people(value: float, digits: int = 3, words: bool = False) -> str:
    """A number in a few significant digits; in a sentence, large ones in words.

    >>> people(10775962.97), people(203116.6), people(1.19733), people(0.0), people(52.0)
    ('10,800,000', '203,000', '1.20', '0', '52.0')
    >>> people(10775962.97, words=True), people(-2.5), people(math.nan)
    ('10.8 million', '−2.50', '–')
    """
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else NOT_APPLICABLE
    rounded = float(f"{value:.{digits}g}")
    if words and abs(rounded) >= MILLION:
        return f"{people(rounded / MILLION, digits)} million"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:,.{decimals}f}".replace("-", MINUS)


def fixed(value: float, places: int) -> str:
    """A number with so many decimals, as in a column that adds up; 0 for what rounds to it.

    >>> fixed(-1.239, 2), fixed(1e-9, 2), fixed(1234.5, 1)
    ('−1.24', '0', '1,234.5')
    """
    return "0" if abs(value) < 0.5 * 10**-places else f"{value:,.{places}f}".replace("-", MINUS)


def stated(value: float) -> str:
    """A number that people stated, as a term or a rate, without digits that they did not write.

    >>> stated(10.0), stated(2.5), stated(1_150_000.0)
    ('10', '2.5', '1,150,000')
    """
    shown = f"{value:,.4f}".rstrip("0").rstrip(".").replace("-", MINUS)
    return shown if value == 0 or abs(value) >= 0.01 else people(value)


def signed(value: float, digits: int = 3) -> str:
    """A difference with its sign.

    >>> signed(0.01234), signed(-12.0), signed(0.0)
    ('+0.0123', '−12.0', '0')
    """
    return f"{'+' if value > 0 else ''}{people(value, digits)}"


def read_back(cell: str) -> tuple[float | str | None, str]:
    """What a cell of a table holds, with its unit if that stands there: a number, a text, or nothing where it does not apply.

    >>> read_back("−1,234.5"), read_back("3.2 %"), read_back("3 machines more"), read_back("–")
    ((-1234.5, ''), (3.2, '%'), ('3 machines more', ''), (None, ''))
    """
    if cell in ("", NOT_APPLICABLE):
        return None, ""
    number, _, unit = cell.replace(MINUS, "-").removeprefix("+").partition(" ")
    if _A_NUMBER.fullmatch(number) and " " not in unit:
        return float(number.replace(",", "")), unit
    return cell, ""


def money(value: float, currency: str, per: str = "", digits: int = 3) -> str:
    """An amount of money with its currency, and what it is for.

    >>> money(1.19733, "EUR", "W")
    'EUR 1.20/W'
    """
    return f"{currency} {people(value, digits, words=True)}{'/' + per if per else ''}"


def amount(value: float, currency: str) -> str:
    """An amount of money in a sentence: two digits of millions, three of less.

    >>> amount(20_700_000.0, "EUR"), amount(1.675, "EUR"), amount(672_400.0, "EUR")
    ('EUR 21 million', 'EUR 1.68', 'EUR 672,000')
    """
    return money(value, currency, digits=2 if abs(value) >= MILLION else 3)


def adding(whole: float, part: float, currency: str) -> tuple[str, str, str]:
    """A whole, a part of it and the rest in a sentence, in digits that add up: three of the smaller of whole and part.

    >>> adding(117_600_000.0, 24_480_000.0, "EUR")
    ('EUR 117.6 million', 'EUR 24.5 million', 'EUR 93.1 million')
    >>> adding(21_180_000.0, 0.0, "EUR")
    ('EUR 21.2 million', 'EUR 0', 'EUR 21.2 million')
    """
    least = min(filter(None, map(abs, (whole, part))), default=1.0)
    step = 10.0 ** (math.floor(math.log10(least)) - 2)
    shown = [round(value / step) * step for value in (whole, part)]
    in_digits = (max(2, math.floor(math.log10(abs(each)) - math.log10(step) + 1e-9) + 1) if each else 2
                 for each in (*shown, shown[0] - shown[1]))  # fmt: skip
    first, second, rest = (money(each, currency, digits=n) for each, n in zip((*shown, shown[0] - shown[1]), in_digits))
    return first, second, rest


def percent(value: float, digits: int = 3) -> str:
    """A share in per cent.

    >>> percent(0.88694), percent(math.nan), percent(-2.9e-17)
    ('88.7 %', '–', '0 %')
    """
    return f"{hundredths(value, digits)} %" if math.isfinite(value) else people(value)


def hundredths(share: float, digits: int = 3) -> str:
    """A share in per cent without the sign of it; 0 for what rounding leaves of none.

    >>> hundredths(0.0287), hundredths(8.7e-14)
    ('2.87', '0')
    """
    return people(0.0 if abs(share) < ROUNDING else 100 * share, digits)


def in_unit(value: float, unit: str, digits: int = 3) -> str:
    """A value in base units, shown in another unit with the unit behind it.

    >>> in_unit(600.0, "min")
    '10.0 min'
    """
    shown = people(value / to_base(unit), digits)
    return shown if unit == "1" else f"{shown} {typeset(unit)}"


def years(time: float) -> str:
    """A time of years in a sentence, to the nearest quarter.

    >>> year = to_base("year")
    >>> years(7.54 * year), years(1.0 * year), years(0.2 * year), years(0.0)
    ('7½ years', '1 year', '¼ year', '0 years')
    """
    whole, part = divmod(round(4 * time / to_base("year")), 4)
    shown = f"{whole or ''}{_QUARTERS[part]}" or "0"
    return f"{shown} year{'' if shown == '1' or (not whole and part) else 's'}"


def duration(seconds: float) -> str:
    """A time in the unit that gives it a handy number.

    >>> duration(45.0), duration(960.0), duration(1080000.0)
    ('45.0 s', '16.0 min', '300 h')
    """
    unit = "s" if seconds < to_base("min") * 3 else "min" if seconds < to_base("h") * 3 else "h"
    return in_unit(seconds, unit)


def typeset(unit: str) -> str:
    """A unit as SI writes it.

    >>> typeset("EUR/m2"), typeset("nm*m/min"), typeset("Nm3"), typeset("um")
    ('EUR/m²', 'nm·m/min', 'Nm³', 'µm')
    """
    raised = re.sub(r"(?<![a-zA-Z])([cm]?m|Nm)([23])\b", lambda found: found[1] + "²³"[int(found[2]) - 2], unit)
    return re.sub(r"\bum\b", "µm", raised).replace("*", "·")


def spoken(unit: str) -> str:
    """A unit as people say it; a watt is a stabilised one where nothing else is stated.

    >>> spoken("EUR/Wp_stabilised"), spoken("Wp_initial"), spoken("TWM/person/year")
    ('EUR/W', 'W initial', 'TWM/person/year')
    """
    plain = unit.replace("%*Wp_stabilised/W", "%").replace("Wp_stabilised", "W").replace("Wp_initial", "W initial")
    return typeset(plain)


def exact(value: float, unit: str) -> str:
    """An input in the unit it was stated in, without rounding away what was written.

    >>> exact(0.9935, "%"), exact(2.0e-3, "mm")
    ('99.35 %', '2 mm')
    """
    shown = f"{value / to_base(unit):.9g}".replace("-", MINUS)
    return shown if unit == "1" else f"{shown} {typeset(unit)}"


def as_float(value: Any) -> float:
    """A number as a float; one that is a float of some kind already stays as it is.

    >>> as_float(3), as_float(0.5)
    (3.0, 0.5)
    """
    return value if isinstance(value, float) else float(value)


def label(identity: str) -> str:
    """An id as a label.

    >>> label("yield_loss"), label("cost_per_m2")
    ('yield loss', 'cost per m²')
    """
    return typeset(identity.replace("_", " "))


def named(titles: Iterable[str]) -> str:
    """Titles in quotation marks, one after the other.

    >>> named(["roofs", "open field"])
    '“roofs”, “open field”'
    """
    return ", ".join(f"“{title}”" for title in titles)


def many(count: int, what: str) -> str:
    """A count with its noun.

    >>> many(1, "year"), many(3, "year")
    ('1 year', '3 years')
    """
    return f"{count:,} {what}{'' if count == 1 else 's'}"


def short_return(rate: float | None, status: float, recovered: float) -> str:
    """The rate of a year as a cell of a table shows it.

    >>> short_return(0.1234, 1.0, 2.0), short_return(None, 0.0, 2.0), short_return(None, 4.0, 0.38)
    ('12.3 %', 'none', 'recovers 38.0 % of the outlay')
    """
    if status == ONE and rate is not None:
        return percent(rate)
    if status == HALF_LOST:
        return f"recovers {percent(recovered)} of the outlay"
    return {SEVERAL: "several rates", COST_OF_FINANCE: "a cost of finance"}.get(status, "none")


def finite(data: Any) -> Any:
    """The data with None in place of each number that is not finite; the reason stands beside it where it is made.

    >>> finite({"rows": [{"value": float("inf"), "reason": "never"}, (1.5, float("nan"))]})
    {'rows': [{'value': None, 'reason': 'never'}, [1.5, None]]}
    """
    if isinstance(data, dict):
        return {key: finite(each) for key, each in data.items()}
    if isinstance(data, (list, tuple)):
        return [finite(each) for each in data]
    return None if isinstance(data, float) and not math.isfinite(data) else data
