"""What documents tell of a case, as plain data: numbers, words and lists by part, ready to be looked through before they go out.

A kind of document (`kinds/`) is made from parts of them alone, for outside by way of a release (`release/`). Money is in the
reporting currency, power in W or MW, times in years, shares as fractions; a figure without a value is None, and a status or word
stands beside it.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from .. import __version__
from ..case.addresses import value_at
from ..case.fingerprint import fingerprint
from ..case.summary import invented_rows
from ..case.uncertain import uncertain
from ..case.whole_case import Case, rows_of, tables
from ..core.rates_of_return import ONE
from ..core.units import to_base
from ..model.bought import as_bought, on_one_plant
from ..model.evaluate import Results, evaluate
from ..model.ledger.ledger_figures import CATEGORIES, PLANT
from ..model.plan.plan_figures import Valuation
from ..present.cost_words import not_in_it
from ..present.input_tables import evidence_counts, input_tables
from ..present.market_words import binding
from ..present.numbers import exact, label, people
from ..present.plan_tables import by_year
from ..present.study_tables import input_name
from ..studies.factory.least_price import least_price, price_of_a_watt
from ..studies.many import figures_of, wanted_figures
from ..studies.negotiation.probabilities import DRAWS, NPV, SEED, Probability
from ..studies.risk import run_risk, spread
from ..studies.tornado import tornado
from .deal_facts import licence, licensor, negotiation

Facts = dict[str, Any]
MEGAWATT = "MWp_stabilised"


def collect(case: Case, results: Results, parts: Sequence[str], made_on: str, folder: Path | None = None) -> Facts:
    """The named parts of what can be told of a case; a part that the case says nothing of is None.

    `identity` is always there. Rounds of the deal are read from the folder of the case, if it is given.
    Raises KeyError for a part that there is not.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> sorted(collect(case, evaluate(case), ["product"], "2026-11-02"))
    ['identity', 'product']
    """
    facts = {"identity": identity(case, made_on)}
    for part in parts:
        facts[part] = negotiation(case, results, folder, made_on) if part == "negotiation" else PARTS[part](case, results)
    return sealed(facts)


def sealed(facts: Facts) -> Facts:
    """The facts with a fingerprint of themselves, which tells nothing of what is not in them."""
    content = json.dumps({name: part for name, part in facts.items() if name != "identity"}, sort_keys=True, allow_nan=False)
    facts["identity"]["contents"] = hashlib.sha256(content.encode()).hexdigest()[:12]
    return facts


def identity(case: Case, made_on: str) -> Facts:
    """What the document is about, in which money, and when and by what it was made."""
    return {
        "title": case.title,
        "story": [" ".join(part.split()) for part in case.story.strip().split("\n\n")],
        "currency": case.currency,
        "price_years": price_years(case),
        "made_on": made_on,
        "version": __version__,
    }


def price_years(case: Case) -> str:
    """The years that prices are of, the year of most of them first where there are several.

    >>> from costmodel.case.load import load_case
    >>> price_years(load_case("inputs_demo/field")).split()[0].isdigit()
    True
    """
    counts = Counter(row.price_year for table in tables() for row in rows_of(case, table).values() if hasattr(row, "price_year"))
    (most, _), *others = counts.most_common()
    return f"{most} (some of {', '.join(sorted(year for year, _ in others))})" if others else most


def origin(case: Case, _results: Results | None) -> Facts:
    """The fingerprint of all inputs; it is told inside only, since it changes with what may be confidential."""
    return {"case": case.name, "fingerprint": fingerprint(case)}


def product(case: Case, results: Results) -> Facts:
    """The module and what the plant makes of it."""
    output, made = results.line.output, case.product
    return {
        "length": float(made.length),
        "width": float(made.width),
        "stabilised_power": output.stabilised_power,
        "initial_power": output.initial_power,
        "modules": output.good_modules,
        "megawatts": output.stabilised_watts / to_base(MEGAWATT),
        "line_yield": output.line_yield,
        "stages": stages(case),
        "steps": len(case.steps),
    }


def stages(case: Case) -> list[str]:
    """The parts of the route in order."""
    return list(dict.fromkeys(step.stage for step in case.steps.values()))


def cost(case: Case, results: Results) -> Facts:
    """What a module costs to make, by kind and by part of the route; no step by itself."""
    ledger, total = results.ledger, results.ledger.total
    matrix = ledger.matrix_per_stabilised_watt
    kinds = [*CATEGORIES, "yield_loss"]
    places = {stage: [step for step, row in case.steps.items() if row.stage == stage] for stage in stages(case)} | {PLANT: [PLANT]}
    return {
        "per_watt": total.cost_per_stabilised_watt,
        "per_m2": total.cost_per_m2,
        "per_module": total.cost_per_module,
        "a_year": total.cost,
        "by_kind": [
            {"name": label(kind), "per_watt": each.cost_per_stabilised_watt, "per_m2": each.cost_per_m2, "a_year": each.cost}
            for kind, each in ledger.by_category.items()
        ],
        "by_stage": [
            {
                "name": "plant as a whole" if stage == PLANT else stage,
                "kinds": {label(kind): sum(matrix[step][kind] for step in steps if step in matrix) for kind in kinds},
            }
            for stage, steps in places.items()
            if any(step in matrix for step in steps)
        ],
        "yield_loss_per_watt": ledger.yield_loss_per_stabilised_watt,
        "idle_per_watt": ledger.idle_per_stabilised_watt,
        "not_in_it": not_in_it(case),
    }


def markets(case: Case, results: Results) -> list[Facts] | None:
    """What buyers could pay in each market, and what sets that."""
    held = {name: binding(case, results, name) for name in results.market.by_market}
    return [
        {
            "row": f"markets.{name}",
            "name": case.markets[name].title,
            "limited_by": case.markets[name].limited_by,
            "against": {"row": f"coverings.{held[name]}", "name": case.coverings[held[name]].title},
            "highest_price": each.highest_price,
            "highest_price_per_m2": each.highest_price_per_m2,
            "asked_price": each.asked_price,
            "margin": each.margin,
            "megawatts": each.volume / to_base(MEGAWATT),
        }
        for name, each in results.market.by_market.items()
    ] or None


def _worth(found: Valuation) -> Facts:
    year = to_base("year")
    return {
        "npv": found.npv,
        "irr": found.irr if found.irr_status == ONE else None,
        "irr_status": int(found.irr_status),
        "recovered": found.recovered if found.recovered_status else None,
        "mirr": found.mirr if found.mirr_status else None,
        "payback": found.payback / year if found.payback_status else None,
        "discounted_payback": found.discounted_payback / year if found.discounted_payback_status else None,
        "low_point": found.low_point,
        "low_point_time": found.low_point_time / year,
    }


def plan(case: Case, results: Results) -> Facts | None:
    """The plant as an investment, from the licensee's side."""
    if not results.has_plan:
        return None
    found, years = results.plan, by_year(results)
    least = least_price(case, results)
    now = price_of_a_watt(case, results)

    def a_year(take: Callable[[Any], float]) -> list[float]:
        """A figure of quarters, added up by year."""
        return [sum(map(take, quarters)) for quarters in years]

    kinds = {"tools": "tools_", "carriers": "carriers_", "parts in store": "spares_", "facility systems": "facilities_",
             "other assets": "capital_", "land": "land_"}  # fmt: skip
    return {
        "required_return": found.required_return,
        "equity_return": found.equity_return,
        "project": _worth(found.project),
        "owners": _worth(found.owners),
        "capital": found.capital,
        "capital_per_annual_watt": found.capital_per_annual_watt,
        "capital_by_kind": {
            name: sum(x.cost for asset, x in found.assets.items() if asset.startswith(start)) for name, start in kinds.items()
        },
        "price_now": now,
        "least_price": None if least.times is None else now * least.times,
        "loan_part": float(case.plan.loan.part),
        "minimum_dscr": found.minimum_dscr if found.minimum_dscr_status else None,
        "cover_asked": float(case.plan.loan.minimum_dscr),
        "years_below_minimum_dscr": int(found.years_below_minimum_dscr),
        "cumulative": [each.cumulative_free_cash for each in found.quarters.values()],
        "cumulative_owners": [each.cumulative_owners_cash for each in found.quarters.values()],
        "by_year": {
            "megawatts": [watts / to_base(MEGAWATT) for watts in a_year(lambda q: q.stabilised_watts)],
            "revenue": a_year(lambda q: q.revenue),
            "running cost": a_year(lambda q: -q.variable_cost - q.fixed_cost - q.start_up),
            "royalty": a_year(lambda q: -q.royalty),
            "work and supplies": a_year(lambda q: -q.licence_services),
            "sublicences": a_year(lambda q: q.sublicences),
            "tax, as if no loan": a_year(lambda q: -q.tax_without_loan),
            "capital and licence fee": a_year(lambda q: -q.capital - q.licence_fee),
            "replacement and expansion": a_year(lambda q: -q.replacement),
            "sale of assets": a_year(lambda q: q.end_value),
            "cost of closing": a_year(lambda q: -q.closing_cost),
            "cash of the project": a_year(lambda q: q.free_cash),
            "cash of the owners": a_year(lambda q: q.owners_cash),
        },
        "others": [
            {
                "row": f"other_lines.{name}",
                "name": case.other_lines[name].title,
                "npv": other.worth.npv,
                "irr": _worth(other.worth)["irr"],
            }
            for name, other in found.others.items()
        ],
    }


