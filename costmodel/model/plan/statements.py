"""Profit and loss, cash and balance of the plan: how the lines of a statement make its totals, column by column.

What is left is paid out at once, so that no cash is held. Debt that the bank loses by an early closing is not taxed.
"""

from __future__ import annotations

from ...core.series import Row


def operating_result(
    revenue: Row, sublicences: Row, variable_cost: Row, fixed_cost: Row, start_up: Row, royalty: Row, services: Row
) -> Row:
    """Operating result before depreciation and the cost of closing."""
    return revenue + sublicences - variable_cost - fixed_cost - start_up - royalty - services


def outlays(capital: Row, licence_fee: Row, replacement: Row) -> Row:
    """All that is bought and written off: the plant, the licence, replacement."""
    return capital + licence_fee + replacement


def taxable_income(operating: Row, closing_cost: Row, written_off: Row, sold_for: Row) -> Row:
    """Taxable income as if there were no loan."""
    return operating - closing_cost - written_off + sold_for


def profit(operating: Row, closing_cost: Row, depreciation: Row, interest: Row, disposal: Row, forgiven: Row, tax: Row) -> Row:
    """Profit after tax."""
    return operating - closing_cost - depreciation - interest - disposal + forgiven - tax


def cash_before_tax(operating: Row, closing_cost: Row, outlay: Row, vat: Row, working_capital: Row, sold_for: Row) -> Row:
    """Cash of the project before tax."""
    return operating - closing_cost - outlay - vat - working_capital.gains() + sold_for


def free_cash(before_tax: Row, tax: Row) -> Row:
    """Cash of the project after tax, as if there were no loan."""
    return before_tax - tax


def owners_cash(before_tax: Row, tax: Row, drawn: Row, repaid: Row, interest: Row) -> Row:
    """Cash that is paid out to the owners, paid in where negative."""
    return before_tax - tax + (drawn - repaid - interest)


def tied_up(receivables: Row, stock: Row, payables: Row) -> Row:
    """Working capital: receivables and stock, less what suppliers wait for."""
    return receivables + stock - payables


def fixed_assets(outlay: Row, depreciation: Row, disposal: Row, sold_for: Row) -> Row:
    """Plant and licence in the books at the end of each column."""
    return (outlay - (depreciation + disposal + sold_for)).running_sum()


def equity(profit: Row, owners_cash: Row) -> Row:
    """What the owners paid in less what was paid out to them, and all profits."""
    return (profit - owners_cash).running_sum()


def balance(fixed_assets: Row, working_capital: Row, vat: Row, debt: Row, equity: Row) -> Row:
    """The check of the balance sheet, which must be zero: assets less debts and equity."""
    return fixed_assets + working_capital + vat - debt - equity
