"""The facts that documents are made from, as plain data by part: numbers, words and lists, ready for review.

A kind of document (`kinds/`) is made from parts of them alone, an external one by way of a release (`editions/`). Money is in the
reporting currency, power in W or MW, times in years, shares as fractions; a figure without a value is None, with a status or word
beside it.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from .. import __version__
from ..case.differences import differences
from ..case.fingerprint import fingerprint
from ..case.summary import invented_rows
from ..case.whole_case import Case, rows_of, tables
from ..core.at_work import at
from ..core.units import to_base
from ..model.as_bought import on_one_plant
from ..model.evaluate import Results, evaluate
from ..model.ledger.ledger_figures import CATEGORIES, PLANT, Cost
from ..present.cost_report import not_in_it
from ..present.deal_report import money_of_terms
from ..present.inputs_report import evidence_counts, input_name, input_tables
from ..present.market_report import binding
from ..present.numbers import as_float, exact, label
from ..present.plain_plan import plain_worth
from ..present.rounds_report import version_for_others
from ..studies.negotiation.shared_tapes import share_tapes
from .deal_facts import OFFERED, licence, licensor, negotiation
from .plan_facts import deal_moves, licensee_moves, licensor_moved_by, npv_moved_by, npv_spread, plan
from .transfer_facts import project, transfer

Facts = dict[str, Any]
MEGAWATT = "MWp_stabilised"


def collect(case: Case, results: Results, parts: Sequence[str], made_on: str, folder: Path | None = None) -> Facts:
    """The named parts of the facts of a case; a part that the case has nothing of is None.

    `identity` is always there. Rounds of the deal are read from the folder of the case, if it is given.
    Raises KeyError for a part that there is not.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> sorted(collect(case, evaluate(case), ["product"], "2026-11-02"))
    ['identity', 'product']
    """
    facts: Facts = {"identity": identity(case, made_on)}
    if "negotiation" in parts:
        share_tapes(case)
    for number, part in enumerate(parts, 1):
        at("parts of the document", number, len(parts))
        facts[part] = negotiation(case, results, folder, made_on) if part == "negotiation" else PARTS[part](case, results)
    return sealed(facts)


def sealed(facts: Facts) -> Facts:
    """The facts with a fingerprint of themselves, which depends on nothing that is not in them."""
    content = json.dumps({name: part for name, part in facts.items() if name != "identity"}, sort_keys=True, allow_nan=False)
    facts["identity"]["contents"] = hashlib.sha256(content.encode()).hexdigest()[:12]
    return facts


def identity(case: Case, made_on: str) -> Facts:
    """What the document is about, in which money, and when and by what it was made."""
    return {
        "title": case.title,
        "story": [" ".join(part.split()) for part in case.story.strip().split("\n\n") if part],
        "currency": case.currency,
        "price_years": price_years(case),
        "terms": version_for_others(case) if case.has_deal else "",
        "money": money_of_terms(case) if case.has_deal else "",
        "first_month": case.plan.schedule.first_month if case.has_deal else "",
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
    """The fingerprint of all inputs; for internal documents only, since it changes with what may be confidential."""
    return {"case": case.name, "fingerprint": fingerprint(case)}


def product(case: Case, results: Results) -> Facts:
    """The module and what the plant makes of it."""
    output = results.line.output
    return {
        "length": as_float(case.product.length),
        "width": as_float(case.product.width),
        **{name: getattr(output, name) for name in ("stabilised_power", "initial_power", "line_yield")},
        "modules": output.good_modules,
        "megawatts": output.stabilised_watts / to_base(MEGAWATT),
        "stages": stages(case),
        "steps": len(case.steps),
    }


def stages(case: Case) -> list[str]:
    """The parts of the route in order."""
    return list(dict.fromkeys(step.stage for step in case.steps.values()))


def cost(case: Case, results: Results) -> Facts:
    """What a module costs to make, by kind and by part of the route; no step by itself."""
    ledger, matrix = results.ledger, results.ledger.matrix_per_stabilised_watt
    places = {stage: [step for step, row in case.steps.items() if row.stage == stage and step in matrix] for stage in stages(case)}
    places |= {"plant as a whole": [PLANT] if PLANT in matrix else []}
    return {
        **_costs(ledger.total),
        "per_module": ledger.total.cost_per_module,
        "by_kind": [{"name": label(kind)} | _costs(each) for kind, each in ledger.by_category.items()],
        "by_stage": [
            {
                "name": stage,
                "kinds": {label(kind): sum(matrix[step][kind] for step in steps) for kind in (*CATEGORIES, "yield_loss")},
            }
            for stage, steps in places.items()
            if steps
        ],
        "yield_loss_per_watt": ledger.yield_loss_per_stabilised_watt,
        "idle_per_watt": ledger.idle_per_stabilised_watt,
        "not_in_it": not_in_it(case),
    }


def _costs(found: Cost) -> Facts:
    return {"per_watt": found.cost_per_stabilised_watt, "per_m2": found.cost_per_m2, "a_year": found.cost}


def markets(case: Case, results: Results) -> list[Facts] | None:
    """What buyers could pay in each market, and what sets that."""
    held = {name: binding(case, results, name) for name in results.market.by_market}
    return [
        {
            "row": f"markets.{name}",
            "name": case.markets[name].title,
            "limited_by": case.markets[name].limited_by,
            "against": {"row": f"coverings.{held[name]}", "name": case.coverings[held[name]].title},
            **{field: getattr(each, field) for field in ("highest_price", "highest_price_per_m2", "asked_price", "margin")},
            "megawatts": each.volume / to_base(MEGAWATT),
        }
        for name, each in results.market.by_market.items()
    ] or None


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
    for made in (origin, product, cost, markets, plan, licence, *OFFERED, transfer, project, licensor, deal_moves,
                 licensee_moves, npv_moved_by, licensor_moved_by, npv_spread, evidence, inputs)
}  # fmt: skip


def collect_scenarios(cases: Mapping[str, Case | str], made_on: str) -> Facts:
    """The key figures of a case and its scenarios side by side; the first is the case as it is.

    A scenario that could not be read is given by the words why. What each one sets stands beside it.
    """
    read = {name: case for name, case in cases.items() if isinstance(case, Case)}
    base = next(iter(read.values()))
    return sealed(
        {
            "identity": identity(base, made_on),
            "origin": origin(base, None),
            "rows": [_scenario(base, name, case) for name, case in read.items()],
            "failed": [{"name": name, "why": why} for name, why in cases.items() if isinstance(why, str)],
            "evidence": evidence(base, None),
        }
    )


def _scenario(base: Case, name: str, case: Case) -> Facts:
    """The key figures of one scenario, and what it changes of the case as it is."""
    results, found = evaluate(case), differences(*on_one_plant(base, case))
    changes = [
        [each.address, str(each.before), str(each.after)]
        if each.is_text
        else [input_name(base, each.address), exact(each.before, each.unit), exact(each.after, each.unit_after)]
        for each in found.inputs
    ]
    changes += [[place, "", what] for what, places in (("added", found.added), ("dropped", found.dropped)) for place in places]
    return {
        "name": label(name),
        "title": "as it is" if case is base else case.title.removeprefix(f"{base.title}: "),
        "story": "" if case is base else case.story.strip().split("\n\n")[-1],
        "fingerprint": fingerprint(case),
        "per_watt": results.ledger.total.cost_per_stabilised_watt,
        "per_m2": results.ledger.total.cost_per_m2,
        "megawatts": results.line.output.stabilised_watts / to_base(MEGAWATT),
        "line_yield": results.line.output.line_yield,
        "plan": {"capital": results.plan.capital, **plain_worth(results.plan.project)} if results.has_plan else None,
        "licensor_npv": results.deal.licensor.npv if results.has_deal else None,
        "licensee_npv": results.deal.licensee.npv if results.has_deal else None,
        "changes": changes,
    }
