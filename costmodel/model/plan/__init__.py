"""The plan: the licensee's plant as an investment, quarter by quarter.

Decisions on time. Only the horizon is structure. Building time, delays, lives and terms are numbers that act through the share
of each quarter that lies behind them, so they may be fractional and swept. Columns are the first day (`q000`) and the quarters:
a flow over a time counts at the end of its quarter, a payment due at a time falls on the quarter ends around it in proportion
(within 0.01 % of its exact present value at 10 % a year). All figures of value read these columns. Rows of columns are
`core/series.py:Row`: arithmetic and the closed operations act on them column by column, in every reading. What is used more
than once (balances, losses carried forward, running sums) is a figure of its own, or the formula of a late quarter would hold
those before it many times over.

Decisions on money. Rates are nominal; `returns.basis` says whether the required ones are. Income is taxed by years of the plan,
with instalments by quarter; a choice says what a loss does, and losses carried forward are used oldest first. Cash that is left
is paid out at once. An expansion is paid in the year before it starts; it is neither replaced nor sold. Each market takes at
most `most_share` of its volume, quarter by quarter, as no stock is built; what is cut is not started. Equipment is replaced at
the end of its technical life, evenly over the year that follows: the count of replacements is continuous in the life. What
stands at the end sells for a share of its price then, which falls with age. Least price and volume are roots, found outside the
model.

Decisions on closing. Nothing before a closing depends on it, so all columns are filled as if the plant never closed; the rule
reads their operating cash, from the start of production on, and the columns are filled again, cut off (`closing_time.Use`). The
end of the plan is an end of use like any other, but severance, stock sold below its cost and a grant paid back come with an
early one only. The worth of closing at each quarter follows from the plan that never closes and what closing then would bring
and cost (`closing.if_closed`). Creditors are paid in the order bank, licensor, where the case says that owners do not bear a
shortfall. Debt that the bank loses counts as debt service that fell due; it is not taxed. Value added tax on what is unpaid is
left out. Licence payments that fall due with closing are at the exchange rate of that day. Warranty is a reserve that overheads
pay as modules are sold, so closing leaves none of it to settle; customers pay nothing in advance.
"""
