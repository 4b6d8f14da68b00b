"""What a case has to show as named blocks of plain data: sentences, tables, charts, each made when it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from .. import __version__
from ..case.fingerprint import fingerprint
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..model.as_bought import as_bought
from ..model.evaluate import Results, evaluate
from ..present import (
    buying_report,
    cash_report,
    charts,
    choice_report,
    cost_report,
    deal_charts,
    deal_report,
    guarantee_charts,
    guarantee_set_report,
    inputs_report,
    laboratory_report,
    likely_report,
    line_report,
    market_report,
    payments_report,
    plan_report,
    power_guarantee_report,
    power_report,
    risk_report,
    rounds_report,
    services_report,
    soaking_report,
    study_charts,
    study_report,
    supplied_report,
    terms_report,
    texts,
    transfer_charts,
    transfer_report,
    verification_report,
    warranty_report,
    zone_report,
)
from ..present.drawing import Chart
from ..present.table import Table
from ..studies.axes import parse_axis
from ..studies.factory.averaging import running_means
from ..studies.factory.depreciation_years import years
from ..studies.factory.full_use import ladder, yield_points
from ..studies.factory.least_price import least_price, least_volume
from ..studies.factory.market_prices import price_curve
from ..studies.factory.minutes import batch_steps, cycle_parts, gains
from ..studies.factory.plant_size import sizes
from ..studies.factory.power_bins import power_bins
from ..studies.factory.warranty_terms import dearer_terms
from ..studies.many import wanted_figures
from ..studies.negotiation import probabilities
from ..studies.negotiation.laboratory_odds import odds_of_tests
from ..studies.negotiation.organisation_load import loads
from ..studies.negotiation.overview import Overview, overview
from ..studies.negotiation.shared_tapes import share_tapes
from ..studies.negotiation.supplied_odds import odds_of_supply
from ..studies.negotiation.transfer_delay import delays
from ..studies.negotiation.transfer_spread import transfer_spread
from ..studies.risk import run_risk
from ..studies.sensitivities import elasticities, tornado
from ..studies.spread import spread
from ..studies.sweep import sweep
from ..studies.variance import rank

Block = dict[str, Any]
Made = Block | Table | str | Sequence[str]
Blocks = dict[str, Callable[[], Made]]
"""What makes each block of a case, by its name."""

FIGURES_AT_RISK = ("ledger.total.cost_per_stabilised_watt", "ledger.total.cost_per_m2")
DRAWS, SEED, POINTS = 10_000, 0, 512


def blocks_of(
    case: Case,
    made_on: str = "",
    folder: Path | None = None,
    figures: Sequence[str] = FIGURES_AT_RISK,
    draws: int = DRAWS,
    seed: int = SEED,
) -> Blocks:
    """All that a case has to show, by name; what it has nothing of has no block.

    `made_on` is a date, `folder` holds the rounds of its deal. `figures` are drawn, and the first stands in the charts of what is
    uncertain.

    >>> from costmodel.case.load import load_case
    >>> block_of(blocks_of(load_case("inputs_demo/facade"))["title"])["kind"]
    'title'
    """
    results = evaluate(case)
    share_tapes(case)

    @cache
    def likely() -> probabilities.Probabilities | str:
        """How likely the claims of plan and deal are, or why that is not known."""
        return likely_report.found_or_why(case, probabilities.DRAWS, probabilities.SEED, deal=results.has_deal)

    return {
        **_first_page(case, results),
        **_costs(case, results),
        **_soaking(case, results),
        **_classes(case, results),
        **_warranty(case, results),
        **_line(case, results),
        **_batch(case, results),
        **_market(case, results),
        **_plan(case, results, likely),
        **_deal(case, results, likely, folder),
        **_earned(case, results),
        **_transfer(case, results),
        **_uncertain(case, figures, draws, seed),
        **_grounds(case, results, made_on),
    }


def block_of(make: Callable[[], Made]) -> Block:
    """A block as plain data: words, items, a table, or what it is already; nothing to show is an empty one.

    >>> block_of(lambda: "One plant."), block_of(lambda: ("One.", "Two."))["kind"], block_of(lambda: [])
    ({'kind': 'words', 'text': 'One plant.', 'style': ''}, 'items', {})
    """
    made = make()
    if isinstance(made, Table):
        return made.as_block() if made.rows else {}
    if isinstance(made, str):
        return _text(made) if made else {}
    return made if isinstance(made, dict) else {"kind": "items", "items": list(made)} if made else {}


def _text(words: str, style: str = "") -> Block:
    return {"kind": "words", "text": words, "style": style}


def _chart(chart: Chart, says: str) -> Block:
    """A chart with the words that a reader gets who cannot see it."""
    drawn = chart.plain()
    drawn["layout"]["meta"] = {"says": says}
    return {"kind": "chart", "figure": drawn, "says": says}


def _first_page(case: Case, results: Results) -> Blocks:
    stack = "Cost per square metre by step and kind."
    return {
        "title": lambda: {"kind": "title", "text": case.title},
        "headline": lambda: _text(cost_report.headline(case, results), "headline"),
        "volume": lambda: cost_report.volume(results),
        "dearest": lambda: cost_report.dearest(case, results),
        "evidence": lambda: _text(inputs_report.evidence(case), "note"),
        "choices": lambda: choice_report.choices_in_use(case),
        "not_in_it": lambda: _text(cost_report.not_in_it(case), "note"),
        "still_invented": lambda: inputs_report.still_invented(case),
        "key_figures": lambda: cost_report.key_figures(case, results),
        "cost_stack": lambda: _chart(charts.cost_stack(case, results), f"{stack} {cost_report.dearest(case, results)}"),
        **({"story": lambda: _text(case.story, "story")} if case.story.strip() else {}),
        **({"internal": lambda: _text(texts.INTERNAL, "caution")} if results.has_deal else {}),
    }


def _costs(case: Case, results: Results) -> Blocks:
    route = "What a plate has cost after each step of the route."
    points, written_off = cache(lambda: yield_points(case)), cache(lambda: years(case))
    return {
        "losses": lambda: cost_report.losses(case, results),
        "points": lambda: cost_report.points(case, points()),
        "points_table": lambda: cost_report.points_table(case, points()),
        "loss_bars": lambda: _chart(charts.loss_bars(case, results), cost_report.losses(case, results)),
        "route_curve": lambda: _chart(charts.route_curve(case, results), route),
        "by_category": lambda: cost_report.basis_table(case, results),
        "by_group": lambda: cost_report.group_table(case, results),
        "matrix_watt": lambda: cost_report.matrix_table(case, results, "stabilised_watt"),
        "matrix_m2": lambda: cost_report.matrix_table(case, results, "m2"),
        "route": lambda: cost_report.route_table(case, results),
        "idle": lambda: cost_report.idle(case, results),
        "owned": lambda: cost_report.owned(case, results),
        "ownership": lambda: cost_report.ownership_table(case, results),
        "stock": lambda: buying_report.stock(case, results),
        "landed": lambda: buying_report.landed_table(case, results),
        "written_off": lambda: buying_report.written_off(case, written_off()),
        "written_off_table": lambda: buying_report.written_off_table(case, written_off()),
        "emissions": lambda: cost_report.emissions_table(case, results),
        "films": lambda: buying_report.film_table(case, results),
        "closing": lambda: cost_report.closing(case, results),
    }


def _soaking(case: Case, results: Results) -> Blocks:
    """The rating of lots, the running mean, days in the light, cost and risk; a case without soaking says so."""
    words: Blocks = {"soaking": lambda: soaking_report.precision(case, results)}
    if not case.soaking:
        return words
    return words | {
        "soaking_days": lambda: soaking_report.days(case, results),
        "soaking_rating": lambda: soaking_report.rating_table(case, results),
        "soaking_averages": lambda: soaking_report.averages_table(case, {name: running_means(case, name) for name in case.soaking}),
        "soaking_light": lambda: soaking_report.days_table(case, results),
        "soaking_cost": lambda: soaking_report.soaking_cost_table(case, results),
    }


def _line(case: Case, results: Results) -> Blocks:
    climbed = cache(lambda: ladder(case))
    return {
        "bottleneck": lambda: line_report.bottleneck(case, results),
        "loading_bars": lambda: _chart(charts.loading_bars(case, results), line_report.bottleneck(case, results)),
        "relief": lambda: line_report.relief(case, results, climbed()),
        "ladder": lambda: line_report.ladder_table(case, results, climbed()),
        "state_bars": lambda: _chart(charts.state_bars(case, results), "How the year of each kind of tool is spent."),
        "effectiveness": lambda: line_report.effectiveness_table(case, results.line),
        "tools": lambda: line_report.tool_table(case, results),
        "flow": lambda: line_report.flow_table(case, results.line),
        "zones": lambda: line_report.zones_table(case, results),
        "power": lambda: line_report.power_table(case, results),
    }


def _classes(case: Case, results: Results) -> Blocks:
    if not case.power_classes:
        return {}
    return {
        "classes": lambda: power_report.classes(case, results),
        "classes_table": lambda: power_report.classes_table(case, results),
        "class_bars": lambda: _chart(charts.class_bars(case, power_bins(case, results)), "Good modules by rated power."),
    }


def _warranty(case: Case, results: Results) -> Blocks:
    """What is promised and what it costs; the draws of the cost stand with the other draws."""
    if not case.warranty:
        return {}
    other = cache(lambda: dearer_terms(case))
    plan: Blocks = {}
    if results.has_plan:
        plan["warranty_provision"] = lambda: warranty_report.provision_table(case, results)
        plan["warranty_bars"] = lambda: _chart(
            guarantee_charts.provision_chart(case, results), warranty_report.in_the_plan(case, results)
        )
    return {
        "warranty": lambda: f"{warranty_report.cost(case, results)} {warranty_report.claims(case, results)}",
        "warranty_promise": lambda: f"{warranty_report.promise(case)} {warranty_report.CAUTION}",
        "warranty_dearer": lambda: warranty_report.dearer_table(case, results, other()),
        "warranty_claims_bars": lambda: _chart(guarantee_charts.claims_chart(results), warranty_report.claims(case, results)),
        "warranty_ages": lambda: warranty_report.ages_table(case, results),
        **plan,
    }


def _batch(case: Case, results: Results) -> Blocks:
    """The cycle with the most parts, if any step has phases or films."""
    steps = batch_steps(case)
    if not steps:
        return {}
    step = max(steps, key=lambda name: len(cycle_parts(case, name)))
    minutes, saved = f"Where the minutes of “{case.steps[step].title}” go.", cache(lambda: gains(case, step))
    return {
        "cycle": lambda: _chart(charts.cycle_bars(cycle_parts(case, step)), minutes),
        "minutes": lambda: line_report.minutes(case, saved()),
        "gains": lambda: line_report.gains_table(case, saved()),
    }


def _market(case: Case, results: Results) -> Blocks:
    """What buyers could pay; a case without markets says so."""
    words: Blocks = {"where_it_sells": lambda: market_report.where_it_sells(case, results)}
    if not case.markets:
        return words
    return words | {
        "market_volume": lambda: market_report.volume_above_cost(results),
        "market_bars": lambda: _chart(charts.market_bars(case, results), market_report.where_it_sells(case, results)),
        "market": lambda: market_report.market_table(case, results),
        "market_list": lambda: list(market_report.market_by_market(case, results)),
        "market_curves": lambda: _chart(charts.efficiency_curves(case, results, price_curve(case)), market_report.CURVES),
        "curves_note": lambda: market_report.CURVES,
        "market_details": lambda: market_report.market_details_table(case, results),
        "market_alternatives": lambda: market_report.alternatives_table(case, results),
        "market_energy": lambda: market_report.energy_table(case, results),
    }


Likely = Callable[[], probabilities.Probabilities | str]


def _plan(case: Case, results: Results, likely: Likely) -> Blocks:
    """The plant as an investment, and the licence; a case without plan.yaml says so."""
    if not results.has_plan:
        return {"verdict": lambda: plan_report.verdict(case, results)}
    limits = [*plan_report.markets_that_bind(case, results), plan_report.closing(case, results)]
    return {
        "verdict": lambda: " ".join([plan_report.verdict(case, results), *likely_report.of_plan(case, likely())]),
        "cash_needed": lambda: plan_report.cash_needed(case, results),
        "cash_curve": lambda: _chart(charts.cash_curve(case, results), plan_report.cash_needed(case, results)),
        "price_needed": lambda: plan_report.price_needed(case, results, least_price(case)),
        "volume_needed": lambda: plan_report.volume_needed(case, least_volume(case)),
        "limits": lambda: " ".join(limits),
        "by_market": lambda: cash_report.markets_table(case, results),
        "worth": lambda: plan_report.worth_table(case, results),
        "year_bars": lambda: _chart(charts.year_bars(case, results), "Cash of the project in each year, by what it is for."),
        "profits": lambda: cash_report.profit_table(case, results),
        "cash": lambda: cash_report.cash_table(case, results),
        "bank": lambda: plan_report.bank(case, results),
        "balance": lambda: cash_report.balance_table(case, results),
        "capital": lambda: cash_report.capital_table(case, results),
        "others": lambda: plan_report.others(case, results),
        "others_table": lambda: plan_report.others_table(case, results),
    }


def _deal(case: Case, results: Results, likely: Likely, folder: Path | None) -> Blocks:
    """Where licensor and licensee can meet; a case without deal.yaml says so."""
    if not results.has_deal:
        return {"deal": lambda: deal_report.NO_DEAL}
    found = cache(lambda: overview(case, folder))
    meet = cache(lambda: zone_report.where_they_meet(case, results, found(), (found().royalty, found().upfront)))
    zone = cache(lambda: deal_charts.zone_chart(case, found().zone.outline, found().turns))

    return {
        "deal": lambda: meet()[0],
        "deal_zone": lambda: _chart(zone(), zone_report.zone_text(case, found())),
        "deal_range": lambda: [*likely_report.of_deal(case, likely(), found().upfront), *meet()[1:]],
        "deal_sides": lambda: [
            deal_report.sides(case, results),
            " ".join([deal_report.floor(case, results), *likely_report.of_floor(case, likely())]),
            " ".join([deal_report.ceiling(case, results), *likely_report.of_ceiling(case, likely())]),
        ],
        "deal_bars": lambda: _chart(deal_charts.deal_bars(case, results), deal_report.sides(case, results)),
        "deal_floor": lambda: deal_report.floor_table(case, results),
        "deal_alternatives": lambda: deal_report.alternatives_table(case, results),
        "deal_received": lambda: payments_report.received_table(case, results),
        "deal_years": lambda: payments_report.years_table(case, results),
        "deal_concessions": lambda: terms_report.concessions_table(case, found().concessions),
        "deal_prices": lambda: terms_report.price_paths_table(case, found()),
        "deal_yardsticks": lambda: [
            terms_report.price_falls(case, found()),
            terms_report.yardsticks(results),
            terms_report.yardstick_sources(),
        ],
        **_guaranteed(case, found),
        "deal_rounds": lambda: rounds_report.rounds_table(case, found()),
        "deal_cautions": deal_report.cautions,
        "deal_corners": lambda: zone_report.corners(case, found()),
        "deal_exchange": lambda: zone_report.exchange_rates(case, found()),
        "deal_exclusive": lambda: terms_report.exclusivity_table(case, found()) if found().exclusivity.lost else [],
    }


def _guaranteed(case: Case, found: Callable[[], Overview]) -> Blocks:
    """What is guaranteed of power, rates and dates, and what that may cost."""

    def curve() -> Made:
        """The probability of damages by guaranteed power, of the first guarantee."""
        guaranteed = found().guarantees
        return _chart(deal_charts.guarantee_curve(case, guaranteed[0]), "Probability of damages by power.") if guaranteed else []

    def odds_and_worth() -> tuple[Made, Made]:
        """Charts of all guarantees; none for a case without any beside power."""
        if not (sets := found().promises):
            return [], []
        words = guarantee_set_report.together(case, sets)
        return _chart(guarantee_charts.odds_chart(sets), words[0]), _chart(guarantee_charts.worth_chart(case, sets), words[3])

    return {
        "deal_guarantees": lambda: power_guarantee_report.guarantees(case, found()),
        "deal_guaranteed": lambda: power_guarantee_report.guarantees_table(case, found()),
        "deal_promises": lambda: guarantee_set_report.together(case, sets) if (sets := found().promises) else [],
        "deal_promise_odds": lambda: odds_and_worth()[0],
        "deal_promise_worth": lambda: odds_and_worth()[1],
        "deal_promised": lambda: guarantee_set_report.promises_table(case, sets) if (sets := found().promises) else [],
        "deal_promise_sets": lambda: guarantee_set_report.sets_table(case, sets) if (sets := found().promises) else [],
        "deal_guarantee_curve": curve,
    }


def _earned(case: Case, results: Results) -> Blocks:
    """What services, tests of the laboratory and supplied materials bring, as far as the case has them."""
    if not results.has_deal:
        return {}
    blocks: Blocks = {}
    if case.service_effects:
        found = cache(lambda: services_report.found_or_why(case, probabilities.DRAWS, probabilities.SEED))

        def of_services(make: Callable[..., Any]) -> Callable[[], Any]:
            """What is made of what services bring; where that cannot be found, the first block says why and others are empty."""
            return lambda: [] if isinstance(found(), str) else make(case, found())

        blocks |= {
            "services": lambda: of_services(services_report.headline)() or [str(found())],
            "services_in_plan": of_services(services_report.in_the_plan),
            "services_table": of_services(services_report.services_table),
            "services_plans": of_services(services_report.plans_table),
            "services_effects": lambda: services_report.effects_table(case),
        }
    if (laboratory := results.deal.laboratory) is not None:
        tested = cache(lambda: odds_of_tests(case, probabilities.DRAWS, probabilities.SEED))
        blocks |= {
            "laboratory": lambda: laboratory_report.headline(case, laboratory, tested()),
            "laboratory_tests": lambda: laboratory_report.tests_table(case, laboratory, tested()),
            "laboratory_hours": lambda: laboratory_report.hours_table(case, laboratory),
            "laboratory_samples": lambda: laboratory_report.sample_table(case, laboratory),
        }
    if case.supplied_materials:
        odds = cache(lambda: odds_of_supply(case, probabilities.DRAWS, probabilities.SEED))
        blocks |= {
            "materials": lambda: supplied_report.headline(case, results, odds()),
            "materials_table": lambda: supplied_report.materials_table(case, results, odds()),
            "materials_sources": lambda: supplied_report.sources_table(case),
        }
    return blocks


def _transfer(case: Case, results: Results) -> Blocks:
    """The transfer as a project, if the case has tasks."""
    found = results.deal.transfer if results.has_deal else None
    if found is None:
        return {}
    drawn, load, late = cache(lambda: transfer_spread(case)), cache(lambda: loads(case)), cache(lambda: delays(case))

    def finish() -> list[str]:
        """When it is finished."""
        said = transfer_report.finish(case, found, drawn())
        return [said, transfer_report.critical_path(case, found), transfer_report.how_drawn(drawn())]

    return {
        "transfer": finish,
        "transfer_bars": lambda: _chart(
            transfer_charts.tasks_chart(case, found, drawn()), transfer_report.critical_path(case, found)
        ),
        "transfer_tasks": lambda: transfer_report.schedule_table(case, found, drawn()),
        "transfer_gates": lambda: transfer_report.gates(case, found, drawn()),
        "transfer_pays": lambda: transfer_report.gates_table(case, results, found, drawn()),
        "transfer_work": lambda: transfer_report.work_table(case, found),
        "transfer_load": lambda: transfer_report.load_words(case, load()),
        "transfer_load_bars": lambda: _chart(
            transfer_charts.load_chart(case, load()), " ".join(transfer_report.load_words(case, load()))
        ),
        "transfer_load_table": lambda: transfer_report.load_table(case, load()),
        "transfer_delay": lambda: transfer_report.delay_words(case, late()),
        "transfer_delay_table": lambda: transfer_report.delay_table(case, late()),
    }


def _uncertain(case: Case, figures: Sequence[str], draws: int, seed: int) -> Blocks:
    """What ranges.csv does to figures, the plant left as bought; a case without ranges says so."""
    if not uncertain(case):
        return {"widest": lambda: study_report.NO_RANGES}
    plant = as_bought(case)
    known = wanted_figures(plant, figures)
    first = known[figures[0]]
    moved = cache(lambda: tornado(plant, first.address))
    run = cache(lambda: run_risk(plant, list(figures), draws, seed))
    spreads = cache(lambda: {address: spread(values) for address, values in run().figures.items()})
    shares = cache(lambda: rank(plant, first.address, points=POINTS, seed=seed))

    def widest() -> str:
        """Which input moves the figure most."""
        present, bars = moved()
        return study_report.widest(plant, first, bars, present)

    def risky() -> str:
        """How the figure spreads over the draws."""
        return risk_report.risky(run(), first, spreads()[first.address])

    def curve() -> Chart:
        """The probability that the figure exceeds each value."""
        return study_charts.exceedance_curve(first, run().figures[first.address], spreads()[first.address])

    def two_inputs() -> Block:
        """The figure over the two inputs that move it most."""
        axes = [parse_axis(plant, bar.address) for bar in moved()[1][:2]]
        frame = sweep({"as it is": plant}, axes, [first.address])
        drawn = study_charts.sweep_map(plant, frame, axes[0].address, axes[1].address, first)
        return _chart(drawn, "The figure over the two inputs that move it most.")

    stated = study_report.quantity(first.present, first)
    return {
        "present": lambda: f"{first.address}: {first.meaning}. At the stated inputs: {stated}.",
        "widest": lambda: f"{widest()} {study_report.plant(plant)}",
        "tornado": lambda: _chart(study_charts.tornado_bars(plant, first, moved()[1]), widest()),
        "two_inputs": two_inputs,
        "risk": lambda: f"{risky()} {risk_report.drawn(run())}",
        "exceedance": lambda: _chart(curve(), risky()),
        "risk_table": lambda: risk_report.risk_table(known, spreads()),
        "shares": lambda: risk_report.carried(plant, shares()[0], first, shares()[1], seed),
        "share_bars": lambda: _chart(study_charts.rank_bars(shares()[0]), "The share of the variance by group of inputs."),
    }


def _checked(case: Case, results: Results) -> str:
    """How many identities of the case hold, and how its plan agrees with another library."""
    from ..studies.verification import of_a_case  # late: no other block needs that library

    said = verification_report.summary(of_a_case.agreements(case, results), "of this case")
    return f"{said} `costmodel verify` lists each with its source."


def _grounds(case: Case, results: Results, made_on: str) -> Blocks:
    curve, elasticity = cache(lambda: sizes(case)), cache(lambda: elasticities(case))
    origin = f"Case “{case.name}”, fingerprint {fingerprint(case)}. Made on {made_on} with costmodel {__version__}."
    return {
        "size": lambda: choice_report.size(case, curve()),
        "size_curve": lambda: _chart(charts.size_curve(case, curve()), choice_report.size(case, curve())),
        "size_table": lambda: choice_report.size_table(case, curve()),
        "elasticity": lambda: inputs_report.elasticity(elasticity()),
        "elasticity_table": lambda: inputs_report.evidence_table(case, elasticity()),
        "inputs": lambda: {"kind": "tables", "tables": [table.as_block() for table in inputs_report.input_tables(case)]},
        "cautions": lambda: texts.CAUTIONS,
        "conventions": lambda: texts.CONVENTIONS,
        "checked": lambda: _checked(case, results),
        "origin": lambda: _text(origin, "origin"),
    }
