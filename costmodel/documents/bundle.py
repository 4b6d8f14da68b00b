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
    charts,
    cost_tables,
    cost_words,
    deal_charts,
    deal_tables,
    deal_words,
    input_tables,
    line_tables,
    market_tables,
    market_words,
    plan_tables,
    plan_words,
    probability_words,
    soaking_tables,
    soaking_words,
    study_charts,
    study_tables,
    study_words,
    texts,
)
from ..present.drawing import Chart
from ..present.table import Table
from ..studies.factory.averaging import running_means
from ..studies.factory.bottlenecks import ladder
from ..studies.factory.efficiencies import price_curve
from ..studies.factory.evidence import elasticities
from ..studies.factory.least_price import least_price, least_volume
from ..studies.factory.minutes import batch_steps, cycle_parts, gains
from ..studies.factory.plant_size import sizes
from ..studies.factory.written_off import years
from ..studies.factory.yield_points import yield_points
from ..studies.many import wanted_figures
from ..studies.negotiation import probabilities
from ..studies.negotiation.overview import overview
from ..studies.plants import PlantRecording
from ..studies.risk import run_risk, spread
from ..studies.tornado import tornado

Block = dict[str, Any]


def _text(words: str) -> Block:
    return {"kind": "text", "text": words}


def _list(items: Sequence[str]) -> Block:
    return {"kind": "list", "items": list(items)}


def _chart(chart: Chart, says: str) -> Block:
    """A chart with the words that a reader gets who cannot see it."""
    drawn = chart.plain()
    drawn["layout"]["meta"] = {"says": says}
    return {"kind": "chart", "figure": drawn, "says": says}


def build_bundle(case: Case, results: Results, made_on: str, folder: Path | None = None) -> dict[str, Block]:
    """All blocks of the report of one case by name; `made_on` is the date that it bears, `folder` holds the rounds of its deal."""
    likely: probabilities.Probabilities | str = ""
    if results.has_plan:
        likely = probability_words.found_or_why(case, probabilities.DRAWS, probabilities.SEED, deal=results.has_deal)
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
    """Keep the blocks as a JSON file for the notebook."""
    path.write_text(json.dumps(bundle), encoding="utf-8")


def _first_page(case: Case, results: Results) -> dict[str, Block]:
    words = {
        "headline": cost_words.headline(case, results),
        "volume": cost_words.volume(results),
        "dearest": cost_words.dearest(case, results),
    }
    return {
        "title": _text(case.title),
        "story": _text(case.story),
        "internal": {"kind": "nothing"} if not results.has_deal else _text(texts.INTERNAL),
        "evidence": _text(cost_words.evidence(case)),
        "choices": _text(cost_words.choices_in_use(case)),
        "not_in_it": _text(cost_words.not_in_it(case)),
        **{name: _text(text) for name, text in words.items()},
        "key_figures": cost_tables.key_figures(case, results).as_block(),
        "cost_stack": _chart(charts.cost_stack(case, results), f"Cost per square metre by step and kind. {words['dearest']}"),
    }


def _costs(case: Case, results: Results) -> dict[str, Block]:
    losses, points = cost_words.losses(case, results), yield_points(case, results)
    written_off = years(case, results)
    return {
        "losses": _text(losses),
        "points": _text(cost_words.points(case, points)),
        "points_table": cost_tables.points_table(case, points).as_block(),
        "loss_bars": _chart(charts.loss_bars(case, results), losses),
        "route_curve": _chart(charts.route_curve(case, results), "What a plate has cost after each step of the route."),
        "by_category": cost_tables.basis_table(case, results).as_block(),
        "by_group": cost_tables.group_table(case, results).as_block(),
        "matrix_watt": cost_tables.matrix_table(case, results, "stabilised_watt").as_block(),
        "matrix_m2": cost_tables.matrix_table(case, results, "m2").as_block(),
        "route": cost_tables.route_table(case, results).as_block(),
        "idle": _text(cost_words.idle(case, results)),
        "owned": _text(cost_words.owned(case, results)),
        "ownership": cost_tables.ownership_table(case, results).as_block(),
        "stock": _text(cost_words.stock(case, results)),
        "landed": cost_tables.landed_table(case, results).as_block(),
        "written_off": _text(cost_words.written_off(case, written_off)),
        "written_off_table": cost_tables.written_off_table(case, written_off).as_block(),
        "emissions": cost_tables.emissions_table(case, results).as_block(),
        "closing": _text(cost_words.closing(case, results)),
        "films": cost_tables.film_table(case, results).as_block(),
    }


def _soaking(case: Case, results: Results) -> dict[str, Block]:
    """The rating of lots, the running mean, days in the light, cost and risk; a case without soaking says so."""
    names = ("soaking_days", "soaking_rating", "soaking_averages", "soaking_light", "soaking_cost")
    said = {"soaking": _text(soaking_words.precision(case, results))}
    if not case.soaking:
        return said | {name: {"kind": "nothing"} for name in names}
    averaged = {name: running_means(case, name) for name in case.soaking}
    return said | {
        "soaking_days": _text(soaking_words.days(case, results)),
        "soaking_rating": soaking_tables.rating_table(case, results).as_block(),
        "soaking_averages": soaking_tables.averages_table(case, averaged).as_block(),
        "soaking_light": soaking_tables.days_table(case, results).as_block(),
        "soaking_cost": soaking_tables.soaking_cost_table(case, results).as_block(),
    }


