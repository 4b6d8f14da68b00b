"""Plain facts of the deal for documents: terms and payments, which both sides see, and apart what the licensor knows.

Amounts are in the reporting currency, those of the terms in the currency of their row; times are years from the first day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from ..case.deal_records import Guarantee, territories
from ..case.guarantee_records import ALONE, CONSUMPTION, PerformanceGuarantee
from ..case.uncertain import uncertain
from ..case.whole_case import Case, rows_of
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan import timing
from ..model.plan.timing import QUARTERS
from ..model.plan.transfer import dated
from ..present import (
    deal_charts,
    deal_report,
    guarantee_set_report,
    laboratory_report,
    likely_report,
    payments_report,
    power_guarantee_report,
    rounds_report,
    services_report,
    supplied_report,
    terms_report,
    zone_report,
)
from ..present.cash_report import by_year
from ..present.earned_report import earned
from ..present.numbers import as_float
from ..present.table import Table
from ..studies.negotiation.laboratory_odds import odds_of_tests
from ..studies.negotiation.overview import Overview, overview
from ..studies.negotiation.probabilities import DRAWS, SEED, probabilities_of_minimums
from ..studies.negotiation.supplied_odds import odds_of_supply

Facts = dict[str, Any]
GROUPS = {
    "fees": ("upfront", "fee_"),
    "royalty": ("royalty", "minimum"),
    "work": ("delivery_",),
    "yearly services": ("service_",),
    "expansion, buy-out, sublicences": ("expansion_", "buy_out_", "sublicence_"),
}
SUPPLIED = ("supply_", "supplied_")  # headings of margins alone; what is supplied is paid with capital and running cost
TERMS = {
    "upfront": "1", "upfront_time": "year", "royalty": "1", "royalty_per_watt": "1", "per_watt_change": "1/year", "net_sales": "1",
    "royalty_cap": "1", "term": "year", "exclusive_time": "year", "expansion_fee": "1", "sublicence_share": "1",
    "equity_share": "1",
}  # fmt: skip
_NAMED, _RUNS = {"title": "", "currency": ""}, {"begin": "year", "end": "year"}
ROWS: dict[str, tuple[str, dict[str, str]]] = {
    "fees": ("fees", _NAMED | {"amount": "1", "time": "year", "probability": "1", "credited": "1"}),
    "steps": ("royalty_steps", {"time": "year", "factor": "1"}),
    "minimums": ("minimum_royalties", _NAMED | _RUNS | {"a_year=amount": "1/year", "after_closing": ""}),
    "buy_outs": ("buy_outs", _NAMED | {"amount": "1", "time": "year"}),
    "deliveries": ("deliveries", _NAMED | _RUNS | {"price": "1"}),
    "services": ("yearly_services", _NAMED | _RUNS | {"a_year=price": "1/year", "change": "1/year"}),
    "tests": ("laboratory_tests", _NAMED | {"price": "1", "a_year=samples": "1/year"}),
    "materials": (
        "supplied_materials",
        _NAMED | _RUNS | {"unit": "", "price": "1", "most": "1", "free_from": "year", "change": "1/year"},
    ),
    "supplies": ("supplies", {"title": "", "covers": "", "part": "1", "margin": "1"}),
    "withholding_tax": ("payment_kinds", {"title": "", "rate=withholding": "1", "on_top=gross_up": "1"}),
}  # lists of the licence: their table, and what is taken of each row, with its unit


def plain(record: Any, fields: Mapping[str, str]) -> Facts:
    """Fields of a record as plain values by name: texts (unit ""), numbers as they are ("1"), times in years, rates per year.

    >>> from types import SimpleNamespace as Row
    >>> plain(Row(title="test", amount=3, time=31536000.0), {"title": "", "a_year=amount": "1", "time": "year"})
    {'title': 'test', 'a_year': 3.0, 'time': 1.0}
    """
    year, found = to_base("year"), {}
    for name, unit in fields.items():
        shown, _, field = name.partition("=")
        value = getattr(record, field or shown)
        in_unit = {"year": lambda x: x / year, "1/year": lambda x: x * year, "": lambda x: x}.get(unit, as_float)
        found[shown] = in_unit(value)
    return found


def licence(case: Case, results: Results) -> Facts | None:
    """The terms, what is paid when, and what the licensee has of it: what both sides may see, and nothing else.

    Of a delivery or service it holds what is paid, never what it costs the licensor. What is supplied is in no payment here: of it
    the plan pays the margin by itself, and that is the licensor's. Who else could be licensed is known to the
    licensor alone, so the licensee's figures are those without second licensees.
    """
    if not results.has_deal:
        return None
    row, deal, horizon = case.deal.licence, results.deal, len(by_year(results))
    start = as_float(results.plan.start) / QUARTERS
    unpaid = deal.licensee.npv_free + deal.taken.licensee_free
    ends = [row.term, *(each.time for each in case.buy_outs.values())]
    at_dates = dated(case)
    lists: dict[str, list[Facts]] = {
        name: [{"row": f"{table}.{identity}"} | plain(each, fields) for identity, each in rows_of(at_dates, table).items()]
        for name, (table, fields) in ROWS.items()
    }
    for each in lists["materials"]:  # by the unit of the row
        each |= {"price": each["price"] * to_base(each["unit"]), "most": each["most"] / to_base(each["unit"])}
    paid_as = {f"payment_kinds.{each.paid_as}" for name, each in results.plan.payments.items() if not name.startswith(SUPPLIED)}
    lists["withholding_tax"] = [each for each in lists["withholding_tax"] if each["row"] in paid_as]
    return {
        "currency": row.currency,
        **plain(row, TERMS),
        "territories": " and ".join(territories(row)),
        **lists,
        "start": start,
        "full_swing": start + as_float(len(case.ramp) * case.plan.schedule.ramp_stretch) / QUARTERS,
        "royalty_end": min(start + min(as_float(time) / to_base("year") for time in ends), float(horizon)),
        "horizon": horizon,
        "by_year": payments_by_year(results),
        "by_heading": headings(case, results),
        "paid": sum(as_float(x.paid) for name, x in deal.by_heading.items() if not name.startswith(SUPPLIED)),
        "licensee_npv": deal.licensee.npv_undisturbed,
        "licensee_npv_without_payments": unpaid,
        "licensee_cost": unpaid - deal.licensee.npv_undisturbed,
    }


_TERMS_OF_DAMAGES = {"damages": "1", "cap": "1", "rejection": "1", "currency": "", "time": "year"}
_TERMS_OF_TESTS = {"measured_by": "", "test_share": "1", "minimum": "1"}
GUARANTEED = {"title": "", "power": "1", "sample": "1", "coverage": "1", **_TERMS_OF_TESTS, **_TERMS_OF_DAMAGES}


def guaranteed(case: Case, _results: Results | None = None) -> list[Facts]:
    """The guarantees as the terms state them to the other side: level in W, test, damages per whole shortfall, cap and date.

    What the licensor believes of its transfer and of its measurement is not in them.
    """
    return [
        {"row": f"guarantees.{identity}"} | plain(row, GUARANTEED) | {"retest": _retest(row)}
        for identity, row in dated(case).guarantees.items()
    ]


def _retest(row: Guarantee | PerformanceGuarantee) -> str:
    """What the terms state of a retest; nothing where there is none. What it costs and whether it passes is the licensor's."""
    return "a retest after a miss, at the licensor's cost" if row.retest_cost > 0 or row.retest_passed > 0 else ""


