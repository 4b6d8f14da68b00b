"""The content of a report as named blocks of plain data: the report's notebook receives these and computes nothing."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from .. import __version__
from ..case.fingerprint import fingerprint
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..model.bought import as_bought
from ..model.evaluate import Results
from ..present import (
    buying_report,
    cash_report,
    charts,
    choice_report,
    cost_report,
    deal_charts,
    deal_report,
    guarantee_report,
    inputs_report,
    line_report,
    market_report,
    payments_report,
    plan_report,
    risk_report,
    soaking_report,
    study_charts,
    study_report,
    terms_report,
    texts,
    zone_report,
)
from ..present.drawing import Chart
from ..present.table import Table
from ..studies.factory.averaging import running_means
from ..studies.factory.full_use import ladder, yield_points
from ..studies.factory.least_price import least_price, least_volume
from ..studies.factory.market_prices import price_curve
from ..studies.factory.minutes import batch_steps, cycle_parts, gains
from ..studies.factory.plant_size import sizes
from ..studies.factory.written_off import years
from ..studies.many import wanted_figures
from ..studies.negotiation import probabilities
from ..studies.negotiation.overview import overview
from ..studies.risk import run_risk
from ..studies.sensitivities import elasticities, tornado
from ..studies.spread import spread

Block = dict[str, Any]
NOTHING = "The case has nothing of this kind."
SECTIONS = {  # headings of the report, and the blocks below each
    "": "title headline verdict volume dearest evidence internal cost_stack not_in_it story choices key_figures",
    "What it costs, by kind": "by_category by_group",
    "What buyers could pay": "where_it_sells market_volume market_bars market market_alternatives market_energy market_list",
    "Price and cost against the efficiency of the module": "curves_note market_curves market_details",
    "The plant as an investment": "cash_needed cash_curve price_needed volume_needed limits worth by_market",
    "Cash, year by year": "year_bars cash profits",
    "Capital, loan and balance": "capital bank balance",
    "Other lines for the same money": "others others_table",
    "The deal: where licensor and licensee can meet": "deal deal_zone deal_range deal_floor deal_alternatives deal_received "
    "deal_years deal_concessions deal_prices deal_yardsticks deal_exclusive deal_guarantees deal_guaranteed deal_rounds "
    "deal_cautions",
    "Cost added along the route": "route_curve closing",
    "Cost of ownership by tool": "owned idle ownership",
    "Where money is lost to yield": "losses loss_bars points points_table",
    "How full the tools are": "bottleneck loading_bars relief ladder",
    "Where the minutes of the batch go": "cycle minutes gains",
    "How the year of the tools is spent": "state_bars effectiveness",
    "Light soaking": "soaking soaking_days soaking_rating soaking_averages soaking_light soaking_cost",
    "Cost by step and kind": "matrix_watt matrix_m2",
    "The route and the tools": "route flow tools films zones power",
    "What is bought": "stock landed",
    "How equipment is written off": "written_off written_off_table",
    "Greenhouse gas": "emissions",
    "Cost against the size of the plant": "size size_curve size_table",
    "What is uncertain": "widest tornado risk exceedance risk_table",
    "What the cost depends on": "elasticity elasticity_table",
    "Inputs, each with its kind and source": "inputs",
    "Cautions": "cautions",
    "Conventions": "conventions origin",
}


def _text(words: str, style: str = "") -> Block:
    return {"kind": "words", "text": words, "style": style}


def _list(items: Sequence[str]) -> Block:
    return {"kind": "items", "items": list(items)}


def _chart(chart: Chart, says: str) -> Block:
    """A chart with the words that a reader gets who cannot see it."""
    drawn = chart.plain()
    drawn["layout"]["meta"] = {"says": says}
    return {"kind": "chart", "figure": drawn, "says": says}


def build_bundle(case: Case, results: Results, made_on: str, folder: Path | None = None) -> dict[str, Block]:
    """All blocks of the report of one case by name; `made_on` is its date, `folder` holds the rounds of its deal.

    What the case has nothing of has no block.
    """
    likely: probabilities.Probabilities | str = ""
    if results.has_plan:
        likely = zone_report.found_or_why(case, probabilities.DRAWS, probabilities.SEED, deal=results.has_deal)
    return {
        **_first_page(case, results),
        **_costs(case, results),
        **_soaking(case, results),
        **_line(case, results),
        **_batch(case, results),
        **_market(case, results),
        **_plan(case, results, likely),
        **_deal(case, results, likely, folder),
        **_uncertain(case),
        **_grounds(case, made_on),
    }


def write_bundle(bundle: dict[str, Block], path: Path) -> None:
    """Keep the blocks, section by section, as a JSON file for the notebook."""
    path.write_text(json.dumps(in_sections(bundle)), encoding="utf-8")


def in_sections(bundle: dict[str, Block]) -> list[Block]:
    """Headings and blocks in the order of the report; a section without blocks has a word that the case has nothing of the kind."""
    blocks: list[Block] = []
    for heading, names in SECTIONS.items():
        blocks += [{"kind": "heading", "text": heading}] if heading else []
        blocks += [bundle[name] for name in names.split() if name in bundle] or [_text(NOTHING, "note")]
    return blocks


def _first_page(case: Case, results: Results) -> dict[str, Block]:
    words = {
        "headline": cost_report.headline(case, results),
        "volume": cost_report.volume(results),
        "dearest": cost_report.dearest(case, results),
    }
    return {
        "title": {"kind": "title", "text": case.title},
        **({"story": _text(case.story, "story")} if case.story.strip() else {}),
        **({"internal": _text(texts.INTERNAL, "caution")} if results.has_deal else {}),
        "evidence": _text(inputs_report.evidence(case), "note"),
        "choices": _text(choice_report.choices_in_use(case)),
        "not_in_it": _text(cost_report.not_in_it(case), "note"),
        **{name: _text(text, "headline" if name == "headline" else "") for name, text in words.items()},
        "key_figures": cost_report.key_figures(case, results).as_block(),
        "cost_stack": _chart(charts.cost_stack(case, results), f"Cost per square metre by step and kind. {words['dearest']}"),
    }


def _costs(case: Case, results: Results) -> dict[str, Block]:
    losses, points = cost_report.losses(case, results), yield_points(case)
    written_off = years(case)
    return {
        "losses": _text(losses),
        "points": _text(cost_report.points(case, points)),
        "points_table": cost_report.points_table(case, points).as_block(),
        "loss_bars": _chart(charts.loss_bars(case, results), losses),
        "route_curve": _chart(charts.route_curve(case, results), "What a plate has cost after each step of the route."),
        "by_category": cost_report.basis_table(case, results).as_block(),
        "by_group": cost_report.group_table(case, results).as_block(),
        "matrix_watt": cost_report.matrix_table(case, results, "stabilised_watt").as_block(),
        "matrix_m2": cost_report.matrix_table(case, results, "m2").as_block(),
        "route": cost_report.route_table(case, results).as_block(),
        "idle": _text(cost_report.idle(case, results)),
        "owned": _text(cost_report.owned(case, results)),
        "ownership": cost_report.ownership_table(case, results).as_block(),
        "stock": _text(buying_report.stock(case, results)),
        "landed": buying_report.landed_table(case, results).as_block(),
        "written_off": _text(buying_report.written_off(case, written_off)),
        "written_off_table": buying_report.written_off_table(case, written_off).as_block(),
        **_if_rows(emissions=cost_report.emissions_table(case, results), films=buying_report.film_table(case, results)),
        "closing": _text(cost_report.closing(case, results)),
    }


def _soaking(case: Case, results: Results) -> dict[str, Block]:
    """The rating of lots, the running mean, days in the light, cost and risk; a case without soaking says so."""
    soaking = _text(soaking_report.precision(case, results))
    if not case.soaking:
        return {"soaking": soaking}
    averaged = {name: running_means(case, name) for name in case.soaking}
    return {
        "soaking": soaking,
        "soaking_days": _text(soaking_report.days(case, results)),
        "soaking_rating": soaking_report.rating_table(case, results).as_block(),
        "soaking_averages": soaking_report.averages_table(case, averaged).as_block(),
        "soaking_light": soaking_report.days_table(case, results).as_block(),
        "soaking_cost": soaking_report.soaking_cost_table(case, results).as_block(),
    }


def _line(case: Case, results: Results) -> dict[str, Block]:
    bottleneck, climbed = line_report.bottleneck(case, results), ladder(case)
    return {
        "bottleneck": _text(bottleneck),
        "loading_bars": _chart(charts.loading_bars(case, results), bottleneck),
        "relief": _text(line_report.relief(case, results, climbed)),
        "ladder": line_report.ladder_table(case, results, climbed).as_block(),
        "state_bars": _chart(charts.state_bars(case, results), "How the year of each kind of tool is spent."),
        "effectiveness": line_report.effectiveness_table(case, results.line).as_block(),
        "tools": line_report.tool_table(case, results).as_block(),
        "flow": line_report.flow_table(case, results.line).as_block(),
        **_if_rows(zones=line_report.zones_table(case, results)),
        "power": line_report.power_table(case, results).as_block(),
    }


def _batch(case: Case, results: Results) -> dict[str, Block]:
    """The cycle with the most parts, if any step has phases or films."""
    steps = batch_steps(case)
    if not steps:
        return {}
    step = max(steps, key=lambda name: len(cycle_parts(case, name)))
    parts = cycle_parts(case, step)
    worth = gains(case, step)
    return {
        "cycle": _chart(charts.cycle_bars(parts), f"Where the minutes of “{case.steps[step].title}” go."),
        "minutes": _text(line_report.minutes(case, worth)),
        "gains": line_report.gains_table(case, worth).as_block(),
    }


def _plan(case: Case, results: Results, likely: probabilities.Probabilities | str) -> dict[str, Block]:
    """The plant as an investment, and the licence; a case without plan.yaml says so."""
    verdict = plan_report.verdict(case, results)
    if not results.has_plan:
        return {"verdict": _text(verdict)}
    cash, limits = plan_report.cash_needed(case, results), plan_report.markets_that_bind(case, results)
    closing = plan_report.closing(case, results)
    return {
        "verdict": _text(" ".join([verdict, *zone_report.of_plan(case, likely)])),
        "cash_needed": _text(cash),
        "cash_curve": _chart(charts.cash_curve(case, results), cash),
        "price_needed": _text(plan_report.price_needed(case, results, least_price(case))),
        "volume_needed": _text(plan_report.volume_needed(case, least_volume(case))),
        "limits": _text(" ".join([*limits, closing])),
        **_if_rows(by_market=cash_report.markets_table(case, results), others_table=plan_report.others_table(case, results)),
        "worth": plan_report.worth_table(case, results).as_block(),
        "year_bars": _chart(charts.year_bars(case, results), "Cash of the project in each year, by what it is for."),
        "profits": cash_report.profit_table(case, results).as_block(),
        "cash": cash_report.cash_table(case, results).as_block(),
        "bank": _text(plan_report.bank(case, results)),
        "balance": cash_report.balance_table(case, results).as_block(),
        "capital": cash_report.capital_table(case, results).as_block(),
        "others": _text(plan_report.others(case, results)),
    }


def _deal(case: Case, results: Results, likely: probabilities.Probabilities | str, folder: Path | None) -> dict[str, Block]:
    """Where licensor and licensee can meet; a case without deal.yaml says so."""
    if not results.has_deal:
        return {"deal": _text(deal_report.NO_DEAL)}
    found = overview(case, folder)
    answer, *reaches = zone_report.where_they_meet(case, results, found, (found.royalty, found.upfront))
    return {
        "deal": _text(answer),
        "deal_zone": _chart(deal_charts.zone_chart(case, found.zone.outline, found.turns), zone_report.zone_text(case, found)),
        "deal_range": _list([*zone_report.of_deal(case, likely, found.upfront), *reaches]),
        "deal_floor": deal_report.floor_table(case, results).as_block(),
        "deal_alternatives": deal_report.alternatives_table(case, results).as_block(),
        "deal_received": payments_report.received_table(case, results).as_block(),
        "deal_years": payments_report.years_table(case, results).as_block(),
        "deal_concessions": terms_report.concessions_table(case, found.concessions).as_block(),
        "deal_prices": terms_report.price_paths_table(case, found).as_block(),
        "deal_yardsticks": _list([terms_report.price_falls(case, found), terms_report.yardsticks(results)]),
        "deal_guarantees": _list(guarantee_report.guarantees(case, found)),
        **_if_rows(
            deal_guaranteed=guarantee_report.guarantees_table(case, found), deal_rounds=terms_report.rounds_table(case, found)
        ),
        **({"deal_exclusive": terms_report.exclusivity_table(case, found).as_block()} if found.exclusivity.lost else {}),
        "deal_cautions": _list(deal_report.cautions()),
    }


def _if_rows(**tables: Table) -> dict[str, Block]:
    """Those tables by name that have rows."""
    return {name: table.as_block() for name, table in tables.items() if table.rows}


def _market(case: Case, results: Results) -> dict[str, Block]:
    """What buyers could pay; a case without markets says so."""
    where = market_report.where_it_sells(case, results)
    if not case.markets:
        return {"where_it_sells": _text(where)}
    curves = charts.efficiency_curves(case, results, price_curve(case))
    return {
        "where_it_sells": _text(where),
        "market_volume": _text(market_report.volume_above_cost(results)),
        "market_bars": _chart(charts.market_bars(case, results), where),
        "market": market_report.market_table(case, results).as_block(),
        "market_list": _list(tuple(market_report.market_by_market(case, results))),
        "market_curves": _chart(curves, market_report.CURVES),
        "curves_note": _text(market_report.CURVES),
        "market_details": market_report.market_details_table(case, results).as_block(),
        **_if_rows(
            market_alternatives=market_report.alternatives_table(case, results),
            market_energy=market_report.energy_table(case, results),
        ),
    }


FIGURES_AT_RISK = ("ledger.total.cost_per_stabilised_watt", "ledger.total.cost_per_m2")
DRAWS, SEED = 10_000, 0


def _uncertain(case: Case) -> dict[str, Block]:
    """What ranges.csv does to the cost, the plant left as bought; a case without ranges says so."""
    if not uncertain(case):
        return {"widest": _text(study_report.NO_RANGES)}
    plant = as_bought(case)
    known = wanted_figures(plant, FIGURES_AT_RISK)
    first = known[FIGURES_AT_RISK[0]]
    present, bars = tornado(plant, first.address)
    run = run_risk(plant, FIGURES_AT_RISK, DRAWS, SEED)
    spreads = {address: spread(values) for address, values in run.figures.items()}
    widest, risky = study_report.widest(plant, first, bars, present), risk_report.risky(run, first, spreads[first.address])
    curve = study_charts.exceedance_curve(first, run.figures[first.address], spreads[first.address])
    return {
        "widest": _text(f"{widest} {study_report.plant(plant)}"),
        "tornado": _chart(study_charts.tornado_bars(plant, first, bars), widest),
        "risk": _text(f"{risky} {risk_report.drawn(run)}"),
        "exceedance": _chart(curve, risky),
        "risk_table": risk_report.risk_table(known, spreads).as_block(),
    }


def _grounds(case: Case, made_on: str) -> dict[str, Block]:
    curve, elasticity = sizes(case), elasticities(case)
    origin = f"Case “{case.name}”, fingerprint {fingerprint(case)}. Made on {made_on} with costmodel {__version__}."
    return {
        "size": _text(choice_report.size(case, curve)),
        "size_curve": _chart(charts.size_curve(case, curve), choice_report.size(case, curve)),
        "size_table": choice_report.size_table(case, curve).as_block(),
        "elasticity": _text(inputs_report.elasticity(elasticity)),
        "elasticity_table": inputs_report.evidence_table(case, elasticity).as_block(),
        "inputs": {"kind": "tables", "tables": [table.as_block() for table in inputs_report.input_tables(case)]},
        "cautions": _list(texts.CAUTIONS),
        "conventions": _list(texts.CONVENTIONS),
        "origin": _text(origin, "origin"),
    }
