"""What documents tell of the deal, as plain data: terms and payments, which both sides see, and apart what the licensor knows.

Amounts are in the reporting currency, those of the terms in the currency of their row; times are years from the first day.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..case.deal_records import territories
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan import timing
from ..model.plan.timing import QUARTERS
from ..present import deal_charts, deal_tables, deal_words, probability_words, zone_words
from ..present.plan_tables import by_year
from ..studies.minimums import probabilities_of_minimums
from ..studies.negotiation.overview import Overview, overview
from ..studies.negotiation.probabilities import DRAWS, SEED

Facts = dict[str, Any]
GROUPS = {
    "fees": ("upfront", "fee_"),
    "royalty": ("royalty", "minimum"),
    "work": ("delivery_",),
    "yearly services": ("service_",),
    "supplies": ("supply_",),
    "expansion, buy-out, sublicences": ("expansion_", "buy_out_", "sublicence_"),
}


def licence(case: Case, results: Results) -> Facts | None:
    """The terms, what is paid when, and what the licensee has of it: what both sides may see, and nothing else.

    Of a delivery or service it holds what is paid, never what it costs the licensor. Who else could be licensed is known to the
    licensor alone, so the licensee's figures are those without second licensees.
    """
    if not results.has_deal:
        return None
    row, deal, years = case.deal.licence, results.deal, by_year(results)
    year = to_base("year")
    start = float(results.plan.start) / QUARTERS
    unpaid = deal.licensee.npv_free + deal.taken.licensee_free
    bought_out = [float(each.time) / year for each in case.buy_outs.values()]
    end = min(start + min([float(row.term) / year, *bought_out]), float(len(years)))
    return {
        "currency": row.currency,
        "upfront": float(row.upfront),
        "upfront_time": row.upfront_time / year,
        "royalty": float(row.royalty),
        "royalty_per_watt": float(row.royalty_per_watt),
        "per_watt_change": row.per_watt_change * year,
        "net_sales": float(row.net_sales),
        "royalty_cap": float(row.royalty_cap),
        "term": row.term / year,
        "exclusive_time": row.exclusive_time / year,
        "territories": " and ".join(territories(row)),
        "expansion_fee": float(row.expansion_fee),
        "sublicence_share": float(row.sublicence_share),
        "equity_share": float(row.equity_share),
        "fees": [
            {"row": f"fees.{name}", "title": x.title, "amount": float(x.amount), "currency": x.currency, "time": x.time / year,
             "probability": float(x.probability), "credited": float(x.credited)}
            for name, x in case.fees.items()
        ],
        "steps": [
            {"row": f"royalty_steps.{name}", "time": x.time / year, "factor": float(x.factor)}
            for name, x in case.royalty_steps.items()
        ],
        "minimums": [
            {"row": f"minimum_royalties.{name}", "title": x.title, "a_year": x.amount * year, "currency": x.currency,
             "begin": x.begin / year, "end": x.end / year}
            for name, x in case.minimum_royalties.items()
        ],
        "buy_outs": [
            {"row": f"buy_outs.{name}", "title": x.title, "amount": float(x.amount), "currency": x.currency, "time": x.time / year}
            for name, x in case.buy_outs.items()
        ],
        "deliveries": [
            {"row": f"deliveries.{name}", "title": x.title, "price": float(x.price), "currency": x.currency,
             "begin": x.begin / year, "end": x.end / year}
            for name, x in case.deliveries.items()
        ],
        "services": [
            {"row": f"yearly_services.{name}", "title": x.title, "a_year": x.price * year, "currency": x.currency,
             "begin": x.begin / year, "end": x.end / year, "change": x.change * year}
            for name, x in case.yearly_services.items()
        ],
        "supplies": [
            {"row": f"supplies.{name}", "title": x.title, "covers": x.covers, "part": float(x.part), "margin": float(x.margin)}
            for name, x in case.supplies.items()
        ],
        "tax_at_source": [
            {"row": f"payment_kinds.{name}", "title": x.title, "rate": float(x.withholding), "on_top": float(x.gross_up)}
            for name, x in case.payment_kinds.items()
            if name in {each.paid_as for each in results.plan.payments.values()}
        ],
        "start": start,
        "full_swing": start + float(len(case.ramp) * case.plan.schedule.ramp_stretch) / QUARTERS,
        "royalty_end": end,
        "horizon": len(years),
        "by_year": payments_by_year(results),
        "by_heading": headings(case, results),
        "paid": sum(float(x.paid) for x in deal.by_heading.values()),
        "licensee_npv": deal.licensee.npv_undisturbed,
        "licensee_npv_without_payments": unpaid,
        "licensee_cost": unpaid - deal.licensee.npv_undisturbed,
    }  # fmt: skip


def payments_by_year(results: Results) -> dict[str, list[float]]:
    """What is paid in each year of the plan, in groups of headings."""
    found = {}
    for group, starts in GROUPS.items():
        rows = [list(x.quarters.values()) for name, x in results.plan.payments.items() if name.startswith(starts)]
        quarters = [float(sum(amounts)) for amounts in zip(*rows)] or [0.0] * len(results.plan.quarters)
        found[group] = [sum(year) for year in timing.by_year(quarters)]
    return found


def headings(case: Case, results: Results) -> list[Facts]:
    """What is paid under each heading in all, from which year of the plan to which, and the tax at source on it."""
    found = []
    for name, row in results.plan.payments.items():
        paid = [number for number, year in enumerate(timing.by_year(list(row.quarters.values())), 1) if any(year)]
        if paid:
            found.append(
                {"name": deal_tables.heading_name(case, name), "paid": float(results.deal.by_heading[name].paid),
                 "first": paid[0], "last": paid[-1], "withheld": float(case.payment_kinds[row.paid_as].withholding)}
            )  # fmt: skip
    return found


def licensor(case: Case, results: Results) -> Facts | None:
    """What the licensor has of the licence: confidential to it."""
    if not results.has_deal:
        return None
    deal, own = results.deal, results.deal.licensor
    return {
        "discount_rate": case.deal.licensor.discount_rate * to_base("year"),
        "paid_now": own.received,
        "withheld": own.withheld,
        "inventors": own.inventors,
        "net": own.net,
        "costs": own.floor - own.contribution + own.rivals,
        "own_tax": own.own_tax - own.credit,
        "npv": own.npv,
        "gain": own.gain,
        "share": deal.licensor_share if deal.licensor_share_status else None,
        "licensee_npv": deal.licensee.npv,
        "licensee_gain": deal.licensee.gain,
    }


def negotiation(case: Case, results: Results, folder: Path | None, day: str) -> Facts | None:
    """Where both sides can meet, and what each term does to either, as sentences, tables, a picture: confidential to the licensor.

    Rounds are read from the folder of the case and stand as they are on a day. Raises InputFaults for a faulty round.
    """
    if not results.has_deal:
        return None
    found = overview(case, results, folder)
    drawn = bool(uncertain(case) and case.minimum_royalties)
    likely = probability_words.found_or_why(case, DRAWS, SEED, deal=True)
    probabilities = probabilities_of_minimums(case, DRAWS, SEED) if drawn else None
    empty = found.zone.empty
    tables = {
        "floor": deal_tables.floor_table(case, results),
        "alternatives": deal_tables.alternatives_table(case, results),
        "received": deal_tables.received_table(case, results),
        "licensor": deal_tables.licensor_table(case, results),
        "split": deal_tables.split_table(case, found),
        "headings": deal_tables.headings_table(case, results),
        "concessions": deal_tables.concessions_table(case, found.concessions),
        "price_paths": deal_tables.price_paths_table(case, found),
        "years": deal_tables.years_table(case, results, probabilities),
        "exclusivity": deal_tables.exclusivity_table(case, found) if found.exclusivity.lost else None,
        "guarantees": deal_tables.guarantees_table(case, found) if case.guarantees else None,
        "rounds": deal_tables.rounds_table(case, found) if found.turns else None,
    }
    return {
        "verdict": deal_words.verdict(case, found),
        "probabilities": probability_words.of_deal(case, likely, found.upfront),
        "sides": deal_words.sides(case, results),
        "floor": deal_words.floor(case, results),
        "own_tax": deal_words.own_tax(case, results),
        "ceiling": deal_words.ceiling(case, results),
        "corners": zone_words.corners(case, found),
        "ranges": [zone_words.term_range(case, each) for each in (found.royalty, found.upfront)],
        "mix": [] if empty else [*zone_words.splits(case, found), deal_words.exchange_rates(case, found)],
        "openings": deal_words.openings(case, found.openings) if found.openings else [],
        "no_opening": deal_words.openings(case, [])[0] if empty and not found.openings else "",
        "split": deal_words.split(case, found),
        "exchange": deal_words.rates_used(case),
        "price_falls": deal_words.price_falls(case, found),
        "exclusive": deal_words.exclusive(case, results, found),
        "minimums": deal_words.minimums(case, found),
        "guarantees": deal_words.guarantees(case, found),
        "buy_out": deal_words.buy_out(case, found),
        "yardsticks": deal_words.yardsticks(results),
        "rounds": deal_words.rounds(case, found, day),
        "draws": {"draws": DRAWS, "seed": SEED} if uncertain(case) else None,
        "zone": zone(case, found),
        "tables": {name: table.as_block() if table else None for name, table in tables.items()},
    }


def zone(case: Case, found: Overview) -> Facts:
    """The lines of the zone as the picture needs them: royalty in % of net sales, fees in million; None where there is no fee."""
    lines = found.zone

    def fees(values) -> list[float | None]:
        """Fees in million."""
        return [None if value != value else float(value) / 1e6 for value in values]

    return {
        "currency": case.deal.licence.currency,
        "royalty": [100 * float(value) for value in lines.royalty],
        "floor": fees(lines.floor.upfront),
        "ceiling": fees(lines.ceiling.upfront),
        "alike": fees(lines.shares[0.5].upfront),
        "bands": [[fees(low), fees(high)] for low, high in lines.bands],
        "offer": [100 * lines.offer[1], lines.offer[0] / 1e6],
        "rounds": [
            [100 * float(turn.case.deal.licence.royalty), float(turn.case.deal.licence.upfront) / 1e6] for turn in found.turns
        ],
        "says": deal_charts.zone_text(case, found),
    }  # fmt: skip
