"""Charts are plain data: plotly itself says whether it would take each of them."""

import dataclasses
import inspect
import json
import math
from types import SimpleNamespace

import plotly.graph_objects as go
import pytest
from IPython.core.formatters import DisplayFormatter

from costmodel.case.changes import with_values
from costmodel.case.whole_case import with_held
from costmodel.documents import deal_facts
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.ledger_figures import KINDS_OF_COST
from costmodel.present import charts, deal_charts, guarantee_charts, side_by_side, study_charts
from costmodel.present.drawing import as_json, chart_of_family, curve
from costmodel.present.media import PLOTLY
from costmodel.present.numbers import label
from costmodel.studies.axes import parse_axis
from costmodel.studies.factory.market_prices import price_curve
from costmodel.studies.factory.minutes import cycle_parts
from costmodel.studies.factory.plant_size import sizes
from costmodel.studies.factory.power_bins import power_bins
from costmodel.studies.many import wanted_figures
from costmodel.studies.negotiation.overview import overview
from costmodel.studies.risk import run_risk
from costmodel.studies.sensitivities import tornado
from costmodel.studies.spread import spread
from costmodel.studies.sweep import sweep
from costmodel.studies.variance import rank
from costmodel.studies.waterfall import waterfall

from .cases import demo

WATT, SILANE = "ledger.total.cost_per_stabilised_watt", "prices.silane.price"
PLAIN = ("cost_stack", "route_curve", "loss_bars", "loading_bars", "state_bars", "market_bars", "cash_curve", "year_bars")


def all_charts():
    """Every chart of the package by the name of its function, with all that it can be given."""
    case, results = demo(), evaluate(demo())
    plant, dearer = as_bought(case), with_values(case, {SILANE: 2 * case.prices["silane"].price})
    wanted, deal = wanted_figures(plant, [WATT])[WATT], overview(case)
    silane, yields = parse_axis(case, SILANE, 3), parse_axis(case, "licence.royalty=2..5 %", 3)
    one, two = sweep({"a": plant, "b": dearer}, [silane], [WATT]), sweep({"a": plant}, [silane, yields], [WATT])
    run, limit = run_risk(plant, [WATT], 200, 0), wanted.present
    sides = side_by_side.both_sides(("one", case, results), ("other", dearer, evaluate(dearer)))
    batch = next(name for name in case.steps if cycle_parts(case, name))
    return {
        **{name: getattr(charts, name)(case, results) for name in PLAIN},
        "cycle_bars": charts.cycle_bars(cycle_parts(case, batch)),
        "size_curve": charts.size_curve(case, sizes(case)),
        "class_bars": charts.class_bars(case, power_bins(case, results)),
        "efficiency_curves": charts.efficiency_curves(case, results, price_curve(case)),
        "zone_chart": deal_charts.zone_chart(case, deal.zone.outline, deal.turns),
        "guarantee_curve": deal_charts.guarantee_curve(case, deal.guarantees[0]),
        "deal_bars": deal_charts.deal_bars(case, results),
        "odds_chart": guarantee_charts.odds_chart(deal.promises),
        "worth_chart": guarantee_charts.worth_chart(case, deal.promises),
        "claims_chart": guarantee_charts.claims_chart(results),
        "provision_chart": guarantee_charts.provision_chart(case, results),
        "sweep_line": study_charts.sweep_line(case, one, SILANE, wanted, [limit]),
        "sweep_map": study_charts.sweep_map(case, two, SILANE, yields.address, wanted, [limit]),
        "tornado_bars": study_charts.tornado_bars(plant, wanted, tornado(plant, WATT)[1]),
        "exceedance_curve": study_charts.exceedance_curve(wanted, run.figures[WATT], spread(run.figures[WATT]), [limit]),
        "waterfall_bars": study_charts.waterfall_bars(waterfall(case, dearer, WATT), most=0),
        "rank_bars": study_charts.rank_bars(rank(plant, WATT, 4, 0)[0]),
        "kinds_bars": side_by_side.kinds_bars(sides),
        "cash_curves": side_by_side.cash_curves(sides),
    }  # fmt: skip


@pytest.fixture(scope="module")
def drawn():
    """Every chart of the package by name."""
    return all_charts()


