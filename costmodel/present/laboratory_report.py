"""The laboratory of the licensor: which tests pay, what is left to sell, what limits it; sentences and tables."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.laboratory_records import work_on
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.deal.laboratory_figures import Laboratory, LaboratoryHours
from ..studies.negotiation.laboratory_odds import OddsOfTests
from .deal_report import in_money, rates_of_exchange
from .numbers import NOT_APPLICABLE, amount, many, people, percent, signed, stated
from .table import Table

NO_LABORATORY = "The case has no laboratory_work.csv, so nothing says what tests of the licensor's laboratory take and cost."
HOUR_A_MONTH, A_MONTH, A_YEAR = to_base("h/month"), to_base("sample/month"), to_base("1/year")
CAUTIONS = (
    "Hours are a mean month: a queue may still form. Whether a test counts for certification is for an accredited laboratory."
)


def resources(case: Case, found: Laboratory) -> Iterator[tuple[str, str, float, LaboratoryHours]]:
    """Instruments, then people: id, title, hours there are, and how they are used."""
    for name, row in found.equipment.items():
        yield name, case.laboratory_equipment[name].title, float(case.laboratory_equipment[name].hours), row
    for name, row in found.staff.items():
        yield name, case.laboratory_staff[name].title, float(case.laboratory_staff[name].hours), row


def limited_by(case: Case, found: Laboratory, test: str) -> str:
    """The title of what runs out first when more of a test is sold."""
    work, sides = work_on(case.laboratory_work, test), (("equipment", found.equipment), ("staff", found.staff))
    left: dict[tuple[str, str], float] = {}
    for side, there in sides:
        for name in {getattr(each, side) for each in work}:
            needed = sum(float(getattr(each, f"{side}_hours")) for each in work if getattr(each, side) == name)
            left[side, name] = max(float(there[name].free), 0.0) / needed
    side, name = min(left, key=lambda key: left[key])
    return getattr(case, f"laboratory_{side}")[name].title


def headline(case: Case, found: Laboratory, odds: OddsOfTests | None) -> list[str]:
    """Which tests pay, what they leave, what is fullest and what is left to sell."""
    titles = {name: row.title for name, row in case.laboratory_tests.items()}
    lacking = [name for name, each in found.tests.items() if each.left < 0]
    paying = len(titles) - len(lacking)
    said = [
        f"Of {many(len(titles), 'test')}, {paying or 'none'} cover{'s' if paying == 1 else ''} full cost after withholding tax."
    ]
    said += [_lacks(case, found, name) for name in lacking]
    gains, left = found.left_a_year >= 0, amount(abs(float(found.left_a_year)) * to_base("year"), case.currency)
    said.append(f"All tests {'leave' if gains else 'lack'} {left} a year before own tax at the stated inputs.")
    if odds is not None:
        said.append(
            f"Together they cover full cost in {percent(odds.together.share, 2)} of {odds.draws:,} draws, seed {odds.seed}."
        )
    return [*said, *_room(case, found)]


def in_short(case: Case, found: Laboratory, odds: OddsOfTests | None) -> list[str]:
    """How many tests cover their cost, and how probable it is that all do together."""
    said = headline(case, found, odds)
    return [said[0], *(line for line in said[1:] if line.startswith("Together"))]


def _lacks(case: Case, found: Laboratory, name: str) -> str:
    """What a sample lacks to its full cost, and the price that would cover it."""
    each = found.tests[name]
    said = f"“{case.laboratory_tests[name].title}” lacks {amount(-float(each.left), case.currency)} a sample"
    if each.arriving > 0:
        said += f"; a price of {amount(float(each.cost * each.price / each.arriving), case.currency)} would cover it"
    return f"{said}."


def _room(case: Case, found: Laboratory) -> list[str]:
    """Where most is sold of what there is, where too much is, and of which test least can still be sold."""
    rows = [(title, row) for _, title, _, row in resources(case, found)]
    over = [(title, row) for title, row in rows if row.free < 0]
    title, most = max(rows, key=lambda each: float(each[1].load))
    said = [f"“{title}” is promised and sold by {_hours(-row.free)} h a month too many." for title, row in over]
    if not over:
        said = [f"Fullest is “{title}”: {percent(float(most.load))} of its hours are promised or sold, "
                f"{_hours(most.free)} h a month are left."]  # fmt: skip
    tightest = min(found.tests, key=lambda name: float(found.tests[name].could_sell))
    more = people(float(found.tests[tightest].could_sell) / A_MONTH)
    said.append(
        f"Least can still be sold of “{case.laboratory_tests[tightest].title}”: {more} samples a month more. "
        f"“{limited_by(case, found, tightest)}” limits it."
    )
    return said


def _hours(value: float) -> str:
    return people(float(value) / HOUR_A_MONTH)


def price_words(case: Case) -> list[str]:
    """What the price list comes to a year, for each yearly service that it prices."""
    said = []
    for name in dict.fromkeys(row.service for row in case.laboratory_tests.values()):
        rows = [row for row in case.laboratory_tests.values() if row.service == name]
        a_year = sum(float(row.price * row.samples * case.money[row.currency.lower()].exchange_rate) for row in rows)
        said.append(
            f"The price list takes the place of a flat price of “{case.yearly_services[name].title}”: "
            f"{in_money(case, a_year * to_base('year'))} a year at prices of the first day."
        )
    return said


def tests_table(case: Case, found: Laboratory, odds: OddsOfTests | None) -> Table:
    """Each test: price, full cost, margin, what is left, samples sold, and those that could be sold besides."""
    columns = ["", "price", "full cost", "margin", "left", "left a year", "pays", "samples a month", "could be sold besides",
               "limited by"]  # fmt: skip
    rows = [
        [case.laboratory_tests[name].title, people(each.price), people(each.cost), signed(each.margin), signed(each.left),
         signed(float(each.left_a_year) / A_YEAR),
         percent(odds.by_test[name].share, 2) if odds else NOT_APPLICABLE,
         stated(float(case.laboratory_tests[name].samples) / A_MONTH), people(float(each.could_sell) / A_MONTH),
         limited_by(case, found, name)]
        for name, each in found.tests.items()
    ]  # fmt: skip
    return Table(
        f"The price list, {case.currency} for a sample",
        columns,
        rows,
        note="Left: the price that arrives after withholding tax and inventors, less full cost, before own tax. Pays: the "
        "probability of that over draws. Could be sold besides: if no other test is sold more. "
        f"{rates_of_exchange(case)}".strip(),
        texts=(0, 9),
    )


def sample_table(case: Case, found: Laboratory) -> Table:
    """What a sample of each test takes and costs, part by part."""
    rows = []
    for name, each in found.tests.items():
        work = work_on(case.laboratory_work, name)
        hours = [sum(float(getattr(row, f"{side}_hours")) for row in work) / to_base("h") for side in ("equipment", "staff")]
        costs = (each.consumables, each.equipment, each.staff, each.cost)
        rows.append([case.laboratory_tests[name].title, *map(people, hours), *map(people, costs)])
    return Table(
        f"What a sample takes and costs, {case.currency}",
        ["", "hours of instruments", "working hours", "consumables", "instruments", "people", "full cost"],
        rows,
        note="Working hours are at the day of their role in transfer_resources.csv, over the hours of a working day.",
    )


def hours_table(case: Case, found: Laboratory) -> Table:
    """Instruments and people: hours a month, promised, sold and left."""
    rows = [
        [title, people(there / HOUR_A_MONTH), *(_hours(value) for value in (row.promised, row.sold, row.free)),
         percent(float(row.load))]
        for _, title, there, row in resources(case, found)
    ]  # fmt: skip
    return Table(
        "Hours of the laboratory, h a month",
        ["", "there are", "promised to others", "sold here", "left to sell", "load"],
        rows,
        note=CAUTIONS,
    )
