"""A case and its tables. The records are also the schema: each field says its unit, range and meaning.

One record class is one table (or one section of a YAML file), one record one row; the classes stand by subject in
`line_records.py`, `cost_records.py`, `market_records.py`, `plan_records.py`, `deal_records.py`, `service_records.py`,
`laboratory_records.py`, `supplied_records.py`, `transfer_records.py`, `range_records.py` and `release_records.py`. All numbers
are in coherent base units; an amount is for one year of steady operation unless its name says otherwise. Money is in the
currency of its row.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

from ..core.faults import Fault, InputFaults
from ..core.fields import choice, date_text, optional_text, text
from .cost_records import (
    Area,
    BookDepreciation,
    Buying,
    Container,
    Currency,
    DemandCharge,
    EmissionSource,
    Facility,
    FacilityUtility,
    GrowthExponent,
    GrowthStep,
    Index,
    Levy,
    Metal,
    Overhead,
    Price,
    PriceBreak,
    Role,
    Scrap,
    Service,
    SparePart,
    TaxDepreciation,
    TaxRate,
    ToolUtility,
    Utility,
)
from .deal_records import (
    BuyOut,
    Delivery,
    Fee,
    Guarantee,
    Licence,
    Licensor,
    MinimumRoyalty,
    Negotiation,
    OtherWay,
    PaymentKind,
    Prospect,
    RoyaltyStep,
    Sublicence,
    Supply,
    YearlyService,
)
from .guarantee_records import AcceptanceDate, DamagesCap, PerformanceGuarantee
from .laboratory_records import LaboratoryEquipment, LaboratoryStaff, LaboratoryTest, LaboratoryWork
from .line_records import (
    Carrier,
    Cells,
    Coater,
    Coating,
    Constants,
    Gas,
    Heating,
    Layer,
    Material,
    Phase,
    PhaseMaterial,
    Product,
    Site,
    Soaking,
    SoakingLight,
    Step,
    Target,
    Tool,
)
from .market_records import Covering, Market
from .plan_records import (
    Capital,
    Closing,
    Escalation,
    Expansion,
    Land,
    Learning,
    Loan,
    OtherLine,
    Outlay,
    Payment,
    Ramp,
    Refurbishment,
    Returns,
    Sale,
    Schedule,
    Tax,
    WorkingCapital,
)
from .power_class_records import MeasuredPower, PowerClass, PowerSpread
from .range_records import Correlation, Outcome, Range, Sample
from .release_records import Confidential, Widened
from .service_records import ServiceEffect
from .supplied_records import SuppliedMaterial
from .transfer_records import Commitment, TransferGate, TransferResource, TransferTask, TransferWork
from .warranty_records import Warranty

Sections = TypeVar("Sections")
KINDS = ("measured", "quote", "handbook", "estimate", "invented")

if TYPE_CHECKING:
    from .deal_rounds import Version


@dataclass(frozen=True, slots=True)
class Evidence:
    """Where the figures of a row come from."""

    kind: str = choice("how well the figures of the row are known", *KINDS)
    source: str = text("where the figures come from", example="supplier offer 12/2026")
    date: str = date_text("date of the figures, as ISO 8601 writes it", example="2026-11-01")
    by: str = text("who entered the figures", example="analyst")
    public_source: str = optional_text("where they come from, as external editions may state it", example="supplier offer")


@dataclass(frozen=True, slots=True)
class Table:
    """Where the records of one field of a case stand: a CSV file of rows, or a section of case.yaml."""

    file: str
    record: type
    meaning: str
    section: str = ""
    in_model: bool = True
    optional: bool = False  # a section is there with its file


def _table(file: str, record: type, meaning: str, in_model: bool = True, optional: bool = False) -> Any:
    return dataclasses.field(metadata={"table": Table(file, record, meaning, in_model=in_model, optional=optional)})


def _section(name: str, record: type, meaning: str, file: str = "case.yaml") -> Any:
    """A section; those of case.yaml are always there, those of another file when the file is there, and None otherwise."""
    return dataclasses.field(metadata={"table": Table(file, record, meaning, section=name, optional=file != "case.yaml")})


@dataclass(frozen=True, slots=True)
class PlanSections:
    """What plan.yaml states, whole or not at all."""

    schedule: Schedule = _section("schedule", Schedule, "when the plant is built and runs", "plan.yaml")
    returns: Returns = _section("returns", Returns, "what money must earn", "plan.yaml")
    working_capital: WorkingCapital = _section("working_capital", WorkingCapital, "money tied up", "plan.yaml")
    outlay: Outlay = _section("outlay", Outlay, "what comes on top of prices of equipment", "plan.yaml")
    tax: Tax = _section("tax", Tax, "tax on income", "plan.yaml")
    loan: Loan = _section("loan", Loan, "the loan", "plan.yaml")
    closing: Closing = _section("closing", Closing, "when a plant that loses cash closes", "plan.yaml")
    learning: Learning = _section("learning", Learning, "how cost falls with all that was made", "plan.yaml")


@dataclass(frozen=True, slots=True)
class DealSections:
    """What deal.yaml states, whole or not at all."""

    licence: Licence = _section("licence", Licence, "what the licensee pays for the know-how", "deal.yaml")
    licensor: Licensor = _section("licensor", Licensor, "what the transfer costs the licensor", "deal.yaml")
    negotiation: Negotiation = _section("negotiation", Negotiation, "how gains are shared", "deal.yaml")


@dataclass(frozen=True, slots=True)
class Case:
    """All inputs of one calculation."""

    name: str
    title: str
    story: str
    currency: str
    use: dict[str, str]
    constants: Constants
    plan_sections: PlanSections | None
    deal_sections: DealSections | None
    evidence: dict[str, Evidence]
    entry_units: dict[str, str]
    product: Product = _section("product", Product, "the module")
    site: Site = _section("site", Site, "the plant and its hours")
    target: Target = _section("target", Target, "how much is made")
    cells: dict[str, Cells] = _table("cells.csv", Cells, "how cells divide the plate, one row", optional=True)
    money: dict[str, Currency] = _table("money.csv", Currency, "exchange rates into the reporting currency")
    indices: dict[str, Index] = _table("indices.csv", Index, "cost indices by price year", optional=True)
    steps: dict[str, Step] = _table("steps.csv", Step, "the route, in order")
    tools: dict[str, Tool] = _table("tools.csv", Tool, "the tools")
    areas: dict[str, Area] = _table("areas.csv", Area, "kinds of floor and land")
    carriers: dict[str, Carrier] = _table("carriers.csv", Carrier, "carriers that go round", optional=True)
    phases: dict[str, Phase] = _table("phases.csv", Phase, "parts of a cycle, each load or every so many", optional=True)
    phase_materials: dict[str, PhaseMaterial] = _table("phase_materials.csv", PhaseMaterial, "what phases use up", optional=True)
    heatings: dict[str, Heating] = _table("heatings.csv", Heating, "what steps heat: a bound on energy drawn", optional=True)
    layers: dict[str, Layer] = _table("layers.csv", Layer, "silicon films of the batch deposition", optional=True)
    gases: dict[str, Gas] = _table("gases.csv", Gas, "gases besides silane, film by film", optional=True)
    coaters: dict[str, Coater] = _table("coaters.csv", Coater, "steps that sputter in line", optional=True)
    coatings: dict[str, Coating] = _table("coatings.csv", Coating, "sputtered films", optional=True)
    materials: dict[str, Material] = _table("materials.csv", Material, "what each step uses up", optional=True)
    soaking: dict[str, Soaking] = _table("soaking.csv", Soaking, "sampling of lots by light soaking", optional=True)
    soaking_light: dict[str, SoakingLight] = _table(
        "soaking_light.csv", SoakingLight, "the light that soaks: lamps, or the sun by season", optional=True
    )
    power_classes: dict[str, PowerClass] = _table(
        "power_classes.csv", PowerClass, "labels that modules are sold under", optional=True
    )
    power_spread: dict[str, PowerSpread] = _table("power_spread.csv", PowerSpread, "how power differs, one row", optional=True)
    measured_powers: dict[str, MeasuredPower] = _table(
        "measured_powers.csv", MeasuredPower, "measured modules that classes count", optional=True
    )
    warranty: dict[str, Warranty] = _table("warranty.csv", Warranty, "what is promised and how modules age, one row", optional=True)
    prices: dict[str, Price] = _table("prices.csv", Price, "the price book")
    metals: dict[str, Metal] = _table("metals.csv", Metal, "metals in bought items, at their quote", optional=True)
    price_breaks: dict[str, PriceBreak] = _table("price_breaks.csv", PriceBreak, "discounts from a quantity on", optional=True)
    buying: dict[str, Buying] = _table("buying.csv", Buying, "terms of purchase: minimum order, take-or-pay, stock", optional=True)
    containers: dict[str, Container] = _table("containers.csv", Container, "rented cylinders and trailers", optional=True)
    scrap: dict[str, Scrap] = _table("scrap.csv", Scrap, "scrap revenue from lost plates", optional=True)
    utilities: dict[str, Utility] = _table("utilities.csv", Utility, "tariffs")
    tool_utilities: dict[str, ToolUtility] = _table("tool_utilities.csv", ToolUtility, "what tools draw", optional=True)
    demand_charges: dict[str, DemandCharge] = _table("demand_charges.csv", DemandCharge, "charges for peaks", optional=True)
    services: dict[str, Service] = _table("services.csv", Service, "service that comes due again and again", optional=True)
    spares: dict[str, SparePart] = _table("spares.csv", SparePart, "parts kept in store", optional=True)
    book_depreciation: dict[str, BookDepreciation] = _table(
        "book_depreciation.csv", BookDepreciation, "how the books write off equipment", optional=True
    )
    tax_depreciation: dict[str, TaxDepreciation] = _table(
        "tax_depreciation.csv", TaxDepreciation, "how the tax office lets equipment be written off", optional=True
    )
    tax_rates: dict[str, TaxRate] = _table("tax_rates.csv", TaxRate, "tables of depreciation, year by year", optional=True)
    crew: dict[str, Role] = _table("crew.csv", Role, "roles and pay")
    facilities: dict[str, Facility] = _table("facilities.csv", Facility, "facility systems", optional=True)
    facility_utilities: dict[str, FacilityUtility] = _table(
        "facility_utilities.csv", FacilityUtility, "what facility systems draw", optional=True
    )
    overheads: dict[str, Overhead] = _table("overheads.csv", Overhead, "costs of the firm", optional=True)
    levies: dict[str, Levy] = _table("levies.csv", Levy, "shares of the value of equipment", optional=True)
    emissions: dict[str, EmissionSource] = _table("emissions.csv", EmissionSource, "greenhouse gas of what is used", optional=True)
    growth_steps: dict[str, GrowthStep] = _table(
        "growth_steps.csv", GrowthStep, "what grows with the plant in whole units", optional=True
    )
    growth_exponents: dict[str, GrowthExponent] = _table(
        "growth_exponents.csv", GrowthExponent, "what grows as a power of the size of the plant", optional=True
    )
    markets: dict[str, Market] = _table("markets.csv", Market, "markets and their reference modules", optional=True)
    coverings: dict[str, Covering] = _table("coverings.csv", Covering, "what covers an area in a market", optional=True)
    payment_kinds: dict[str, PaymentKind] = _table(
        "payment_kinds.csv", PaymentKind, "withholding tax by kind of payment", optional=True
    )
    fees: dict[str, Fee] = _table("fees.csv", Fee, "disclosure fee and milestones", optional=True)
    royalty_steps: dict[str, RoyaltyStep] = _table("royalty_steps.csv", RoyaltyStep, "changes of the royalty", optional=True)
    minimum_royalties: dict[str, MinimumRoyalty] = _table(
        "minimum_royalties.csv", MinimumRoyalty, "least royalty of a year", optional=True
    )
    buy_outs: dict[str, BuyOut] = _table("buy_outs.csv", BuyOut, "a price that ends the royalty", optional=True)
    deliveries: dict[str, Delivery] = _table("deliveries.csv", Delivery, "work of the licensor for the transfer", optional=True)
    yearly_services: dict[str, YearlyService] = _table(
        "yearly_services.csv", YearlyService, "work of the licensor year by year", optional=True
    )
    laboratory_tests: dict[str, LaboratoryTest] = _table(
        "laboratory_tests.csv", LaboratoryTest, "the price list of the licensor's laboratory", optional=True
    )
    laboratory_work: dict[str, LaboratoryWork] = _table(
        "laboratory_work.csv", LaboratoryWork, "what a sample of each test takes", optional=True
    )
    laboratory_equipment: dict[str, LaboratoryEquipment] = _table(
        "laboratory_equipment.csv", LaboratoryEquipment, "instruments of the laboratory, their hours and cost", optional=True
    )
    laboratory_staff: dict[str, LaboratoryStaff] = _table(
        "laboratory_staff.csv", LaboratoryStaff, "people of the laboratory, their hours and role", optional=True
    )
    service_effects: dict[str, ServiceEffect] = _table(
        "service_effects.csv", ServiceEffect, "what deliveries and services bring", optional=True
    )
    supplies: dict[str, Supply] = _table("supplies.csv", Supply, "what comes through the licensor", optional=True)
    supplied_materials: dict[str, SuppliedMaterial] = _table(
        "supplied_materials.csv", SuppliedMaterial, "materials that the licensor supplies, item by item", optional=True
    )
    guarantees: dict[str, Guarantee] = _table("guarantees.csv", Guarantee, "power that is guaranteed, and damages", optional=True)
    performance_guarantees: dict[str, PerformanceGuarantee] = _table(
        "performance_guarantees.csv", PerformanceGuarantee, "rates that are guaranteed, tests, damages", optional=True
    )
    acceptance_dates: dict[str, AcceptanceDate] = _table(
        "acceptance_dates.csv", AcceptanceDate, "dates that are guaranteed, and damages", optional=True
    )
    damages_caps: dict[str, DamagesCap] = _table(
        "damages_caps.csv", DamagesCap, "the most that all guarantees pay together, one row", optional=True
    )
    sublicences: dict[str, Sublicence] = _table("sublicences.csv", Sublicence, "what sublicences bring", optional=True)
    prospects: dict[str, Prospect] = _table("prospects.csv", Prospect, "other firms in the territory", optional=True)
    other_ways: dict[str, OtherWay] = _table("other_ways.csv", OtherWay, "what the licensee could do instead", optional=True)
    transfer_tasks: dict[str, TransferTask] = _table(
        "transfer_tasks.csv", TransferTask, "tasks of the transfer, their order and durations", optional=True
    )
    transfer_work: dict[str, TransferWork] = _table(
        "transfer_work.csv", TransferWork, "who works on each task, where and how long", optional=True
    )
    transfer_gates: dict[str, TransferGate] = _table(
        "transfer_gates.csv", TransferGate, "gates of the transfer, and the fees due with them", optional=True
    )
    transfer_resources: dict[str, TransferResource] = _table(
        "transfer_resources.csv", TransferResource, "the licensor's roles and pilot line, as far as free", optional=True
    )
    commitments: dict[str, Commitment] = _table(
        "commitments.csv", Commitment, "what other licences and offers take of them", in_model=False, optional=True
    )
    ramp: dict[str, Ramp] = _table("ramp.csv", Ramp, "the ramp, quarter by quarter", optional=True)
    sales: dict[str, Sale] = _table("sales.csv", Sale, "sales prices of the output", optional=True)
    payments: dict[str, Payment] = _table("payments.csv", Payment, "when capital is paid", optional=True)
    capital: dict[str, Capital] = _table("capital.csv", Capital, "money spent once besides equipment", optional=True)
    land: dict[str, Land] = _table("land.csv", Land, "assets that are not written off", optional=True)
    refurbishments: dict[str, Refurbishment] = _table(
        "refurbishments.csv", Refurbishment, "overhauls in place of replacements", optional=True
    )
    escalations: dict[str, Escalation] = _table("escalations.csv", Escalation, "costs that rise otherwise", optional=True)
    expansions: dict[str, Expansion] = _table("expansions.csv", Expansion, "later enlargements", optional=True)
    other_lines: dict[str, OtherLine] = _table("other_lines.csv", OtherLine, "lines that the same money could buy", optional=True)
    ranges: dict[str, Range] = _table("ranges.csv", Range, "what is uncertain, and slider limits", in_model=False, optional=True)
    correlations: dict[str, Correlation] = _table(
        "correlations.csv", Correlation, "groups of uncertain inputs that move together", in_model=False, optional=True
    )
    outcomes: dict[str, Outcome] = _table(
        "outcomes.csv", Outcome, "values of uncertain inputs that take a few only", in_model=False, optional=True
    )
    samples: dict[str, Sample] = _table(
        "samples.csv", Sample, "measured values that stand for uncertain inputs", in_model=False, optional=True
    )
    confidential: dict[str, Confidential] = _table(
        "confidential.csv", Confidential, "what is not disclosed, and to whom", in_model=False, optional=True
    )
    widened: dict[str, Widened] = _table(
        "widened.csv", Widened, "what is disclosed beyond the allow-list", in_model=False, optional=True
    )
    public_title: str = ""  # what external editions are called, and what they say at first; no other words of the case do
    public_story: str = ""
    measurements: dict[str, tuple[float, ...]] = dataclasses.field(default_factory=dict)
    design: Case | None = None  # what the plant was bought for, where the case is that plant as bought
    version: Version | None = None  # which round of the negotiation the terms are of; none: those of deal.yaml
    held: frozenset[str] = frozenset()  # inputs that a scenario, another choice, a round or --set supposes: no study draws them
    memory: dict[str, Any] = dataclasses.field(init=False, default_factory=dict, compare=False, repr=False)  # see `kept`

    @property
    def has_plan(self) -> bool:
        """Whether there is a plan.yaml."""
        return self.plan_sections is not None

    @property
    def has_deal(self) -> bool:
        """Whether there is a deal.yaml."""
        return self.deal_sections is not None

    @property
    def plan(self) -> PlanSections:
        """The sections of plan.yaml. Raises InputFaults where the case has none."""
        return there(self.plan_sections, "plan.yaml")

    @property
    def deal(self) -> DealSections:
        """The sections of deal.yaml. Raises InputFaults where the case has none."""
        return there(self.deal_sections, "deal.yaml")


Made = TypeVar("Made")


def kept(case: Case, name: str, make: Callable[[], Made]) -> Made:
    """What is made of a case, made once: it stays in the memory of the case, which a changed copy does not share.

    >>> from costmodel.case.load import load_case
    >>> case, made = load_case("inputs_demo/facade"), []
    >>> [kept(case, "an example", lambda: made.append("again") or len(made)) for _ in range(3)]
    [1, 1, 1]
    """
    if name not in case.memory:
        case.memory[name] = make()
    return case.memory[name]


SECTIONS = {"plan_sections": PlanSections, "deal_sections": DealSections}  # fields of a case that hold several sections


def there(sections: Sections | None, file: str) -> Sections:
    """What a file states, where it is there. Raises InputFaults where the case has no such file."""
    if sections is None:
        raise InputFaults([Fault(file, None, None, "no such file", f"{file}, as what is asked for needs it")])
    return sections


@cache
def tables() -> dict[str, Table]:
    """The tables and sections of a case by the name that addresses begin with."""
    holders = (Case, *SECTIONS.values())
    return {f.name: f.metadata["table"] for holder in holders for f in dataclasses.fields(holder) if "table" in f.metadata}


def _holder(name: str) -> str:
    """The field of a case that holds a section of plan.yaml or deal.yaml; no text for what stands in the case itself."""
    return next((holder for holder, record in SECTIONS.items() if name in {field.name for field in dataclasses.fields(record)}), "")


def held_at(case: Case, name: str) -> Any:
    """What a case holds under the name of a table or section: records by id, a record, or None where the file is not there.

    >>> from costmodel.case.load import load_case
    >>> held_at(load_case("inputs_demo/facade"), "loan").form
    'linear'
    """
    holder = _holder(name)
    if not holder:
        return getattr(case, name)
    sections = getattr(case, holder)
    return None if sections is None else getattr(sections, name)


def with_held(case: Case, held: Mapping[str, Any]) -> Case:
    """A copy of a case that holds other records under the names of some tables or sections, unchecked.

    >>> from costmodel.case.load import load_case
    >>> with_held(load_case("inputs_demo/facade"), {"scrap": {}}).scrap
    {}
    """
    new: dict[str, Any] = {}
    for name, record in held.items():
        holder = _holder(name)
        if holder:
            new[holder] = dataclasses.replace(new.get(holder) or getattr(case, holder), **{name: record})
        else:
            new[name] = record
    return dataclasses.replace(case, **new)


def rows_of(case: Case, name: str) -> dict[str, Any]:
    """The records of a table by id; of a section, the one it has under no id, or none where its file is not there."""
    held = held_at(case, name)
    if tables()[name].section:
        return {} if held is None else {"": held}
    return held
