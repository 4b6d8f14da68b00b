"""All sentences, tables and charts that a case gives to people, made once."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path

from costmodel.case.alternatives import groups
from costmodel.documents.bundle import build_bundle
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case, scenario_names
from costmodel.present import (
    charts,
    choice_report,
    comparison_report,
    deal_charts,
    deal_report,
    inputs_report,
    likely_report,
    line_report,
    payments_report,
    risk_report,
    rounds_report,
    side_by_side,
    soaking_report,
    study_charts,
    study_report,
    terms_report,
    transfer_report,
    zone_report,
)
from costmodel.studies.axes import parse_axis
from costmodel.studies.factory.choices import break_even, differences, probabilities_higher
from costmodel.studies.factory.choices import side_by_side as choices_side_by_side
from costmodel.studies.factory.comparison import compare
from costmodel.studies.factory.minutes import batch_steps, gains
from costmodel.studies.factory.plant_size import sizes
from costmodel.studies.many import wanted_figures, with_statuses
from costmodel.studies.negotiation.limits import interval
from costmodel.studies.negotiation.organisation_load import loads, start_in
from costmodel.studies.negotiation.overview import overview
from costmodel.studies.negotiation.transfer_delay import delays
from costmodel.studies.negotiation.transfer_spread import transfer_spread
from costmodel.studies.risk import run_risk
from costmodel.studies.sensitivities import tornado
from costmodel.studies.solve import solve
from costmodel.studies.spread import probability, spread
from costmodel.studies.sweep import sweep
from costmodel.studies.variance import rank
from costmodel.studies.waterfall import waterfall

from .printed import asked, views

DEMOS = Path(__file__).resolve().parents[1] / "inputs_demo"
FIGURES = ("ledger.total.cost_per_stabilised_watt", "plan.project.payback")


class Said:
    """What people read of one case: paragraphs of sentences, tables, charts."""

    def __init__(self):
        self.sentences, self.tables, self.charts, self.views = [], [], [], {}

    def say(self, *words):
        """Keep paragraphs, in lists of any depth."""
        for each in words:
            if isinstance(each, str):
                self.sentences.append(each)
            else:
                self.say(*each)

    def table(self, *tables):
        """Keep tables."""
        self.tables += [table for table in tables if table.rows]

    def chart(self, *made):
        """Keep charts."""
        self.charts += made


@cache
def all_words(demo):
    """Everything that a demo gives to people."""
    folder, said = DEMOS / demo, Said()
    case = asked(folder).case
    results = evaluate(case)
    said.views = views(folder)
    for view in (view for made in said.views.values() for view in made):
        said.say(*view.sentences)
        said.table(*view.tables)
    for name, block in build_bundle(case, "2026-11-25", folder).items():
        if name in ("title", "story"):  # words of the case
            continue
        if block["kind"] == "words":
            said.say(block["text"])
        elif block["kind"] == "items":
            said.say(block["items"])
        elif block["kind"] == "table":
            said.table(_table(block))
        elif block["kind"] == "tables":
            said.table(*map(_table, block["tables"]))
        elif block["kind"] == "chart":
            said.chart(block["figure"])
            said.say(block["says"])
    for add in (_more, _choices, _deal, _studies, _comparison):
        add(said, case, results, folder)
    return said


def _table(block):
    from costmodel.present.table import Table

    return Table(**{name: value for name, value in block.items() if name != "kind"})


def _more(said, case, results, folder):
    if case.has_plan:
        said.say(likely_report.of_plan(case, likely_report.found_or_why(case, 0, 0, deal=False)))
    for step in batch_steps(case):
        said.say(line_report.minutes(case, gains(case, step)))
    said.say(inputs_report.still_invented(case))
    said.table(*inputs_report.input_tables(case, ["prices", "steps"]))


def _choices(said, case, results, folder):
    for name in groups(folder):
        found, left_out = choices_side_by_side(folder, name, None, {}, {})
        why = differences(found, case.use[name])
        said.say(choice_report.cheapest(found, name), choice_report.left_out_words(left_out))
        said.table(choice_report.choices_table(found, name))
        if why:
            said.table(choice_report.differences_table(why, name, case.currency))
            said.say(choice_report.equipment_words(why))
        for first, second in itertools.islice(itertools.combinations(found, 2), name == "back_contact"):
            said.say(
                choice_report.break_even(case, (first.title, second.title), break_even(first.case, second.case, "target.output"))
            )
        if name == "back_contact":
            asked = FIGURES[-1] if case.has_plan else FIGURES[0]
            figure = wanted_figures(case, [asked])[asked]
            higher = probabilities_higher(found, figure.address, 20, 0)
            said.say(*choice_report.likely_higher(higher, figure, case.use[name]))
            said.table(choice_report.higher_table(higher, figure))
            said.say(choice_report.saving({name: found}, case.use))
            said.table(choice_report.all_choices_table({name: found}, case.use))
        if name == "soaking":
            said.say(soaking_report.plans(found))
            said.table(soaking_report.plans_table(found))


def _transfer(said, case, results):
    if results.deal.transfer is None:
        said.say(transfer_report.NO_PROJECT)
        return
    said.say(transfer_report.CAUTIONS, transfer_report.pays_for_load(case, results))
    said.table(transfer_report.months_table(case, loads(case)))
    for found in (start_in(case, 0), start_in(case, 2), start_in(case, 2, beside=True), start_in(case, 30)):
        said.say(transfer_report.start_words(case, found))
        said.table(transfer_report.start_table(case, found))
    late = delays(case, (2.0,))
    said.say(transfer_report.delay_words(case, late))
    drawn = transfer_spread(case, 1_000, shape="beta")
    said.say(transfer_report.how_drawn(drawn), transfer_report.in_brief(case, results.deal.transfer, drawn, loads(case), late))


def _deal(said, case, results, folder):
    if not case.has_deal:
        said.say(deal_report.NO_DEAL)
        return
    found = overview(case, folder)
    said.say(
        terms_report.grounds(case, results, found), rounds_report.rounds(case, found, "2026-11-25"),
        rounds_report.version(case, "2026-11-25"), rounds_report.version_for_others(case), deal_report.money_of_terms(case),
        deal_report.sides(case, results)
    )
    said.say(zone_report.where_they_meet(case, results, found, (found.royalty, found.upfront)))
    said.say(zone_report.openings(case, found.openings), zone_report.meeting(found.zone.outline, 1.0, -1.0))
    said.say([zone_report.term_range(case, interval(case, address)) for address in ("licence.upfront", "licence.royalty_term")
              if address in case.entry_units])  # fmt: skip
    own, other = results.deal.licensor, results.deal.licensee
    said.table(
        deal_report.sides_table(case, (own.npv, own.contribution, own.gain), (other.npv, other.best_alternative, other.gain))
    )
    said.table(payments_report.licensor_table(case, results))
    _transfer(said, case, results)
    said.chart(deal_charts.deal_bars(case, results), *(deal_charts.guarantee_curve(case, each) for each in found.guarantees))


def _studies(said, case, results, folder):
    if not case.ranges:
        said.say(study_report.NO_RANGES)
        return
    plant = as_bought(case)
    figures = [figure for figure in FIGURES if case.has_plan or not figure.startswith("plan")]
    known = wanted_figures(plant, with_statuses(plant, figures))
    address = next(iter(case.ranges.values())).address
    for figure in figures:
        wanted = known[figure]
        present, bars = tornado(plant, figure)
        said.say(study_report.widest(plant, wanted, bars, present))
        said.table(study_report.tornado_table(plant, wanted, bars, []))
        unit = case.ranges[bars[0].range].unit
        for target in (float(wanted.present), 0.5 * float(wanted.present)):
            answer = solve(plant, bars[0].address, figure, target)
            said.say(study_report.solved(plant, answer, wanted, unit))
            said.table(study_report.solution_table(plant, answer, wanted, unit))
    said.say(
        study_report.titled(plant), study_report.plant(plant), study_report.plant(case), study_report.as_it_is(known[figures[0]])
    )
    axis = parse_axis(plant, address, 3)
    frame = sweep({"as it is": plant}, [axis], figures)
    said.table(study_report.sweep_table(case, frame))
    said.chart(study_charts.sweep_line(plant, frame, axis.address, known[figures[0]], [1.0]))
    run = run_risk(plant, list(known), 256, 0)
    spreads = {figure: spread(run.figures[figure]) for figure in figures}
    said.say([risk_report.risky(run, known[figure], spreads[figure]) for figure in figures], risk_report.drawn(run))
    said.table(risk_report.risk_table(known, spreads))
    said.table(risk_report.target_table({"cost <= 1": probability(run.figures[figures[0]], "<=", 1.0)}))
    shares, held = rank(plant, figures[0], 64, 0)
    said.say(risk_report.carried(plant, shares, known[figures[0]], held, 0))
    said.table(risk_report.rank_table(plant, shares, held))
    said.chart(study_charts.rank_bars(shares))


def _comparison(said, case, results, folder):
    cases = {name or "as it is": open_case(folder, name, {}, {}) for name in (None, *scenario_names(folder))}
    found = {
        name: wanted_figures(each, with_statuses(each, FIGURES if case.has_plan else FIGURES[:1])) for name, each in cases.items()
    }
    values = {name: {at: float(wanted.present) for at, wanted in known.items()} for name, known in found.items()}
    said.say(study_report.plants(cases))
    said.table(study_report.scenarios_table(values, list(next(iter(found.values())).values())))
    for other in list(cases.values())[1:3]:
        shown = compare(case, other)
        said.say(*comparison_report.compared(shown), comparison_report.choices_that_differ(shown))
        said.say(*comparison_report.sources_that_stayed(shown))
        said.table(
            comparison_report.results_table(shown), comparison_report.inputs_table(shown), comparison_report.origins_table(shown)
        )
        moved = waterfall(case, other, FIGURES[0], "row", 16, 0)
        said.say(study_report.moved(moved, next(iter(found.values()))[FIGURES[0]]))
        said.table(study_report.waterfall_table(moved))
        sides = side_by_side.both_sides(("one", case, results), ("two", other, evaluate(other)))
        said.say(side_by_side.cheaper(sides))
        said.table(side_by_side.sides_table(sides))
        said.chart(side_by_side.kinds_bars(sides), side_by_side.cash_curves(sides))
    said.chart(charts.size_curve(case, sizes(case, 0.5, 2.0)))
