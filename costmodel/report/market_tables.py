"""Tables of the markets."""

from __future__ import annotations

from collections.abc import Callable

from ..case.records import Case
from ..market.records import InMarket
from ..model import Results
from ..units import to_base
from .market_words import efficiency_mark, per_kwh, price_words
from .numbers import money, people, percent
from .table import Table


def market_table(case: Case, results: Results) -> Table:
    """Market by market: the highest price on every basis, the margin, and the volume that exists."""
    rows = [
        [
            case.markets[name].title,
            price_words(found.highest_price),
            people(found.highest_price_per_m2),
            people(found.highest_price_per_module),
            people(found.margin),
            people(found.asked_price),
            people(found.volume / to_base("MWp_stabilised")),
            percent(found.plant_share),
        ]
        for name, found in results.market.by_market.items()
    ]
    return Table(
        f"What buyers could pay at most at our gate, {case.currency}",
        [
            "",
            "per stabilised W",
            "per m2",
            "per module",
            "less cost, per W",
            "price asked, per W",
            "market, MW a year",
            "plant over market",
        ],
        rows,
        note=f"A module costs {money(results.ledger.total.cost_per_stabilised_watt, case.currency)} per stabilised watt. At the "
        "highest price the buyer gains nothing by our module, so he will want to pay less. Money is that of the case, without "
        "inflation.",
    )


Shown = Callable[[InMarket], str]
REFERENCE: tuple[tuple[str, Shown], ...] = (
    ("price with duty, per W", lambda found: people(found.reference_price)),
    ("efficiency", lambda found: percent(found.reference.efficiency)),
    ("all besides the module, per W", lambda found: people(found.reference.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.reference.energy_yield)),
    ("energy in all years, kWh per W", lambda found: _energy(found.reference.lifetime_energy)),
    ("levelised cost, per kWh", lambda found: per_kwh(found.reference_levelised_cost)),
)
OURS: tuple[tuple[str, Shown], ...] = (
    ("stabilised efficiency on the whole area", lambda found: percent(found.ours.efficiency)),
    ("all besides the module, per W", lambda found: people(found.ours.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.ours.energy_yield)),
    ("energy in all years, kWh per W", lambda found: _energy(found.ours.lifetime_energy)),
    ("levelised cost at what it costs to make, per kWh", lambda found: per_kwh(found.levelised_at_cost)),
    ("levelised cost at the price asked, per kWh", lambda found: per_kwh(found.levelised_at_asked_price)),
    ("highest price, per W", lambda found: price_words(found.highest_price)),
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
        note="All besides the module: balance of system, and upkeep of all years at present value; for ours delivery too, and what "
        "the buyer pays more for looks or origin taken off. It is negative where a pane replaces cladding that costs more.",
    )
