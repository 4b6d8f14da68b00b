"""All checks between tables, in the order in which they are told; the rules themselves stand in `checks/`."""

from __future__ import annotations

from collections.abc import Mapping

from ..core.faults import Fault
from .checks import (
    cost_checks,
    deal_checks,
    films_checks,
    growth_checks,
    laboratory_checks,
    line_checks,
    market_checks,
    marks_checks,
    plan_checks,
    power_class_checks,
    ranges_checks,
    references_checks,
    service_checks,
    soaking_checks,
    supplied_checks,
    transfer_checks,
    warranty_checks,
)
from .checks.frame_checks import Unread
from .whole_case import Case, tables


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
    marks_checks.marks_are_known,
    references_checks.ids_are_known,
    line_checks.tools_have_steps,
    references_checks.plant_is_no_id,
    references_checks.no_id_is_a_word_of_references,
    cost_checks.currencies,
    cost_checks.indices_cover_every_price_year,
    cost_checks.units_fit,
    cost_checks.recovered_metal_has_a_quote,
    cost_checks.discounts_rise_with_quantity,
    references_checks.each_once,
    cost_checks.no_plate_is_sold_twice,
    cost_checks.depreciation_can_be_reckoned,
    plan_checks.plan_is_whole,
    plan_checks.first_month_is_a_month,
    plan_checks.refurbishments_have_their_equipment,
    plan_checks.plan_ends_in_time,
    deal_checks.deal_is_whole,
    deal_checks.what_begins_ends_after_it,
    deal_checks.credited_fees_come_first,
    deal_checks.royalty_steps_come_in_order,
    deal_checks.terms_fall_within_the_plan,
    deal_checks.promises_name_what_they_measure,
    deal_checks.prospects_are_in_known_territories,
    deal_checks.shares_of_payments_can_add_up,
    transfer_checks.tasks_wait_for_known_tasks,
    transfer_checks.durations_come_in_order,
    transfer_checks.dates_of_acceptance_stand_once,
    transfer_checks.commitments_end_after_they_begin,
    service_checks.effects_are_of_services,
    service_checks.effects_suit_their_inputs,
    service_checks.ranges_of_effects_are_on_changes,
    supplied_checks.materials_are_supplied_once,
    supplied_checks.times_of_supply_come_in_order,
    laboratory_checks.services_are_priced_once,
    laboratory_checks.tests_have_work,
    market_checks.markets_count_in_what_limits_them,
    market_checks.markets_have_their_coverings,
    market_checks.coverings_suit_their_market,
    cost_checks.emissions_have_a_source,
    line_checks.downtime_leaves_time,
    line_checks.each_load_stays_on_its_carrier,
    line_checks.loads_inside_are_at_work,
    line_checks.heat_comes_from_energy,
    line_checks.module_materials_at_the_end,
    films_checks.gases_settle_within_the_purge,
    films_checks.spread_leaves_power,
    films_checks.sputtered_films_have_a_coater,
    films_checks.active_area_is_stated,
    soaking_checks.each_plan_has_its_light,
    soaking_checks.each_plan_has_one_clock,
    soaking_checks.soaked_modules_are_rated_afterwards,
    soaking_checks.a_spread_needs_a_sample,
    power_class_checks.classes_come_in_order,
    power_class_checks.classes_know_how_modules_differ,
    power_class_checks.guarantees_know_how_modules_differ,
    warranty_checks.warranty_is_one_row,
    warranty_checks.warranty_costs_once,
    warranty_checks.modules_age_once,
    cost_checks.groups_of_prices_are_names,
    growth_checks.what_grows_is_known,
    growth_checks.drivers_are_known,
    growth_checks.amounts_can_grow,
    ranges_checks.ranges_point_at_inputs,
    ranges_checks.values_belong_to_their_ranges,
    ranges_checks.ranges_have_their_values,
    ranges_checks.one_sample_for_a_range,
    ranges_checks.probabilities_add_up,
    ranges_checks.outcomes_suit_their_inputs,
    ranges_checks.correlations_can_hold,
)
