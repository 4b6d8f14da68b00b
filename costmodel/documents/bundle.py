"""The full report: which blocks stand below which heading. The report's notebook receives them and computes nothing."""

from __future__ import annotations

import json
from pathlib import Path

from ..case.whole_case import Case
from ..core.at_work import at
from ..present.numbers import finite
from .case_blocks import Block, block_of, blocks_of

NOTHING = "The case has nothing of this kind."
SECTIONS = {  # headings of the report, and the blocks below each
    "": "title headline verdict volume dearest evidence internal story choices key_figures",
    "What it costs, by kind": "cost_stack not_in_it by_category by_group",
    "What buyers could pay": "where_it_sells market_volume market_bars market market_alternatives market_energy market_list",
    "Price and cost against the efficiency of the module": "curves_note market_curves market_details",
    "The plant as an investment": "cash_needed cash_curve price_needed volume_needed limits worth by_market",
    "Cash, year by year": "year_bars cash profits",
    "Capital, loan and balance": "capital bank balance",
    "Other lines for the same money": "others others_table",
    "The deal: where licensor and licensee can meet": "deal deal_zone deal_range deal_sides deal_floor deal_alternatives "
    "deal_received deal_years deal_concessions deal_prices deal_yardsticks deal_exclusive deal_guarantees deal_guaranteed "
    "deal_promises deal_promise_odds deal_promise_worth deal_promised deal_promise_sets deal_rounds deal_cautions",
    "Services, laboratory and materials": "services services_in_plan services_table services_plans services_effects laboratory "
    "laboratory_tests laboratory_hours laboratory_samples materials materials_table materials_sources",
    "The transfer as a project": "transfer transfer_bars transfer_tasks transfer_gates transfer_pays transfer_work transfer_load "
    "transfer_load_bars transfer_load_table transfer_delay transfer_delay_table",
    "Cost added along the route": "route_curve closing",
    "Cost of ownership by tool": "owned idle ownership",
    "Where money is lost to yield": "losses loss_bars points points_table",
    "How full the tools are": "bottleneck loading_bars relief ladder",
    "Where the minutes of the batch go": "cycle minutes gains",
    "How the year of the tools is spent": "state_bars effectiveness",
    "Light soaking": "soaking soaking_days soaking_rating soaking_averages soaking_light soaking_cost",
    "Power classes and labels": "classes class_bars classes_table",
    "Warranty": "warranty warranty_promise warranty_dearer warranty_claims_bars warranty_ages warranty_bars "
    "warranty_provision",
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
    "Conventions": "conventions checked origin",
}

CAPTIONS = {  # what stands below each chart, with the number of the figure; else the heading of its section
    "cost_stack": "What a module costs, by kind of cost",
    "market_bars": "The most that buyers in each market could pay, and what a module costs",
    "market_curves": "Price and cost against the efficiency of the module",
    "cash_curve": "Cash of the project over the years",
    "year_bars": "Cash of the project in each year, by what it is for",
    "deal_zone": "Combinations of fee and royalty at which both sides gain",
    "deal_promise_odds": "Probability that each guarantee pays",
    "deal_promise_worth": "Expected cost of each guarantee, and what a point of it is worth",
    "warranty_claims_bars": "Claims under the warranty by year after the sale",
    "warranty_bars": "Provision for the warranty by year of the plan",
    "transfer_bars": "Tasks of the transfer over the months",
    "transfer_load_bars": "Load of people and pilot line over the months",
    "route_curve": "Cost added along the route",
    "loss_bars": "What yield loss costs, by step",
    "loading_bars": "How full each kind of tool is",
    "cycle": "Minutes of a batch, by what takes them",
    "state_bars": "How the year of each kind of tool is spent",
    "class_bars": "Good modules by rated power",
    "size_curve": "Cost against the size of the plant",
    "tornado": "What each uncertain input does by itself to the cost of a watt",
    "exceedance": "Probability that the cost of a watt is higher",
}


def build_bundle(case: Case, made_on: str, folder: Path | None = None) -> dict[str, Block]:
    """All blocks of the report of one case by name; `made_on` is its date, `folder` holds the rounds of its deal.

    What the case has nothing of has no block.
    """
    known, named = blocks_of(case, made_on, folder), " ".join(SECTIONS.values()).split()
    there = [name for name in named if name in known]
    made = {}
    for number, name in enumerate(there, start=1):
        at("blocks of the report", number, len(there))
        made[name] = block_of(known[name])
        if made[name].get("kind") == "chart":
            made[name]["caption"] = CAPTIONS.get(name) or _section_of(name)
    return {name: block for name, block in made.items() if block}


def _section_of(name: str) -> str:
    """The heading of the section in which a block stands."""
    return next(heading for heading, names in SECTIONS.items() if name in names.split())


def write_bundle(bundle: dict[str, Block], path: Path) -> None:
    """Keep the blocks, section by section, as a JSON file for the notebook; a number that is none is null."""
    path.write_text(json.dumps(finite(in_sections(bundle)), allow_nan=False), encoding="utf-8")


def in_sections(bundle: dict[str, Block]) -> list[Block]:
    """Headings and blocks in the order of the report, contents behind the first page; an empty section says so in a word."""
    blocks: list[Block] = []
    for heading, names in SECTIONS.items():
        blocks += [{"kind": "heading", "text": heading}] if heading else []  # the first page has none
        blocks += [bundle[name] for name in names.split() if name in bundle]
        if blocks[-1]["kind"] == "heading":
            blocks.append({"kind": "words", "text": NOTHING, "style": "note"})
        blocks += [] if heading else [{"kind": "contents"}]
    return blocks
