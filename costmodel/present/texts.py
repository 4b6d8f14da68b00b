"""Words that do not depend on a case."""

CAUTIONS = (
    "This is a cost estimate from the inputs listed in this report. It is no offer and no advice on investment, tax or law; "
    "take decisions about money with licensed advisers.",
    "Thin-film silicon processes use silane, which ignites in air, hydrogen, toxic dopant gases, fluorine compounds where "
    "chambers are cleaned with them, lasers, vacuum, hot glass and high voltage. Costs of such systems are entered as "
    "figures; nothing here sizes them or shows that they are safe.",
    "Siting, storage, detection, exhaust and abatement follow local codes and are the work of licensed engineers, the "
    "fire authority, the labour inspectorate, the environmental permit and the insurer.",
)

INTERNAL = (
    "Internal: this holds what only the licensor knows, and the recipe. What may go to others is made by “costmodel report --kind "
    "proposal” and “--kind investor”."
)

CONVENTIONS = (
    "All amounts are for one year of steady operation; a year is 8,760 hours.",
    "Prices are as stated in the tables, in the currency and price year of their row, converted at the exchange rates of "
    "money.csv. Where indices.csv covers a table its prices are brought to money of the case; elsewhere nothing is inflated to "
    "another year. Duty is on the price without freight.",
    "A stabilised watt is a watt after light soaking under standard test conditions; an initial watt is one before.",
    "Yield loss is money spent on plates that do not end as good modules. Found line by line and step by step, it is the same.",
    "A tool that serves several steps is counted once, with the time of all its steps. Loads are full where they are put "
    "together; on a carrier lost plates leave gaps. Where tools follow from "
    "the output they are bought whole; where the plant stays they are as installed.",
    "Operators at tools are counted in whole people for each crew and role; heads at no tool are as stated.",
    "Depreciation in the ledger is that of an average year of the life: what is not left as salvage value, over the life. Where "
    "book_depreciation.csv says `production` it is borne by what the equipment works. Books and tax are kept apart.",
    "The plan counts quarters and is with inflation (nominal) unless it says otherwise; a flow over a quarter counts at its end, "
    "and a payment due at a time when it is due. Tax "
    "is settled each quarter, losses are carried forward, and cash that is left is paid out at once.",
    "A discount holds for all of the quantity that reaches it. What is paid for and not used is a cost of no step.",
    "What buyers could pay is found without inflation, at their real discount rate: they pay at the start, upkeep and energy come "
    "at the end of each year.",
)

REVIEW = (
    "withholding tax on each kind of payment, and whether a treaty lowers it or the licensor can credit it",
    "whether royalties and fees count for the customs value of what is imported",
    "whether people on site for months make a permanent establishment",
    "whether the host country registers, caps or taxes payments for know-how",
    "competition rules on exclusivity, territories and the rights in improvements; grant-backs that are exclusive",
    "rules for public bodies: price at market, state aid, conditions of those who paid for the research, export control",
    "who insures what, and how far liability goes",
)  # points of a licence for those who know the law of the place