def _deal_moves(case: Case, results: Results, sides: Mapping[str, str]) -> list[Facts] | None:
    """What one change at a time of terms or plan does to the figures of the deal that are named, by side."""
    if not results.has_deal:
        return None
    changes = {
        "royalty one point higher": {"licence.royalty": min(1.0, case.deal.licence.royalty + 0.01)},
        "fee a tenth higher": {"licence.upfront": case.deal.licence.upfront * 1.1},
        "royalty for two years more": {"licence.term": case.deal.licence.term + 2 * to_base("year")},
        "modules sold a tenth cheaper": {f"sales.{name}.price": row.price * 0.9 for name, row in case.sales.items()},
        "production a year later": {"schedule.delay": case.plan.schedule.delay + to_base("year")},
    }
    moved = {address: np.full(len(changes), value_at(case, address)) for change in changes.values() for address in change}
    for number, change in enumerate(changes.values()):
        for address, value in change.items():
            moved[address][number] = value
    made = figures_of(case, moved, [f"deal.{side}.{field}" for side, field in sides.items()])
    return [
        {"name": name}
        | {side: float(made[f"deal.{side}.{f}"][number]) - getattr(getattr(results.deal, side), f) for side, f in sides.items()}
        for number, name in enumerate(changes)
    ]


def deal_moves(case: Case, results: Results) -> list[Facts] | None:
    """What one change at a time of terms or plan does to each side: confidential to the licensor."""
    return _deal_moves(case, results, {"licensor": "npv", "licensee": "npv"})


