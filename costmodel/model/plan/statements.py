"""Profit and loss, cash and balance of the plan: how the lines of a statement make its totals, column by column.

What is left is paid out at once, so that no cash is held. Debt that the bank loses by an early closing is not taxed.
"""

from __future__ import annotations

from ...core.series import Row


def operating_result(
    revenue: Row, sublicences: Row, variable_cost: Row, fixed_cost: Row, start_up: Row, royalty: Row, services: Row
) -> Row:
    """Operating result before depreciation and the cost of closing.

        result = revenue + sublicences - variable_cost - fixed_cost - start_up - royalty - services    [money]

    Takes: revenue [money], sublicences [money], variable_cost [money], fixed_cost [money], start_up [money], royalty [money],
    services [money].
    Source: common practice.

    >>> operating_result(*(Row([x]) for x in (100.0, 5.0, 40.0, 20.0, 3.0, 2.0, 1.0)))
    [39.0]
    """
    return revenue + sublicences - variable_cost - fixed_cost - start_up - royalty - services


def less_warranty(operating: Row, provided: Row) -> Row:
    """The operating result after what is set aside for the warranty of the modules sold.

        result = operating - provided    [money]

    Takes: operating [money], provided [money].
    Source: IAS 37: a provision is made when the module is sold.

    >>> less_warranty(Row([39.0]), Row([4.0]))
    [35.0]
    """
    return operating - provided


def outlays(capital: Row, licence_fee: Row, replacement: Row) -> Row:
    """All that is bought and written off: the plant, the licence, replacement.

        outlay = capital + licence_fee + replacement    [money]

    Takes: capital [money], licence_fee [money], replacement [money].
    Source: common practice.

    >>> outlays(Row([100.0]), Row([10.0]), Row([1.0]))
    [111.0]
    """
    return capital + licence_fee + replacement


def taxable_income(operating: Row, closing_cost: Row, written_off: Row, sold_for: Row, not_deducted: Row) -> Row:
    """Taxable income as if there were no loan; `not_deducted` is what is set aside for warranty and tax does not yet deduct.

        income = operating - closing_cost - written_off + sold_for + not_deducted    [money]

    Takes: operating [money], closing_cost [money], written_off [money], sold_for [money], not_deducted [money].
    Source: common practice.

    >>> taxable_income(Row([50.0]), Row([5.0]), Row([20.0]), Row([8.0]), Row([3.0]))
    [36.0]
    """
    return operating - closing_cost - written_off + sold_for + not_deducted


def profit(operating: Row, closing_cost: Row, depreciation: Row, interest: Row, disposal: Row, forgiven: Row, tax: Row) -> Row:
    """Profit after tax; interest is that on the loan and, as a borrowing cost, that on the provision for warranty.

        profit after tax = operating - closing_cost - depreciation - interest - disposal + forgiven - tax    [money]

    Takes: operating [money], closing_cost [money], depreciation [money], interest [money], disposal [money], forgiven [money], tax
    [money].
    Source: common practice.

    >>> profit(*(Row([x]) for x in (50.0, 5.0, 20.0, 4.0, 1.0, 2.0, 6.0)))
    [16.0]
    """
    return operating - closing_cost - depreciation - interest - disposal + forgiven - tax


def cash_before_tax(
    operating: Row, closing_cost: Row, outlay: Row, vat: Row, working_capital: Row, sold_for: Row, not_yet_paid: Row
) -> Row:
    """Cash of the project before tax; `not_yet_paid` is what is set aside for warranty, less the claims paid.

        cash = operating - closing_cost - outlay - vat - working_capital.gains() + sold_for + not_yet_paid    [money]

    Takes: operating [money], closing_cost [money], outlay [money], vat [money], working_capital [money], sold_for [money],
    not_yet_paid [money].
    Source: common practice.

    Working capital of 3, then of 5, takes 3 and 2; of 2 set aside, 1 is paid a quarter later:

    >>> nothing = Row([0.0, 0.0])
    >>> cash_before_tax(Row([10.0, 10.0]), nothing, Row([4.0, 0.0]), nothing, Row([3.0, 5.0]), nothing, Row([2.0, -1.0]))
    [5.0, 7.0]
    """
    return operating - closing_cost - outlay - vat - working_capital.gains() + sold_for + not_yet_paid


def free_cash(before_tax: Row, tax: Row) -> Row:
    """Cash of the project after tax, as if there were no loan.

        cash = before_tax - tax    [money]

    Takes: before_tax [money], tax [money].
    Source: common practice.

    >>> free_cash(Row([10.0]), Row([3.0]))
    [7.0]
    """
    return before_tax - tax


def owners_cash(before_tax: Row, tax: Row, drawn: Row, repaid: Row, interest: Row) -> Row:
    """Cash that is paid out to the owners, paid in where negative.

        cash = before_tax - tax + (drawn - repaid - interest)    [money]

    Takes: before_tax [money], tax [money], drawn [money], repaid [money], interest [money].
    Source: common practice.

    >>> owners_cash(Row([10.0]), Row([3.0]), Row([8.0]), Row([2.0]), Row([1.0]))
    [12.0]
    """
    return before_tax - tax + (drawn - repaid - interest)


def tied_up(receivables: Row, stock: Row, payables: Row) -> Row:
    """Working capital: receivables and stock, less what suppliers wait for.

        amount = receivables + stock - payables    [money]

    Takes: receivables [money], stock [money], payables [money].
    Source: common practice.

    >>> tied_up(Row([10.0]), Row([5.0]), Row([3.0]))
    [12.0]
    """
    return receivables + stock - payables


def fixed_assets(outlay: Row, depreciation: Row, disposal: Row, sold_for: Row) -> Row:
    """Plant and licence in the books at the end of each column.

        value = (outlay - (depreciation + disposal + sold_for)).running_sum()    [money]

    Takes: outlay [money], depreciation [money], disposal [money], sold_for [money].
    Source: common practice.

    >>> fixed_assets(Row([100.0, 0.0]), Row([0.0, 25.0]), Row([0.0, 5.0]), Row([0.0, 10.0]))
    [100.0, 60.0]
    """
    return (outlay - (depreciation + disposal + sold_for)).running_sum()


def equity(profit: Row, owners_cash: Row) -> Row:
    """What the owners paid in less what was paid out to them, and all profits.

        value = (profit - owners_cash).running_sum()    [money]

    Takes: profit [money], owners_cash [money].
    Source: common practice.

    Owners pay in 100, then take out 5 of a profit of 8:

    >>> equity(Row([0.0, 8.0]), Row([-100.0, 5.0]))
    [100.0, 103.0]
    """
    return (profit - owners_cash).running_sum()


def balance(fixed_assets: Row, working_capital: Row, vat: Row, debt: Row, provision: Row, equity: Row) -> Row:
    """The check of the balance sheet, which must be zero: assets less debts and equity.

        check = fixed_assets + working_capital + vat - debt - provision - equity    [money]

    Takes: fixed_assets [money], working_capital [money], vat [money], debt [money], provision [money], equity [money].
    Source: common practice.

    >>> balance(Row([60.0]), Row([12.0]), Row([3.0]), Row([40.0]), Row([5.0]), Row([30.0]))
    [0.0]
    """
    return fixed_assets + working_capital + vat - debt - provision - equity
