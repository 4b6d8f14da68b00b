"""All checks between tables, in the order in which they are told; the rules themselves stand in `checks/`."""

from __future__ import annotations

from collections.abc import Mapping

from ..faults import Fault
from .checks import cost, deal, films, growth, line, market, marks, plan, ranges, references, soaking
from .checks.frame import Unread
from .records import Case, tables


def check_consistency(case: Case, places: Mapping[str, Mapping[str, tuple[str, int]]], unread: Unread = frozenset()) -> list[Fault]:
    """All faults between the tables of a case; `places` gives the file and line of each row by table and id.

    Records may lack fields that could not be read (`rows.record_of`), and tables named in `unread` may lack rows: what hangs
    on them is not judged.
    """
    faults: list[Fault] = []
    for check in CHECKS:
        for name, identity, column, found, allowed in check(case, unread):
            table = tables()[name]
            file, row = places.get(name, {}).get(identity, (table.file, None))
            at = f"{name}.{column}" if table.section else column if row else f"{identity}.{column}"
            faults.append(Fault(file, row, at, found, allowed))
    return faults


CHECKS = (
    marks.marks_are_known,
    references.ids_are_known,
    line.tools_have_steps,
    references.plant_is_no_id,
    references.no_id_is_a_word_of_references,
    cost.currencies,
    cost.indices_cover_every_price_year,
    cost.units_fit,
    cost.recovered_metal_has_a_quote,
    cost.discounts_rise_with_quantity,
    references.each_once,
    cost.no_plate_is_sold_twice,
    cost.depreciation_can_be_reckoned,
    plan.plan_is_whole,
    plan.refurbishments_have_their_equipment,
    plan.plan_ends_in_time,
    deal.deal_is_whole,
    deal.prospects_are_in_known_territories,
    deal.shares_of_payments_can_add_up,
    market.markets_count_in_what_limits_them,
    market.markets_have_their_coverings,
    market.coverings_suit_their_market,
    cost.emissions_have_a_source,
    line.downtime_leaves_time,
    line.each_load_stays_on_its_carrier,
    line.loads_inside_are_at_work,
    line.heat_comes_from_energy,
    line.module_materials_at_the_end,
    films.gases_settle_within_the_purge,
    films.spread_leaves_power,
    films.sputtered_films_have_a_coater,
    films.active_area_is_stated,
    soaking.each_plan_has_its_light,
    soaking.each_plan_has_one_clock,
    soaking.soaked_modules_are_rated_afterwards,
    soaking.a_spread_needs_a_sample,
    cost.groups_of_prices_are_names,
    growth.what_grows_is_known,
    growth.drivers_are_known,
    growth.amounts_can_grow,
    ranges.ranges_point_at_inputs,
    ranges.values_belong_to_their_ranges,
    ranges.ranges_have_their_values,
    ranges.one_sample_for_a_range,
    ranges.probabilities_add_up,
    ranges.outcomes_suit_their_inputs,
    ranges.correlations_can_hold,
)
