"""Figures of the ledger, for one year of steady operation, in the reporting currency."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, status
from ...core.operations import Value

_SAMPLE = {1: "a sample reaches the wanted precision"}, {0: "no sample reaches the wanted precision"}
CATEGORIES = ("materials", "utilities", "labour", "depreciation", "maintenance", "building", "facilities", "overheads", "emissions")
YIELD_LOSS = "yield_loss"  # the kind that takes what is lost out of each category
KINDS_OF_COST = (*CATEGORIES, YIELD_LOSS)
PLANT = "plant"  # stands where a step would, for costs that belong to no step
WRITTEN_OFF = "depreciation"  # what drives the cost of a facility system that is no cash: the plan pays for it as it is built
IMPUTED = "stock that waits"  # what drives a cost that is no cash either: interest on stock, which the plan has as working capital
TO_COME = "claims to come"  # what drives the cost of the warranty: the plan sets it aside, and pays claims as they fall due
SHARE_LOST, NO_LOSS, ALL_LOST = "share", "none", "all"  # how much of a line is lost with bad plates


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One cost of the year: what, where, how much of it, at what price."""

    step: str
    category: str
    item: str
    group: str
    unit: str
    driver: str
    loss: str
    quantity: Value = figure("{unit}", "amount of the year")
    price: Value = figure("money/{unit}", "landed price, or charge of the year, for one unit")
    cost: Value = figure("money", "cost of the year")
    lost: Value = figure("money", "part of the cost spent on plates that do not end as good modules")
    idle: Value = figure("money", "part of the cost that is for capacity not used")
    variable_share: Value = figure("%", "share of the amount that follows the output; the rest is fixed with the plant")
    variable: Value = figure("money", "part of the cost that follows the output")


@dataclass(frozen=True, slots=True)
class FilmBalance:
    """Where the silicon of one film goes."""

    silicon_in_film: Value = figure("kg", "silicon in the film on the plates")
    silicon_fed: Value = figure("kg", "silicon fed as silane")
    silicon_settling: Value = figure("kg", "silicon fed while gases settle, before the film grows")
    silicon_lost: Value = figure("kg", "silicon pumped away or on the walls")
    silane_fed: Value = figure("kg", "silane fed")


@dataclass(frozen=True, slots=True)
class CoatingBalance:
    """Where the material of one sputtered film goes."""

    on_plates: Value = figure("kg", "material on the plates")
    bought: Value = figure("kg", "target material bought")
    recovered: Value = figure("kg", "material sent back for credit")
    lost: Value = figure("kg", "material neither on plates nor recovered")


@dataclass(frozen=True, slots=True)
class Cost:
    """A cost of the year on every basis."""

    cost: Value = figure("money", "cost of the year")
    cost_per_plate_started: Value = figure("money/plate", "cost for each plate entering the line")
    cost_per_module: Value = figure("money/module", "cost for each good module")
    cost_per_m2: Value = figure("money/m2", "cost for each square metre of good modules")
    cost_per_initial_watt: Value = figure("money/Wp_initial", "cost for each watt before light soaking")
    cost_per_stabilised_watt: Value = figure("money/Wp_stabilised", "cost for each watt after light soaking")


@dataclass(frozen=True, slots=True)
class StepValue:
    """Cost added along the route, and what the losses of a step cost."""

    cost_added: Value = figure("money/plate", "cost added in the step to each plate entering it")
    cost_so_far: Value = figure("money/plate", "cost of a plate when it has been through the step")
    scrap_revenue: Value = figure("money", "scrap revenue of the plates lost in the step, as scrap or second grade")
    lost: Value = figure("money", "cost of the plates lost in the step, up to and with the step, less scrap revenue")


@dataclass(frozen=True, slots=True)
class FromPlateToModule:
    """Why a good module costs more than a plate that went through all steps."""

    through_all_steps: Value = figure("money/module", "what a plate has cost that went through all steps")
    lost_plates: Value = figure("money/module", "plates lost on the way less scrap revenue, shared by the good modules")
    no_step: Value = figure("money/module", "costs of no step, and what is bought for good modules only")


