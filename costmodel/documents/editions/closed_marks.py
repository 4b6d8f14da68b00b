"""What is closed, and to whom: the licensor's own figures, recipe and pilot measurements in any case, and marks of the case."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Sequence
from functools import cache
from typing import Any

from ...case.changes import told_source
from ...case.fingerprint import fingerprint
from ...case.release_records import Confidential
from ...case.whole_case import Case, kept, rows_of, tables, with_held
from ...core.fields import Number, declared
from ...model.plan.transfer import dated
from ..deal_facts import ROWS

LABORATORY = ("laboratory_work", "laboratory_equipment", "laboratory_staff")
LICENSOR = (
    "licensor", "negotiation", "prospects", "other_ways", "payment_kinds.*.inventors_share", "yearly_services.*.cost",
    "fees.*.probability", "transfer_gates.*.probability", "service_effects", "laboratory_tests.*.consumables", *LABORATORY,
    "supplied_materials.*.own_cost", "supplied_materials.*.second_source",
    *(f"performance_guarantees.*.{field}" for field in ("transfer_loss", "transfer_spread", "day_spread", "measurement")),
    *(f"{table}.*.{field}" for table in ("guarantees", "performance_guarantees") for field in ("retest_cost", "retest_passed")),
    "acceptance_dates.*.expected", "acceptance_dates.*.spread",
    *(f"guarantees.*.{field}" for field in ("transfer_loss", "transfer_spread", "module_spread", "measurement")),
    *("transfer_tasks.*.optimistic", "transfer_tasks.*.pessimistic", "transfer_work", "transfer_resources", "commitments"),
    *(f"deliveries.*.{field}" for field in ("days", "day_cost", "overrun", "travel", "pilot_time", "pilot_cost")),
)  # fmt: skip
LICENSOR_FIGURES = (
    "deal.licensor", "deal.gain", "deal.licensor_share", "deal.prospects", "deal.guarantees",
    "deal.performance_guarantees", "deal.acceptance_dates", "deal.by_heading.*.licensor_net",
    *(f"deal.by_kind.*.{name}" for name in ("paid_now", "inventors", "net")),
    "deal.licensee.gain", "deal.deliveries", "deal.yearly_services", "deal.service_effects",
    "deal.own_money", "deal.second_licensees", "deal.taken", "deal.taken_if_open", "deal.exclusivity", "deal.transfer",
    "deal.laboratory", "deal.supplied",
)  # fmt: skip
RECIPE = ("layers", "gases", "coatings", "phases", "phase_materials", "heatings")
FOLDED = tuple(f"ledger.by_step.*.{name}" for name in ("cost", "cost_per_m2", "cost_per_stabilised_watt"))
# no edition states a margin on supplies, nor what it comes to; the price of a material that is supplied is the licensee's to know
MARGINS = ("supplies.*.margin", "deal.by_heading.supply_*", "plan.payments.supply_*")
LISTS: dict[str, tuple[str, tuple[str, ...]]] = {
    **{f"licence.{name}": (table, tuple(fields)) for name, (table, fields) in ROWS.items() if name != "withholding_tax"},
    "markets": ("markets", ("name=title", "megawatts=volume")),
    "plan.others": ("other_lines", ("name=title",)),
}  # lists of a release whose rows stand in a table, in its order
PILOT = ("samples", "measurements")
PROMISED = ("guarantees", "performance_guarantees", "acceptance_dates", "damages_caps")
PROJECT = ("transfer_tasks", "transfer_work", "transfer_gates", "transfer_resources", "commitments")
GONE = (  # rows no external edition has
    *("prospects", "service_effects", *LABORATORY, *PROMISED, "other_ways", *PROJECT, "samples", "confidential", "widened"),
)
EMPTIED = (  # tables with numbers that only the licensor knows
    *("licensor", "negotiation", "payment_kinds", "yearly_services", "laboratory_tests", "supplied_materials", "deliveries"),
)
UNCOUNTED = (*GONE, *EMPTIED, "outcomes", "correlations")  # (rows whose evidence no external edition counts)


def is_below(address: str, mark: str) -> bool:
    """Whether an address is what a mark names, or below it; `*` stands for any id, or for any end of one.

    >>> is_below("prices.silane.price", "prices.silane"), is_below("prices.silane_2.price", "prices.silane")
    (True, False)
    >>> is_below("deal.by_heading.supply_spares.paid", "deal.by_heading.supply_*")
    True
    """
    parts, wanted = address.split("."), mark.split(".")
    alike = (part.startswith(w[:-1]) if w.endswith("*") else w == part for part, w in zip(parts, wanted))
    return len(parts) >= len(wanted) and all(alike)


def is_closed(address: str, marks: Sequence[str]) -> bool:
    """Whether any of the marks closes an address."""
    first = address.partition(".")[0]
    return any(is_below(address, mark) for mark in _by_first_word(tuple(marks)).get(first, ()))


@cache
def _by_first_word(marks: tuple[str, ...]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for mark in marks:
        found.setdefault(mark.partition(".")[0], []).append(mark)
    return found


def marks_of(case: Case, edition: str) -> list[str]:
    """The addresses that the case itself closes to an edition; `outside` in confidential.csv closes to both."""
    return _addresses(case, [row for row in case.confidential.values() if row.closed_to in (edition, "outside")])


def secrets_of(case: Case, edition: str) -> list[str]:
    """Those of the marks that close something for its own sake, and not to protect another: these must not follow from the rest."""
    return _addresses(
        case, [row for row in case.confidential.values() if row.closed_to in (edition, "outside") and not row.protects]
    )


def _addresses(case: Case, rows: Sequence[Confidential]) -> list[str]:
    """The addresses of marks; of one that names a row of a list in a release, that of its row in the tables too.

    >>> from types import SimpleNamespace as Some
    >>> _addresses(Some(fees={"test": None}), [Some(address="licence.fees.00.amount")])
    ['licence.fees.00.amount', 'fees.test.amount']
    """
    found = []
    for row in rows:
        found.append(row.address)
        for name, (table, fields) in LISTS.items():
            place, *rest = row.address.removeprefix(f"{name}.").split(".")
            known = list(getattr(case, table)) if place.isdigit() and row.address.startswith(f"{name}.") else []
            if known and int(place) < len(known):
                entered = {shown.partition("=")[0]: shown.rpartition("=")[2] for shown in fields}
                found.append(".".join([table, known[int(place)], *(entered.get(each, each) for each in rest)]))
    return found


def external_view(case: Case) -> Case:
    """The case that external editions are computed from: without what only the licensor knows and without pilot measurements.

    Its numbers there are 0 and its rows gone, so that nothing that follows can depend on them; every fee counts in full, since
    its probability is a belief. A range that was drawn from measurements has the triangle of its row instead. No row keeps the
    words of its source: those that may go out stand in `public_source`.

    >>> from costmodel.case.load import load_case
    >>> view = external_view(load_case("inputs_demo/facade"))
    >>> view.deal.licensor.contribution, len(view.prospects), view.deliveries["training"].price
    (0.0, 0, 130000.0)
    """
    changed: dict[str, Any] = {name: {} for name in (*GONE, "measurements")} | {"name": ""}
    at_dates = dated(case)
    for name in (*EMPTIED, "fees"):
        rows = {identity: _emptied(name, identity, row) for identity, row in rows_of(at_dates, name).items()}
        if rows:
            changed[name] = rows[""] if tables()[name].section else rows
    if case.has_deal:
        changed["licensor"] = dataclasses.replace(changed["licensor"], tax_relief="exempt")
    ranges = {
        identity: dataclasses.replace(row, distribution="triangular") if row.distribution == "empirical" else row
        for identity, row in case.ranges.items()
        if not is_closed(row.address, LICENSOR)
    }
    groups, ranged = {row.group for row in ranges.values()}, {row.address.rpartition(".")[0] for row in ranges.values()}
    changed["ranges"] = ranges
    changed["outcomes"] = {identity: row for identity, row in case.outcomes.items() if row.range in ranges}
    changed["correlations"] = {n: row for n, row in case.correlations.items() if {row.group, row.other} <= groups}
    hidden = [*GONE, "licensor", "negotiation", *(f"ranges.{identity}" for identity in case.ranges.keys() - ranges.keys())]
    changed["evidence"] = {
        place: dataclasses.replace(shown, source=told_source(shown.public_source, shown.source), by="")
        for place, shown in case.evidence.items()
        if not is_closed(place, hidden) and (place.partition(".")[0] not in UNCOUNTED or place in ranged)
    }
    closed = [*hidden, *LICENSOR]
    changed |= {"title": case.public_title, "story": case.public_story}
    changed["entry_units"] = {address: unit for address, unit in case.entry_units.items() if not is_closed(address, closed)}
    return with_held(case, changed)


def _emptied(table: str, identity: str, row: Any) -> Any:
    """A record with nothing in the fields that are the licensor's own, but with certainty in place of its beliefs."""
    place = f"{table}.{identity}" if identity else table
    fields = (field for field, kind in declared(tables()[table].record).items() if isinstance(kind, Number))
    return dataclasses.replace(
        row, **{field: 1.0 if field == "probability" else 0.0 for field in fields if is_closed(f"{place}.{field}", LICENSOR)}
    )


def shared_view(case: Case) -> Case:
    """What external editions of a case are computed from; one for all cases that share it, so that nothing is made anew."""

    def known(view: Case) -> Case:
        """The view of the same content that was made before, or this one."""
        words = f"{view.name} {sorted(view.entry_units.items())} {sorted(view.use.items())} {fingerprint(view)}"
        key = hashlib.sha256(words.encode()).hexdigest()
        while len(_VIEWS) >= VIEWS and key not in _VIEWS:
            _VIEWS.pop(next(iter(_VIEWS)))
        return _VIEWS.setdefault(key, view)

    return kept(case, "external view", lambda: known(external_view(case)))


VIEWS = 4  # views that are kept at a time
_VIEWS: dict[str, Case] = {}