PROMISED = {"title": "", "unit": "", "days": "1", "tests": "1", **_TERMS_OF_TESTS, **_TERMS_OF_DAMAGES}
PROMISED_DATES = {"title": "", "grace": "year", "latest": "year", **_TERMS_OF_DAMAGES}


def promised(case: Case, _results: Results | None = None) -> list[Facts]:
    """Guaranteed rates as the terms state them to the other side: level in its unit, tests, damages, cap, least acceptance."""
    return [
        {"row": f"performance_guarantees.{identity}"} | plain(row, PROMISED)
        | {
            "retest": _retest(row),
            "bound": "at most" if row.measure == CONSUMPTION else "at least",
            "level": as_float(row.level) / to_base(row.unit),
            "under": "" if row.counted_under == ALONE else case.performance_guarantees[row.counted_under].title,
        }
        for identity, row in dated(case).performance_guarantees.items()
    ]  # fmt: skip


def promised_dates(case: Case, _results: Results | None = None) -> list[Facts]:
    """Guaranteed dates as the terms state them to the other side; damages are those of a week."""
    rows = case.acceptance_dates.items()
    return [
        {"row": f"acceptance_dates.{identity}"} | plain(row, PROMISED_DATES)
        | {"damages": as_float(row.damages) * to_base("week")}
        for identity, row in rows
    ]  # fmt: skip