@dataclass(frozen=True, slots=True)
class Landed:
    """What one unit of an item costs at the gate."""

    unit: str
    used: Value = figure("{unit}", "used in the year")
    paid_for: Value = figure("{unit}", "paid for in the year: used, or the least that the terms of purchase ask")
    discount: Value = figure("%", "discount that this quantity reaches")
    price: Value = figure("money/{unit}", "price in money of the case, with metal, freight and duty, discount taken off")
    metal: Value = figure("money/{unit}", "quote of the metal in it, freight and duty apart; 0 without a metal")
    credit: Value = figure("money/{unit}", "what recovered metal is credited at: the quote less refining; 0 without a metal")
    stock: Value = figure("money", "money in stock on hand")


@dataclass(frozen=True, slots=True)
class Emission:
    """Greenhouse gas of one source, as CO2 equivalent, in a year."""

    mass: Value = figure("kg", "CO2 equivalent")
    mass_per_m2: Value = figure("kg/m2", "CO2 equivalent for each square metre of good modules")
    mass_per_stabilised_watt: Value = figure("kg/Wp_stabilised", "CO2 equivalent for each stabilised watt")


@dataclass(frozen=True, slots=True)
class Ownership:
    """Cost of ownership of all tools of a kind in a year, after SEMI E35."""

    fixed: Value = figure("money", "depreciation and floor")
    recurring: Value = figure("money", "materials, utilities, labour, maintenance and emissions of its steps")
    yield_loss: Value = figure("money", "what the plates lost in its steps had cost before, less scrap revenue")
    cost: Value = figure("money", "the three together")
    throughput: Value = figure("plate/h/tool", "plates processed in the productive time of one tool")
    composite_yield: Value = figure("%", "good plates over plates processed, over all its steps")
    utilisation: Value = figure("%", "productive time over the year")
    good_plates: Value = figure("plate", "plates processed that became good")
    cost_per_good_plate: Value = figure("money/plate", "cost of ownership for each plate processed that became good")
    cost_per_plate_leaving: Value = figure("money/plate", "the same for each plate leaving its steps, those that passed by as well")


@dataclass(frozen=True, slots=True)
class LotError:
    """The uncertainty of the rating of a lot, over the mean: its parts as standard uncertainties, and all of it expanded."""

    within_lot: Value = figure("%", "as the modules of a lot differ and a part of them is soaked")
    measurement_random: Value = figure("%", "as measurements differ")
    between_lots: Value = figure("%", "as lots differ whose mean is taken")
    measurement_common: Value = figure("%", "as all measurements share an error")
    standard: Value = figure("%", "standard uncertainty: the root of the sum of their squares")
    coverage_factor: Value = figure("1", "half-width over standard uncertainty")
    half_width: Value = figure("%", "half-width of the rating for the coverage probability")


@dataclass(frozen=True, slots=True)
class Rating:
    """What a light-soaking plan measures."""

    error: LotError
    soaked: Value = figure("1", "modules of a lot that the case soaks")
    precision_met: Value = figure("1", "1 where the half-width is within the wanted precision, else 0")
    least_half_width: Value = figure("%", "half-width that no sample goes below, from lots soaked whole")
    sample_needed: Value = figure("1", "modules of a lot to soak for the wanted precision")
    sample_needed_status: Value = status(*_SAMPLE)
    sample_for_random: Value = figure("1", "the same if the common part of the measurement is left out")
    sample_for_random_status: Value = status(*_SAMPLE)
    shortfall: Value = figure("%", "mean shortfall of a lot beyond the tolerance, over the mean")


@dataclass(frozen=True, slots=True)
class WaitingStock:
    """The modules that wait for the rating of their lot."""

    waiting_time: Value = figure("h", "time that a lot waits for its rating, by the calendar")
    waiting: Value = figure("plate", "modules that wait")
    money_tied_up: Value = figure("money", "what the waiting modules have cost")
    variable_share: Value = figure("%", "share of that which follows the output")


