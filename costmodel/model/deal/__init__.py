"""The deal: what the licence is worth to each side.

Decisions. Both gains are figures of the model (`deal.licensor.gain`, `deal.licensee.gain`), each at its own rate; zone, splits
and limits of a term are found outside it. A minimum royalty is counted over years of the plan and runs from the first day, so a
late start makes it bind. Payments that are written off go evenly over what remains of the term. Damages under a guarantee leave
the licensor and reach the licensee, after tax; in the model they are those of efficiency and stabilisation as stated, in
studies those are drawn. Withholding tax is lost but for its credit. Exchange rates change evenly, and a flow is at the rate of
when it counts. The licensor's present values are of flows in its own currency; in the reporting currency they are at the rate
of day one, at which both gains are added. Costs of the ledger stay at the rate of day one. The licensor's own tax is on the
present value of the whole deal, so no year has a limit of its credit. What second licensees take is computed beside the plan:
it moves both gains, but no quarter of the plan, and is taxed at the plain rate. External editions know of no prospects.
"""
