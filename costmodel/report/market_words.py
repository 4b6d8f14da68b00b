"""What the figures of the markets say, in plain words."""

from __future__ import annotations

from ..case.records import Case
from ..market.records import ANY_EFFICIENCY, AT_LEAST, AT_MOST, InMarket
from ..model import Results
from ..units import to_base
from .numbers import money, people, percent

TWO_JUNCTIONS = 0.42  # most that two junctions convert of unconcentrated sunlight: De Vos, J. Phys. D 13 (1980) 839, from memory
CURVES = (
    "Highest price in every market against the efficiency of the module, beside what it costs to make. A square metre costs at "
    "every efficiency what it costs now; dots mark where the price is the cost. Where panes replace cladding, a watt of higher "
    "efficiency is worth less, since it replaces less."
)
NO_MARKETS = "The case has no markets.csv, so nothing is said of what buyers could pay."


def megawatts(watts: float) -> str:
    """Stabilised power in MW."""
    return f"{people(watts / to_base('MWp_stabilised'))} MW"


def per_kwh(value: float) -> str:
    """A levelised cost, in money for a kWh."""
    return people(value * to_base("kWh"))


def price_words(value: float) -> str:
    """A highest price; one that is not positive is said to be none."""
    return people(value) if value > 0 else f"none ({people(value)})"


def efficiency_words(efficiency: float, status: float, reference: float) -> str:
    """What a break-even efficiency stands for, beside that of the reference.

    >>> efficiency_words(0.055, AT_LEAST, 0.14), efficiency_words(0.65, AT_LEAST, 0.225)
    ('5.50 % or more', '65.0 % or more, which no module can reach')
    """
    if status == AT_LEAST:
        beyond = ", more than the reference itself has" if efficiency > reference else ""
        return f"{percent(efficiency)} or more{', which no module can reach' if efficiency > TWO_JUNCTIONS else beyond}"
    if status == AT_MOST:
        return f"{percent(efficiency)} or less"
    return "any efficiency" if status == ANY_EFFICIENCY else "no efficiency would do"


def efficiency_mark(efficiency: float, status: float) -> str:
    """The same, short, for tables.

    >>> efficiency_mark(0.055, AT_LEAST), efficiency_mark(0.065, AT_MOST), efficiency_mark(0.0, ANY_EFFICIENCY)
    ('from 5.50 %', 'to 6.50 %', 'any')
    """
    if status in (AT_LEAST, AT_MOST):
        return f"{'from' if status == AT_LEAST else 'to'} {percent(efficiency)}"
    return "any" if status == ANY_EFFICIENCY else "none"


def _named(case: Case, names: list[str]) -> str:
    return ", ".join(f"“{case.markets[name].title}”" for name in names)


def covered(results: Results) -> list[str]:
    """The markets whose highest price covers the cost of the module, the one with the largest margin first."""
    found = results.market.by_market
    return sorted((name for name, each in found.items() if each.margin >= 0), key=lambda name: -found[name].margin)


def where_it_sells(case: Case, results: Results) -> str:
    """In which markets a buyer could pay what the module costs, and in which no positive price exists."""
    found, cost = results.market.by_market, results.ledger.total.cost_per_stabilised_watt
    if not found:
        return NO_MARKETS
    best, never = covered(results), [name for name, each in found.items() if each.highest_price <= 0]
    against = f"against a cost of {money(cost, case.currency)} per stabilised watt"
    if best:
        count = "every market" if len(best) == len(found) else f"{len(best)} of {len(found)} markets"
        prices = ", ".join(f"{_named(case, [name])} at most {money(found[name].highest_price, case.currency)}" for name in best)
        words = f"Buyers in {count} could pay what the module costs: {prices}, {against}."
    else:
        highest = max(found, key=lambda name: found[name].highest_price)
        most = f"{_named(case, [highest])} comes nearest with {money(found[highest].highest_price, case.currency)}"
        words = f"In no market could buyers pay what the module costs: {most}, {against}."
    if never:
        words += (
            f" No positive price exists in {_named(case, never)}: there, even as a gift, it would make energy dearer than the "
            "reference module does."
        )
    return words


def volume_above_cost(results: Results) -> str:
    """How much the markets take whose price covers the cost."""
    market, output = results.market, results.line.output.stabilised_watts
    if not market.by_market:
        return ""
    if not covered(results):
        return f"So no part of the {megawatts(output)} a year that the plant makes has a market."
    enough = "enough" if market.volume_above_cost >= output else "not enough"
    return (
        f"Where the price covers the cost, buyers take {megawatts(market.volume_above_cost)} a year: {enough} for the "
        f"{megawatts(output)} that the plant makes."
    )


def one_market(case: Case, results: Results, name: str) -> str:
    """The highest price in a market, what it leaves, what the price asked means to the buyer, and which efficiency it takes."""
    found, currency = results.market.by_market[name], case.currency
    return " ".join(
        part
        for part in (
            f"{case.markets[name].title[:1].upper()}{case.markets[name].title[1:]}: {_price(found, currency)}",
            _asked(found, currency),
            _efficiency(found, currency),
            _no_measure(found),
        )
        if part
    )


def market_by_market(case: Case, results: Results) -> list[str]:
    """What there is to say of each market."""
    return [one_market(case, results, name) for name in results.market.by_market]


def _price(found: InMarket, currency: str) -> str:
    if found.highest_price <= 0:
        return (
            "no positive price exists. What a watt costs the buyer besides the module leaves nothing for the module itself, if "
            "energy is to cost what it does with the reference."
        )
    price = (
        f"at most {money(found.highest_price, currency)} per stabilised watt, {money(found.highest_price_per_m2, currency)} per m2"
    )
    if found.margin >= 0:
        return f"{price}; {money(found.margin, currency)} a watt more than it costs."
    return f"{price}; {money(-found.margin, currency)} a watt less than it costs."


def _asked(found: InMarket, currency: str) -> str:
    better = "cheaper" if found.levelised_at_asked_price <= found.reference_levelised_cost else "dearer"
    return (
        f"At the price asked, {money(found.asked_price, currency)}, energy is {better} than with the reference: "
        f"{currency} {per_kwh(found.levelised_at_asked_price)} against {per_kwh(found.reference_levelised_cost)} a kWh."
    )


def _efficiency(found: InMarket, currency: str) -> str:
    asked = efficiency_words(found.efficiency_at_asked_price, found.efficiency_at_asked_price_status, found.reference.efficiency)
    cost = efficiency_words(found.efficiency_at_cost, found.efficiency_at_cost_status, found.reference.efficiency)
    return (
        f"Stabilised efficiency that breaks even (the module has {percent(found.ours.efficiency)}): at the price asked, {asked}; "
        f"at what a square metre costs to make, {cost}."
    )


def _no_measure(found: InMarket) -> str:
    if found.reference_levelised_cost > 0:
        return ""
    return (
        "With the reference, energy costs less than nothing here, since what it replaces is dearer than it is; cost of energy is "
        "then no measure, as more energy would lower the price."
    )
