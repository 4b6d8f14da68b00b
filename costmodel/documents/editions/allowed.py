"""What an external edition may disclose, figure by figure: what does not stand here is not handed out.

A name is the path through the facts (`../facts.py`), with `*` for the places of a list. Beside it stands its unit. Numbers are
disclosed in three digits, those of `STATED` as a contract states them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

EDITIONS = ("licensee", "investor")
KIND_OF = {"licensee": "proposal", "investor": "investor"}
EDITION_OF = {kind: edition for edition, kind in KIND_OF.items()} | {"term_sheet": "licensee"}  # every external kind
MONEY, PER_WATT, PER_M2 = "{currency}", "{currency}/W", "{currency}/m2"
STATED_DIGITS = 9

PRODUCT = {
    "product.length": "m", "product.width": "m", "product.stabilised_power": "W", "product.modules": "module/year",
    "product.megawatts": "MW/year",
}  # fmt: skip
ROUTE = {"product.initial_power": "W", "product.line_yield": "1", "product.stages": "", "product.steps": ""}
_WORTH = {
    "npv": MONEY, "irr": "1/year", "irr_status": "", "recovered": "1", "mirr": "1/year", "payback": "year",
    "discounted_payback": "year", "low_point": MONEY, "low_point_time": "year",
}  # fmt: skip
PLAN = {
    "plan.required_return": "1/year", "plan.equity_return": "1/year", "plan.capital": MONEY, "plan.price_now": PER_WATT,
    "plan.least_price": PER_WATT,
    **{f"plan.{side}.{name}": unit for side in ("project", "owners") for name, unit in _WORTH.items()},
}  # fmt: skip
_YEARS = (
    "revenue", "running cost", "royalty", "work and supplies", "sublicences", "tax, as if no loan", "capital and licence fee",
    "replacement and expansion", "cash of the project", "cash of the owners",
)  # fmt: skip
_ASSETS = ("tools", "carriers", "parts in store", "facility systems", "other assets", "land")
INVESTMENT = {
    **{f"plan.capital_by_kind.{kind}": MONEY for kind in _ASSETS},
    "plan.capital_per_annual_watt": "{currency}/W/year", "plan.loan_part": "1",
    "plan.minimum_dscr": "1", "plan.required_dscr": "1", "plan.years_below_minimum_dscr": "",
    "plan.given.equity_share": "1", "plan.given.dividends": MONEY,
    "plan.closes_after": "year", "plan.closing_shortfall": MONEY, "plan.cumulative": MONEY, "plan.cumulative_owners": MONEY,
    "plan.by_year.megawatts": "MW", **{f"plan.by_year.{name}": MONEY for name in _YEARS},
    "plan.others": "", "plan.others.*.name": "", "plan.others.*.npv": MONEY, "plan.others.*.irr": "1/year",
}  # fmt: skip
_PAID = ("fees", "royalty", "work", "yearly services", "expansion, buy-out, sublicences")
PAYMENTS = {**{f"licence.by_year.{group}": MONEY for group in _PAID}, "licence.paid": MONEY}
_OWN = "currency of the licence"
_ROWS = {
    "fees": {"title": "", "amount": "in its currency", "currency": "", "time": "year", "credited": "1"},
    "steps": {"time": "year", "factor": "1"},
    "minimums": {
        "title": "", "a_year": "in its currency", "currency": "", "begin": "year", "end": "year", "after_closing": "",
    },
    "buy_outs": {"title": "", "amount": "in its currency", "currency": "", "time": "year"},
    "deliveries": {"title": "", "price": "in its currency", "currency": "", "begin": "year", "end": "year"},
    "services": {"title": "", "a_year": "in its currency", "currency": "", "begin": "year", "end": "year", "change": "1/year"},
    "tests": {"title": "", "price": "in its currency", "currency": "", "a_year": "sample/year"},
    "materials": {
        "title": "", "price": "in its currency", "currency": "", "unit": "", "most": "in its unit", "begin": "year",
        "free_from": "year", "end": "year", "change": "1/year",
    },
    "supplies": {"title": "", "covers": "", "part": "1"},
    "withholding_tax": {"title": "", "rate": "1", "on_top": "1"},
    "by_heading": {"name": "", "paid": MONEY, "first": "", "last": "", "withheld": "1"},
}
LICENCE = {
    "licence.currency": "", "licence.upfront": _OWN, "licence.upfront_time": "year", "licence.royalty": "1",
    "licence.royalty_per_watt": f"{_OWN}/W", "licence.per_watt_change": "1/year", "licence.net_sales": "1",
    "licence.royalty_cap": "1", "licence.term": "year", "licence.exclusive_time": "year", "licence.territories": "",
    "licence.expansion_fee": f"{_OWN}/W",
    "licence.sublicence_share": "1", "licence.equity_share": "1", "licence.start": "year", "licence.full_swing": "year",
    "licence.royalty_end": "year", "licence.horizon": "", **PAYMENTS, "licence.licensee_npv": MONEY,
    "licence.licensee_npv_without_payments": MONEY, "licence.licensee_cost": MONEY,
    **{f"licence.{rows}": "" for rows in _ROWS},
    **{f"licence.{rows}.*.{name}": unit for rows, fields in _ROWS.items() for name, unit in fields.items()},
    "licensee_moves": "", "licensee_moves.*.name": "", "licensee_moves.*.licensee": MONEY,
}  # fmt: skip
_OF_DAMAGES = {
    "damages": "in its currency", "cap": "in its currency", "rejection": "in its currency", "currency": "", "time": "year",
}  # fmt: skip
_OF_TESTS = {"measured_by": "", "test_share": "1", "minimum": "1", "retest": ""}
_GUARANTEED = {"title": "", "power": "W", "sample": "", "coverage": "1", **_OF_TESTS, **_OF_DAMAGES}
_PROMISED = {
    "title": "", "level": "in its unit", "unit": "", "bound": "", "under": "", "days": "1", "tests": "1",
    **_OF_TESTS, **_OF_DAMAGES,
}  # fmt: skip
_OFFERED = {
    "guaranteed": _GUARANTEED, "promised": _PROMISED,
    "promised_dates": {"title": "", "grace": "year", "latest": "year", **_OF_DAMAGES},
    "promised_cap": {"amount": "in its currency", "currency": ""},
}  # fmt: skip
GUARANTEED = {
    **dict.fromkeys(_OFFERED, ""),
    **{f"{part}.*.{name}": unit for part, fields in _OFFERED.items() for name, unit in fields.items()},
}  # fmt: skip
_TASKS = {"name": "", "whose": "", "begin": "year", "finish": "year"}
_GATES = {"name": "", "time": "year", "fee": ""}
TRANSFER = {
    "transfer.tasks": "", **{f"transfer.tasks.*.{name}": unit for name, unit in _TASKS.items()},
    "transfer.gates": "", **{f"transfer.gates.*.{name}": unit for name, unit in _GATES.items()},
}  # fmt: skip
PROCESS = {
    "process.groups.*.name": "", "process.groups.*.per_watt": PER_WATT, "process.groups.*.per_m2": PER_M2,
    "process.gases_per_m2": PER_M2, "process.takt": "s/plate", "process.film_cycle": "min",
    "process.consumption": "", "process.consumption.*.name": "",
    "process.consumption.*.per_m2": "", "process.consumption.*.unit": "",
}  # fmt: skip
COST = {
    "cost.per_watt": PER_WATT, "cost.per_m2": PER_M2, "cost.a_year": "{currency}/year",
    "cost.by_kind.*.name": "", "cost.by_kind.*.per_watt": PER_WATT, "cost.by_kind.*.per_m2": PER_M2,
    "cost.by_kind.*.a_year": "{currency}/year", "cost.by_stage.*.name": "", "cost.by_stage.*.kinds.*": PER_WATT,
    "cost.yield_loss_per_watt": PER_WATT, "cost.idle_per_watt": PER_WATT, "cost.not_in_it": "",
}  # fmt: skip
MARKETS = {
    "markets": "", "markets.*.name": "", "markets.*.limited_by": "", "markets.*.against.name": "",
    "markets.*.highest_price": PER_WATT, "markets.*.highest_price_per_m2": PER_M2, "markets.*.asked_price": PER_WATT,
    "markets.*.margin": PER_WATT, "markets.*.megawatts": "MW/year",
}  # fmt: skip
MOVED = {
    "npv_moved_by.present": MONEY, "npv_moved_by.bars": "",
    **{f"npv_moved_by.bars.*.{name}": "" for name in ("input", "now", "low", "high", "unit", "kind", "source")},
    "npv_moved_by.bars.*.at_low": MONEY, "npv_moved_by.bars.*.at_high": MONEY,
    "npv_spread.p10": MONEY, "npv_spread.p50": MONEY, "npv_spread.p90": MONEY,
    "npv_spread.above": "1", "npv_spread.owners_above": "1",
    "npv_spread.closes": "1", "npv_spread.below_dscr": "1",
    "npv_spread.peak_p10": MONEY, "npv_spread.peak_p50": MONEY, "npv_spread.peak_p90": MONEY,
    "npv_spread.draws": "", "npv_spread.seed": "", "npv_spread.correlated": "",
}  # fmt: skip
EVIDENCE = {"evidence.rows.*": "", "evidence.invented.*": "", "evidence.oldest": "", "evidence.newest": ""}
IDENTITY = {"identity.price_years": ""}
VERSION = {"identity.terms": "", "identity.money": "", "identity.first_month": ""}

FIGURES = {
    "licensee": IDENTITY | VERSION | PRODUCT | ROUTE | PLAN | LICENCE | GUARANTEED | TRANSFER | PROCESS
    | {"term_inputs.*.title": "", "term_inputs.*.rows": ""},
    "investor": IDENTITY | {"identity.story": ""} | PRODUCT | COST | MARKETS | PLAN | INVESTMENT | PAYMENTS | MOVED | EVIDENCE
    | {"plan_inputs.*.title": "", "plan_inputs.*.rows": ""},
}  # fmt: skip

STATED = {
    "product.length", "product.width", "plan.required_return", "plan.equity_return", "plan.loan_part", "plan.required_dscr",
    "plan.given.equity_share",
    "licence.upfront", "licence.upfront_time", "licence.royalty", "licence.royalty_per_watt", "licence.term", "licence.start",
    "licence.full_swing", "licence.royalty_end", "licence.per_watt_change", "licence.net_sales", "licence.royalty_cap",
    "licence.exclusive_time", "licence.expansion_fee", "licence.sublicence_share", "licence.equity_share",
    *(f"licence.{rows}.*.{name}" for rows, fields in _ROWS.items() for name, unit in fields.items() if unit and unit != MONEY),
    *(name for name, unit in (GUARANTEED | TRANSFER).items() if unit), "guaranteed.*.sample",
}  # fmt: skip

_TERMS = {
    "licence": (
        "currency", "upfront", "upfront_time", "royalty", "royalty_per_watt", "per_watt_change", "net_sales", "royalty_cap", "term",
        "exclusive_time", "expansion_fee", "sublicence_share", "equity_share",
    ),
    "schedule": ("horizon", "build_time", "staff_before", "delay", "ramp_stretch", "volume_share", "last_replacement"),
    "returns": ("required_return", "equity_return", "basis", "inflation"),
    "tax": ("rate", "holiday", "loss_use"),
    "fees": ("title", "amount", "currency", "time", "credited", "paid_as"),
    "royalty_steps": ("time", "factor"),
    "minimum_royalties": ("title", "amount", "currency", "begin", "end"),
    "buy_outs": ("title", "amount", "currency", "time"),
    "ramp": ("starts_share", "yield_share"),
    "sales": ("title", "market", "output_share", "price", "currency", "per", "change"),
    "warranty": ("title", "product_term", "power_term", "start_power", "end_power"),  # promises, no rates and no costs
}  # fmt: skip
INPUTS = {
    "licensee": _TERMS,
    "investor": {
        "product": ("length", "width", "active_area_share", "initial_efficiency", "stabilisation_ratio"),
        "cells": ("edge_width", "lines_along", "cell_count", "dead_width", "busbar_width"),
        "target": ("mode", "basis", "output"),
        "money": ("title", "exchange_rate", "code"),
        "markets": (
            "title", "currency", "limited_by", "per", "energy_value", "reference_price", "reference_duty", "reference_efficiency",
            "power_cost", "power_upkeep", "reference_yield", "yield_ratio", "reference_temperature_coefficient",
            "temperature_coefficient", "temperature_excess", "reference_degradation", "degradation", "discount_rate",
            "power_premium", "asked_price", "volume", "most_share",
        ),
        "coverings": (
            "title", "market", "covers_with", "currency", "area_cost", "area_upkeep", "delivery", "premium", "life",
        ),
        "working_capital": ("receivable_time", "finished_time", "payable_time"),
        "outlay": (
            "contingency", "grant", "import_vat", "vat_return_time", "first_fill_time", "commissioning_scrap", "resale_share",
            "resale_decline",
        ),
        "loan": ("part", "interest", "grace", "term", "form", "minimum_dscr"),
        "learning": ("rate", "reference_volume", "convention"),
        "payments": ("title", "covers", "part", "time"),
        "capital": ("title", "amount", "currency", "treated", "life"),
        "escalations": ("covers", "change"),
        "expansions": ("title", "time", "size", "capital_share", "fixed_share", "life"),
        "other_lines": (
            "title", "capital", "cash_cost", "price", "change", "currency", "build_time", "ramp_time", "life",
        ),
        **_TERMS,
    },
}  # fmt: skip
BESIDES = {"prices": ("price",), "crew": ("wage",), "utilities": ("price",), "tools": ("price",), "site": ("scheduled_time",)}
# inputs that an investor may see moved, beside those of the tables above; others are disclosed as one


def matches(pattern: str, name: str) -> bool:
    """Whether a name is of a pattern, in which `*` stands for any part of a path.

    >>> matches("cost.by_kind.*.per_watt", "cost.by_kind.03.per_watt"), matches("plan.*", "plan.project.npv")
    (True, False)
    """
    return _length(pattern) == _length(name) and _begins(pattern, name)


def _length(name: str) -> int:
    return name.count(".") + 1


def _begins(pattern: str, name: str) -> bool:
    return all(wanted in ("*", part) for wanted, part in zip(pattern.split("."), name.split(".")))


def _pattern_of(edition: str, name: str) -> str | None:
    return name if name in FIGURES[edition] else next((pattern for pattern in FIGURES[edition] if matches(pattern, name)), None)


def unit_for(edition: str, name: str) -> str | None:
    """The unit of a name that an edition may disclose; None for one that it may not.

    >>> unit_for("licensee", "licence.royalty"), unit_for("licensee", "licensor.npv")
    ('1', None)
    >>> unit_for("investor", "cost.by_kind.03.per_watt")
    '{currency}/W'
    """
    pattern = _pattern_of(edition, name)
    return None if pattern is None else FIGURES[edition][pattern]


def place_of(edition: str, name: str) -> tuple[int, str]:
    """Where a name stands in the allow-list of an edition; names of one pattern by themselves.

    >>> place_of("investor", "plan.by_year.revenue") < place_of("investor", "plan.by_year.royalty")
    True
    """
    patterns, pattern = list(FIGURES[edition]), _pattern_of(edition, name)
    return patterns.index(pattern) if pattern else len(patterns), name


def is_stated(name: str) -> bool:
    """Whether a figure is disclosed as a contract states it, not rounded for people.

    >>> is_stated("licence.fees.01.time"), is_stated("licence.paid")
    (True, False)
    """
    return re.sub(r"\.\d\d(?=\.|$)", ".*", name) in STATED


def begins_an_allowed(edition: str, name: str) -> bool:
    """Whether longer names of an edition begin with this one: it may then be stated that the case has nothing there."""
    return any(_begins(pattern, name) and _length(pattern) > _length(name) for pattern in FIGURES[edition])


def may_show_input(edition: str, address: str) -> bool:
    """Whether an input may be shown with its value.

    >>> may_show_input("investor", "sales.facade.price"), may_show_input("investor", "layers.i_2.rate")
    (True, False)
    """
    table, *_, field = address.split(".")
    besides = BESIDES.get(table, ()) if edition == "investor" else ()
    return field in (*INPUTS[edition].get(table, ()), *besides)


def parts_of(edition: str) -> Iterator[str]:
    """The parts of the facts of which an edition discloses something."""
    yield from dict.fromkeys(name.partition(".")[0] for name in FIGURES[edition])
