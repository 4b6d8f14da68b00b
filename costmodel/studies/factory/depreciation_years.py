"""How the equipment of a case is written off year by year, in the books and for tax."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from ...case.whole_case import Case
from ...model.evaluate import evaluate_costs
from ...model.ledger.depreciation import book_method, book_shares, tax_shares
from ...model.ledger.equipment import pieces


@dataclass(frozen=True, slots=True)
class Year:
    """What is written off in one year of use of all equipment as first bought, nothing replaced; money."""

    number: int
    books: float
    tax: float


def years(case: Case) -> list[Year]:
    """Year by year until nothing is left to write off; books and tax kept apart.

    >>> from costmodel.case.load import load_case
    >>> found = years(load_case("inputs_demo/facade"))
    >>> found[0].tax > 0
    True
    """
    equipment = [(piece.table, piece.cost, piece.life / case.constants.year) for piece in pieces(case, evaluate_costs(case).line)]
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
