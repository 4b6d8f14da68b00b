"""Words that do not depend on a case."""

CAUTIONS = (
    "This is a cost estimate from the inputs listed in this report. It is no offer and no advice on investment, tax or law. "
    "Take decisions about money with licensed advisers.",
    "Thin-film silicon processes use hazards: silane, which ignites in air, hydrogen, toxic dopant gases, fluorine compounds for "
    "cleaning, lasers, vacuum, hot glass, high voltage. Costs of safety systems are entered as figures. Nothing here sizes them or "
    "shows that they are safe.",
    "Siting, storage, detection, exhaust and abatement follow local codes. They are the work of licensed engineers, the fire "
    "authority, the labour inspectorate, the environmental permit and the insurer.",
)

INTERNAL = (
    "Internal: this holds the recipe and what only the licensor knows. External editions are made by “costmodel report --kind "
    "proposal” and “--kind investor”."
)

CONVENTIONS = (
    "All amounts are for one year of steady operation; a year is 8,760 hours.",
    "Prices are as stated in the tables, in the currency and price year of their row, converted at the exchange rates of "
    "money.csv. Where indices.csv covers a table, its prices are brought to money of the case. Elsewhere no price is inflated. "
    "Duty is on the price without freight.",
    "A stabilised watt is a watt after light soaking under standard test conditions; an initial watt is one before.",
    "Yield loss is money spent on plates that do not end as good modules. Found line by line and step by step, it is the same.",
    "A tool that serves several steps is counted once, with the time of all its steps. Loads are full where they are put "
    "together; on a carrier lost plates leave gaps. Where tools follow from the output they are bought whole. Where the plant "
    "stays they are as installed.",
    "Operators at tools are counted in whole people per crew and role; heads at no tool are as stated.",
    "Depreciation in the ledger is that of an average year of the life: price less salvage value, over the life. With `production` "
    "in book_depreciation.csv it follows the hours that the equipment works. Books and tax are kept apart.",
    "The plan counts quarters and is nominal, with inflation, unless it states otherwise. A flow over a quarter counts at its end, "
    "a payment when it is due. Tax is settled by years of the plan, with losses relieved as the plan chooses. Cash that is left "
    "is paid out at once.",
    "A discount holds for all of the quantity that reaches it. What is paid for and not used is a cost of no step.",
    "What buyers could pay is computed without inflation, at their real discount rate. They pay at the start; upkeep and energy "
    "come at the end of each year.",
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
