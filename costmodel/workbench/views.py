"""What panels show of a case: each view takes a case and says what to show, as quickly as it can."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain
from math import isnan

from ..case.addresses import replaced, value_at
from ..case.uncertain import uncertain
from ..case.whole_case import Case, held_at, tables
from ..core.faults import Fault, InputFaults, nearest
from ..model.evaluate import Results
from ..model.ledger.ledger import compute_ledger
from ..model.line.line import compute_line
from ..model.market.market import compute_market
from ..model.plan.plan import compute_plan
from ..model.readings.cells import read_as_cells
from ..present import (
    charts,
    cost_report,
    deal_charts,
    deal_report,
    line_report,
    market_report,
    plan_report,
    side_by_side,
    study_charts,
    study_report,
    terms_report,
    zone_report,
)
from ..studies.many import bought_in, recorded, wanted_figures
from ..studies.negotiation.concessions import concessions
from ..studies.negotiation.outline import Outline, quick_outline
from ..studies.negotiation.sides import ROYALTY, UPFRONT, Sides, terms
from ..studies.sensitivities import tornado
from .panel import Shown, View

VALUES = {
    side: tuple(f"deal.{side}.{name}" for name in ("npv", without, "gain"))
    for side, without in (("licensor", "contribution"), ("licensee", "best_alternative"))
}


LATER = (
    "schedule", "returns", "working_capital", "outlay", "tax", "loan", "closing", "learning", "ramp", "sales", "payments",
    "capital", "land",
    "refurbishments", "escalations", "expansions", "tax_depreciation", "tax_rates", "other_lines", "licence", "licensor",
    "negotiation", "payment_kinds", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services",
    "supplies", "supplied_materials", "service_effects",
    "laboratory_tests", "laboratory_work", "laboratory_equipment", "laboratory_staff",
    "guarantees", "performance_guarantees", "acceptance_dates", "damages_caps", "sublicences", "prospects", "other_ways",
    "transfer_tasks", "transfer_work", "transfer_gates", "transfer_resources",
)  # fmt: skip
"""Tables of the plan and the deal, which line, ledger and market do not look at."""


def plan_inputs(case: Case) -> list[str]:
    """The inputs that a panel of the plan moves if nobody says otherwise: prices, times, capital, tax and loan."""
    _need(case, "plan.yaml")
    return [
        *(f"sales.{row}.price" for row in case.sales),
        *(f"sales.{row}.change=-6..4 %/year" for row in case.sales),
        *(f"markets.{row}.energy_value" for row in case.markets if case.markets[row].limited_by == "area"),
        "schedule.delay=0..24 month",
        "schedule.ramp_stretch=0.5..3 1",
        "schedule.volume_share=50..100 %",
        "outlay.contingency=0..30 %",
        "returns.required_return=4..20 %/year",
        "tax.rate=0..40 %",
        "loan.part=0..80 %",
        "loan.interest=2..14 %/year",
        "loan.form",
    ]


def deal_inputs(case: Case) -> list[str]:
    """The inputs that a panel of the deal moves if nobody says otherwise: its terms, both sides' rates, and prices."""
    _need(case, "plan.yaml")
    _need(case, "deal.yaml")
    return [
        "licence.upfront",
        "licence.royalty=0..6 %",
        f"licence.royalty_per_watt=0..0.1 {case.deal.licence.currency}/Wp_stabilised",
        "licence.term=1..15 year",
        "licence.exclusive_time=0..10 year",
        *(f"minimum_royalties.{row}.amount" for row in case.minimum_royalties),
        "payment_kinds.licence.withholding=0..30 %",
        "licensor.discount_rate=2..20 %/year",
        "licensor.contribution",
        "returns.required_return=4..20 %/year",
        *(f"sales.{row}.price" for row in case.sales),
    ]


def results_of(case: Case, plan: bool = False) -> Results:
    """The figures of line, ledger and market, and of the plan where it is asked for: what is not shown is not computed.

    Nor are other lines that the same money could buy.
    """
    line = compute_line(case)
    ledger = compute_ledger(case, line)
    results = Results(line=line, ledger=ledger, market=compute_market(case, line, ledger), plan_figures=None, deal_figures=None)
    return with_plan(case, results) if plan else results


def with_plan(case: Case, results: Results) -> Results:
    """The same figures and those of the plan."""
    return replace(results, plan_figures=compute_plan(replace(case, other_lines={}), results.line, results.ledger))


def same_plant(case: Case, other: Case) -> bool:
    """Whether two states of a case differ in tables of the plan and the deal at most, as when one is made of the other."""
    return all(held_at(case, name) is held_at(other, name) for name in tables() if name not in LATER)


def cost(case: Case) -> Shown:
    """What a module costs, by step and kind."""
    results = results_of(case)
    return Shown(
        results,
        (cost_report.headline(case, results), line_report.bottleneck(case, results)),
        (cost_report.key_figures(case, results),),
        {"cost_by_step": charts.cost_stack(case, results)},
    )


