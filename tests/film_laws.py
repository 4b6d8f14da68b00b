"""Laws about films and what carries them: spread, settling, the pace of a coater, metals at their quote, cells on the plate."""
from __future__ import annotations

import dataclasses

from costmodel.case.changes import with_values
from costmodel.case.cost_records import PriceBreak
from costmodel.case.line_records import Cells, Coating
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import evaluate

from .scaling_laws import Broken, broken, lines_change, scaled, stated_area, times, with_target


def spread_takes_its_square_of_the_power(case: Case) -> Broken:
    """A spread of 5 % at a factor of 4 takes 1 % of both powers, 10 % takes 4 %; none takes none, whatever the factor."""
    for layer in case.layers:
        place = f"layers.{layer}"
        powers = []
        for spread in (0.0, 0.05, 0.1):
            changed = {f"layers.{name}.thickness_spread": 0.0 for name in case.layers}
            changed |= {f"{place}.thickness_spread": spread, f"{place}.spread_loss_factor": 4.0}
            powers.append(evaluate(with_values(case, changed)).line.output)
        for kind in ("initial_power", "stabilised_power"):
            none, some, twice = (getattr(output, kind) for output in powers)
            yield from broken(f"{kind} with spread of {layer}", some, none * 0.99)
            yield from broken(f"{kind} with twice the spread of {layer}", twice, none * 0.96)


def gases_flow_while_they_settle(case: Case) -> Broken:
    """Settling as long as growth doubles gases and silane of a film; inside the purge it takes no time, added its own."""
    before = evaluate(case).line
    for layer, row in case.layers.items():
        place, growth = f"layers.{layer}", before.layers[layer].growth_time
        none = with_values(case, {f"{place}.settling_time": 0.0, f"{place}.purge_time": growth})
        inside = with_values(none, {f"{place}.settling_time": growth, f"{place}.settling": "inside_purge"})
        added = with_values(inside, {f"{place}.settling": "added"})
        gases = [f"gases.{name}" for name, gas in case.gases.items() if gas.layer == layer]
        yield from lines_change(f"settling of {layer}", none, inside,
                                lambda name, _, own=(place, *gases): 2.0 if name in own else 1.0)
        cycles = [evaluate(each).line.steps[row.step].cycle.time for each in (none, inside, added)]
        yield from broken(f"cycle with settling of {layer} inside the purge", cycles[1], cycles[0])
        yield from broken(f"cycle with settling of {layer} added", cycles[2], cycles[0] + growth)
        flowing = [evaluate(each).ledger.lines[name].quantity / evaluate(each).line.steps[row.step].loads
                   for name in gases for each in (inside, added)]
        for own, other in zip(flowing[::2], flowing[1::2]):
            yield from broken(f"gas of {layer} with settling added", other, own)


def silane_flows_for_a_load_full_or_not(case: Case) -> Broken:
    """A film takes the silane of a load wherever on its carrier's round it grows, though places of the carrier become empty."""
    order = list(case.steps)
    for carrier in case.carriers.values():
        on = order[order.index(carrier.first_step):order.index(carrier.last_step) + 1]
        for layer, row in case.layers.items():
            for other in on if row.step in on else ():
                moved = dataclasses.replace(case, layers={**case.layers, layer: dataclasses.replace(row, step=other)})
                fed = [evaluate(each).ledger.films[layer].silicon_fed / evaluate(each).line.steps[step].loads
                       / each.tools[each.steps[step].tool].load_size for each, step in ((case, row.step), (moved, other))]
                yield from broken(f"silicon for a place of a load of {layer} in {other}", fed[1], fed[0])


def two_zones(case: Case, coating: str) -> Case:
    """The case with another film behind a film in its coater, of no mass, in a zone that takes half the time; locks at once."""
    row = case.coatings[coating]
    other = dataclasses.replace(row, thickness=row.thickness / 2, density=1e-9, recovered_share=0.0)
    rows = {name: each for name, each in case.coatings.items() if each.step != row.step}
    units = {f"coatings.other.{name}": case.entry_units[f"coatings.{coating}.{name}"] for name in _numbers(row)}
    locks = {name: dataclasses.replace(each, lock_time=0.0) for name, each in case.coaters.items()}
    rows |= {coating: row, "other": other}
    return dataclasses.replace(case, coatings=rows, coaters=locks, entry_units=case.entry_units | units)


def _numbers(row: Coating) -> list[str]:
    return [name for name in Coating.__slots__ if not isinstance(getattr(row, name), str)]


