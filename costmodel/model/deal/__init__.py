"""The deal: what the licence is worth to each side.

Gains. Both are figures of the model (`deal.licensor.gain`, `deal.licensee.gain`), each at its own rate; zone, splits and limits
of a term are found outside it. The licensor's share of both gains is given where they add up to more than nothing. The plant
with nothing paid keeps its sublicences and its loan; it closes by the rule on its own cash. The licensee's other ways go by that
plant; where a delay of ours is stated, by a plan of its own without the delay (`deal.on_time`).

Payments. A minimum royalty is counted over years of the plan and runs from the first day, so a late start makes it bind.
Payments that are written off go evenly over what remains of the term. Withholding tax is lost but for its credit. Royalties by
year are those agreed, before the licensee's part of withholding tax; all payments of the year are with it.

Costs of the licensor. Deliveries and yearly services cost nothing after the end of use, even where their price falls due.
Upkeep of the rights goes on, with inflation. Damages under a guarantee leave the licensor and reach the licensee, after tax,
while the plant is in use. In the model they are those of inputs as stated, in studies what ranges.csv holds uncertain is drawn.
Each guarantee is taken alone in the model. The common cap, and the order by which one shortfall pays once, lower what is paid:
the floor leaves them out, the draws of all guarantees together apply them.

Exchange rates change evenly, and a flow is at the rate of when it counts. The licensor's present values are of flows in its own
currency; in the reporting currency they are at the rate of day one, at which both gains are added. Costs of the ledger stay at
the rate of day one. The licensor's own tax is on the present value of the whole deal, so no year has a limit of its credit.

Second licensees are computed beside the plan: what they take moves both gains, but no quarter of the plan, and is taxed at the
plain rate. External editions know of no prospects. Shares of the licensor are paid a part of the cash of the project after what
second licensees take, where that is above nothing.

Yardsticks. The licensee's profit is that of the plan before tax, after payments and interest. Payments leave dividends out.
"""