def _line(case: Case, results: Results) -> dict[str, Block]:
    bottleneck, climbed = cost_words.bottleneck(case, results), ladder(case, results)
    return {
        "bottleneck": _text(bottleneck),
        "loading_bars": _chart(charts.loading_bars(case, results), bottleneck),
        "relief": _text(cost_words.relief(case, results, climbed)),
        "ladder": line_tables.ladder_table(case, results, climbed).as_block(),
        "state_bars": _chart(charts.state_bars(case, results), "How the year of each kind of tool is spent."),
        "effectiveness": line_tables.effectiveness_table(case, results.line).as_block(),
        "tools": line_tables.tool_table(case, results).as_block(),
        "flow": line_tables.flow_table(case, results.line).as_block(),
        "zones": line_tables.zones_table(case, results).as_block() if case.coatings else {"kind": "nothing"},
        "power": line_tables.power_table(case, results).as_block(),
    }


def _batch(case: Case, results: Results) -> dict[str, Block]:
    """The cycle with the most parts, if any step has phases or films; else a word that there is none."""
    steps = batch_steps(case)
    if not steps:
        return {"cycle": {"kind": "nothing"}, "minutes": {"kind": "nothing"}, "gains": {"kind": "nothing"}}
    step = max(steps, key=lambda name: len(cycle_parts(case, results, name)))
    parts = cycle_parts(case, results, step)
    worth = gains(case, step)
    return {
        "cycle": _chart(charts.cycle_bars(parts), f"Where the minutes of “{case.steps[step].title}” go."),
        "minutes": _text(cost_words.minutes(case, worth)),
        "gains": line_tables.gains_table(case, worth).as_block(),
    }


def _plan(case: Case, results: Results, likely: probabilities.Probabilities | str) -> dict[str, Block]:
    """The plant as an investment, and the licence; a case without plan.yaml says so."""
    verdict = plan_words.verdict(case, results)
    if not results.has_plan:
        names = ("cash_needed", "cash_curve", "price_needed", "volume_needed", "limits", "by_market", "worth", "year_bars",
                 "profits", "cash", "bank", "balance", "capital", "others", "others_table")  # fmt: skip
        return {"verdict": _text(verdict)} | {name: {"kind": "nothing"} for name in names}
    cash, limits = plan_words.cash_needed(case, results), plan_words.markets_that_bind(case, results)
    closing = plan_words.closing(case, results)
    return {
        "verdict": _text(" ".join([verdict, *probability_words.of_plan(case, likely)])),
        "cash_needed": _text(cash),
        "cash_curve": _chart(charts.cash_curve(case, results), cash),
        "price_needed": _text(plan_words.price_needed(case, results, least_price(case, results))),
        "volume_needed": _text(plan_words.volume_needed(case, least_volume(case, results))),
        "limits": _text(" ".join([*limits, closing])),
        "by_market": plan_tables.markets_table(case, results).as_block() if results.plan.markets else {"kind": "nothing"},
        "worth": plan_tables.worth_table(case, results).as_block(),
        "year_bars": _chart(charts.year_bars(case, results), "Cash of the project in each year, by what it is for."),
        "profits": plan_tables.profit_table(case, results).as_block(),
        "cash": plan_tables.cash_table(case, results).as_block(),
        "bank": _text(plan_words.bank(case, results)),
        "balance": plan_tables.balance_table(case, results).as_block(),
        "capital": plan_tables.capital_table(case, results).as_block(),
        "others": _text(plan_words.others(case, results)),
        "others_table": plan_tables.others_table(case, results).as_block(),
    }