def plan_and_market(case: Case) -> View:
    """A view of what the plant earns, its cash over the years, and what buyers could pay; of a case with a plan.

    Line, ledger and market are computed anew only where they are moved. Raises InputFaults for a case without a plan.
    """
    _need(case, "plan.yaml")
    known, plant = case, results_of(case)

    def view(moved: Case) -> Shown:
        """The plan with what was moved."""
        nonlocal known, plant
        if not same_plant(known, moved):
            known, plant = moved, results_of(moved)
        results = with_plan(moved, plant)
        words = [plan_report.verdict(moved, results), plan_report.cash_needed(moved, results), plan_report.bank(moved, results)]
        pictures = {"cash": charts.cash_curve(moved, results)}
        if moved.markets:
            words.append(market_report.where_it_sells(moved, results))
            pictures["markets"] = charts.market_bars(moved, results)
        return Shown(results, tuple(words), (plan_report.worth_table(moved, results),), pictures)

    return view


def deal(case: Case, addresses: Sequence[str] = ()) -> View:
    """A view of what the licence is worth to each side: the zone, both sides' values, what one unit of each term is worth.

    It follows all terms and whatever else stands in `addresses`, which are those of a panel. What it needs is recorded once, so
    that a move takes a few runs. Raises InputFaults for a case without a plan and a deal and for an address that is no number,
    and in the panel for a change of any other input.
    """
    _need(case, "plan.yaml")
    _need(case, "deal.yaml")
    sheet = read_as_cells(case)
    varied = list(dict.fromkeys([*terms(case), *(written.partition("=")[0].strip() for written in addresses)]))
    unknown = [address for address in varied if address not in sheet.inputs]
    if unknown:
        allowed = f"numbers of the case{nearest(unknown[0], list(sheet.inputs))}"
        raise InputFaults([Fault("panel", None, address, "no number of the case", allowed) for address in unknown])
    sides = Sides(case, varied, also=list(chain(*VALUES.values())))
    before: Outline | None = None  # whose axes the next picture most likely has

    def view(moved: Case) -> Shown:
        """The deal with what was moved."""
        nonlocal before
        values = sides.values_of(moved)
        if replaced(case, values) != moved:
            raise InputFaults([Fault("panel", None, None, "an input that this view does not follow", ", ".join(varied))])
        at_terms = sides.settled(values, (UPFRONT, ROYALTY))
        found = at_terms.figures()
        (own, own_without, own_gain), (other, without, gain) = ([float(found[name]) for name in names] for names in VALUES.values())
        before = zone = quick_outline(moved, at_terms, values, before)
        return Shown(
            None,
            (deal_report.gained(moved, own_gain, gain), zone_report.meeting(zone, own_gain, gain)),
            (
                deal_report.sides_table(moved, (own, own_without, own_gain), (other, without, gain)),
                lambda: terms_report.concessions_table(moved, concessions(moved, sides), most=10),
            ),
            {"zone": deal_charts.zone_chart(moved, zone)},
        )

    return view


def _need(case: Case, file: str) -> None:
    if not (case.has_plan if file == "plan.yaml" else case.has_deal):
        raise InputFaults([Fault(file, None, None, "no such file", f"a case with {file}")])


def beside(name: str, other: Case, title: str) -> View:
    """A view of a case, named `title`, beside another one, which stands still."""
    results = results_of(other, plan=True)

    def view(case: Case) -> Shown:
        """Both side by side."""
        sides = side_by_side.both_sides((name, other, results), (title, case, results_of(case, plan=True)))
        return Shown(
            sides[1].results,
            (side_by_side.cheaper(sides),),
            (side_by_side.sides_table(sides),),
            {"cost_by_kind": side_by_side.kinds_bars(sides), "cash": side_by_side.cash_curves(sides)},
        )

    return view


def what_moves(plant: Case, figure: str) -> View:
    """A view of what each uncertain input does to a figure by itself, from wherever the others of ranges.csv are moved to.

    Tools are sized anew or stay as bought, as the case says: give it `as_bought(case)` for a plant as bought. Raises InputFaults
    for an unknown figure, and in the panel for a change of an input that has no range.
    """
    addresses = [row.address for row in uncertain(plant).values()]
    wanted = wanted_figures(plant, [figure])[figure]
    recording = recorded(plant, addresses, [figure])

    def view(moved: Case) -> Shown:
        """The figure, and how far it goes with each input at its ends."""
        if replaced(plant, {address: value_at(moved, address) for address in addresses}) != moved:
            raise InputFaults([Fault("ranges.csv", None, None, "no row for an input that is moved", "inputs with a range")])
        present, bars = tornado(moved, figure, recording)
        here = wanted_figures(moved, [figure])[figure] if isnan(present) else replace(wanted, present=present, reason="")
        bought = bought_in(moved, {address: value_at(moved, address) for address in addresses})
        return Shown(
            results_of(replaced(moved, bought)),
            (study_report.widest(moved, here, bars, present), study_report.plant(moved)),
            (),
            {"what_moves_it": study_charts.tornado_bars(moved, here, bars)},
        )

    return view
