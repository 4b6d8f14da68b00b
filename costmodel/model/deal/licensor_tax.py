"""The licensor's own tax on its net income from the deal, with or without credit of withholding tax, in present values.

The tax is on the income of the whole deal: costs of early years count against later income without loss. Under a credit the tax
withheld counts against the own tax on that income, and no further. Common practice; what holds is for tax advisers.
"""

from __future__ import annotations

from dataclasses import dataclass

from ...case.deal_records import Licensor
from ...core.operations import Value, larger, safe_divide, smaller


@dataclass(frozen=True, slots=True)
class Income:
    """Payments, what is withheld of them, what goes to the inventors, and the costs that count against tax."""

    gross: Value
    withheld: Value
    inventors: Value
    costs: Value

    @property
    def net_income(self) -> Value:
        """What the own tax is on."""
        return self.gross - self.inventors - self.costs


def own_tax(row: Licensor, income: Income) -> tuple[Value, Value]:
    """The own tax before the credit, and the credit: the lesser of what is withheld and of that tax.

        full = row.tax_rate * larger(income.net_income, 0.0)    [money]
        credited = smaller(income.withheld, full) if row.tax_relief == "credit" else 0.0 * full    [money]
        tax, credit = 0.0 * income.gross if row.tax_relief == "exempt" else full, 0.0 * income.gross if row.tax_relief ==
            "exempt" else credited    [money, money]

    Source: common practice; what holds is for tax advisers.

    >>> from types import SimpleNamespace as Row
    >>> income = Income(100.0, 10.0, 0.0, 60.0)
    >>> [own_tax(Row(tax_rate=0.15, tax_relief=relief), income) for relief in ("credit", "none", "exempt")]
    [(6.0, 6.0), (6.0, 0.0), (0.0, 0.0)]
    """
    if row.tax_relief == "exempt":
        return 0.0 * income.gross, 0.0 * income.gross
    tax = row.tax_rate * larger(income.net_income, 0.0)
    return tax, smaller(income.withheld, tax) if row.tax_relief == "credit" else 0.0 * tax


def payments_that_leave(row: Licensor, income: Income, wanted: Value) -> Value:
    """Payments in the mix of the offer that leave just so much after all taxes; 0 where nothing is paid.

        arrives = income.gross - income.inventors - income.withheld    [money]
        untaxed = wanted * safe_divide(income.gross, arrives)    [money]
        kept = (income.gross - income.inventors) * (1 - row.tax_rate) - (income.withheld if row.tax_relief == "none" else 0.0
            * income.withheld)    [money]
        taxed = (wanted - row.tax_rate * income.costs) * safe_divide(income.gross, kept)    [money]
        payments = untaxed if row.tax_relief == "exempt" else larger(untaxed, taxed)    [money]

    Takes: wanted [money].
    Source: from memory.

    What is left is the lesser of two straight lines in the payments: one where no own tax is left to pay, one where some is.

    >>> from types import SimpleNamespace as Row
    >>> payments_that_leave(Row(tax_rate=0.5, tax_relief="credit"), Income(100.0, 10.0, 0.0, 0.0), 45.0)
    90.0
    """
    arrives = income.gross - income.inventors - income.withheld
    untaxed = wanted * safe_divide(income.gross, arrives)
    if row.tax_relief == "exempt":
        return untaxed
    kept = (income.gross - income.inventors) * (1 - row.tax_rate)
    if row.tax_relief == "none":
        kept = kept - income.withheld
    return larger(untaxed, (wanted - row.tax_rate * income.costs) * safe_divide(income.gross, kept))