def the_slowest_zone_sets_the_pace(case: Case) -> Broken:
    """A thicker film in a quicker zone moves no time; half the rate of the slowest doubles it, and so do half its cathodes."""
    for coating, row in case.coatings.items():
        zones = two_zones(case, coating)
        before = evaluate(zones)
        thicker = evaluate(times(zones, {"coatings.other.thickness": 1.5}))
        for step, flow in before.line.steps.items():
            yield from broken(f"time of {step}", thicker.line.steps[step].cycle.time, flow.cycle.time)
        watts = [each.ledger.total.cost_per_stabilised_watt for each in (thicker, before)]
        yield from broken("cost of a watt", *watts)
        pace = before.line.steps[row.step].cycle.coating_time
        yield from broken(f"pace of {row.step}", pace, before.line.coatings[coating].time)
        yield from broken(f"share of {coating}", before.line.coatings[coating].share_of_pace, 1.0)
        yield from broken("share of the quicker zone", before.line.coatings["other"].share_of_pace, 0.5)
        for name in ("dynamic_rate", "cathodes"):
            slower = evaluate(times(zones, {f"coatings.{coating}.{name}": 0.5})).line.steps[row.step].cycle.coating_time
            yield from broken(f"pace of {row.step} at half the {name}", slower, 2 * pace)
        wider = evaluate(with_values(zones, {f"coaters.{name}.gap": each.gap + 3.0 for name, each in case.coaters.items()
                                             if each.step == row.step})).line.steps[row.step].cycle.coating_time
        speed = row.dynamic_rate * row.cathodes / row.thickness
        yield from broken(f"pace of {row.step} with 3 m more between plates", wider, pace + 3.0 / speed)


def a_slow_lock_sets_the_pace(case: Case) -> Broken:
    """A lock that takes an hour is the pace of its coater, whatever the films."""
    for name, row in case.coaters.items():
        flow = evaluate(with_values(case, {f"coaters.{name}.lock_time": 3600.0})).line.steps[row.step]
        yield from broken(f"pace of {row.step}", flow.cycle.coating_time, 3600.0)


def a_quote_moves_metal_and_no_fee(case: Case) -> Broken:
    """Without a fee, twice the quote is twice the item and its credit. The credit knows no fee, freight or duty."""
    for name, row in case.metals.items():
        free = with_values(case, {f"prices.{row.item}.price": 0.0})
        yield from scaled(free, {f"metals.{name}.quote": 2.0},
                          lambda _, x, item=row.item: x.category == "materials" and x.item == item, 2.0)
        dear = {f"prices.{row.item}.price": 3.0, f"prices.{row.item}.freight": 0.0, f"prices.{row.item}.duty": 0.7}
        before, after = evaluate(case).ledger.lines, evaluate(with_values(case, dear)).ledger.lines
        for line, x in before.items():
            if line.endswith(".credit"):
                yield from broken(f"{line} with another fee for {row.item}", after[line].cost, x.cost)


def a_quote_is_not_discounted(case: Case) -> Broken:
    """With a fifth off, freight 30 % and duty 20 %, an item costs 1.5 times its metal and 1.2 times its fee, in any currency."""
    for name, row in case.metals.items():
        price = case.prices[row.item]
        fee = price.price * case.money[price.currency.lower()].exchange_rate * _index(case, price.price_year)
        dear = with_values(case, {f"prices.{row.item}.freight": 0.3, f"prices.{row.item}.duty": 0.2})
        dear = dataclasses.replace(dear, price_breaks={"all": PriceBreak(row.item, 0.0, row.unit, 0.2)})
        for currency in case.money.values():
            quoted = dataclasses.replace(dear, metals=case.metals | {name: dataclasses.replace(row, currency=currency.code)})
            metal, landed = row.quote * currency.exchange_rate, evaluate(quoted).ledger.landed[row.item]
            yield from broken(f"metal in {row.item}", landed.metal, metal)
            yield from broken(f"credit of {row.item}", landed.credit, metal * (1 - row.refining_share))
            yield from broken(f"price of {row.item}", landed.price, 1.5 * metal + 1.2 * fee)


def _index(case: Case, year: str) -> float:
    return next((x.factor for x in case.indices.values() if (x.covers, x.year) == ("prices", year)), 1.0)


def power_follows_the_area_that_cells_leave(case: Case) -> Broken:
    """Power is that of the plate less its frame of edges, less scribe sets and busbars, whichever side the lines run along."""
    stated = stated_area(case)
    length, width = case.product.length, case.product.width
    edge, dead, busbar, count = width / 50, width / 4000, width / 200, 30.0
    for side, along in (("length", length), ("width", width)):
        cells = Cells(edge, side, count, dead, busbar)
        output = evaluate(dataclasses.replace(case, cells={"layout": cells})).line.output
        frame = length * width - (length - 2 * edge) * (width - 2 * edge)
        lines = ((count - 1) * dead + 2 * busbar) * (along - 2 * edge)
        share = 1 - (frame + lines) / (length * width)
        yield from broken(f"active area with lines along the {side}", output.active_area_share, share)
        for kind in ("initial_power", "stabilised_power"):
            whole = getattr(evaluate(with_values(stated, {"product.active_area_share": 1.0})).line.output, kind)
            yield from broken(f"{kind} with lines along the {side}", getattr(output, kind), whole * share)


def geometry_and_the_same_share_stated_cost_the_same(case: Case) -> Broken:
    """A case with cells, and one with the share that they leave, are the same in every line of the ledger."""
    target = with_target(case, "Wp_stabilised", 50_000.0)
    yield from lines_change("the share of its cells stated", target, stated_area(target), lambda *_: 1.0)


FILM_LAWS = (
    silane_flows_for_a_load_full_or_not,
    spread_takes_its_square_of_the_power, gases_flow_while_they_settle, the_slowest_zone_sets_the_pace, a_slow_lock_sets_the_pace,
    a_quote_moves_metal_and_no_fee, a_quote_is_not_discounted, power_follows_the_area_that_cells_leave,
    geometry_and_the_same_share_stated_cost_the_same,
)
