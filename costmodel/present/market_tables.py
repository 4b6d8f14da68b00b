"""Tables of the markets."""

from __future__ import annotations

from collections.abc import Callable

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.market.market_figures import InMarket
from .market_words import efficiency_mark, per_kwh, price_words
from .numbers import money, people, percent
from .table import Table

THOUSAND = 1000.0  # m2


def market_table(case: Case, results: Results) -> Table:
    """Market by market: what limits it, the highest price on every basis, the margin, and the volume that exists."""
    rows = [
        [
            case.markets[name].title,
            case.markets[name].limited_by,
            price_words(found.highest_price),
            people(found.highest_price_per_m2),
            people(found.margin_per_m2),
            people(found.asked_price),
            people(found.asked_price_per_m2),
            people(found.volume / to_base("MWp_stabilised")),
            people(found.volume_by_area / THOUSAND),
            percent(found.plant_share),
        ]
        for name, found in results.market.by_market.items()
    ]
    total = results.ledger.total
    return Table(
        f"What buyers could pay at most at our gate, {case.currency}; watts are stabilised",
        [
            "",
            "limited by",
            "per W",
            "per m2",
            "less cost, per m2",
            "asked, per W",
            "asked, per m2",
            "MW a year",
            "1,000 m2 a year",
            "plant share",
        ],
        rows,
        note=f"A module costs {money(total.cost_per_stabilised_watt, case.currency)} per stabilised watt, "
        f"{money(total.cost_per_m2, case.currency)} per m2. At the highest price the buyer gains nothing by our module, so he will "
        "want to pay less. Watts and square metres are converted with the power of our module. Money is that of the case, without "
        "inflation.",
        texts=(0, 1),
    )


Shown = Callable[[InMarket], str]
REFERENCE: tuple[tuple[str, Shown], ...] = (
    ("price with duty, per W", lambda found: people(found.reference_price)),
    ("price with duty, per m2", lambda found: people(found.reference_price_per_m2)),
    ("efficiency", lambda found: percent(found.reference.efficiency)),
    ("all besides the module, per W", lambda found: people(found.reference.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.reference.energy_yield)),
    ("energy over its life, kWh per W", lambda found: _energy(found.reference.lifetime_energy)),
)
OURS: tuple[tuple[str, Shown], ...] = (
    ("stabilised efficiency on the whole area", lambda found: percent(found.ours.efficiency)),
    ("all besides the module, per W", lambda found: people(found.ours.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.ours.energy_yield)),
    ("energy over its life, kWh per W", lambda found: _energy(found.ours.lifetime_energy)),
    ("value of a kWh to the owner", lambda found: per_kwh(found.energy_value)),
    ("owner's net present value at the price asked, per m2", lambda found: people(found.left_at_asked_price_per_m2)),
    ("highest price, per W", lambda found: price_words(found.highest_price)),
    ("highest price, per module", lambda found: price_words(found.highest_price_per_module)),
    (
        "efficiency that breaks even at the price asked",
        lambda found: efficiency_mark(found.efficiency_at_asked_price, found.efficiency_at_asked_price_status),
    ),
    (
        "efficiency that breaks even at the cost of a square metre",
        lambda found: efficiency_mark(found.efficiency_at_cost, found.efficiency_at_cost_status),
    ),
)


def _yield(value: float) -> str:
    return people(value / to_base("kWh/kWp_stabilised/year"), 4)


def _energy(value: float) -> str:
    return people(value / to_base("kWh/Wp_stabilised"))


def market_details_table(case: Case, results: Results) -> Table:
    """The reference module and ours side by side, market by market."""
    found = results.market.by_market.values()
    return Table(
        f"Reference module and ours in every market, {case.currency}",
        ["", *(case.markets[name].title for name in results.market.by_market)],
        [
            [f"{whose}: {title}", *(show(each) for each in found)]
            for whose, rows in (("Reference", REFERENCE), ("Ours", OURS))
            for title, show in rows
        ],
        note="All besides the module: balance of system, delivery, and upkeep of all years at present value, less what the buyer "
        "pays more for looks or origin. Left to the owner: value of the energy less all cost, over the life, at present value.",
    )


def energy_table(case: Case, results: Results) -> Table:
    """Levelised cost of energy in every market that energy limits."""
    rows = [
        [
            case.markets[name].title,
            per_kwh(found.energy.reference_levelised_cost),
            per_kwh(found.energy.levelised_at_cost),
            per_kwh(found.energy.levelised_at_asked_price),
            price_words(found.highest_price),
        ]
        for name, found in results.market.by_market.items()
        if found.energy is not None
    ]
    columns = ["", "reference", "ours at its cost", "ours at the price asked", "highest price, per W"]
    note = "At the highest price energy costs the buyer what it does with the reference module."
    return Table(f"Markets limited by energy: levelised cost of energy, {case.currency} per kWh", columns, rows, note)


def alternatives_table(case: Case, results: Results) -> Table:
    """What else could cover the area in every market that area limits, and our highest price against each."""
    rows = [
        [
            case.markets[name].title,
            case.coverings[each].title,
            people(case.coverings[each].life / to_base("year")),
            people(other.present_value),
            people(other.annual_worth * to_base("year")),
            people(other.price_per_m2),
            "yes" if other.binds else "no",
        ]
        for name, found in results.market.by_market.items()
        if found.area is not None
        for each, other in found.area.alternatives.items()
    ]
    return Table(
        f"Markets limited by area: what else could cover it, {case.currency} per m2",
        [
            "market",
            "alternative",
            "life, years",
            "owner's net present value",
            "the same a year",
            "our highest price against it",
            "binds",
        ],
        rows,
        note="Left to the owner: value of the energy less all cost, premium added, over one life at present value. Lives differ, "
        "so equal yearly amounts are compared; each covering is taken to be put up again at the end of its life.",
        texts=(0, 1, 6),
    )


def market_tables(case: Case, results: Results) -> list[Table]:
    """All tables of the markets; those of a limit that no market has are left out."""
    tables = [market_table(case, results), market_details_table(case, results)]
    return tables + [table for table in (alternatives_table(case, results), energy_table(case, results)) if table.rows]