def _deal(case: Case, results: Results, likely: probabilities.Probabilities | str, folder: Path | None) -> dict[str, Block]:
    """Where licensor and licensee can meet; a case without deal.yaml says so."""
    names = ("deal_zone", "deal_range", "deal_floor", "deal_alternatives", "deal_received", "deal_years", "deal_concessions",
             "deal_prices", "deal_yardsticks", "deal_exclusive", "deal_guarantees", "deal_guaranteed", "deal_rounds",
             "deal_cautions")  # fmt: skip
    if not results.has_deal:
        return {"deal": _text(deal_words.NO_DEAL)} | {name: {"kind": "nothing"} for name in names}
    found = overview(case, results, folder)
    answer, *reaches = deal_words.where_they_meet(case, results, found, (found.royalty, found.upfront))
    return {
        "deal": _text(answer),
        "deal_zone": _chart(deal_charts.zone_chart(case, found.zone.outline, found.turns), deal_charts.zone_text(case, found)),
        "deal_range": _list([*probability_words.of_deal(case, likely, found.upfront), *reaches]),
        "deal_floor": deal_tables.floor_table(case, results).as_block(),
        "deal_alternatives": deal_tables.alternatives_table(case, results).as_block(),
        "deal_received": deal_tables.received_table(case, results).as_block(),
        "deal_years": deal_tables.years_table(case, results).as_block(),
        "deal_concessions": deal_tables.concessions_table(case, found.concessions).as_block(),
        "deal_prices": deal_tables.price_paths_table(case, found).as_block(),
        "deal_yardsticks": _list([deal_words.price_falls(case, found), deal_words.yardsticks(results)]),
        "deal_exclusive": deal_tables.exclusivity_table(case, found).as_block() if found.exclusivity.lost else {"kind": "nothing"},
        "deal_guarantees": _list(deal_words.guarantees(case, found)),
        "deal_guaranteed": deal_tables.guarantees_table(case, found).as_block() if case.guarantees else {"kind": "nothing"},
        "deal_rounds": deal_tables.rounds_table(case, found).as_block() if found.turns else {"kind": "nothing"},
        "deal_cautions": _list(deal_words.cautions()),
    }


def _with_rows(table: Table) -> Block:
    """A table, or nothing where it has no rows."""
    return table.as_block() if table.rows else {"kind": "nothing"}


def _market(case: Case, results: Results) -> dict[str, Block]:
    """What buyers could pay; a case without markets says so."""
    where = market_words.where_it_sells(case, results)
    if not case.markets:
        names = (
            "market_volume", "market_bars", "market_list", "market_curves", "curves_note", "market", "market_details",
            "market_alternatives", "market_energy",
        )  # fmt: skip
        return {"where_it_sells": _text(where), **{name: {"kind": "nothing"} for name in names}}
    curves = charts.efficiency_curves(case, results, price_curve(case, results))
    return {
        "where_it_sells": _text(where),
        "market_volume": _text(market_words.volume_above_cost(results)),
        "market_bars": _chart(charts.market_bars(case, results), where),
        "market": market_tables.market_table(case, results).as_block(),
        "market_list": _list(tuple(market_words.market_by_market(case, results))),
        "market_curves": _chart(curves, market_words.CURVES),
        "curves_note": _text(market_words.CURVES),
        "market_details": market_tables.market_details_table(case, results).as_block(),
        "market_alternatives": _with_rows(market_tables.alternatives_table(case, results)),
        "market_energy": _with_rows(market_tables.energy_table(case, results)),
    }


FIGURES_AT_RISK = ("ledger.total.cost_per_stabilised_watt", "ledger.total.cost_per_m2")
DRAWS, SEED = 10_000, 0


def _uncertain(case: Case) -> dict[str, Block]:
    """What ranges.csv does to the cost, the plant left as bought; a case without ranges says so."""
    if not uncertain(case):
        names = ("tornado", "risk", "risk_table", "exceedance")
        return {"widest": _text(study_words.NO_RANGES), **{name: {"kind": "nothing"} for name in names}}
    plant = as_bought(case)
    known = wanted_figures(plant, FIGURES_AT_RISK)
    first = known[FIGURES_AT_RISK[0]]
    recording = PlantRecording(plant, [row.address for row in uncertain(plant).values()], FIGURES_AT_RISK)
    present, bars = tornado(plant, first.address, recording)
    run = run_risk(plant, FIGURES_AT_RISK, DRAWS, SEED, recording=recording)
    spreads = {address: spread(values) for address, values in run.figures.items()}
    widest, risky = study_words.widest(plant, first, bars, present), study_words.risky(run, first, spreads[first.address])
    curve = study_charts.exceedance_curve(first, run.figures[first.address], spreads[first.address])
    return {
        "widest": _text(f"{widest} {study_words.plant(plant)}"),
        "tornado": _chart(study_charts.tornado_bars(plant, first, bars), widest),
        "risk": _text(f"{risky} {study_words.drawn(run)}"),
        "exceedance": _chart(curve, risky),
        "risk_table": study_tables.risk_table(known, spreads).as_block(),
    }


def _grounds(case: Case, made_on: str) -> dict[str, Block]:
    curve, elasticity = sizes(case), elasticities(case)
    origin = f"Case “{case.name}”, fingerprint {fingerprint(case)}. Made on {made_on} with costmodel {__version__}."
    return {
        "size": _text(cost_words.size(case, curve)),
        "size_curve": _chart(charts.size_curve(case, curve), cost_words.size(case, curve)),
        "size_table": cost_tables.size_table(case, curve).as_block(),
        "elasticity": _text(cost_words.elasticity(elasticity)),
        "elasticity_table": cost_tables.evidence_table(case, elasticity).as_block(),
        "inputs": {"kind": "tables", "tables": [table.as_block() for table in input_tables.input_tables(case)]},
        "cautions": _list(texts.CAUTIONS),
        "conventions": _list(texts.CONVENTIONS),
        "origin": _text(origin),
    }