@pytest.mark.slow
def test_plotly_takes_every_chart(drawn):
    modules = (charts, deal_charts, guarantee_charts, study_charts, side_by_side)
    made = {name for module in modules for name, function in inspect.getmembers(module)
            if inspect.isfunction(function) and function.__module__ == module.__name__
            and function.__annotations__.get("return") == "Chart"}  # fmt: skip
    assert set(drawn) == made
    for chart in drawn.values():
        assert json.loads(go.Figure(chart).to_json())["layout"].keys() == chart["layout"].keys()
    with pytest.raises(ValueError, match="colour"):
        go.Figure(chart_of_family(300, [curve([1], [2], "red") | {"colour": "red"}]))


@pytest.mark.slow
def test_charts_hold_plain_numbers_and_say_what_an_axis_is(drawn):
    for name, chart in drawn.items():
        for trace in chart["data"]:
            numbers = [value for key in ("x", "y", "z") for value in trace.get(key, [])]
            assert {type(value) for value in numbers} <= {int, float, str, list, type(None)}, name
            assert numbers, name
        titles = [chart["layout"][axis].get("title", {}).get("text", "") for axis in ("xaxis", "yaxis")]
        assert any(titles), name


def test_the_stack_shows_each_cost_once_and_no_kind_that_costs_nothing(drawn):
    matrix = evaluate(demo()).ledger.matrix_per_m2
    *kinds, ends = drawn["cost_stack"]["data"]
    assert [kind["name"] for kind in kinds] == [label(name) for name in KINDS_OF_COST if any(row[name] for row in matrix.values())]
    assert ends["y"] == drawn["cost_stack"]["layout"]["yaxis"]["categoryarray"]
    for name, step in zip(ends["y"], matrix):
        shown = [value for kind in kinds for title, value in zip(kind["y"], kind["x"]) if title == name]
        assert shown == [value for value in matrix[step].values() if value]


def test_guarantees_are_drawn_by_probability_and_cost_and_the_warranty_by_year(drawn):
    """Each bar is a figure of the set, of the years of age, or of the plan."""
    found, results = overview(demo()).promises, evaluate(demo())
    stated, over_draws = drawn["odds_chart"]["data"]
    assert stated["x"] == [100 * each for each in found.alone]
    assert over_draws["x"] == [100 * each.probability for each in found.present.promises]
    assert len(over_draws["y"]) == len(set(over_draws["y"])) == 7
    heights = {trace["name"]: trace["x"] for trace in drawn["worth_chart"]["data"]}
    assert sum(heights["expected damages"]) == pytest.approx(found.present.expected)  # the common cap never binds here
    assert sum(heights["expected retests"]) == pytest.approx(found.present.retests)
    assert heights["a point eased: licensor saves"] == [saves for saves, _ in found.points]
    warranty = next(iter(results.ledger.warranty.values()))
    failed, weak = (sum(trace["y"]) for trace in drawn["claims_chart"]["data"])
    assert (failed, weak) == (pytest.approx(1000 * warranty.product_claims), pytest.approx(1000 * warranty.power_claims))
    aside, paid, kept = (trace["y"] for trace in drawn["provision_chart"]["data"])
    for k in range(1, len(kept)):  # what is kept is what was, with what is set aside and without what is paid
        assert kept[k] == pytest.approx(kept[k - 1] + aside[k] + paid[k], abs=1e-9)


def test_a_notebook_draws_a_chart_and_what_is_no_number_is_nothing():
    chart = chart_of_family(300, [curve([0.0, 1.0], [2.0, math.nan], "black")])
    shown = DisplayFormatter().format(chart)[0][PLOTLY]
    assert shown["data"][0]["y"] == [2.0, None]
    assert json.loads(as_json({"one": chart})) == {"one": shown}


def test_a_round_in_another_currency_is_drawn_in_that_of_the_axis():
    """An answer of 2,000,000 USD, at 0.90 EUR on day one (money.csv), stands at 1.8 million EUR, on the chart and in the memo."""
    case, found = demo(), overview(demo())
    answer = dataclasses.replace(case.deal.licence, upfront=2e6, currency="USD", royalty=0.022)
    turn = SimpleNamespace(case=with_held(case, {"licence": answer}))
    chart = deal_charts.zone_chart(case, found.zone.outline, [turn])
    (path,) = [trace for trace in chart["data"] if trace.get("name") == "rounds"]
    assert (path["x"], path["y"]) == ([pytest.approx(2.2)], [pytest.approx(1.8)])
    with_turn = SimpleNamespace(zone=found.zone, turns=[turn])
    assert deal_facts.zone(case, with_turn)["rounds"] == [pytest.approx([2.2, 1.8])]