@dataclass(frozen=True, slots=True)
class SoakingPlan:
    """What a light-soaking plan measures, holds up and costs in a year."""

    rating: Rating
    stock: WaitingStock
    claims: Value = figure("money", "expected claims for watts not delivered")
    holding: Value = figure("money", "interest on the waiting modules")
    step_cost: Value = figure("money", "cost of soaking and of rating again")
    cost_and_risk: Value = figure("money", "steps, interest and expected claims together")
    cost_and_risk_per_stabilised_watt: Value = figure("money/Wp_stabilised", "the same per stabilised watt")


@dataclass(frozen=True, slots=True)
class Checks:
    """Differences that must be zero: totals reached by two roads, masses that must close."""

    by_step_less_total: Value = figure("money", "sum over steps less the total")
    by_category_less_total: Value = figure("money", "sum over categories less the total")
    loss_by_step_less_by_line: Value = figure("money", "yield loss by step less yield loss by line")
    silicon_unaccounted: Value = figure("kg", "silicon fed less silicon in films and lost")
    coating_unaccounted: Value = figure("kg", "target material bought less on plates, recovered and lost")
    plates_unaccounted: Value = figure("plate", "plates started less good plates and plates lost in steps")
    module_cost_unaccounted: Value = figure(
        "money/module", "cost of a module less a plate through all steps, lost plates and costs of no step"
    )


@dataclass(frozen=True, slots=True)
class WarrantyCost:
    """What claims cost, and what the modules sold in a year will bring of them, at the prices of the case."""

    cost_per_claim: Value = figure("money/module", "what one claim costs: module, freight, work at the building")
    claims: Value = figure("%", "claims over all years of the terms, over modules sold")
    product_claims: Value = figure("%", "claims over all years for modules that fail, over modules sold")
    power_claims: Value = figure("%", "claims over all years for power below the promise, over modules sold")
    discounted_claims: Value = figure("%", "all claims, each discounted to the sale, over modules sold")
    modules_sold: Value = figure("module", "modules sold")
    claims_of_year: Value = figure("module", "discounted claims of the modules sold in a year")
    cost: Value = figure("money", "what they cost")
    cost_per_module_sold: Value = figure("money/module", "the same per module sold")
    cost_per_stabilised_watt: Value = figure("money/Wp_stabilised", "the same per stabilised watt made")


@dataclass(frozen=True, slots=True)
class Ledger:
    """All costs of the year and their views."""

    landed: dict[str, Landed]
    lines: dict[str, LedgerLine]
    films: dict[str, FilmBalance]
    coatings: dict[str, CoatingBalance]
    total: Cost
    by_step: dict[str, Cost]
    by_category: dict[str, Cost]
    by_group: dict[str, Cost]
    route: dict[str, StepValue]
    module: FromPlateToModule
    soaking: dict[str, SoakingPlan]
    ownership: dict[str, Ownership]
    emissions: dict[str, Emission]
    warranty: dict[str, WarrantyCost]
    checks: Checks
    by_step_and_category: dict[str, dict[str, Value]] = figure("money", "cost of the year by step and category")
    matrix_per_m2: dict[str, dict[str, Value]] = figure(
        "money/m2",
        "cost by step and kind: what is spent on plates that do not end as good modules is taken out of each "
        "category and stands under yield_loss",
    )
    matrix_per_stabilised_watt: dict[str, dict[str, Value]] = figure(
        "money/Wp_stabilised", "cost by step and kind, yield loss taken out of each category"
    )
    equipment_value: Value = figure(
        "money", "what tools, carriers, facility systems and parts in store have cost, standing in the plant"
    )
    cost_per_labelled_watt: Value = figure("money/Wp_stabilised", "cost for each watt on the labels of modules sold")
    cost_per_labelled_watt_status: Value = status({1: "modules are sold"}, {0: "no module is sold"})
    stock: Value = figure("money", "money in stock of bought items")
    scrap_revenue: Value = figure("money", "scrap revenue of lost plates in the year, as scrap or second grade")
    idle: Value = figure("money", "cost of the year for capacity not used: depreciation and floor of tools and carriers")
    idle_per_stabilised_watt: Value = figure("money/Wp_stabilised", "the same for each stabilised watt")
    yield_loss: Value = figure("money", "cost of the year spent on plates that do not end as good modules, less scrap revenue")
    yield_loss_per_stabilised_watt: Value = figure("money/Wp_stabilised", "yield loss for each stabilised watt")
