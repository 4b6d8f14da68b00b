"""The plan: the licensee's plant as an investment, quarter by quarter.

Time. A year has 8,760 hours, 365 days and 12 months. Columns are the first day (`q000`) and the ends of quarters. The first day
belongs to the first year of the plan. A flow over a time counts at the end of its quarter. A payment due at a time falls on the
quarter ends around it in proportion. That is within 0.01 % of its exact present value at 10 % a year. Prices, tariffs and wages
of a quarter are those of its middle, exchange rates those of its end. Only the horizon is structure. Building time, delays,
lives and terms act through the share of each quarter that lies behind them, so they may be fractional.

Capital. Reserve counts on all but land. The grant pays its part of all but land, reserve included, as it is spent. Value added
tax at the border is on tools, carriers, spare parts and systems of the first plant, reserve included, before the grant. What
capital.csv calls an asset sells for a share of its amount with the reserve. Equipment sells for a share of its bare price at
the time, without freight, installation and reserve. Replacements and overhauls are at prices of their time with the reserve,
without a grant.

Equipment is replaced at the end of its technical life, evenly over the year that follows. So the count of replacements is
continuous in the life. A year of use begins with production or a year after it; its replacement and depreciation spread evenly
over its quarters. An expansion is paid in the year before it starts; it is neither replaced nor sold.

Depreciation. Without a row in book_depreciation.csv, equipment is written off in straight line to nothing. Without a row in
tax_depreciation.csv, tax follows the books. What the ledger charges by production, the plan writes off in straight line over
the accounting life. Other assets are written off in straight line in both. What is left of a piece when it is replaced is lost
then. What is left of all at the end of use, less what it sells for, is lost then too.

Sales. Each market takes at most `most_share` of its volume, quarter by quarter, as no stock is built; what is cut is not
started. Where nothing is planned, the market takes all of it. Learning lowers variable cost, materials included, and no other.

Licence. Paid once, and written off over the royalty term: upfront fee, other fees, fees for expansions, buy-outs, margins on
equipment. Margins are on the first equipment with its reserve, as it is paid, not on replacements. An expense of its quarter:
the royalty with what is missing to its minimum; deliveries, yearly services, margins on materials, the licensor's part of
sublicences. All payments stop when use ends, but those that closing makes due. Each is raised by the licensee's part of the
withholding tax of its kind. Royalties, minimums, fees for expansions, buy-outs and parts of sublicences are of the kind
`licence`.

Loan. It is drawn as capital of the first plant is paid, and no other money is. Interest is on what was owed a quarter before.
What is left is repaid when use ends.

Tax. Income is taxed by years of the plan: each column pays the tax of its year to date less what the year paid before. Losses
carried forward are used oldest first. The tax of the project is that of a plant without a loan. Rates are nominal;
`returns.basis` says whether the required ones are. Cash that is left is paid out at once.

Closing. Nothing before a closing depends on it, so all columns are filled as if the plant never closed. The rule reads their
operating result less replacements and overhauls, in whole quarters of production. The columns are filled again, cut off at the
end of the first quarter in which the rule holds. The end of the plan is an end of use like any other. Severance, stock sold
below its cost and a grant paid back come with an early one only. Severance is on all labour cost, at the wages of that quarter.
The grant that is paid back is that of all capital of the first plant. What is unpaid of that capital is paid then, without the
loan, and lost. Creditors are paid in the order bank, licensor, where the case says that owners do not bear a shortfall. Debt
that the bank loses counts as debt service that fell due; it is not taxed. Value added tax on what is unpaid is left out.
Licence payments that fall due with closing are at the exchange rate of that day. Customers pay nothing in advance. The worth of
closing at each quarter follows from the plan that never closes and what closing then would bring and cost.

Warranty. Without warranty.csv it is at most a reserve that overheads pay as modules are sold, so that closing leaves none of it
to settle. With it, the present value of all claims of a module is set aside at its sale; that stands in the operating result, on
which the rule of closing looks. Claims are paid as they fall due, and rise as overheads do. Interest on the provision is a cost
of finance and no cash. As use of the plant ends, early or not, what is left of the provision is paid to whoever then bears the
claims, before the bank. Modules that are sent instead are bought at their cost in warranty.csv, and take no capacity.

Rates of return are looked for from -90 to +1,000 % a year. There is none of flows that recover less than half of the outlay,
nor where there are several. A rate through which the present value rises is a cost of finance, and no return. The modified rate
runs over the whole plan, even where use ends before.
"""

# Rows of columns are `core/series.py:Row`: arithmetic and the closed operations act on them column by column, in every reading.
# What is used more than once (balances, losses carried forward, running sums) is a figure of its own, or the formula of a late
# quarter would hold those before it many times over. Least price and volume are roots, found outside the model.