def promised_cap(case: Case, _results: Results | None = None) -> list[Facts]:
    """The common cap over all guarantees; no row where the terms state none."""
    return [
        {"row": f"damages_caps.{identity}"} | plain(row, {"amount": "1", "currency": ""})
        for identity, row in case.damages_caps.items()
    ]


# terms that editions take from the case itself
OFFERED: tuple[Callable[..., list[Facts]], ...] = (guaranteed, promised, promised_dates, promised_cap)


def payments_by_year(results: Results) -> dict[str, list[float]]:
    """What is paid in each year of the plan, in groups of headings; no margin on what is supplied."""
    found = {}
    for group, starts in GROUPS.items():
        rows = [list(x.quarters.values()) for name, x in results.plan.payments.items() if name.startswith(starts)]
        quarters = [as_float(sum(amounts)) for amounts in zip(*rows)] or [0.0] * len(results.plan.quarters)
        found[group] = [as_float(sum(year)) for year in timing.by_year(quarters)]
    return found


def headings(case: Case, results: Results) -> list[Facts]:
    """What is paid under each heading in all, from which year of the plan to which, and the withholding tax on it.

    No margin on what is supplied is among them.
    """
    found = []
    for name, row in results.plan.payments.items():
        paid = [number for number, year in enumerate(timing.by_year(list(row.quarters.values())), 1) if any(year)]
        if paid and not name.startswith(SUPPLIED):
            found.append(
                {"name": payments_report.heading_name(case, name), "paid": as_float(results.deal.by_heading[name].paid),
                 "first": paid[0], "last": paid[-1], "withheld": as_float(case.payment_kinds[row.paid_as].withholding)}
            )  # fmt: skip
    return found


