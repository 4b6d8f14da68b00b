"""The ledger: one table of every cost of a year, from which every view is a sum over a group of lines.

Decisions. What is bought takes two steps: films, phases and materials say what they use (`Use`), the uses are added up by item,
then priced, as a discount or a contract holds for the quantity of a year. What is paid for and not used is a cost of no step.
Metal in an item is at its quote, with freight and duty, without cost index and without discount; recovered metal is credited at
the quote less refining.

The ledger takes the average year of a life, so how fast the books write off does not move the cost of a module; only
depreciation by production does, by the loading. Cost of ownership (SEMI E35) counts the accounting life; a technical life acts
only when the plan spends. Schedules year by year, for books and tax, are computed beside the ledger and in the plan.

Yield loss is an average share of cost, less the scrap revenue of lost plates: what a line of the ledger spends on plates that
do not end as good modules. Costs of no step, and what is bought for good modules only, carry none. A perfect yield would save
less, since whole tools and people stay.

Light soaking: the error of a rating adds up the spread within the lot, both parts of the measurement and lots that differ; the
factor for a finite lot acts on the first alone. Degrees of freedom are those of Welch and Satterthwaite, rounded down, so that
a factor is that of spreadsheets. Claims, and interest on the stock that waits, are lines of the ledger at no step; the plan
leaves that interest out, as the stock is in its working capital.
"""