def licensee_moves(case: Case, results: Results) -> list[Facts] | None:
    """The same for the licensee alone, without second licensees, of whom only the licensor knows."""
    return _deal_moves(case, results, {"licensee": "npv_undisturbed"})


def _moved_by(case: Case, figure: str) -> Facts | None:
    """What each uncertain input does to a figure by itself, the plant as bought."""
    if not uncertain(case):
        return None
    plant = as_bought(case)
    present, bars = tornado(plant, figure)
    return {
        "present": present,
        "bars": [
            {
                "row": bar.address,
                "input": input_name(plant, bar.address),
                "now": exact(value_at(case, bar.address), case.ranges[bar.range].unit),
                "low": f"{people(bar.low / to_base(case.ranges[bar.range].unit))}",
                "high": f"{people(bar.high / to_base(case.ranges[bar.range].unit))}",
                "unit": case.ranges[bar.range].unit,
                "at_low": bar.at_low - present,
                "at_high": bar.at_high - present,
                "kind": case.evidence[bar.address.rsplit(".", 1)[0]].kind,
                "source": case.evidence[bar.address.rsplit(".", 1)[0]].source,
            }
            for bar in bars
            if not math.isnan(bar.width)
        ],
    }


def npv_moved_by(case: Case, results: Results) -> Facts | None:
    """What each uncertain input does to the net present value of the project."""
    return None if not results.has_plan else _moved_by(case, "plan.project.npv")