def licensor(case: Case, results: Results) -> Facts | None:
    """What the licensor has of the licence: confidential to it."""
    if not results.has_deal:
        return None
    deal, own = results.deal, results.deal.licensor
    return {
        "discount_rate": case.deal.licensor.discount_rate * to_base("year"),
        "paid": sum(as_float(each.paid) for each in deal.by_kind.values()),
        "dividends": sum(as_float(each) for each in deal.dividends.values()),
        "paid_now": own.received,
        **{name: getattr(own, name) for name in ("withheld", "inventors", "net", "npv", "gain")},
        "costs": own.floor - own.contribution + own.rivals,
        "own_tax": own.own_tax - own.credit,
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
    found = overview(case, folder)
    empty = found.zone.empty
    likely = likely_report.found_or_why(case, DRAWS, SEED, deal=True)
    return {
        "verdict": zone_report.verdict(case, found),
        "claim": likely_report.of_the_claim(likely),
        "probabilities": likely_report.of_deal(case, likely, found.upfront),
        **{name: say(case, results) for name, say in OF_SIDES.items()},
        "floor_drawn": likely_report.of_floor(case, likely),
        "ceiling_drawn": likely_report.of_ceiling(case, likely),
        "corners": zone_report.corners(case, found),
        "ranges": [zone_report.term_range(case, each) for each in (found.royalty, found.upfront)],
        "mix": [] if empty else [*zone_report.splits(case, found), zone_report.exchange_rates(case, found)],
        "openings": zone_report.openings(case, found.openings) if found.openings else [],
        "given_up": zone_report.without_other_terms(case, found),
        "no_opening": zone_report.openings(case, [])[0] if empty and not found.openings else "",
        **{name: say(case, found) for name, say in OF_ZONE.items()},
        "promises": guarantee_set_report.together(case, found.promises) if found.promises else [],
        "promise_reserve": guarantee_set_report.reserve(case, found.promises) if found.promises else "",
        "earned": earned(case, results, DRAWS, SEED),
        "exchange": deal_report.rates_used(case),
        "exclusive": terms_report.exclusive(case, results, found),
        "yardsticks": terms_report.yardsticks(results),
        "yardstick_sources": terms_report.yardstick_sources(),
        "rounds": rounds_report.rounds(case, found, day),
        "draws": {"draws": DRAWS, "seed": SEED} if uncertain(case) else None,
        "zone": zone(case, found),
        "tables": {name: table.as_block() if table else None for name, table in _tables(case, results, found).items()},
    }


OF_SIDES = {"sides": deal_report.sides, "floor": deal_report.floor, "own_tax": payments_report.own_tax,
            "ceiling": deal_report.ceiling}  # fmt: skip
OF_ZONE: dict[str, Callable[[Case, Overview], str | list[str]]] = {
    "split": payments_report.split, "price_falls": terms_report.price_falls, "minimums": terms_report.minimums,
    "guarantees": power_guarantee_report.guarantees, "buy_out": terms_report.buy_out,
}  # fmt: skip


def _tables(case: Case, results: Results, found: Overview) -> dict[str, Table | None]:
    """The tables of the negotiation; None for one that would have no rows."""
    drawn = bool(uncertain(case) and case.minimum_royalties)
    probabilities = probabilities_of_minimums(case, DRAWS, SEED) if drawn else None
    return {
        "floor": deal_report.floor_table(case, results),
        "alternatives": deal_report.alternatives_table(case, results),
        "received": payments_report.received_table(case, results),
        "licensor": payments_report.licensor_table(case, results),
        "split": payments_report.split_table(case, found),
        "headings": payments_report.headings_table(case, results),
        "concessions": terms_report.concessions_table(case, found.concessions),
        "price_paths": terms_report.price_paths_table(case, found),
        "years": payments_report.years_table(case, results, probabilities),
        "exclusivity": terms_report.exclusivity_table(case, found) if found.exclusivity.lost else None,
        "guarantees": power_guarantee_report.guarantees_table(case, found) if case.guarantees else None,
        "promises": guarantee_set_report.promises_table(case, found.promises) if found.promises else None,
        "promise_sets": guarantee_set_report.sets_table(case, found.promises) if found.promises else None,
        "rounds": rounds_report.rounds_table(case, found) if found.turns else None,
        **_earned_tables(case, results),
    }


def _earned_tables(case: Case, results: Results) -> dict[str, Table | None]:
    """What services, tests and materials cost and bring, as far as the case has them."""
    services = services_report.found_or_why(case, DRAWS, SEED) if case.service_effects else ""
    laboratory, materials = results.deal.laboratory, bool(case.supplied_materials)
    return {
        "services": None if isinstance(services, str) else services_report.services_table(case, services),
        "laboratory": laboratory_report.tests_table(case, laboratory, odds_of_tests(case, DRAWS, SEED)) if laboratory else None,
        "hours": laboratory_report.hours_table(case, laboratory) if laboratory else None,
        "materials": supplied_report.materials_table(case, results, odds_of_supply(case, DRAWS, SEED)) if materials else None,
    }


def zone(case: Case, found: Overview) -> Facts:
    """The lines of the zone as the picture needs them: royalty in % of net sales, fees in million; None where there is no fee."""
    lines = found.zone

    def fees(values: Iterable[float]) -> list[float | None]:
        """Fees in million."""
        return [None if value != value else float(value) / 1e6 for value in values]

    def point(royalty: float, upfront: float) -> list[float]:
        """A pair of terms in the plane."""
        return [100 * float(royalty), float(upfront) / 1e6]

    return {
        "currency": case.deal.licence.currency,
        "royalty": [100 * float(value) for value in lines.royalty],
        "floor": fees(lines.floor.upfront),
        "ceiling": fees(lines.ceiling.upfront),
        "alike": fees(lines.shares[0.5].upfront),
        "bands": [[fees(low), fees(high)] for low, high in lines.bands],
        "offer": point(lines.offer[1], lines.offer[0]),
        "rounds": [list(deal_charts.in_the_plane(case, turn.case)) for turn in found.turns],
        "says": zone_report.zone_text(case, found),
    }
