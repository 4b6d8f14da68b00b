"""Laws of what services bring, each with an answer worked by hand or from plans that are evaluated whole."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from costmodel.case.addresses import replaced, value_at
from costmodel.case.service_records import ServiceEffect
from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.studies.negotiation.services import Brought, brought_by_services

from .deal_laws import off

Broken = Iterator[str]
PRICE = "sales.all.price"
MONTH = to_base("month")


def effect(address: str, how: str, change: float, unit: str = "1", service: str = "deliveries.work", **more) -> ServiceEffect:
    """An effect that is certain, in force all along and in no stated input, unless something else is said."""
    row = {"probability": 1.0, "begin": 0.0, "end": 480 * MONTH, "in_plan": "no"} | more
    return ServiceEffect("an effect", service, address, how, change, unit, **row)


def serviced(case: Case, *rows: ServiceEffect, **values: float) -> Case:
    """A case with these effects, and other values at some addresses (with __ for a dot)."""
    changed = replaced(case, {address.replace("__", "."): value for address, value in values.items()})
    return dataclasses.replace(changed, service_effects={f"row_{k}": row for k, row in enumerate(rows)})


def found(case: Case, *rows: ServiceEffect, draws: int = 0, **values: float) -> Brought:
    """What the services of such a case bring."""
    return brought_by_services(serviced(case, *rows, **values), draws)


def sides(case: Case, **values: float) -> tuple[float, float]:
    """The net present values of licensor and licensee of a plan evaluated whole, as bought, with other values at some addresses."""
    deal = evaluate(replaced(as_bought(case), {a.replace("__", "."): value for a, value in values.items()})).deal
    return float(deal.licensor.npv), float(deal.licensee.npv)


def claims_fall_as_worked_by_hand(case: Case) -> Broken:
    """Damages of 100,000 after a year halve with a probability of 50 %: 25,000 less is expected.

    The licensor has 25,000 / 1.05 more, the licensee 25,000 * (1 - 25 %) / 1.08 less. Where the stated 100,000 hold that, they are
    100,000 / 0.75 without the service.
    """
    for in_plan, less in (("no", 25_000.0), ("yes", 100_000 / 0.75 - 100_000)):
        row = effect("licensor.damages", "multiplies", 0.5, probability=0.5, in_plan=in_plan)
        own, other = found(case, row, licensor__damages=100_000.0).services[0].effects
        yield from off(f"claims, in the plan {in_plan}, licensor", own, less / 1.05, 1e-6)
        yield from off(f"claims, in the plan {in_plan}, licensee", other, -0.75 * less / 1.08, 1e-6)


def cash_counts_from_the_begin_on(case: Case) -> Broken:
    """A price that is 0.2 higher from month 31 to month 39, so from a third of quarter 11 to the end of quarter 13."""
    shares = {11: 2 / 3, 12: 1.0, 13: 1.0}  # by column: 31 months are 10 1/3 quarters, 39 months 13
    price, plant = float(value_at(case, PRICE)), as_bought(case)
    for in_plan, prices in (("no", (price, price + 0.2)), ("yes", (price - 0.2, price))):
        row = effect(PRICE, "adds", 0.2, "EUR/Wp_stabilised", begin=31 * MONTH, end=39 * MONTH, in_plan=in_plan)
        low, high = (list(evaluate(replaced(plant, {PRICE: each})).plan.quarters.values()) for each in prices)
        wanted = sum(part * (high[q].free_cash - low[q].free_cash) / 1.08 ** (q / 4) for q, part in shares.items())
        yield from off(f"from when, in the plan {in_plan}", found(case, row).services[0].effects[1], wanted, 1e-6)


def alike_services_bring_alike(case: Case) -> Broken:
    """Two services that each raise the price by a tenth raise it by 21 % together, and bring half of that each."""
    units = {a.replace("deliveries.work", "deliveries.more"): unit for a, unit in case.entry_units.items()}
    again = case.deliveries | {"more": case.deliveries["work"]}
    case = dataclasses.replace(case, deliveries=again, entry_units=case.entry_units | units)
    rows = [effect(PRICE, "multiplies", 1.1, service=f"deliveries.{name}") for name in ("work", "more")]
    price = float(value_at(case, PRICE))
    both = [after - before for before, after in zip(sides(case), sides(case, sales__all__price=1.21 * price))]
    for each in found(case, *rows).services:
        for side, brings, whole in zip(("licensor", "licensee"), each.effects, both):
            yield from off(f"{each.address}, {side}", brings, whole / 2, 1e-6 * abs(whole))


def what_is_in_the_plan_counts_once(case: Case) -> Broken:
    """A price p that becomes 1.1 p + 0.2 by a service: stated as p, or with the effects in it, the service brings the same."""
    price = float(value_at(case, PRICE))
    rows = [("multiplies", 1.1, "1"), ("adds", 0.2, "EUR/Wp_stabilised")]
    out = found(case, *(effect(PRICE, *row) for row in rows))
    held = found(case, *(effect(PRICE, *row, in_plan="yes") for row in rows), sales__all__price=1.1 * price + 0.2)
    for side in (0, 1):
        yield from off("in the plan or not", held.services[0].effects[side], out.services[0].effects[side], 1e-5)
    yield from off("the plan as stated", held.plans[0].licensee, held.plans[2].licensee, 1e-6)
    yield from off("the plan as stated, none in it", out.plans[0].licensee, sides(case)[1], 1e-6)


def parts_add_up_to_all_services(case: Case) -> Broken:
    """What work and effects leave adds up to the plan with all services less the plan with none, each evaluated whole."""
    stated = replaced(case, {"deliveries.work.price": 10_000.0})
    price = float(value_at(case, PRICE))
    got = found(stated, effect(PRICE, "multiplies", 1.1))
    none = {f"deliveries__work__{name}": 0.0 for name in ("days", "travel", "pilot_time", "price")}
    whole = [b - a for a, b in zip(sides(stated, **none), sides(stated, sales__all__price=1.1 * price))]
    for side in (0, 1):
        yield from off("work and effects", got.services[0].net[side], whole[side], 1e-5)
    yield from off("price paid", got.services[0].paid, float(evaluate(stated).deal.by_heading["delivery_work"].licensee_paid), 1e-9)


def success_is_drawn_by_its_probability(case: Case) -> Broken:
    """A service that pays where it succeeds, and costs without, pays in as many draws as it succeeds: 30 %, or all."""
    paid = replaced(case, {"deliveries.work.price": 10_000.0})
    for probability in (0.3, 1.0):
        row = effect(PRICE, "multiplies", 1.5, probability=probability)
        share = found(paid, row, draws=1_000).services[0].licensee.share
        yield from off("success", share, probability, 4 * (probability * (1 - probability) / 1_000) ** 0.5)


LAWS = (
    claims_fall_as_worked_by_hand,
    cash_counts_from_the_begin_on,
    alike_services_bring_alike,
    what_is_in_the_plan_counts_once,
    parts_add_up_to_all_services,
    success_is_drawn_by_its_probability,
)


def violated_by_services(case: Case) -> list[str]:
    """What the laws of services find in a plan with a deal that has the delivery `work` and the sale `all`."""
    return [f"{law.__name__}: {word}" for law in LAWS for word in law(case)]