def licensor_moved_by(case: Case, results: Results) -> Facts | None:
    """What each uncertain input does to what is left to the licensor."""
    return None if not results.has_deal else _moved_by(case, "deal.licensor.npv")


def npv_spread(case: Case, results: Results) -> Facts | None:
    """How the net present value is spread over draws of all uncertain inputs, the plant as bought."""
    if not results.has_plan or not uncertain(case):
        return None
    plant = as_bought(case)
    figure = wanted_figures(plant, [NPV])[NPV]
    values = run_risk(plant, [figure.address], DRAWS, SEED).figures[figure.address]
    found = spread(values, (0.1, 0.5, 0.9))
    low, middle, high = (quantile.value for quantile in found.quantiles)
    above = Probability(float((values > 0).mean()), DRAWS)
    return {"present": figure.present, "p10": low, "p50": middle, "p90": high, "above": above.share, "error": above.error,
            "draws": DRAWS, "seed": SEED, "correlated": bool(case.correlations)}  # fmt: skip


def evidence(case: Case, _results: Results | None) -> Facts:
    """How well the inputs are known, file by file."""
    return {
        "rows": evidence_counts(case),
        "invented": {file: list(pair) for file, pair in invented_rows(case).items()},
        "oldest": min(shown.date for shown in case.evidence.values()),
        "newest": max(shown.date for shown in case.evidence.values()),
    }


def inputs(case: Case, results: Results) -> list[Facts]:
    """Every input."""
    return [{"title": table.title, "rows": table.rows} for table in input_tables(case, list(tables()))]


PARTS: Mapping[str, Callable[[Case, Results], Any]] = {
    made.__name__: made
    for made in (origin, product, cost, markets, plan, licence, licensor, deal_moves, licensee_moves, npv_moved_by,
                 licensor_moved_by, npv_spread,
                 evidence, inputs)
}  # fmt: skip


def collect_scenarios(cases: Mapping[str, Case | str], made_on: str) -> Facts:
    """The key figures of a case and its scenarios side by side; the first is the case as it is.

    A scenario that could not be read is given by the words why. What each one sets stands beside it.
    """
    from ..case.differences import differences

    base = next(iter(cases.values()))
    facts: Facts = {"identity": identity(base, made_on), "origin": origin(base, None), "rows": [], "failed": []}
    for name, case in cases.items():
        if isinstance(case, str):
            facts["failed"].append({"name": name, "why": case})
            continue
        results = evaluate(case)
        found = differences(*on_one_plant(base, case))
        facts["rows"].append(
            {
                "name": label(name),
                "title": "as it is" if case is base else case.title.removeprefix(f"{base.title}: "),
                "story": "" if case is base else case.story.strip().split("\n\n")[-1],
                "fingerprint": fingerprint(case),
                "per_watt": results.ledger.total.cost_per_stabilised_watt,
                "per_m2": results.ledger.total.cost_per_m2,
                "megawatts": results.line.output.stabilised_watts / to_base(MEGAWATT),
                "line_yield": results.line.output.line_yield,
                "plan": None if not results.has_plan else {"capital": results.plan.capital, **_worth(results.plan.project)},
                "licensor_npv": None if not results.has_deal else results.deal.licensor.npv,
                "licensee_npv": None if not results.has_deal else results.deal.licensee.npv,
                "changes": [
                    [
                        each.address if each.is_text else input_name(base, each.address),
                        str(each.before) if each.is_text else exact(each.before, each.unit),
                        str(each.after) if each.is_text else exact(each.after, each.unit_after),
                    ]
                    for each in found.inputs
                ]
                + [[place, "", "added"] for place in found.added]
                + [[place, "", "dropped"] for place in found.dropped],
            }
        )
    facts["evidence"] = evidence(base, None)
    return sealed(facts)
