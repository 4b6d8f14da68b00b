"""How the equipment of a case is written off year by year, in the books and for tax."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from ..case.records import Case
from ..ledger.depreciation import book_method, book_shares, tax_shares
from ..ledger.equipment import delivered_price, installed_price, spares_value
from ..ledger.prices import in_money_of_the_case
from ..model import Results


@dataclass(frozen=True, slots=True)
class Year:
    """What is written off in one year of use of all equipment as first bought, nothing replaced; money."""

    number: int
    books: float
    tax: float


def pieces(case: Case, results: Results) -> list[tuple[str, float, float]]:
    """Every kind of equipment: the table it stands in, what all of it has cost, its life in years."""
    year, line = case.constants.year, results.line
    found = [("tools", installed_price(case, row) * line.tools[name].tools, row.life) for name, row in case.tools.items()]
    found += [("carriers", delivered_price(case, x) * line.carriers[name].tools, x.life) for name, x in case.carriers.items()]
    found += [("facilities", in_money_of_the_case(case, "facilities", row), row.life) for row in case.facilities.values()]
    found += [("spares", spares_value(case, line, name), row.life) for name, row in case.spares.items()]
    return [(covers, price, life / year) for covers, price, life in found]


def years(case: Case, results: Results) -> list[Year]:
    """Year by year until nothing is left to write off; books and tax kept apart.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> found = years(case, evaluate(case))
    >>> found[0].tax > 0
    True
    """
    equipment = pieces(case, results)
    lives = [life for _, _, life in equipment]
    lives += [row.life / case.constants.year for row in case.tax_depreciation.values()]
    count = max(ceil(max(lives)) + 1, len(case.tax_rates))
    books, tax = [0.0] * count, [0.0] * count
    for covers, price, life in equipment:
        for number, share in enumerate(book_shares(book_method(case, covers), life, count)):
            books[number] += price * share
        for number, share in enumerate(tax_shares(case, covers, life, count)):
            tax[number] += price * share
    found = [Year(number + 1, books[number], tax[number]) for number in range(count)]
    while found and not found[-1].books and not found[-1].tax:
        found.pop()
    return found
