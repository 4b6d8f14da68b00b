"""What is bought, used, kept and written off: sentences and tables."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..studies.factory.depreciation_years import Year
from .numbers import NOT_APPLICABLE, amount, exact, label, people, percent
from .table import Table, table_of


def written_off(case: Case, years: list[Year]) -> str:
    """How books and tax differ."""
    books, tax = years[0].books, years[0].tax
    how = "the same" if abs(books - tax) < 1e-9 * books else "more" if tax > books else "less"
    return (
        f"In the first year of use the books write off {amount(books, case.currency)} of the equipment. Tax allows {how}: "
        f"{amount(tax, case.currency)}."
    )


def stock(case: Case, results: Results) -> str:
    """What is in stock, and what is paid for and not used."""
    ledger = results.ledger
    unused = sum(x.cost for address, x in ledger.lines.items() if address.startswith("buying."))
    extra = f"{amount(unused, case.currency)} a year is paid for unused quantities" if unused else "All that is paid for is used"
    return f"Stock of bought items ties up {amount(ledger.stock, case.currency)}. {extra}."


def film_table(case: Case, results: Results) -> Table:
    """Where silicon and target materials go."""
    films = ((case.layers[name].title, f.silane_fed, f.silicon_fed, f.silicon_settling, f.silicon_in_film, f.silicon_lost, None)
             for name, f in results.ledger.films.items())  # fmt: skip
    coatings = ((case.coatings[name].title, None, c.bought, None, c.on_plates, c.lost, c.recovered)
                for name, c in results.ledger.coatings.items())  # fmt: skip
    return Table(
        "Films: where the material goes in a year, kg",
        ["", "silane fed", "silicon fed, or target bought", "of it while gases settle", "on plates", "lost", "recovered"],
        [[title, *(NOT_APPLICABLE if x is None else people(x) for x in amounts)] for title, *amounts in chain(films, coatings)],
        note="Recovered metal is credited at its quote less refining.",
    )


def landed_table(case: Case, results: Results) -> Table:
    """What every item of the price book costs at the gate, how much of it is bought, and what is in stock."""
    columns = {
        "": lambda row, _: row.title,
        "group": lambda row, _: label(row.group),
        "price": lambda row, _: exact(row.price, f"{row.currency}/{row.unit}"),
        "metal": lambda row, x: people(x.metal * to_base(row.unit), 4),
        "year": lambda row, _: row.price_year,
        "freight": lambda row, _: percent(row.freight),
        "duty": lambda row, _: percent(row.duty),
        "used a year": lambda row, x: people(x.used / to_base(row.unit)),
        "paid for": lambda row, x: people(x.paid_for / to_base(row.unit)),
        "discount": lambda _, x: percent(x.discount),
        "landed": lambda row, x: people(x.price * to_base(row.unit), 4),
        "in stock": lambda _, x: people(x.stock),
    }
    return table_of(
        f"Landed prices, {case.currency}",
        ((row, results.ledger.landed[name]) for name, row in case.prices.items()),
        columns,
        texts=(0, 1),
        note="Used and paid for in the unit of the price; they differ where a minimum order or a contract requires more. Landed: "
        "price in money of the case at its exchange rate, with freight, with duty on the price without freight, less the discount "
        "for the quantity. Metal is its quote, on top of the price, with freight and duty, without discount.",
    )


def metals_table(case: Case, results: Results) -> Table:
    """Metals bought at their quote for sputtered films: the quote, the conversion fee with freight and duty, the credit."""

    def found() -> Iterator[list[str]]:
        """A row for each metal that a film is made of."""
        for item, metal in {row.item: row for row in case.metals.values()}.items():
            films = [name for name, row in case.coatings.items() if row.item == item]
            bought = [results.ledger.lines[f"coatings.{name}.bought"] for name in films]
            credit = sum(results.ledger.lines[f"coatings.{name}.credit"].cost for name in films)
            cost, quantity = sum(x.cost for x in bought), sum(x.quantity for x in bought)
            quote = quantity * results.ledger.landed[item].metal
            if films:
                yield [metal.title, *map(people, (quantity / to_base("kg"), quote, cost - quote, credit, cost + credit))]

    columns = ["", "kg bought", "metal at quote", "fee, freight and duty", "credit for recovered metal", "net cost"]
    return Table(f"Metals bought at their quote, {case.currency} a year", columns, list(found()))


def written_off_table(case: Case, years: list[Year]) -> Table:
    """Depreciation year by year, in the books and for tax."""
    rows = [[str(year.number), people(year.books), people(year.tax)] for year in years]
    rows.append(["Total", people(sum(year.books for year in years)), people(sum(year.tax for year in years))])
    return Table(
        f"Equipment written off, {case.currency}",
        ["year of use", "in the books", "for tax"],
        rows,
        total=True,
        note="Tools, carriers, facility systems and parts in store as first bought, without replacement. The ledger takes the "
        "average year of a life, whatever the path in between.",
    )
